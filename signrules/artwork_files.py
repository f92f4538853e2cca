"""Files of artwork: read by the plugin for their suffix, compared with what a job says of them."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Protocol

from attrs import evolve

from signrules.artwork.drawing import Artwork
from signrules.artwork.fingerprints import (
    ChangedArtwork,
    ReadPass,
    changed_artwork,
    fingerprint_of,
)
from signrules.artwork.reader import ArtworkReader
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.passes import Pass
from signrules.rules.containment import Contained, call_contained

MOST_BYTES = 256 * 1024 * 1024
"""The largest file of artwork that is read."""


class BringsReaders(Protocol):
    """Plugins, as far as they read artwork."""

    @property
    def readers(self) -> Mapping[str, ArtworkReader]:
        """The readers by the suffixes of files."""


def read_artwork(path: str | os.PathLike[str], *, plugins: BringsReaders) -> Artwork:
    """What a file of artwork holds, as the plugin for its suffix reads it.

    Raises ArtworkError, with the file as its origin, where no plugin reads such files, where the
    file cannot be read, and where the plugin refuses it or fails.
    """
    file = os.fspath(path)
    reader = _reader_for(file, plugins)
    data = _bytes_of(file)
    refused: list[ArtworkError] = []

    def read() -> Artwork:
        try:
            return reader.read(file, data)
        except ArtworkError as error:
            # Kept apart: a refusal is an answer with faults of its own, and any other error a
            # failure.
            refused.append(error)
            raise

    try:
        found = call_contained(read)
    except Contained as error:
        if refused:
            raise ArtworkError(refused[0].faults, file) from None
        raise _fault(file, f"what its reader fails on: {error}", "a file that it reads") from None
    if not isinstance(found, Artwork):
        raise _fault(file, f"a reader that gave back {type(found).__name__}", "an Artwork")
    # Of the bytes that the plugin was given: the file may be another one by now.
    return evolve(found, file=file, fingerprint=fingerprint_of(data))


def _reader_for(file: str, plugins: BringsReaders) -> ArtworkReader:
    suffix = Path(file).suffix.lower()
    if suffix in plugins.readers:
        return plugins.readers[suffix]
    known = ", ".join(sorted(plugins.readers))
    expected = f"one of {known}" if known else "a plugin that reads it, such as signrules-artwork"
    raise _fault(file, f"the suffix {suffix!r}, which no plugin reads", expected)


def _bytes_of(file: str) -> bytes:
    try:
        # Before reading: a file of many gigabytes would fill the memory first.
        size = os.path.getsize(file)
        if size > MOST_BYTES:
            most = f"at most {MOST_BYTES // 1024**2} MiB"
            raise _fault(file, f"{size:,} bytes", most)
        return Path(file).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _fault(file, reason.lower(), "a file that can be read") from None


def _fault(file: str, found: str, expected: str) -> ArtworkError:
    return ArtworkError([DocumentFault("", found, expected)], file)


def changed_files(
    passes: Iterable[Pass | ReadPass], folder: str | os.PathLike[str]
) -> tuple[ChangedArtwork, ...]:
    """The files of artwork of passes that are not as they were when a job was read from them.

    Their names count from the folder of the job.
    """

    @cache
    def fingerprint_now(file: str) -> str | None:
        try:
            return fingerprint_of((Path(folder) / file).read_bytes())
        except (OSError, ValueError):
            # A file that cannot be read is told as such, and is not taken for a changed one.
            return None

    return changed_artwork(passes, fingerprint_now)
