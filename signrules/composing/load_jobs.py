"""Bed loads as jobs, and all of them as a work order."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Any

from attrs import evolve, frozen

from signrules.composing.loads import LaidPiece, lies_turned
from signrules.composing.panels import MICROMETRES, Size
from signrules.composing.units import Unit, size_of_stock
from signrules.documents.stock import Stock
from signrules.model.work_order import (
    TURNED,
    UPRIGHT,
    OrderedLoad,
    OrderedPiece,
    OrderedSign,
    PlacingBounds,
    StockSheet,
    WorkOrder,
)
from signrules.schedules.placing import PlacedSign, SignPlace, placed_sign
from signrules.schedules.sign_jobs import job_of_signs


@frozen
class BedLoad:
    """What lies on the bed together, and the standards that its signs are sold under.

    `id` and those of the pieces and of their stock sheets are empty until they are counted, unless
    they come from an earlier work order.
    """

    standards: tuple[str, ...]
    pieces: tuple[LaidPiece, ...]
    id: str = ""
    piece_ids: tuple[str, ...] = ()
    sheet_ids: tuple[str, ...] = ()

    def each_piece(self) -> Iterator[tuple[str, str, LaidPiece]]:
        """The id of each piece, that of its stock sheet, and where it lies."""
        yield from zip(self.piece_ids, self.sheet_ids, self.pieces, strict=True)

    @property
    def signs(self) -> Iterator[str]:
        """The ids of its signs."""
        for laid in self.pieces:
            yield from (sign for sign, _, _ in laid.piece.signs)


def numbered_loads(loads: Sequence[BedLoad]) -> list[BedLoad]:
    """Loads with ids for themselves, their pieces and stock sheets, counted in their order; ids
    that are there already stay.
    """
    new = [load for load in loads if not load.id]
    # Ids are written on offcuts and folders, so a new load never takes one that an earlier order
    # gave.
    taken = {id for load in loads for id in (load.id, *load.piece_ids, *load.sheet_ids)}
    load_ids = _new_ids("load", len(loads), taken)
    piece_ids = _new_ids("piece", sum(len(load.pieces) for load in loads), taken)
    keys = dict.fromkeys(key for load in new for key in _sheet_keys(load))
    kept_sheets = {id for load in loads for id in load.sheet_ids}
    names = _new_ids("sheet", len(keys) + len(kept_sheets), taken)
    sheet_ids = {key: next(names) for key in keys}
    found = []
    for load in loads:
        if not load.id:
            load = evolve(
                load,
                id=next(load_ids),
                piece_ids=tuple(next(piece_ids) for _ in load.pieces),
                sheet_ids=tuple(sheet_ids[key] for key in _sheet_keys(load)),
            )
        found.append(load)
    return found


def _sheet_keys(load: BedLoad) -> Iterator[tuple[object, ...]]:
    """What tells the stock sheet of each piece apart from others."""
    for laid in load.pieces:
        # Numbers of stock sheets count within one list of standards, so that list is a part of the
        # key.
        yield laid.piece.stock, load.standards, laid.piece.stock_number


def _new_ids(word: str, count: int, taken: Collection[str]) -> Iterator[str]:
    """Ids with a word and a number of as many digits as the count has, two at the least."""
    digits = max(2, len(str(count)))
    for number in itertools.count(1):
        id = f"{word}-{number:0{digits}}"
        if id not in taken:
            yield id


def job_document(
    load: BedLoad, name: str, units: Mapping[str, Unit], stock: Stock, printer: str
) -> dict[str, Any]:
    """The job of a bed load as plain data that names what it takes from the shop."""
    media = []
    placed: list[PlacedSign] = []
    for id, _, laid in load.each_piece():
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
    loads: Sequence[BedLoad],
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
        for _, id, laid in load.each_piece():
            size = size_of_stock(stock.sheets[laid.piece.stock]) or (0, 0)
            sheets.setdefault(id, StockSheet(id, laid.piece.stock, _pair(size)))
    signs = [
        _ordered_sign(units[sign], id, laid, corner, way)
        for load in loads
        for id, _, laid in load.each_piece()
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


def _pieces_of(load: BedLoad) -> Iterator[OrderedPiece]:
    for id, sheet, laid in load.each_piece():
        # Turned twice, once when it was cut and once on the bed, it lies as it lay in stock.
        turned = (laid.piece.cut == TURNED) != (laid.way == TURNED)
        yield OrderedPiece(
            id,
            load.id,
            sheet,
            _pair(_size_on_bed(laid)),
            _pair(laid.at),
            _pair(laid.piece.cut_at),
            TURNED if turned else UPRIGHT,
        )


def _ordered_sign(unit: Unit, piece: str, laid: LaidPiece, corner: Size, way: str) -> OrderedSign:
    lies = TURNED if lies_turned(laid, way) else UPRIGHT
    type = unit.sign.filled.id
    return OrderedSign(unit.id, type, unit.row, piece, _pair(corner), unit.sign.size, lies)
