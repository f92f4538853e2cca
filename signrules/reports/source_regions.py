"""Where the subjects of checks and faults stand in the files that jobs were read from."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote

from signrules.documents.reading import text_of
from signrules.documents.source_places import Places, Region
from signrules.errors import DocumentFault, JobError, SignrulesError
from signrules.evaluation import Evaluation
from signrules.given_values import demand_given

Judged = Mapping[str, Evaluation | SignrulesError]
"""What came of each file, by its path: an evaluation, a JobError that says what is wrong with the
document, or another error that says why it was not evaluated."""


def demand_judged(function: str, judged: Judged) -> None:
    """Raises TypeError where a function is given something else."""
    demand_given(function, (judged, Mapping))
    for outcome in judged.values():
        demand_given(function, (outcome, Evaluation | SignrulesError))


_STATED = re.compile(r"\bline ([0-9]+)(?:, column ([0-9]+))?")


class Source:
    """One file of a job: its URI, its name as people read it, the regions of paths into the job.

    `file` is where it is, if that is not where its path says.
    """

    def __init__(self, path: str, base: Path, file: Path | None = None) -> None:
        self.uri = _uri_of_path(path, base)
        self.name = _name_of_path(path, base)
        file = file or Path(path)
        try:
            form = file.suffix.lower().lstrip(".")
            self._places: Places | None = Places(text_of(file), form)
        except JobError:
            self._places = None

    def region(self, path: str) -> Region | None:
        """The region of a path into the job: the first line where it is not found, None where there
        is no file.
        """
        if self._places is None:
            return None
        # Better the top of the file than nowhere in it.
        return self._places.find(path) or Region(1, 1, 1, 1)

    def region_of_fault(self, fault: DocumentFault) -> Region | None:
        """The region of a fault; one of the text as a whole says itself on which line."""
        stated = _STATED.search(fault.found) if not fault.path else None
        if stated and self._places is not None:
            line, column = int(stated[1]), int(stated[2] or 1)
            return Region(line, column, line, column)
        return self.region(fault.path)


def _name_of_path(path: str, base: Path) -> str:
    """The name of a file, relative where it lies under the base."""
    full_path = Path(os.path.abspath(path))
    if full_path.is_relative_to(base):
        return full_path.relative_to(base).as_posix()
    return full_path.as_posix()


def _uri_of_path(path: str, base: Path) -> str:
    """A URI reference, relative where the file lies under the base, percent-encoded (RFC 3986)."""
    full_path = Path(os.path.abspath(path))
    if full_path.is_relative_to(base):
        return quote(
            # File names need not be text: bytes that are none go through as they are.
            full_path.relative_to(base).as_posix().encode("utf-8", "surrogateescape"),
            safe="/",
        )
    return full_path.as_uri()
