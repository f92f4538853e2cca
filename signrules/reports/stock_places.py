"""Where pieces and signs lie on the sheets from stock, in mm from each sheet's corner. Geometry."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from signrules.model.passes import Area
from signrules.model.work_order import TURNED, OrderedPiece, OrderedSign, WorkOrder

Box = tuple[float, float, float, float]
"""x, y, width and height."""


def piece_box(piece: OrderedPiece) -> Area:
    """What a piece takes of its sheet from stock."""
    width, height = piece.size_on_stock
    return Area(*piece.cut_at, width, height)


def sign_box(sign: OrderedSign, piece: OrderedPiece) -> Area:
    """Where a sign lies on the sheet from stock that its piece is cut from.

    A piece that is cut turned lies there turned by a quarter to the left, which takes x to y, and y
    to the left from the height of the piece.
    """
    x, y = sign.at
    width, height = sign.size_as_it_lies
    if piece.cut == TURNED:
        x, y, width, height = piece.size[1] - y - height, x, height, width
    return Area(piece.cut_at[0] + x, piece.cut_at[1] + y, width, height)


def stock_places(order: WorkOrder) -> list[dict[str, Any]]:
    """The sheets from stock with their pieces and signs as plain data; signs are numbered in the
    order of the work order.
    """
    numbers = {sign.id: number for number, sign in enumerate(order.signs, start=1)}
    return [
        {
            "id": sheet.id,
            "stock": sheet.stock,
            "size": list(sheet.size),
            "pieces": [
                {"id": piece.id, "load": piece.load, "area": _box_of(piece_box(piece))}
                for piece in order.pieces
                if piece.stock_sheet == sheet.id
            ],
            "signs": list(_signs_on(order, sheet.id, numbers)),
        }
        for sheet in order.stock_sheets
    ]


def _signs_on(order: WorkOrder, sheet: str, numbers: dict[str, int]) -> Iterator[dict[str, Any]]:
    pieces = {piece.id: piece for piece in order.pieces if piece.stock_sheet == sheet}
    for sign in order.signs:
        if sign.piece in pieces:
            area = _box_of(sign_box(sign, pieces[sign.piece]))
            yield {"id": sign.id, "number": numbers[sign.id], "area": area}


def _box_of(area: Area) -> list[float]:
    return [area.x, area.y, area.width, area.height]
