"""A conflict that was found once stays one as long as a change leaves alone all that makes it."""

from __future__ import annotations

from attrs import evolve, fields

from signrules.model.job import Job
from signrules.model.passes import Pass
from signrules.planning.plan import Conflict

FREE_OF_JOB = ("name", "signs", "standards", "waivers", "passes")
"""What may change of a job: the rest lies around every pass."""

FREE_OF_PASS = (
    "ink",
    "areas",
    "layers",
    "coverage",
    "gap",
    "directions",
    "crisp_on",
    "sheet_temperature",
    "builds",
)
"""What may change of passes outside a conflict: none of it puts a pass before or after another."""


def still_in_conflict(conflict: Conflict | None, before: Job, job: Job) -> bool:
    """Whether a proven conflict of the job `before` is sure to be one of the changed `job`, for the
    same reasons.

    It is where no sheet is moved, where all members are passes that have not changed, with gaps set
    over the sheet or the bed, so that no ink beside theirs lifts the head, and where all other
    passes come before and after the same as they did: whatever else these print only ever stands in
    the way. False says no more than that it is not sure.
    """
    if conflict is None or not conflict.proven or not _same_around(before, job):
        return False
    members = {path.partition(".")[2] for path in conflict.subjects if path.startswith("passes.")}
    all_are_passes = bool(members) and len(members) == len(conflict.subjects)
    if not all_are_passes or any(job.kind_of(item).on_sheet for item in job.handling):
        return False
    return all(
        _member_is_kept(earlier, changed)
        if earlier.id in members
        else _place_is_kept(earlier, changed)
        for earlier, changed in zip(before.passes, job.passes, strict=True)
    )


def _same_around(before: Job, job: Job) -> bool:
    names = [declared.name for declared in fields(Job) if declared.name not in FREE_OF_JOB]
    return len(before.passes) == len(job.passes) and all(
        getattr(before, name) == getattr(job, name) for name in names
    )


def _member_is_kept(earlier: Pass, changed: Pass) -> bool:
    # An open gap, or one over the build-up, may come to lie higher with more ink elsewhere.
    return earlier == changed and earlier.gap is not None and earlier.gap.above != "build-up"


def _place_is_kept(earlier: Pass, changed: Pass) -> bool:
    """Whether a pass differs in nothing that puts it before or after another."""
    if earlier == changed:
        return True
    free_fields = {name: getattr(earlier, name) for name in FREE_OF_PASS}
    return evolve(changed, **free_fields) == earlier
