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
    """Whether a proven conflict of a job is shown to be one of a changed job, for the same reasons.

    Its members are passes whose gaps stand over the sheet or the bed, so that nothing else that is
    printed lifts the head over what is in its way; no sheet is moved; and the change is one of
    other passes, which come before and after the same as they did. What is printed besides only
    ever stands in the way. Where that does not hold nothing is said.
    """
    if conflict is None or not conflict.proven or not _same_around(before, job):
        return False
    members = {path.partition(".")[2] for path in conflict.subjects if path.startswith("passes.")}
    if (
        not members
        or len(members) < len(conflict.subjects)
        or any(job.kind_of(item).on_sheet for item in job.handling)
    ):
        return False
    return all(
        _member_stays(earlier, changed, earlier.id in members)
        for earlier, changed in zip(before.passes, job.passes, strict=True)
    )


def _same_around(before: Job, job: Job) -> bool:
    names = [declared.name for declared in fields(Job) if declared.name not in FREE_OF_JOB]
    return len(before.passes) == len(job.passes) and all(
        getattr(before, name) == getattr(job, name) for name in names
    )


def _member_stays(earlier: Pass, changed: Pass, is_member: bool) -> bool:
    if is_member:
        # An open gap, or one over the build-up, may come to lie higher with more ink elsewhere.
        return earlier == changed and earlier.gap is not None and earlier.gap.above != "build-up"
    return (
        earlier == changed
        or evolve(changed, **{name: getattr(earlier, name) for name in FREE_OF_PASS}) == earlier
    )
