"""Placements of an earlier work order that stay, and the room that is left beside them."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import chain

from attrs import evolve, frozen

from signrules.composing.filled_sheets import Sheets, rectangles_on
from signrules.composing.grouping import Settings
from signrules.composing.kept_faults import demand_fit
from signrules.composing.load_jobs import BedLoad
from signrules.composing.loads import LaidPiece, Piece
from signrules.composing.panels import MICROMETRES, Panels, Size
from signrules.composing.rectangles import Frame, filled_up
from signrules.composing.units import Unit, micrometres_up
from signrules.errors import DocumentFault, WorkOrderError
from signrules.model.work_order import TURNED, UPRIGHT, OrderedPiece, OrderedSign, WorkOrder

Box = tuple[int, int, int, int]
"""Left, lower, right and upper edge in micrometres."""


@frozen
class Kept:
    """Bed loads that stay, filled up with further signs; `left` are those without a place yet.

    `changed` are the ids of signs that do not stay, since they are of another type or size now.
    """

    loads: tuple[BedLoad, ...] = ()
    left: tuple[Unit, ...] = ()
    changed: tuple[str, ...] = ()


def kept_loads(keep: WorkOrder, units: Sequence[Unit], sheets: Sheets) -> Kept:
    """The loads of an earlier work order with those of its signs that are still asked for.

    A sign is the same where id, type and size are. Whole sheets are filled up with others of the
    same standards. Raises WorkOrderError where what stays is not as the shop file says now, or
    signs of one load are now sold under different standards.
    """
    by_id = {unit.id: unit for unit in units}
    asked = [row for row in keep.signs if row.id in by_id]
    # A sign of another size or type would not fit its place, though its door is the same.
    same = {row.id for row in asked if _is_same(row, by_id[row.id])}
    demand_fit(keep, same, by_id, sheets)
    left = {unit.id: unit for unit in units if unit.id not in same}
    filler = _Filler(by_id, sheets)
    loads = []
    for load in _loads_of(keep, same, by_id):
        filled, used = filler.load(load, left.values())
        left = {id: unit for id, unit in left.items() if id not in used}
        loads.append(filled)
    changed = tuple(row.id for row in asked if row.id not in same)
    return Kept(tuple(loads), tuple(left.values()), changed)


def _is_same(row: OrderedSign, unit: Unit) -> bool:
    return row.type == unit.sign.filled.id and row.size == unit.sign.size


def _loads_of(
    keep: WorkOrder, same: Collection[str], units: Mapping[str, Unit]
) -> Iterator[BedLoad]:
    """Each load that still has signs, with those of its pieces that have."""
    signs: dict[str, list[OrderedSign]] = defaultdict(list)
    for row in keep.signs:
        if row.id in same:
            signs[row.piece].append(row)
    numbers = {sheet.id: number for number, sheet in enumerate(keep.stock_sheets)}
    stocks = {sheet.id: sheet.stock for sheet in keep.stock_sheets}
    for position, load in enumerate(keep.loads):
        pieces = [piece for piece in keep.pieces if piece.load == load.id and signs[piece.id]]
        if not pieces:
            continue
        own = [units[row.id] for piece in pieces for row in signs[piece.id]]
        standards = {unit.standards for unit in own}
        if len(standards) > 1:
            expected = "signs of one list of standards in a load"
            fault = DocumentFault(f"loads[{position}]", "signs of several", expected)
            raise WorkOrderError([fault])
        laid = tuple(
            _laid_piece(piece, signs[piece.id], stocks, numbers, units) for piece in pieces
        )
        ids = tuple(piece.id for piece in pieces)
        sheet_ids = tuple(piece.stock_sheet for piece in pieces)
        yield BedLoad(standards.pop(), laid, load.id, ids, sheet_ids)


def _laid_piece(
    row: OrderedPiece,
    signs: Sequence[OrderedSign],
    stocks: Mapping[str, str],
    numbers: Mapping[str, int],
    units: Mapping[str, Unit],
) -> LaidPiece:
    """A piece as it lies on the bed, which counts as upright here."""
    settings: Settings = frozenset()
    for sign in signs:
        settings |= units[sign.id].settings
    placed = tuple(
        (sign.id, _whole_micrometres(sign.at), TURNED if sign.lies == TURNED else UPRIGHT)
        for sign in signs
    )
    piece = Piece(
        stocks[row.stock_sheet],
        numbers[row.stock_sheet],
        _whole_micrometres(row.size),
        _whole_micrometres(row.cut_at),
        TURNED if row.cut == TURNED else UPRIGHT,
        placed,
        settings,
    )
    # The order states places as they lie on the bed; which way the piece was turned once is
    # history.
    return LaidPiece(piece, _whole_micrometres(row.at), UPRIGHT)


def _whole_micrometres(lengths: tuple[float, float]) -> Size:
    x, y = (round(length * MICROMETRES) for length in lengths)
    return x, y


@frozen
class _Filler:
    """Fills up sheets with signs that have no place yet."""

    units: Mapping[str, Unit]
    sheets: Sheets

    def load(self, load: BedLoad, left: Collection[Unit]) -> tuple[BedLoad, set[str]]:
        """A load with further signs on its sheets, and the ids of these."""
        used: set[str] = set()
        # What is left of a sheet from which blanks were cut lies in the scrap, not on the bed.
        if self.sheets.stock.composition.print_on == "blanks":
            return load, used
        fitting = [unit for unit in left if unit.standards == load.standards]
        pieces = []
        for laid in load.pieces:
            filled = self._piece(laid, [unit for unit in fitting if unit.id not in used])
            used |= {id for id, _, _ in filled.piece.signs}
            pieces.append(filled)
        return evolve(load, pieces=tuple(pieces)), used

    def _piece(self, laid: LaidPiece, left: Sequence[Unit]) -> LaidPiece:
        piece = laid.piece
        panels = Panels(piece.stock, piece.size, piece.cut, ())
        rectangles = rectangles_on(left, panels, self.sheets)
        (whole,) = self.sheets.room(panels).frames
        frames = free_frames(whole, [self._box(*sign) for sign in piece.signs])
        spots = filled_up(list(rectangles.values()), frames)
        added = tuple((spot.rectangle.id, (spot.x, spot.y), spot.way) for spot in spots)
        settings = piece.settings.union(*(self.units[id].settings for id, _, _ in added))
        return evolve(laid, piece=evolve(piece, signs=(*piece.signs, *added), settings=settings))

    def _box(self, id: str, corner: Size, way: str) -> Box:
        """What a sign takes of its sheet, with the gutter to its right and above it."""
        width, height = (micrometres_up(side) for side in self.units[id].sign.size)
        if way == TURNED:
            width, height = height, width
        gutter = self.sheets.gutter
        return corner[0], corner[1], corner[0] + width + gutter, corner[1] + height + gutter


def free_frames(whole: Frame, boxes: Sequence[Box]) -> list[Frame]:
    """The room of a frame beside some boxes, in frames that do not overlap.

    Between two heights at which a box begins or ends, what lies beside each other is free from
    edge to edge; stretches above each other that are free alike are one frame.
    """
    top = whole.y + whole.height
    # Between two neighbouring heights nothing begins or ends, so one look at a stretch tells it
    # all.
    heights = {whole.y, top, *chain.from_iterable((low, high) for _, low, _, high in boxes)}
    levels = sorted(height for height in heights if whole.y <= height <= top)
    open_frames: dict[tuple[int, int], int] = {}
    found: list[Frame] = []
    for low, high in itertools.pairwise(levels):
        within = [box for box in boxes if box[1] < high and low < box[3]]
        stretches = list(_free_stretches(whole, within))
        for stretch in [each for each in open_frames if each not in stretches]:
            found.append(_frame_between(stretch, open_frames.pop(stretch), low))
        for stretch in stretches:
            open_frames.setdefault(stretch, low)
    found += (_frame_between(stretch, low, top) for stretch, low in open_frames.items())
    return found


def _free_stretches(whole: Frame, boxes: Sequence[Box]) -> Iterator[tuple[int, int]]:
    """What is free along x beside some boxes."""
    start, end = whole.x, whole.x + whole.width
    for left, _, right, _ in sorted(boxes):
        if start < min(left, end):
            yield start, min(left, end)
        start = max(start, right)
    if start < end:
        yield start, end


def _frame_between(stretch: tuple[int, int], low: int, high: int) -> Frame:
    left, right = stretch
    return Frame(right - left, high - low, left, low)
