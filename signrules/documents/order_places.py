"""A work order against itself: pieces on their stock sheets, signs of one row, its bounds."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator

from signrules.errors import DocumentFault
from signrules.model.wording import number_text, pair_text, shown_value
from signrules.model.work_order import PLACE_MM, OrderedPiece, WorkOrder, distance_between


def faults_of_places(order: WorkOrder) -> Iterator[DocumentFault]:
    """Pieces that no saw could cut so from their stock sheets, sheets of which nothing is cut,
    signs of one row that are of several types, and bounds above what there is. Every id that is
    named is there.
    """
    by_sheet: dict[str, list[tuple[int, OrderedPiece]]] = defaultdict(list)
    for number, piece in enumerate(order.pieces):
        by_sheet[piece.stock_sheet].append((number, piece))
    for number, sheet in enumerate(order.stock_sheets):
        pieces = by_sheet[sheet.id]
        if not pieces:
            expected = "a sheet that a piece is cut from"
            yield DocumentFault(f"stock_sheets[{number}].id", shown_value(sheet.id), expected)
        for at, piece in pieces:
            yield from _off_the_sheet(at, piece, sheet.size)
        for (_, one), (at, other) in itertools.combinations(pieces, 2):
            yield from _over_each_other(one, at, other)
    yield from _rows_of_several_types(order)
    yield from _bounds_above_counts(order)


def _bounds_above_counts(order: WorkOrder) -> Iterator[DocumentFault]:
    """Bounds that no placing can go below, and that this one does."""
    for key, rows in (("stock_sheets", order.stock_sheets), ("loads", order.loads)):
        bound = getattr(order.at_least, key)
        if bound > len(rows):
            expected = f"at most {len(rows)}, as many as this order has"
            yield DocumentFault(f"at_least.{key}", shown_value(bound), expected)


def _off_the_sheet(
    number: int, piece: OrderedPiece, sheet: tuple[float, float]
) -> Iterator[DocumentFault]:
    (x, y), (width, height) = piece.cut_at, piece.size_on_stock
    over = max(-x, -y, x + width - sheet[0], y + height - sheet[1])
    if over > PLACE_MM:
        found = f"{pair_text(piece.cut_at)} mm, which is {number_text(over)} mm over the edge"
        expected = (
            f"what keeps {pair_text(piece.size_on_stock)} mm within {piece.stock_sheet},"
            f" {pair_text(sheet)} mm"
        )
        yield DocumentFault(f"pieces[{number}].cut_at", found, expected)


def _over_each_other(
    one: OrderedPiece, number: int, other: OrderedPiece
) -> Iterator[DocumentFault]:
    places = (one.cut_at, one.size_on_stock), (other.cut_at, other.size_on_stock)
    distance = distance_between(*places)
    if distance < -PLACE_MM:
        found = f"{pair_text(other.cut_at)} mm, {number_text(-distance)} mm over {one.id}"
        expected = f"a place on {other.stock_sheet} that no other piece takes"
        yield DocumentFault(f"pieces[{number}].cut_at", found, expected)


def _rows_of_several_types(order: WorkOrder) -> Iterator[DocumentFault]:
    """A row of a schedule asks for signs of one type, however many."""
    types: dict[int, str] = {}
    for number, sign in enumerate(order.signs):
        type = types.setdefault(sign.row, sign.type)
        if sign.type != type:
            expected = f"{shown_value(type)}, as the other signs of row {sign.row}"
            yield DocumentFault(f"signs[{number}].type", shown_value(sign.type), expected)
