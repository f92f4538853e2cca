"""Changes that give the head more room, or drops a shorter way: the gap, layers, what lies on the
bed beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from attrs import evolve

from signrules.model.job import Job
from signrules.model.passes import Gap, HeadAboveBed, HeadSetting, Pass
from signrules.model.printer import Spacers
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import counted_things, number_text
from signrules.physics.heights import HeadPlane
from signrules.remedies.candidates import (
    Change,
    Judged,
    as_in,
    of_item,
    of_job,
    pass_at,
    reworded_change,
    worded_change,
)
from signrules.rules.checks import Check
from signrules.rules.judged_relief import layers_over

BED_STEP_MM = 0.05
"""A gap from the bed is rounded up to this much: no spacer or dial says what can be set there."""

MOST_NEIGHBOURS = 3


def larger_gap(check: Check, judged: Judged) -> Iterator[Change]:
    """The least gap that can be set and clears, from the stated surface and from the others."""
    pass_index = pass_at(check, judged)
    if pass_index is None:
        return
    item = judged.job.passes[pass_index]
    # Where the printer asks for no clearance the head must still not touch.
    least_clearance = max(judged.job.printer.min_clearance, 2 * GUARD_MM)
    # First what is the least where the pass stands now, then what clears wherever it may stand: the
    # planner may move it behind passes that are higher.
    for once_all_stands in (False, True):
        for reference in reference_surfaces(item):
            zero = with_extra(item, reference, 0.0)
            # At extra 0 the clearance says how much is lacking: it grows by just as much as the
            # extra.
            clearance = clearance_with(judged, pass_index, zero, once_all_stands=once_all_stands)
            short = least_clearance - clearance.low
            extra = _settable_from(judged, reference, short)
            if extra is not None:
                yield _set_with_its_tool(judged.job, item, with_extra(item, reference, extra))


def smaller_gap(check: Check, judged: Judged) -> Iterator[Change]:
    """The largest gap that can be set and stays within the reach of drops, from either surface."""
    pass_index = pass_at(check, judged)
    longest_throw = judged.job.printer.max_throw
    if pass_index is None or longest_throw is None:
        return
    item = judged.job.passes[pass_index]
    for reference in reference_surfaces(item):
        zero = with_extra(item, reference, 0.0)
        room = longest_throw - throw_with(judged, pass_index, zero)
        extra = _settable_up_to(judged, reference, room)
        if extra is not None:
            yield _set_with_its_tool(judged.job, item, with_extra(item, reference, extra))


def every_planned_gap(judged: Judged) -> Iterator[Change]:
    """All stated gaps left to the planner: where they were chosen for one sheet, and its neighbours
    are in the way.
    """
    passes = judged.job.passes
    # Of a single stated gap `planned_gap` makes the same change.
    if sum(item.gap is not None for item in passes) > 1:
        freed = tuple(evolve(item, gap=None) for item in passes)
        yield worded_change(
            "Let the planner choose the gaps of all passes.", of_job(passes=freed, sequence=None)
        )


def planned_gap(check: Check, judged: Judged) -> Iterator[Change]:
    """A stated gap left to the planner; and, where an order was stated too, both."""
    pass_index = pass_at(check, judged)
    if pass_index is None or judged.job.passes[pass_index].gap is None:
        return
    item = judged.job.passes[pass_index]
    yield left_to_the_planner(judged.job, item)
    if judged.job.sequence is not None:
        yield worded_change(
            f"{_gap_left_open(item)} and the order.",
            of_item("passes", item.id, gap=None),
            of_job(sequence=None),
        )


def left_to_the_planner(job: Job, item: Pass) -> Change:
    """The stated gap of a pass of a job left open."""
    return reworded_change(
        job,
        lambda job: f"{_gap_left_open(item)} instead of {gap_words(job, item)}.",
        of_item("passes", item.id, gap=None),
    )


def _gap_left_open(item: Pass) -> str:
    return f"Let the planner choose the gap of {item.id}"


def nearest_settable(check: Check, judged: Judged) -> Iterator[Change]:
    """The next larger gap that can be set, then the next smaller one."""
    pass_index = pass_at(check, judged)
    if pass_index is None or judged.job.passes[pass_index].gap is None:
        return
    item = judged.job.passes[pass_index]
    assert item.gap is not None
    stated = item.gap.stated.nominal
    for extra in (
        _settable_from(judged, item.gap.above, stated),
        _settable_up_to(judged, item.gap.above, stated),
    ):
        if extra is not None:
            gap = with_extra(item, item.gap.above, extra)
            yield _set_with_its_tool(judged.job, item, gap)


def fewer_layers(check: Check, judged: Judged) -> Iterator[Change]:
    """Fewer layers of a build-up that stands in the way, as many as the head is short of."""
    pass_index = pass_at(check, judged)
    if pass_index is None or check.measured is None:
        return
    job, timeline = judged.job, judged.timeline
    short = max(judged.job.printer.min_clearance, 2 * GUARD_MM) - check.measured.low
    standing = (
        printed_index
        for printed_index in timeline.printings
        if timeline.positions[printed_index] <= timeline.positions[pass_index]
    )
    for other in sorted(standing, reverse=True):
        item = job.passes[other]
        layer = job.ink_of(item).layer
        # Only of relief: colour has no layers to spare, and its tone would change.
        if item.builds:
            layers = item.layers - layers_over(short, layer.high)
            if layers >= 1:
                yield set_layers(job, item, layers)


def load_apart(check: Check, judged: Judged) -> Iterator[Change]:
    """A sheet beside the one that is printed gets a bed load of its own, the thickest first."""
    pass_index = pass_at(check, judged)
    if pass_index is None:
        return
    job = judged.job
    own_sheet = job.media_of(job.passes[pass_index])
    loads = {sheet.load for sheet in job.media}
    fresh = next(str(count) for count in range(1, len(loads) + 2) if str(count) not in loads)
    beside = [
        sheet for sheet in job.media if sheet.load == own_sheet.load and sheet.id != own_sheet.id
    ]
    # The thickest first, since it is most likely what stands in the way.
    beside.sort(key=lambda sheet: -sheet.thickness.high)
    for sheet in beside[:MOST_NEIGHBOURS]:
        text = (
            f"Put {sheet.id} on the bed by itself, as load {fresh}, instead of beside"
            f" {own_sheet.id} as load {own_sheet.load}."
        )
        yield worded_change(text, of_item("media", sheet.id, load=fresh))


def one_way(check: Check, judged: Judged) -> Iterator[Change]:
    """A pass that prints both ways printed one-way: then no two directions must meet."""
    pass_index = pass_at(check, judged)
    if pass_index is not None and judged.job.passes[pass_index].directions == 2:
        name = judged.job.passes[pass_index].id
        text = f"Print {name} one-way, which takes longer."
        yield worded_change(text, of_item("passes", name, directions=1))


def set_layers(job: Job, item: Pass, layers: int) -> Change:
    """Another number of layers for a pass of a job."""
    done = f"Print {item.id} in {counted_things(layers, 'layer')}"

    def words_for(job: Job) -> str:
        return f"{done} instead of {as_in(job, 'passes', item).layers}."

    return reworded_change(job, words_for, of_item("passes", item.id, layers=layers))


def set_ink(job: Job, item: Pass, ink: str) -> Change:
    """Another ink for a pass of a job."""

    def words_for(job: Job) -> str:
        return f"Print {item.id} in {ink} instead of {as_in(job, 'passes', item).ink}."

    return reworded_change(job, words_for, of_item("passes", item.id, ink=ink))


def gap_words(job: Job, item: Pass) -> str:
    """The gap of a pass in words, as it stands in a job."""
    return gap_in_words(as_in(job, "passes", item).gap, job.media_of(item).id)


def gap_in_words(gap: HeadSetting | None, sheet: str) -> str:
    """A gap over a sheet in words."""
    if gap is None:
        return "the one that the planner chose"
    where = {"media": f"over {sheet}", "build-up": f"over the build-up on {sheet}"}
    return f"{number_text(gap.stated.nominal)} mm {where.get(gap.above, 'above the bed')}"


def set_gap(job: Job, item: Pass, gap: HeadSetting, *, tool: str = "") -> Change:
    """Another gap for a pass of a job; `tool` says by what it is set."""
    words = gap_in_words(gap, job.media_of(item).id)
    return reworded_change(
        job,
        lambda job: f"Set the gap of {item.id} to {words}{tool} instead of {gap_words(job, item)}.",
        of_item("passes", item.id, gap=gap),
    )


def spacer_words(job: Job, gap: HeadSetting) -> str:
    """Which spacer a gap takes, where that is how gaps are set, to stand behind its words."""
    if not isinstance(job.printer.gap, Spacers) or gap.above == "bed":
        return ""
    nominal = gap.stated.nominal
    return f" (the {number_text(nominal)} mm spacer)" if nominal else " (no spacer)"


def _set_with_its_tool(job: Job, item: Pass, gap: HeadSetting) -> Change:
    return set_gap(job, item, gap, tool=spacer_words(job, gap))


def reference_surfaces(item: Pass) -> tuple[str, ...]:
    """The surfaces from which the gap of a pass can be set, the stated one first."""
    stated = () if item.gap is None else (item.gap.above,)
    return tuple(dict.fromkeys((*stated, "media", "build-up")))


def with_extra(item: Pass, reference: str, extra: float) -> HeadSetting:
    """A gap of another nominal extra; over the stated surface the stated tolerance is kept."""
    if item.gap is None or item.gap.above != reference:
        return Gap(Interval.exact(extra), reference)
    moved = item.gap.stated.moved_to(extra)
    if isinstance(item.gap, HeadAboveBed):
        return evolve(item.gap, head_above_bed=moved)
    return evolve(item.gap, extra=moved)


def _settable_from(judged: Judged, reference: str, least: float) -> float | None:
    """The least extra that can be set and is not below `least`."""
    if reference == "bed":
        # The millionth keeps rounding errors from making a whole step more.
        return round(math.ceil(least / BED_STEP_MM - 1e-6) * BED_STEP_MM, 6)
    extras = judged.job.printer.gap.extras()
    return next((extra for extra in extras if extra >= least - GUARD_MM), None)


def _settable_up_to(judged: Judged, reference: str, most: float) -> float | None:
    """The largest extra that can be set and is not above `most`."""
    if reference == "bed":
        # The millionth keeps rounding errors from making a whole step less.
        return round(math.floor(most / BED_STEP_MM + 1e-6) * BED_STEP_MM, 6)
    extras = judged.job.printer.gap.extras()
    return max((extra for extra in extras if extra <= most + GUARD_MM), default=None)


def clearance_with(
    judged: Judged, pass_index: int, gap: HeadSetting, *, once_all_stands: bool
) -> Interval:
    """The clearance of a pass with another gap: where the replay prints it, or once all stands."""
    heights = judged.timeline.machine.heights
    printed, turned = stands_before(judged, pass_index, once_all_stands=once_all_stands)
    plane = plane_with(judged, pass_index, gap, printed)
    return heights.clearance(pass_index, plane, {*printed, pass_index}, turned)


def throw_with(judged: Judged, pass_index: int, gap: HeadSetting) -> float:
    """The largest throw that a pass would have with another gap where the replay prints it."""
    printed, _ = stands_before(judged, pass_index)
    plane = plane_with(judged, pass_index, gap, printed)
    return judged.timeline.machine.heights.throw(pass_index, plane, printed).to_lowest.high


def plane_with(
    judged: Judged, pass_index: int, gap: HeadSetting, printed: frozenset[int]
) -> HeadPlane:
    """The head plane of a pass with another gap, set when some passes stand."""
    return judged.timeline.machine.heights.head_plane(pass_index, gap, printed)


def stands_before(
    judged: Judged, pass_index: int, *, once_all_stands: bool = False
) -> tuple[frozenset[int], frozenset[str]]:
    """The passes that stand when a pass is printed, and the sheets that lie with their back up.

    With `once_all_stands` these are all other passes, whenever the replay prints them.
    """
    timeline, machine = judged.timeline, judged.timeline.machine
    earlier = timeline.order[: timeline.positions[pass_index]]
    standing = range(machine.pass_count) if once_all_stands else earlier
    passes = frozenset(item_index for item_index in standing if machine.is_pass(item_index))
    return passes - {pass_index}, machine.back_up_after(earlier)
