"""Candidate changes to a job, and what makers of them see."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Protocol

from attrs import evolve, frozen

from signrules.errors import JobError
from signrules.model.job import Job
from signrules.physics.timeline import Timeline
from signrules.planning.plan import Conflict, Plan
from signrules.rules.checks import Check
from signrules.rules.engine import Fault

CELLS = "braille.text"
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


@frozen
class Change:
    """What to change, in words, and the edits that do it. Whether it helps is for a trial to say."""

    summary: str
    edits: tuple[Edit, ...]

    def made(self, job: Job) -> Job | None:
        """The changed job; None where it would not be consistent, or where nothing is changed."""
        try:
            changed = job
            for edit in self.edits:
                changed = edit(changed)
        except (JobError, ValueError):
            return None
        return None if changed == job else changed


Maker = Callable[[Check, Judged], Iterable[Change]]
"""From a check that is not met to candidate changes, the most sensible first."""


def change(summary: str, *edits: Edit) -> Change:
    """A change of one or more edits."""
    return Change(summary, edits)


def of_job(**fields: Any) -> Edit:
    """An edit of fields of the job itself."""
    return lambda job: evolve(job, **fields)


def of_item(table: str, id: str, **fields: Any) -> Edit:
    """An edit of one row of a list of the job."""

    def edit(job: Job) -> Job:
        rows = tuple(evolve(row, **fields) if row.id == id else row for row in getattr(job, table))
        changed: dict[str, Any] = {table: rows}
        return evolve(job, **changed)

    return edit


def of_section(sign_id: str, section: str, **fields: Any) -> Edit:
    """An edit of fields of one section of a sign."""

    def edit(job: Job) -> Job:
        sign = next(sign for sign in job.signs if sign.id == sign_id)
        return of_item("signs", sign_id, **{section: evolve(getattr(sign, section), **fields)})(job)

    return edit


def subject_id(check: Check) -> str:
    """The id of what a check looked at: `passes.dots` is about `dots`."""
    return check.subjects[0].partition(".")[2]


def pass_at(check: Check, judged: Judged) -> int | None:
    """The index of the pass that a check looked at; None where it looked at something else."""
    table, _, id = check.subjects[0].partition(".")
    return judged.timeline.machine.heights.index.get(id) if table == "passes" else None


def passes_named(paths: Iterable[str], judged: Judged) -> Iterator[int]:
    """The indices of the passes among some paths."""
    for path in paths:
        table, _, id = path.partition(".")
        if table == "passes" and id in judged.timeline.machine.heights.index:
            yield judged.timeline.machine.heights.index[id]
