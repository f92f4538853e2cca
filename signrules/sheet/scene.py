"""What stands at the moment of each print step, and the one scale at which all of it is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from heapq import heappop, heappush
from itertools import pairwise
from math import ceil

from attrs import frozen

from signrules.model.job import Job
from signrules.model.quantities import GUARD_MM
from signrules.physics.flatness import thickness_of
from signrules.physics.heights import Heights
from signrules.physics.timeline import Printing, Timeline

PrintedCover = tuple[int, ...]
"""The passes of a cover that have been printed, in the order in which they were."""

ROOM_X, ROOM_Y = 80.0, 40.0
"""What is drawn in a cross-section may take, in px: across the bed, and in height."""

MOST_COLUMNS = 120
"""Above so many pieces of ink on a sheet, those that fall on one px are drawn as the highest of
them.
"""

_STEPS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
_BAR_STEPS = (1.0, 2.0, 5.0)


@frozen(eq=False)
class Scene:
    """One pass as it is printed, and the sheets that lie with their back up.

    `positions` says of each pass when it is printed: those before this one are there. `absent`
    names the sheets of its load that were taken off the bed.
    """

    heights: Heights
    printing: Printing
    positions: Mapping[int, int]
    turned: frozenset[str]
    absent: frozenset[str] = frozenset()

    def printed_cover(self, cover: Iterable[int]) -> PrintedCover:
        """The passes among these that have been printed, including this one, in printing order."""
        own_position = self.printing.position
        return tuple(
            sorted(
                (item_index for item_index in cover if self.positions[item_index] <= own_position),
                key=self.positions.__getitem__,
            )
        )

    @property
    def job(self) -> Job:
        """The job."""
        return self.heights.job

    @property
    def plane(self) -> float:
        """The head plane in mm above the bed, nominal as everything that is drawn."""
        return self.printing.plane.height.nominal

    @property
    def band(self) -> tuple[float, float]:
        """What the head passes over, as lowest and highest y on the bed in mm."""
        return self.heights.layout.bands[self.printing.pass_index]

    @property
    def sheets(self) -> tuple[str, ...]:
        """The sheets in the band."""
        return self.heights.layout.in_band[self.printing.pass_index]


@frozen
class Column:
    """A stretch of x on the bed in mm, and the cover of the highest ink in the band there."""

    x0: float
    x1: float
    cover: PrintedCover


def scene_of_each(timeline: Timeline) -> dict[int, Scene]:
    """The scene of each pass, by its index."""
    machine = timeline.machine
    turned = machine.job.loaded_back_up
    scenes = {}
    for item_index in timeline.order:
        if machine.is_pass(item_index):
            scenes[item_index] = Scene(
                machine.heights, timeline.printings[item_index], timeline.positions, turned
            )
        elif (flipped := machine.flips(item_index)) is not None:
            turned ^= {flipped}
    return scenes


def ink_height(job: Job, cover: PrintedCover) -> float:
    """The nominal height of the ink of a cover in mm: layers times layer, added up."""
    return sum(
        job.passes[pass_index].layers * job.ink_of(job.passes[pass_index]).layer.nominal
        for pass_index in cover
    )


def sheet_columns(scene: Scene, media: str, *, px_mm: float, own: bool = False) -> list[Column]:
    """The profile of a sheet as the carriage meets it, the scene's own ink included; `px_mm` is the
    size of a px.

    With `own` only where the scene's pass prints.
    """
    pieces = sorted(_pieces_on_sheet(scene, media, own))
    if len(pieces) > MOST_COLUMNS:
        pieces = sorted(_on_pixels(pieces, px_mm))
    edges = sorted({piece[0] for piece in pieces} | {piece[1] for piece in pieces})
    # From left to right, with what stands at each place on a heap, the highest on top. What has
    # ended is taken off only once it comes to the top: below it, it does no harm.
    columns: list[Column] = []
    standing: list[tuple[float, float, PrintedCover]] = []
    following = 0
    for x0, x1 in pairwise(edges):
        while following < len(pieces) and pieces[following][0] <= x0:
            _, end, height, cover = pieces[following]
            heappush(standing, (-height, end, cover))
            following += 1
        while standing and standing[0][1] <= x0:
            heappop(standing)
        if not standing:
            continue
        cover = standing[0][2]
        if columns and columns[-1].cover == cover and columns[-1].x1 == x0:
            columns[-1] = Column(columns[-1].x0, x1, cover)
        else:
            columns.append(Column(x0, x1, cover))
    return columns


Part = tuple[float, float, float, PrintedCover]
"""From x to x in mm, the height of the ink there, its passes."""


def _on_pixels(pieces: Sequence[Part], px_mm: float) -> Iterator[Part]:
    # Widened to whole px, so that of what falls on one px the highest alone is drawn.
    for x0, x1, height, cover in pieces:
        first = int(x0 // px_mm)
        yield first * px_mm, max(ceil(x1 / px_mm), first + 1) * px_mm, height, cover


def _pieces_on_sheet(scene: Scene, media: str, own: bool) -> Iterator[Part]:
    sheet = scene.job.media_named(media)
    low, high = (y - sheet.at[1] for y in scene.band)
    side_up = "back" if media in scene.turned else "front"
    for zone in scene.heights.zones(media, side_up):
        if own and scene.printing.pass_index not in zone.cover:
            continue
        pieces = [
            piece
            for piece in zone.pieces
            if piece.y0 < high - GUARD_MM and piece.y1 > low + GUARD_MM
        ]
        if pieces:
            cover = scene.printed_cover(zone.cover)
            height = ink_height(scene.job, cover)
            yield from (
                (sheet.at[0] + piece.x0, sheet.at[0] + piece.x1, height, cover) for piece in pieces
            )


@frozen
class Scale:
    """From mm to px, the same in every cross-section of a page.

    `cut` is the height above the bed at which pictures begin, `top` that at which they end, in mm;
    `across` and `up` are px per mm, `factor` = up / across.
    """

    cut: float
    top: float
    across: float
    up: float
    factor: float

    @property
    def bar(self) -> float:
        """The length in mm of the scale bar, a round number that takes half of the height at
        most.
        """
        return round_down(ROOM_Y / 2 / self.up, _BAR_STEPS)


def scale_of(job: Job, some: Sequence[Scene]) -> Scale:
    """The scale at which all scenes of a job fit, heights being drawn a round number of times
    larger than widths.
    """
    top = max(
        max(
            scene.plane,
            scene.plane - scene.printing.clearance.low,
            scene.plane - scene.printing.clearance.nominal,
        )
        for scene in some
    )
    thinnest = min(thickness_of(sheet).nominal for sheet in job.media)
    cut = _cut_of_sheets(thinnest, top)
    across = ROOM_X / max(right - left for left, right in map(drawn_stretch, some))
    factor = round_down(ROOM_Y / max(top - cut, GUARD_MM) / across)
    return Scale(cut, top, across, across * factor, factor)


def drawn_stretch(scene: Scene) -> tuple[float, float]:
    """From which x to which x on the bed a cross-section goes, in mm: the sheets in the band, and
    a little on either side.
    """
    sheets = tuple(map(scene.job.media_named, scene.sheets))
    left = min(sheet.at[0] for sheet in sheets)
    right = max(sheet.at[0] + sheet.size[0] for sheet in sheets)
    margin = (right - left) * 0.03
    return left - margin, right + margin


def _cut_of_sheets(thinnest: float, top: float) -> float:
    """How much of every sheet is left out, in halves of a mm: what is over a quarter of all."""
    foot_mm = max((top - thinnest) / 3, 0.25)
    return max(0, int((thinnest - foot_mm) / 0.5 + GUARD_MM)) * 0.5


def round_down(value: float, steps: Sequence[float] = _STEPS) -> float:
    """The largest round number that is no larger than a value: one of the steps and zeros."""
    power = 1.0
    while power > value:
        power /= 10
    while power * 10 <= value:
        power *= 10
    return max(step * power for step in steps if step * power <= value or step == 1.0)
