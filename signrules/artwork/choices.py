"""What drawings do not tell of a job, and whoever reads them chooses."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from attrs import field, frozen

from signrules.artwork.areas import USUAL_LIMITS, AreaLimits
from signrules.braille.styles import Translates
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.wording import NOTHING, listed_names, shown_value


def untranslated(grade: str, text: str) -> str | None:
    """In the place of a translator where there is none."""
    return None


@frozen
class SignChoice:
    """What the letters of a sign say, where they are outlines, and what the sign is for."""

    text: tuple[str, ...] = ()
    kind: str | None = None


@frozen
class ArtworkChoices:
    """What drawings do not tell, and is chosen for a job.

    `printer` and `sheet` are ids of the shop; None takes its only one. `standards`, `kind` and
    `name` go into the job as they are. `pages` are the numbers of the pages that are taken, all
    where it is None, each on a sheet of its own. `text` is what the letters of the only sign say,
    where they are outlines; `signs` says so of each sign by its id, "sheet-3", and then of all of
    them. `limits` bound how much more than the ink areas cover. `translate` makes cells of a grade
    and a line of text, as a plugin does.
    """

    printer: str | None = None
    sheet: str | None = None
    standards: tuple[str, ...] = ()
    name: str | None = None
    kind: str | None = None
    text: tuple[str, ...] = ()
    signs: Mapping[str, SignChoice] = field(factory=dict)
    pages: Collection[int] | None = None
    limits: AreaLimits = USUAL_LIMITS
    translate: Translates = untranslated

    def of_sign(self, id: str) -> SignChoice:
        """What is chosen for a sign."""
        return self.signs.get(id, SignChoice(self.text, self.kind))


NO_CHOICES = ArtworkChoices()


def demand_one_text(choices: ArtworkChoices, ids: Sequence[str], file: str) -> None:
    """Raises ArtworkError where one text is stated, and there are several signs."""
    if choices.text and len(ids) > 1:
        expected = "one sign that it is of; the text of several is stated sign by sign"
        raise ArtworkError([DocumentFault("text", f"{len(ids)} signs", expected)], file)


def faults_of_choices(choices: ArtworkChoices, ids: Sequence[str]) -> Iterator[DocumentFault]:
    """Signs that are chosen for and are not there, and signs that nothing is chosen for."""
    for id in choices.signs:
        if id not in ids:
            expected = f"one of {listed_names(list(ids))}"
            yield DocumentFault(f"signs.{id}", f"no sign {shown_value(id)}", expected)
    lacking = [id for id in ids if choices.signs and id not in choices.signs]
    if lacking:
        yield DocumentFault("signs", f"nothing for {listed_names(lacking)}", "a text for each sign")


def chosen_entry(id: str | None, entries: Mapping[str, Any], noun: str, file: str) -> str:
    """The entry of the shop that is named, or its only one."""
    if id is not None and id in entries:
        return id
    if id is None and len(entries) == 1:
        return next(iter(entries))
    known = listed_names(list(entries)) if entries else "none"
    found = NOTHING if id is None else shown_value(id)
    fault = DocumentFault(noun, found, f"the id of a {noun} of the shop: {known}")
    raise ArtworkError([fault], file)
