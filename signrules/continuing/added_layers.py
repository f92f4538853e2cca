"""Layers added to dots that were measured too low, on the sheet that still lies there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve, frozen

from signrules.continuing.measured_now import printed_builders
from signrules.evaluation import Evaluation, Judge, why_not_safe
from signrules.model.built_areas import areas_building
from signrules.model.job import Job, free_id
from signrules.model.limits import MOST_LAYERS
from signrules.model.passes import HeadSetting, Pass
from signrules.physics.timeline import Printing


@frozen(eq=False)
class Added:
    """A job with more layers on the dots of a sign, and what comes of it.

    `item` is the pass that prints them. `covers` are passes that are done and come to lie under
    them, `followers` those that remain and land on the higher dots.
    """

    job: Job
    item: Pass
    result: Evaluation
    covers: tuple[str, ...]
    followers: tuple[str, ...]

    @property
    def why_not(self) -> tuple[str, ...]:
        """Why the layers cannot be printed, in words; empty where they can."""
        conflict = self.result.conflict
        if conflict is not None:
            return conflict.reasons
        wrong = (*self._held_against(), *wrong_registers(self.result, self.followers))
        if not wrong and not self.result.order_is_safe:
            return (why_not_safe(self.result).message,)
        return tuple(dict.fromkeys(wrong))

    def _held_against(self) -> Iterator[str]:
        """What checks of level STOP hold against the new pass and not against the dots as well."""
        builder, added = f"passes.{self.item.over[0]}", f"passes.{self.item.id}"
        held = [check for check in self.result.checks if check.holds_back]
        builder_rules = {check.rule for check in held if builder in check.subjects}
        for check in held:
            if added in check.subjects and check.rule not in builder_rules:
                yield check.message


def added_layers(
    job: Job, done: Sequence[str], sign: str, count: int, judge: Judge
) -> Added | None:
    """The job with so many more layers on the dots of a sign, which `done` has printed.

    The gap of the dots is taken where that is in order, otherwise one that the planner chooses.
    Where neither is, what comes of the last one. None for more layers than a pass can have.
    """
    if count > MOST_LAYERS:
        return None
    found = None
    for gap in _gaps_to_try(printed_builders(job, done, sign)[-1]):
        found = _with_layers(job, done, sign, count, gap, judge)
        if not found.why_not:
            return found
    return found


def _gaps_to_try(builder: Pass) -> Iterator[HeadSetting | None]:
    if builder.gap is not None:
        yield builder.gap
    yield None


def _with_layers(
    job: Job,
    done: Sequence[str],
    sign: str,
    count: int,
    gap: HeadSetting | None,
    judge: Judge,
) -> Added:
    builder = printed_builders(job, done, sign)[-1]
    covers = tuple(item.id for item in job.passes if item.id in done and builder.id in item.over)
    item = evolve(
        builder,
        id=free_id(f"{builder.id}-more", (one.id for one in job.items)),
        areas=areas_building(job, builder, f"{sign}.braille") or builder.areas,
        layers=count,
        gap=gap,
        over=(builder.id,),
        after=(done[-1],),
        builds=(f"{sign}.braille",),
        artwork=(),
    )
    followers = [one.id for one in job.passes if one.id not in done and builder.id in one.over]
    passes = [_landing_on(one, item.id) if one.id in followers else one for one in job.passes]
    job_with_layers = evolve(job, passes=(*passes, item))
    return Added(job_with_layers, item, judge(job_with_layers), covers, tuple(followers))


def _landing_on(item: Pass, added: str) -> Pass:
    return evolve(item, over=(*item.over, added))


def wrong_registers(result: Evaluation, names: Iterable[str]) -> tuple[str, ...]:
    """What the registration checks of some passes hold against them, in words."""
    paths = {f"passes.{name}" for name in names}
    return tuple(
        check.message
        for check in result.checks
        if check.rule.startswith("registration.")
        and check.holds_back
        and paths.intersection(check.subjects)
    )


def printing_of(added: Added) -> Printing:
    """How the new pass is printed."""
    timeline = added.result.timeline
    return timeline.printings[timeline.machine.index[added.item.id]]
