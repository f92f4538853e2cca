"""Bed loads as jobs, and all of them as a work order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from typing import Any

from attrs import frozen

from signrules.composing.loads import LaidPiece, lies_turned
from signrules.composing.panels import MICROMETRES, Size
from signrules.composing.rectangles import TURNED
from signrules.composing.units import Unit, size_of_stock
from signrules.documents.stock import Stock
from signrules.model.work_order import (
    OrderedLoad,
    OrderedPiece,
    OrderedSign,
    PlacingBounds,
    StockSheet,
    WorkOrder,
)
from signrules.schedules.jobs import job_of_signs
from signrules.schedules.placing import PlacedSign, SignPlace, placed_sign

Load = tuple[LaidPiece, ...]


@frozen
class NumberedLoad:
    """A bed load with the ids of what lies in it; `stock_sheets` are those of its pieces."""

    id: str
    pieces: tuple[tuple[str, LaidPiece], ...]
    stock_sheets: tuple[str, ...]
    standards: tuple[str, ...]


def numbered_loads(loads: Sequence[tuple[tuple[str, ...], Load]]) -> list[NumberedLoad]:
    """Loads in their order, each with its standards; what lies in them counted through."""
    pieces = sum(len(load) for _, load in loads)
    piece_ids = iter(_ids("piece", pieces))
    load_ids = _ids("load", len(loads))
    sheets = dict.fromkeys(
        (laid.piece.stock, standards, laid.piece.stock_number)
        for standards, load in loads
        for laid in load
    )
    sheet_ids = dict(zip(sheets, _ids("sheet", len(sheets)), strict=True))
    found = []
    for id, (standards, load) in zip(load_ids, loads, strict=True):
        named = tuple((next(piece_ids), laid) for laid in load)
        keys = ((laid.piece.stock, standards, laid.piece.stock_number) for laid in load)
        own_sheets = tuple(sheet_ids[key] for key in keys)
        found.append(NumberedLoad(id, named, own_sheets, standards))
    return found


def _ids(word: str, count: int) -> list[str]:
    digits = max(2, len(str(count)))
    return [f"{word}-{number:0{digits}}" for number in range(1, count + 1)]


def job_document(
    load: NumberedLoad, name: str, units: Mapping[str, Unit], stock: Stock, printer: str
) -> dict[str, Any]:
    """The job of a bed load as plain data that names what it takes from the shop."""
    media = []
    placed: list[PlacedSign] = []
    for id, laid in load.pieces:
        size = _millimetres(_size_on_bed(laid))
        at = _millimetres(laid.at)
        media.append({"id": id, "use": laid.piece.stock, "size": size, "at": at})
        placed += (
            _placed(units[sign], id, corner, size[0], lies_turned(laid, way))
            for sign, corner, way in laid.piece.signs
        )
    return job_of_signs(name, stock, printer, load.standards, media, placed)


def _placed(unit: Unit, piece: str, corner: Size, width: float, turned: bool) -> PlacedSign:
    x, y = _millimetres(corner)
    place = SignPlace(piece, (x, y), width, turned)
    sign = unit.sign
    return placed_sign(sign.filled, sign.braille, unit.id, place, sign.size)


def _size_on_bed(laid: LaidPiece) -> Size:
    width, height = laid.piece.size
    return (height, width) if laid.way == TURNED else (width, height)


def _millimetres(lengths: Iterable[int]) -> list[float]:
    return [each / MICROMETRES for each in lengths]


def _pair(lengths: Iterable[int]) -> tuple[float, float]:
    x, y = _millimetres(lengths)
    return x, y


def work_order(
    loads: Sequence[NumberedLoad],
    units: Mapping[str, Unit],
    stock: Stock,
    *,
    name: str,
    printer: str,
    at_least: PlacingBounds,
    notes: Sequence[str],
) -> WorkOrder:
    """The document that says where each sign lies."""
    named = list(chain.from_iterable(_pieces_of(load) for load in loads))
    sheets: dict[str, StockSheet] = {}
    for load in loads:
        for id, (_, laid) in zip(load.stock_sheets, load.pieces, strict=True):
            size = size_of_stock(stock.sheets[laid.piece.stock]) or (0, 0)
            sheets.setdefault(id, StockSheet(id, laid.piece.stock, _pair(size)))
    signs = [
        _ordered_sign(units[sign], id, laid, corner, way)
        for load in loads
        for id, laid in load.pieces
        for sign, corner, way in laid.piece.signs
    ]
    return WorkOrder(
        name,
        printer,
        at_least,
        tuple(OrderedLoad(load.id, f"{load.id}.toml") for load in loads),
        tuple(sheets.values()),
        tuple(named),
        tuple(sorted(signs, key=lambda sign: (sign.row, sign.id))),
        tuple(notes),
    )


def _pieces_of(load: NumberedLoad) -> Iterable[OrderedPiece]:
    for sheet, (id, laid) in zip(load.stock_sheets, load.pieces, strict=True):
        turned = (laid.piece.cut == TURNED) != (laid.way == TURNED)
        yield OrderedPiece(
            id,
            load.id,
            sheet,
            _pair(_size_on_bed(laid)),
            _pair(laid.at),
            _pair(laid.piece.cut_at),
            TURNED if turned else "upright",
        )


def _ordered_sign(unit: Unit, piece: str, laid: LaidPiece, corner: Size, way: str) -> OrderedSign:
    lies = TURNED if lies_turned(laid, way) else "upright"
    type = unit.sign.filled.id
    return OrderedSign(unit.id, type, unit.row, piece, _pair(corner), unit.sign.size, lies)
