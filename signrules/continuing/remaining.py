"""The part of a plan that is still to be done, and what can no longer be done."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from attrs import evolve, frozen

from signrules.evaluation import Evaluation, why_not_safe
from signrules.model.job import Job
from signrules.physics.landing import fewest_alignments
from signrules.physics.timeline import Step, Timeline
from signrules.plain import rounded_number
from signrules.planning.setup_cost import Costs


@frozen(eq=False)
class Remaining:
    """The steps that are left of a plan, and what their set-up takes.

    `order` are the passes and handling in it. `setup_minutes` is None where the printer does not
    state all of its minutes. `head_above_bed` is how high the head stands now, nominal and in mm,
    None where nothing is printed. `gap_stays` says that the next pass prints with it as it stands,
    `gap_anew` that it must be set to the same height again, after a strike or an alignment.
    """

    order: tuple[str, ...]
    steps: tuple[Step, ...]
    loads: int
    gap_settings: int
    new_alignments: tuple[float, ...]
    setup_minutes: float | None
    head_above_bed: float | None
    gap_stays: bool
    gap_anew: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        height = self.head_above_bed
        return {
            "order": list(self.order),
            "loads": self.loads,
            "gap_settings": self.gap_settings,
            "new_alignments_mm": [rounded_number(extra) for extra in self.new_alignments],
            "setup_minutes": self.setup_minutes,
            "head_above_bed_mm": None if height is None else rounded_number(height),
            "gap_stays": self.gap_stays,
            "gap_anew": self.gap_anew,
        }


def remaining_of(
    timeline: Timeline, done: Collection[str], *, head_is_known: bool = True
) -> Remaining:
    """What is left of a replay that begins with what is done.

    Where nobody knows how the head stands, as after a strike, its gap is set once more.
    """
    machine, count = timeline.machine, len(done)
    left = _steps_after(timeline.steps, count)
    loads = sum(step.kind == "load" for step in left)
    loads += sum(machine.counts_as_load(item_index) for item_index in timeline.order[count:])
    alignments = _alignments_left(timeline, count)
    kinds = [step.kind for step in left if step.kind in ("gap", "print")]
    height = _head_after(timeline, count)
    # A step sets the gap before the next pass, unless that prints with the head as it stands.
    keeps_gap = height is not None and kinds[:1] == ["print"]
    # An alignment is made with the head at its own height.
    gap_anew = keeps_gap and (not head_is_known or bool(alignments))
    printings = (step.printing for step in left if step.kind == "gap")
    counted = [one is not None and one.counts_as_setting for one in printings]
    gap_settings = sum(counted) + gap_anew
    costs = Costs.of(machine.job.printer.minutes)
    minutes = costs.weight(loads, gap_settings, len(alignments)) if costs.stated else None
    return Remaining(
        order=tuple(machine.items[item_index].id for item_index in timeline.order[count:]),
        steps=(*(Step("align", extra=extra) for extra in alignments), *left),
        loads=loads,
        gap_settings=gap_settings,
        new_alignments=alignments,
        setup_minutes=minutes,
        head_above_bed=height,
        gap_stays=keeps_gap and not gap_anew,
        gap_anew=gap_anew,
    )


def _steps_after(steps: tuple[Step, ...], count: int) -> tuple[Step, ...]:
    """The steps behind so many passes and pieces of handling."""
    if not count:
        return steps
    ends_of_items = [
        number for number, step in enumerate(steps, start=1) if step.kind in ("print", "handle")
    ]
    return steps[ends_of_items[count - 1] :]


def _alignments_left(timeline: Timeline, count: int) -> tuple[float, ...]:
    """The fewest alignments that what remains still needs, as extras in mm.

    What is printed already needs none, whether it landed well or not.
    """
    job = timeline.machine.job
    wanted = [
        (window, timeline.printings[pass_index].crisp_extra_all_along)
        for pass_index, window in timeline.windows.items()
        if timeline.positions[pass_index] >= count
    ]
    on_record = [alignment.extra for alignment in job.usable_alignments]
    return tuple(fewest_alignments(job.printer, wanted, on_record))


def _head_after(timeline: Timeline, count: int) -> float | None:
    """How high the head stands after so many items, nominal and in mm; None before any pass."""
    for item_index in reversed(timeline.order[:count]):
        if item_index in timeline.printings:
            return timeline.printings[item_index].plane.height.nominal
    return None


@frozen
class Lost:
    """Passes and handling that can no longer all be done safely, and why.

    `reasons` are for people, one for each; `proven` says whether it is proven that no order is
    safe, or whether the search ended before.
    """

    names: tuple[str, ...]
    reasons: tuple[str, ...]
    proven: bool = True

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {"names": list(self.names), "reasons": list(self.reasons), "proven": self.proven}


def lost_of(result: Evaluation, done: Collection[str]) -> Lost | None:
    """What stands against every order that begins with what is done; None where one is safe."""
    if result.order_is_safe:
        return None
    conflict = why_not_safe(result)
    names = [subject.partition(".")[2] for subject in conflict.subjects]
    reasons = conflict.reasons
    # Of a conflict there is one reason for each subject; that of a pass which is done only says
    # that it came first.
    if result.conflict is not None and len(names) == len(reasons):
        paired = zip(names, reasons, strict=True)
        reasons = tuple(reason for name, reason in paired if name not in done)
    ids = {item.id for item in result.job.items}
    left = tuple(name for name in names if name in ids and name not in done)
    return Lost(left, reasons or (conflict.message,), conflict.proven)


def with_true_reasons(lost: Lost, declared: Job, done: Collection[str]) -> Lost:
    """The same with reasons that say of what is done that it is done.

    `done_first` keeps it first by an `after` that the job as `declared` does not have, and reasons
    speak of that as if it were declared.
    """
    truths = dict(_truths_of_done(declared, done))
    return evolve(lost, reasons=tuple(_replaced(reason, truths) for reason in lost.reasons))


def _truths_of_done(declared: Job, done: Collection[str]) -> Iterator[tuple[str, str]]:
    """What a reason may say of the order of what is done, and what is true instead."""
    for item in declared.items:
        for earlier in done:
            if earlier != item.id and earlier not in item.after:
                truth = f"{earlier} is done and {item.id} is not"
                if item.id in done:
                    truth = f"{item.id} was done after {earlier}"
                yield f"{item.id} is declared to come after {earlier}.", f"{truth}."


def _replaced(text: str, truths: Mapping[str, str]) -> str:
    for claim, truth in truths.items():
        text = text.replace(f": {claim}", f": {truth}")
    return text
