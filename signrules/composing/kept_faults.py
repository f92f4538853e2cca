"""What placements of an earlier work order must meet to stay: what the shop file says now."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence

from attrs import frozen

from signrules.composing.filled_sheets import Sheets
from signrules.composing.panels import MICROMETRES, Size
from signrules.composing.units import Unit, lying_on
from signrules.errors import DocumentFault, WorkOrderError
from signrules.model.wording import listed_names, number_text, pair_text, shown_value
from signrules.model.work_order import (
    PLACE_MM,
    OrderedPiece,
    OrderedSign,
    Pair,
    StockSheet,
    WorkOrder,
    distance_between,
    same_lengths,
)
from signrules.order_faults import faults_of_gutter, faults_of_stock

BLANKS = "blanks"


def demand_fit(
    keep: WorkOrder, same: Collection[str], units: Mapping[str, Unit], sheets: Sheets
) -> None:
    """Raises WorkOrderError where placements that are to stay are not as the shop has them now.

    `same` are the ids of the signs that stay.
    """
    faults = list(faults_of_stock(keep, sheets.stock))
    # The rest is measured on sheets of the shop.
    faults = faults or list(_faults_of_places(keep, same, units, sheets))
    if faults:
        raise WorkOrderError(faults)


def _faults_of_places(
    keep: WorkOrder, same: Collection[str], units: Mapping[str, Unit], sheets: Sheets
) -> Iterator[DocumentFault]:
    use = sheets.stock.composition
    # Blanks are cut to the size of their signs, so a blank has one sign and no gutter.
    if use.print_on != BLANKS:
        yield from faults_of_gutter(keep, use.gutter)
    stocks = {sheet.id: sheet for sheet in keep.stock_sheets}
    laid = {piece.id: _Laid(piece, stocks[piece.stock_sheet]) for piece in keep.pieces}
    held: dict[str, list[OrderedSign]] = defaultdict(list)
    for number, sign in enumerate(keep.signs):
        if sign.id in same:
            held[sign.piece].append(sign)
            yield from _faults_of_sign(number, sign, laid[sign.piece], units[sign.id], sheets)
    pieces = [(number, piece) for number, piece in enumerate(keep.pieces) if held[piece.id]]
    bed = _millimetres(sheets.bed)
    margin = ("bed_margin", use.bed_margin)
    for number, piece in pieces:
        yield from _at_the_edge(f"pieces[{number}].at", piece.at, piece.size, bed, margin)
        yield from _faults_of_cut(number, laid[piece.id], held[piece.id], sheets)
    yield from _faults_between(pieces, use.bed_gutter)


@frozen
class _Laid:
    """A piece and the stock sheet that it is cut from."""

    piece: OrderedPiece
    sheet: StockSheet


def _faults_of_sign(
    number: int, sign: OrderedSign, laid: _Laid, unit: Unit, sheets: Sheets
) -> Iterator[DocumentFault]:
    """A sign on a sheet that its type does not name, or that lies as it may not, or at the edge."""
    where, piece, stock = f"signs[{number}]", laid.piece, laid.sheet.stock
    use = sheets.stock.composition
    if stock not in unit.stocks:
        found = f"{shown_value(piece.id)}, which is of {stock}"
        expected = f"one of what {unit.sign.filled.path} names: {listed_names(list(unit.stocks))}"
        yield DocumentFault(f"{where}.piece", found, expected)
    if sign.lies not in lying_on(sheets.stock, stock, piece.cut).ways(unit):
        expected = "what turning and grain of [composition], and passes on its back, allow it"
        yield DocumentFault(f"{where}.lies", shown_value(sign.lies), expected)
    if use.print_on != BLANKS:
        size, margin = sign.size_as_it_lies, ("margin", use.margin)
        yield from _at_the_edge(f"{where}.at", sign.at, size, piece.size, margin)


def _faults_of_cut(
    number: int, laid: _Laid, signs: Sequence[OrderedSign], sheets: Sheets
) -> Iterator[DocumentFault]:
    """A whole sheet where signs are now printed on blanks, or the other way round."""
    where, piece, use = f"pieces[{number}]", laid.piece, sheets.stock.composition
    is_blank = len(signs) == 1 and same_lengths(signs[0].size_as_it_lies, piece.size)
    if use.print_on == BLANKS:
        size, margin = laid.sheet.size, ("margin", use.margin)
        cut = f"{where}.cut_at"
        yield from _at_the_edge(cut, piece.cut_at, piece.size_on_stock, size, margin)
        if not is_blank:
            expected = 'a blank as large as its sign: print_on = "blanks" in [composition]'
            yield DocumentFault(f"{where}.size", f"{pair_text(piece.size)} mm", expected)
        return
    panels = sheets.panels(laid.sheet.stock)
    if is_blank and panels and not same_lengths(piece.size, _millimetres(panels.size)):
        expected = 'a whole sheet, or a panel of it: print_on = "sheets" in [composition]'
        yield DocumentFault(f"{where}.size", f"a blank of {pair_text(piece.size)} mm", expected)


def _millimetres(lengths: Size) -> Pair:
    return lengths[0] / MICROMETRES, lengths[1] / MICROMETRES


def _faults_between(
    pieces: Sequence[tuple[int, OrderedPiece]], gutter: float
) -> Iterator[DocumentFault]:
    """Pieces of one load that lie closer together than the bed gutter, in mm."""
    by_load: dict[str, list[tuple[int, OrderedPiece]]] = defaultdict(list)
    for number, piece in pieces:
        by_load[piece.load].append((number, piece))
    for own in by_load.values():
        for (_, one), (number, other) in itertools.combinations(own, 2):
            distance = distance_between((one.at, one.size), (other.at, other.size))
            if distance < gutter - PLACE_MM:
                found = f"{number_text(max(distance, 0.0))} mm from {one.id}"
                expected = f"at least {number_text(gutter)} mm, the bed_gutter of [composition]"
                yield DocumentFault(f"pieces[{number}].at", found, expected)


def _at_the_edge(
    path: str, corner: Pair, size: Pair, whole: Pair, margin: tuple[str, float]
) -> Iterator[DocumentFault]:
    """Something that lies closer to an edge of what it lies on than a margin, in mm."""
    ends = (whole[axis] - corner[axis] - size[axis] for axis in (0, 1))
    room = min(*corner, *ends)
    name, least = margin
    if room < least - PLACE_MM:
        found = f"{number_text(max(room, 0.0))} mm from the edge"
        expected = f"at least {number_text(least)} mm, the {name} of [composition]"
        yield DocumentFault(path, found, expected)
