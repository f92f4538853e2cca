"""Who bears what a job takes: its signs, by where they lie and by what is printed there.

Lengths in mm, areas in mm2; geometry.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import field, frozen

from signrules.estimating.amounts import DOTS, INK, MINUTES, SHEETS
from signrules.estimating.pricing import EstimateLine
from signrules.evaluation import Evaluation
from signrules.model.job import Job
from signrules.model.passes import Area, Pass
from signrules.model.sign import Sign
from signrules.model.work_order import OrderedPiece, OrderedSign, WorkOrder


@frozen
class BilledSign:
    """A sign and where it lies on its sheet; `id` is None for a load without signs."""

    load: str
    id: str | None = None
    type: str = ""
    row: int | None = None
    sheet: str | None = None
    stock_sheet: str = ""
    area: Area = field(default=Area(0.0, 0.0, 0.0, 0.0))

    @property
    def own_area(self) -> float:
        """Width by height."""
        return self.area.width * self.area.height


def signs_of_order(order: WorkOrder) -> tuple[BilledSign, ...]:
    """The signs of a work order in its order, and after them the loads without any."""
    pieces = {piece.id: piece for piece in order.pieces}
    signs = [_ordered_sign(sign, pieces[sign.piece]) for sign in order.signs]
    with_signs = {sign.load for sign in signs}
    bare = [BilledSign(load.id) for load in order.loads if load.id not in with_signs]
    return (*signs, *bare)


def _ordered_sign(sign: OrderedSign, piece: OrderedPiece) -> BilledSign:
    width, height = sign.size_as_it_lies
    area = Area(*sign.at, width, height)
    return BilledSign(piece.load, sign.id, sign.type, sign.row, piece.id, piece.stock_sheet, area)


def signs_of_job(load: str, job: Job) -> tuple[BilledSign, ...]:
    """The signs of a job that belongs to no work order."""
    if not job.signs:
        return (BilledSign(load),)
    return tuple(_sign_of_job(load, job, sign) for sign in job.signs)


def _sign_of_job(load: str, job: Job, sign: Sign) -> BilledSign:
    """A sign at its stated place; one without has an equal part of its sheet."""
    sheet = job.media_of(sign)
    area = sign.area
    if area is None:
        beside = sum(job.media_of(other) is sheet for other in job.signs)
        # Only its size counts: the parts lie on each other, and are used as weights alone.
        area = Area(0.0, 0.0, sheet.size[0], sheet.size[1] / beside)
    return BilledSign(load, sign.id, sheet=sheet.id, area=area)


def weights_of_line(
    line: EstimateLine, result: Evaluation, signs: Sequence[BilledSign]
) -> list[float]:
    """How much of a line of a job each of its signs bears.

    Dots are those of their sign; a sheet is shared by the signs on it, by their areas; printing
    and ink by what is printed within each; all else by the areas of the signs.
    """
    if line.kind == DOTS:
        return [float(sign.id == line.item) for sign in signs]
    if line.kind == INK:
        passes = [item for item in result.job.passes if item.ink == line.item]
        return _printed_weights(result.job, passes, {}, signs)
    if line.kind == MINUTES and line.item == "printing":
        return _printed_weights(result.job, result.job.passes, result.quantities, signs)
    if line.kind == SHEETS:
        return [sign.own_area if sign.sheet == line.item else 0.0 for sign in signs]
    return [sign.own_area for sign in signs]


def _printed_weights(
    job: Job,
    passes: Sequence[Pass],
    quantities: dict[str, float],
    signs: Sequence[BilledSign],
) -> list[float]:
    """What each sign has of the ink of passes, or, with quantities, of their printing minutes.

    What a pass takes is shared by what it prints within each sign.
    """
    weights = [0.0] * len(signs)
    for item in passes:
        inked = _inked_areas(job, item, signs)
        whole = quantities.get(f"printing_minutes.{item.id}", 0.0)
        if not quantities:
            whole = _ink_of_pass(job, item)
        # Nothing to share by where no sign lies on the sheet of a pass: no sign has a weight by it.
        each = whole / (sum(inked) or 1.0)
        weights = [known + area * each for known, area in zip(weights, inked, strict=True)]
    return weights


def _ink_of_pass(job: Job, item: Pass) -> float:
    """The ink of a pass in mm3, at nominal thickness; areas that overlap count twice."""
    printed = sum(area.width * area.height for area in job.areas_of(item))
    return printed * item.coverage * item.layers * job.ink_of(item).layer.nominal


def _inked_areas(job: Job, item: Pass, signs: Sequence[BilledSign]) -> list[float]:
    """What a pass prints within each sign; where it meets none, the areas of those on its sheet."""
    sheet = job.media_of(item)
    areas = job.areas_of(item)
    if item.side == "back":
        # Turned over, around an axis along y, a sheet has its right edge where its left one was.
        areas = tuple(
            Area(sheet.size[0] - area.x - area.width, area.y, area.width, area.height)
            for area in areas
        )
    here = [sign.sheet == sheet.id for sign in signs]
    inked = [
        sum(_overlap(area, sign.area) for area in areas) if own else 0.0
        for sign, own in zip(signs, here, strict=True)
    ]
    # A pass may print nothing within any sign, such as marks at the edge: the signs on its sheet
    # bear it.
    if any(inked):
        return inked
    return [sign.own_area if own else 0.0 for sign, own in zip(signs, here, strict=True)]


def _overlap(one: Area, other: Area) -> float:
    """The area that two rectangles have in common."""
    width = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
    height = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
    return max(width, 0.0) * max(height, 0.0)
