"""The least set-up of a ganged bed with stated gaps, proven by CP-SAT (ortools): an oracle that
shares no code.

It takes nothing from the library but the classes of the model; heights, bands, clearances and
alignments come from
`bed_geometry.py`. The model goes place by place through the order: which pass is printed, how far
each sheet has come, which head plane is set and whether it was kept from the pass before.

It serves beds of one load without handling, all passes of which state their gaps, up to some
sixteen of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import product
from typing import Any

from attrs import frozen
from benchmarks.bed_geometry import EPS, Bed, Ideal, Plane

from signrules.model import Job, Media, Minutes, Pass

WORKERS = 2
MOST_IDEALS = 300


@frozen
class Answer:
    """What CP-SAT says: whether it is proven, the least (loads, weight), None where there is no
    safe order.
    """

    proven: bool
    cost: tuple[int, float] | None
    bound: tuple[int, float]
    seconds: float


def serves(job: Job) -> bool:
    """Whether a job is of the kind of which this model knows the least set-up."""
    plain = not job.handling and len({sheet.load for sheet in job.media}) == 1
    stated = all(item.gap is not None and item.side == "front" for item in job.passes)
    over_bed = any(item.gap is not None and item.gap.above == "bed" for item in job.passes)
    if not plain or not stated or over_bed or any(sheet.hold == "none" for sheet in job.media):
        return False
    bed = Bed(job)
    return max(map(len, bed.ideals)) <= MOST_IDEALS and bed.alignments() is not None


def least_setup(job: Job, seconds: float) -> Answer:
    """The least (loads, weight) of a job that `serves` accepts, or the bound that was reached in
    that time.
    """
    from ortools.sat.python import cp_model

    bed = Bed(job)
    alignments = bed.alignments()
    assert alignments is not None
    model = _Model(bed, cp_model.CpModel())
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model.model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)

    def cost(settings: float) -> tuple[int, float]:
        return 1, _weight(job.printer.minutes, settings, alignments)

    return Answer(
        status in (cp_model.OPTIMAL, cp_model.INFEASIBLE),
        cost(round(solver.objective_value)) if found else None,
        cost(math.ceil(solver.best_objective_bound - EPS) if found else 1),
        solver.wall_time,
    )


def _weight(minutes: Minutes, settings: float, alignments: int) -> float:
    if minutes.load is None or minutes.gap is None or minutes.alignment is None:
        return float(settings + alignments)
    return minutes.load + settings * minutes.gap + alignments * minutes.alignment


class _Model:
    """Variables by place: `prints[i][p]`, `stands[i][sheet][ideal]` before it, `planes[i][plane]`,
    `kept[i]`.
    """

    def __init__(self, bed: Bed, model: Any) -> None:
        self.bed, self.model = bed, model
        self.count = len(bed.passes)
        places, sheets = range(self.count), range(len(bed.sheets))
        self.known = sorted(
            {bed.anew(at, ideal) for at in places for ideal in self._before(at)}, key=repr
        )
        self.prints = [[self._bool() for _ in places] for _ in places]
        self.stands = [
            [{ideal: self._bool() for ideal in bed.ideals[sheet]} for sheet in sheets]
            for _ in range(self.count + 1)
        ]
        self.planes = [{plane: self._bool() for plane in self.known} for _ in places]
        self.kept = [self._bool() for _ in places]
        self._each_once()
        for place in places:
            self._goes_on(place)
            self._sets(place)
            self._keeps(place)
            self._is_safe(place)
        self._break_symmetry()
        self._minimise()

    def _bool(self) -> Any:
        return self.model.new_bool_var("")

    def _never(self, *literals: Any) -> None:
        self.model.add_bool_or([~one for one in literals])

    def _before(self, at: int) -> list[Ideal]:
        """How far its sheet may have come when a pass is printed."""
        bed = self.bed
        mine = bed.before[at].intersection(bed.on(bed.sheet_of[at]))
        return [
            ideal for ideal in bed.ideals[bed.sheet_of[at]] if at not in ideal and mine <= ideal
        ]

    def _each_once(self) -> None:
        for place in range(self.count):
            self.model.add_exactly_one(self.prints[place])
            self.model.add_exactly_one(self.prints[other][place] for other in range(self.count))
            self.model.add_exactly_one(self.planes[place].values())
        for states in self.stands:
            for some in states:
                self.model.add_exactly_one(some.values())
        for some in self.stands[0]:
            self.model.add(some[frozenset()] == 1)

    def _goes_on(self, place: int) -> None:
        """A pass raises its own sheet by itself and leaves the others; it is printed after what
        must come before.
        """
        bed, now, then = self.bed, self.stands[place], self.stands[place + 1]
        for at, printed in enumerate(self.prints[place]):
            for sheet, ideals in enumerate(bed.ideals):
                wanted = bed.before[at].intersection(bed.on(sheet))
                for ideal in ideals:
                    mine = sheet == bed.sheet_of[at]
                    if not wanted <= ideal or at in ideal:
                        self._never(printed, now[sheet][ideal])
                        continue
                    after = then[sheet][ideal | {at} if mine else ideal]
                    self.model.add_bool_or([~printed, ~now[sheet][ideal], after])

    def _sets(self, place: int) -> None:
        """What is not kept is set again over its sheet as it stands."""
        for at, printed in enumerate(self.prints[place]):
            now = self.stands[place][self.bed.sheet_of[at]]
            for ideal in self._before(at):
                plane = self.planes[place][self.bed.anew(at, ideal)]
                self.model.add_bool_or([~printed, ~now[ideal], self.kept[place], plane])

    def _keeps(self, place: int) -> None:
        """A plane over the build-up is kept where the pass before stated the same, exactly if it
        clears.
        """
        kept = self.kept[place]
        if not place:
            self.model.add(kept == 0)
            return
        for plane in self.known:
            before, now = self.planes[place - 1][plane], self.planes[place][plane]
            self.model.add_bool_or([~kept, ~before, now])
        alike = []
        for gap, sheet in sorted({(plane.gap, plane.sheet) for plane in self.known}, key=repr):
            members = [
                at
                for at, item in enumerate(self.bed.passes)
                if (item.gap, self.bed.sheet_of[at]) == (gap, sheet)
            ]
            if gap.above == "build-up" and len(members) > 1:
                alike.append(self._both(place, members))
                self._needs_a_reason(place, alike[-1], members)
        self.model.add_bool_or([~kept, *alike])

    def _both(self, place: int, members: list[int]) -> Any:
        """Whether the pass before and the one here are both of some."""
        both = self._bool()
        for spot in (place - 1, place):
            self.model.add(sum(self.prints[spot][at] for at in members) == 1).only_enforce_if(both)
        for first, second in product(members, members):
            self.model.add_bool_or(
                [~self.prints[place - 1][first], ~self.prints[place][second], both]
            )
        return both

    def _needs_a_reason(self, place: int, both: Any, members: list[int]) -> None:
        """Alike passes keep their plane unless it is in the way of some sheet."""
        reasons = [self._bool() for _ in self.bed.sheets]
        self.model.add_bool_or([~both, self.kept[place], *reasons])
        for at, sheet, plane, ideal in self._meetings(members):
            if self.bed.clears(at, plane, sheet, ideal):
                here, was = self.prints[place][at], self.planes[place - 1][plane]
                self._never(reasons[sheet], here, was, self.stands[place + 1][sheet][ideal])

    def _is_safe(self, place: int) -> None:
        for at, sheet, plane, ideal in self._meetings(range(self.count)):
            if not self.bed.clears(at, plane, sheet, ideal):
                here, now = self.prints[place][at], self.planes[place][plane]
                self._never(here, now, self.stands[place + 1][sheet][ideal])

    def _meetings(self, some: Any) -> Iterator[tuple[int, int, Plane, Ideal]]:
        """Each pass with each sheet, each plane that it may be printed at and each state of the
        sheet.
        """
        for at, sheet in product(some, range(len(self.bed.sheets))):
            gap, own = self.bed.passes[at].gap, self.bed.sheet_of[at]
            planes = [plane for plane in self.known if (plane.gap, plane.sheet) == (gap, own)]
            for plane, ideal in product(planes, self.bed.ideals[sheet]):
                if sheet != own or at in ideal:
                    yield at, sheet, plane, ideal

    def _break_symmetry(self) -> None:
        """Of sheets that differ in nothing but their place along x, the first declared is begun
        first.
        """
        seen: dict[object, int] = {}
        for sheet in range(len(self.bed.sheets)):
            alike = self._content(sheet)
            if alike in seen:
                first, second = self.bed.on(seen[alike])[0], self.bed.on(sheet)[0]
                ranks = [
                    sum(place * self.prints[place][at] for place in range(self.count))
                    for at in (first, second)
                ]
                self.model.add(ranks[0] < ranks[1])
            if self.bed.on(sheet):
                seen[alike] = sheet

    def _content(self, sheet: int) -> object:
        bed, mine = self.bed, self.bed.on(sheet)
        if any(not bed.before[at] <= frozenset(mine) for at in mine) or self._named_elsewhere(mine):
            return sheet
        described = [
            (_stripped(bed.passes[at]), tuple(sorted(map(mine.index, bed.before[at]))))
            for at in mine
        ]
        return _lying(bed.sheets[sheet]), tuple(described)

    def _named_elsewhere(self, mine: list[int]) -> bool:
        return any(
            self.bed.before[at].intersection(mine) for at in range(self.count) if at not in mine
        )

    def _minimise(self) -> None:
        heights = [round(self.bed.nominal(plane), 5) for plane in self.known]
        paid = []
        for place in range(1, self.count):
            changed = self._bool()
            paid.append(changed)
            for height in sorted(set(heights)):
                same = [
                    plane for plane, its in zip(self.known, heights, strict=True) if its == height
                ]
                now, was = (
                    sum(self.planes[spot][plane] for plane in same) for spot in (place, place - 1)
                )
                self.model.add(changed >= now - was)
        self.model.minimize(1 + sum(paid))


def _stripped(item: Pass) -> object:
    return (
        item.ink,
        item.areas,
        item.layers,
        item.coverage,
        item.gap,
        item.directions,
        item.crisp_on,
    )


def _lying(sheet: Media) -> object:
    return sheet.thickness, sheet.size, sheet.at[1], sheet.bow
