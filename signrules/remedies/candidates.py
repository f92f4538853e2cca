"""Candidate changes to a job, and what makers of them see."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, Protocol, TypeVar

from attrs import evolve, frozen

from signrules.errors import JobError
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Handling, Pass
from signrules.model.sign import Sign
from signrules.physics.timeline import Timeline
from signrules.planning.plan import Conflict, Plan
from signrules.rules.checks import Check
from signrules.rules.engine import Fault

Row = TypeVar("Row", Pass, Handling, Media, Sign)

CELLS_RULE = "braille.text"
"""The rule that compares cells with what a translator makes of the text."""


class Judged(Protocol):
    """An evaluation, as far as makers of changes look at it."""

    @property
    def job(self) -> Job:
        """The job."""

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every check."""

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What failed."""

    @property
    def accepted(self) -> tuple[tuple[Fault, str], ...]:
        """What failed and is accepted, with the reason."""

    @property
    def timeline(self) -> Timeline:
        """The replay on which the rules judged."""

    @property
    def found_plan(self) -> Plan | None:
        """The plan."""

    @property
    def conflict(self) -> Conflict | None:
        """Why there is none."""

    @property
    def states(self) -> int:
        """How many states the planner opened for it."""


Edit = Callable[[Job], Job]
WordsFor = Callable[[Job], str]
"""The words of a change, for the job on which it is made: they say what it changes from."""


@frozen
class Change:
    """What to change, in words, and the edits that do it. Whether it helps is for a trial to say.

    `summary` are the words for the job for which it was computed, `words_for` gives them for
    another one where they differ. `far_end` is the same change at the other end of a range that the
    words promise, or the other one of two between which a person chooses: it has to help too.
    `buys` says that it takes something which the shop does not have, `asks` that only a person
    knows whether it is right, `of_likes` that it is what the likes of a pass, a sheet or a sign
    have.
    """

    summary: str
    edits: tuple[Edit, ...]
    words_for: WordsFor | None = None
    far_end: Change | None = None
    buys: bool = False
    asks: bool = False
    of_likes: bool = False

    def words(self, job: Job) -> str:
        """The words for a job on which it is made."""
        return self.summary if self.words_for is None else self.words_for(job)

    def made(self, job: Job) -> Job | None:
        """The changed job; None where it would not be consistent, or where nothing is changed."""
        changed = self.edited(job)
        return None if changed == job else changed

    def edited(self, job: Job) -> Job | None:
        """The job with the edits, be they for nothing; None where it would not be consistent."""
        try:
            changed = job
            for edit in self.edits:
                changed = edit(changed)
        # Makers compute with what is there and need not know all that a job must keep.
        except (JobError, ValueError):
            return None
        return changed


Maker = Callable[[Check, Judged], Iterable[Change]]
"""From a check that is not met to candidate changes, the most sensible first."""


def worded_change(summary: str, *edits: Edit) -> Change:
    """A change of one or more edits, in the same words for any job."""
    return Change(summary, edits)


def reworded_change(job: Job, words_for: WordsFor, *edits: Edit) -> Change:
    """A change of one or more edits, reworded for each job on which it is made."""
    return Change(words_for(job), edits, words_for)


def lasting_changes(job: Job, steps: Sequence[Change]) -> tuple[Change, ...]:
    """The changes that matter in the end, of those made on a job one after the other.

    What a later one changes once more goes: of 7 layers instead of 24 and then 20 instead of 7 the
    second is left, which is 20 instead of 24.
    """
    job_with_all = _all_made(job, steps)
    kept = list(steps)
    for step in steps:
        remaining = [other for other in kept if other is not step]
        # A step may go only where the others make the same job without it.
        if _all_made(job, remaining) == job_with_all:
            kept = remaining
    return tuple(kept)


def _all_made(job: Job, steps: Iterable[Change]) -> Job | None:
    """A job with changes made one after the other; None where one of them cannot be made."""
    changed: Job | None = job
    for step in steps:
        if changed is None:
            return None
        changed = step.edited(changed)
    return changed


def as_in(job: Job, table: str, row: Row) -> Row:
    """A row of a list as it stands in a job; as it is, where the job does not have it."""
    row_now: Row = next((other for other in getattr(job, table) if other.id == row.id), row)
    return row_now


def of_job(**fields: Any) -> Edit:
    """An edit of fields of the job itself."""
    return lambda job: evolve(job, **fields)


def of_item(table: str, id: str, **fields: Any) -> Edit:
    """An edit of one row of a list of the job."""

    def edit(job: Job) -> Job:
        rows = list(getattr(job, table))
        for place, row in enumerate(rows):
            if row.id == id:
                rows[place] = evolve(row, **fields)
        changed: dict[str, Any] = {table: tuple(rows)}
        return evolve(job, **changed)

    return edit


def of_section(sign_id: str, section: str, **fields: Any) -> Edit:
    """An edit of fields of one section of a sign."""

    def edit(job: Job) -> Job:
        sign = next(sign for sign in job.signs if sign.id == sign_id)
        return of_item("signs", sign_id, **{section: evolve(getattr(sign, section), **fields)})(job)

    return edit


def most_exact_method(job: Job) -> tuple[str, float] | None:
    """The locating method with the least error that the printer states, and that error in mm.

    Of equal ones the first by name; None where it states none.
    """
    return min(job.printer.locating, key=lambda pair: (pair[1], pair[0]), default=None)


def subject_id(check: Check) -> str:
    """The id of what a check looked at: `passes.dots` is about `dots`."""
    return check.subjects[0].partition(".")[2]


def pass_at(check: Check, judged: Judged) -> int | None:
    """The index of the pass that a check looked at; None where it looked at something else."""
    table, _, pass_id = check.subjects[0].partition(".")
    if table != "passes":
        return None
    return judged.timeline.machine.heights.index.get(pass_id)


def passes_named(paths: Iterable[str], judged: Judged) -> Iterator[int]:
    """The indices of the passes among some paths."""
    for path in paths:
        table, _, pass_id = path.partition(".")
        if table == "passes" and pass_id in judged.timeline.machine.heights.index:
            yield judged.timeline.machine.heights.index[pass_id]
