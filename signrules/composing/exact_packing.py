"""Whether rectangles fit into so many bins, decided by OR-tools' CP-SAT where it is installed.

Without it the answer is that nobody knows, and what was found by trying stands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules.composing.rectangles import Frame, Packed, Rectangle, Spot

MOST_RECTANGLES = 24
EFFORT = 0.1
"""The solver's own measure of work, which is the same on every machine."""


@frozen
class Answer:
    """Bins that hold everything; without any, whether it is proven that there are none."""

    bins: Packed | None = None
    proven_none: bool = False


UNKNOWN = Answer()


def packed_exactly(rectangles: Sequence[Rectangle], frame: Frame, bins: int) -> Answer:
    """Whether some rectangles fit into a number of bins of a size."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        return UNKNOWN
    if len(rectangles) > MOST_RECTANGLES:
        return UNKNOWN
    model = cp_model.CpModel()
    places = [list(_places(model, each, frame, bins)) for each in rectangles]
    for number, own in enumerate(places):
        model.add_exactly_one(place.chosen for place in own)
        for place in own:
            # Bins are alike: the first goes into the first, the second into one of the first two.
            if place.bin > number:
                model.add(place.chosen == 0)
    by_bin: dict[int, list[_Place]] = defaultdict(list)
    for own in places:
        for place in own:
            by_bin[place.bin].append(place)
    for inside in by_bin.values():
        along_x, along_y = [each.along_x for each in inside], [each.along_y for each in inside]
        # Bins are independent planes; a rectangle lies in one of them because its intervals are
        # optional.
        model.add_no_overlap_2d(along_x, along_y)
    solver = cp_model.CpSolver()
    # Several workers race, and which answer comes first differs from run to run.
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = EFFORT
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Answer(tuple(_spots_by_bin(solver, places, rectangles, frame, bins)))
    return Answer(proven_none=status == cp_model.INFEASIBLE)


@frozen
class _Place:
    """One bin and one way for a rectangle, with the solver's variables."""

    bin: int
    way: str
    chosen: Any
    x: Any
    y: Any
    along_x: Any
    along_y: Any


def _places(model: Any, rectangle: Rectangle, frame: Frame, bins: int) -> Iterator[_Place]:
    for way in rectangle.ways:
        width, height = rectangle.size(way)
        if width > frame.width or height > frame.height:
            continue
        for bin in range(bins):
            chosen = model.new_bool_var("")
            x = model.new_int_var(0, frame.width - width, "")
            y = model.new_int_var(0, frame.height - height, "")
            along_x = model.new_optional_fixed_size_interval_var(x, width, chosen, "")
            along_y = model.new_optional_fixed_size_interval_var(y, height, chosen, "")
            yield _Place(bin, way, chosen, x, y, along_x, along_y)


def _spots_by_bin(
    solver: Any,
    places: Sequence[Sequence[_Place]],
    rectangles: Sequence[Rectangle],
    frame: Frame,
    bins: int,
) -> Iterator[tuple[Spot, ...]]:
    found: dict[int, list[Spot]] = {number: [] for number in range(bins)}
    for rectangle, own in zip(rectangles, places, strict=True):
        for place in own:
            if solver.boolean_value(place.chosen):
                x, y = frame.x + solver.value(place.x), frame.y + solver.value(place.y)
                found[place.bin].append(Spot(rectangle, x, y, place.way))
    return (tuple(spots) for spots in found.values() if spots)
