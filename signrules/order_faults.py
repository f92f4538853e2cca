"""What a work order says otherwise than the jobs of its loads and the shop file."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from signrules.documents.placeholders import without_placeholders
from signrules.documents.stock import Stock
from signrules.documents.table_reader import read_field
from signrules.errors import DocumentFault
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import listed_names, number_text, pair_text, shown_value
from signrules.model.work_order import (
    PLACE_MM,
    OrderedSign,
    WorkOrder,
    distance_between,
    same_lengths,
)
from signrules.schedules.jobs import stated_size


def faults_of_load(
    order: WorkOrder, load: str, job: Job, stock: Stock, used: Mapping[str, str]
) -> Iterator[DocumentFault]:
    """What the rows of one load say otherwise than its job and the shop file.

    `used` are the stock sheets that the job names, by the ids of its sheets.
    """
    yield from _lost_pieces(order, load, job)
    yield from _lost_signs(order, load, job)
    yield from _moved_pieces(order, load, job)
    yield from _moved_signs(order, load, job)
    # What the order says once is told once, with its first load.
    if load == order.loads[0].id:
        yield from _unknown_printer(order, stock)
    pieces = {piece.id: piece.stock_sheet for piece in order.pieces if piece.load == load}
    yield from faults_of_stock(order, stock, set(pieces.values()))
    yield from _other_stock(order, load, job, stock, used)
    yield from _unknown_types(order, stock, set(pieces))


def faults_of_stock(
    order: WorkOrder, stock: Stock, sheets: set[str] | None = None
) -> Iterator[DocumentFault]:
    """Stock sheets, all or some by their ids, that the shop does not have or not in that size."""
    # A shop file may state no sheets at all: then nobody knows which there are.
    if not stock.sheets:
        return
    for number, sheet in enumerate(order.stock_sheets):
        if sheets is not None and sheet.id not in sheets:
            continue
        where = f"stock_sheets[{number}]"
        if sheet.stock not in stock.sheets:
            yield _unknown_id(f"{where}.stock", sheet.stock, "a sheet", stock.sheets)
            continue
        size = stated_size(stock.sheets[sheet.stock])
        if size is not None and not same_lengths(sheet.size, size):
            expected = f"{pair_text(size)} mm, as sheets.{sheet.stock} of the shop file"
            yield DocumentFault(f"{where}.size", f"{pair_text(sheet.size)} mm", expected)


def _other_stock(
    order: WorkOrder, load: str, job: Job, stock: Stock, used: Mapping[str, str]
) -> Iterator[DocumentFault]:
    """Stock sheets that are not those that the job of a load is printed on."""
    numbers = {sheet.id: number for number, sheet in enumerate(order.stock_sheets)}
    there = {sheet.id: sheet for sheet in job.media}
    told: set[int] = set()
    for piece in order.pieces:
        number = numbers[piece.stock_sheet]
        if piece.load != load or piece.id not in there or number in told:
            continue
        named = order.stock_sheets[number].stock
        if piece.id in used:
            wanted = shown_value(used[piece.id]) if used[piece.id] != named else ""
        else:
            wanted = _made_otherwise(there[piece.id], stock.sheets.get(named, {}))
        if wanted:
            told.add(number)
            path = f"stock_sheets[{number}].stock"
            expected = f"{wanted}, as {piece.id} in the job of {load}"
            yield DocumentFault(path, shown_value(named), expected)


def _made_otherwise(sheet: Media, table: Mapping[str, Any]) -> str:
    """What a sheet of a job is that one of the shop cannot be; empty where it can be that one."""
    thickness = read_field(table["thickness"], Media, "thickness") if "thickness" in table else None
    if thickness is not None and not _may_be_alike(sheet.thickness, thickness):
        return f"a sheet of {number_text(sheet.thickness.nominal)} mm"
    material = table.get("material", sheet.material)
    return "" if sheet.material in (None, material) else f"a sheet of {sheet.material}"


def _may_be_alike(one: Interval, other: Interval) -> bool:
    return one.low <= other.high + GUARD_MM and other.low <= one.high + GUARD_MM


def faults_of_types(order: WorkOrder, load: str, job: Job, stock: Stock) -> Iterator[DocumentFault]:
    """Types of the signs of a load that, as the shop file has them, cannot be those signs."""
    stocks = {sheet.id: sheet.stock for sheet in order.stock_sheets}
    made_of = {piece.id: stocks[piece.stock_sheet] for piece in order.pieces if piece.load == load}
    kinds = {sign.id: sign.kind for sign in job.signs}
    for number, sign in enumerate(order.signs):
        if sign.piece not in made_of or sign.type not in stock.sign_types:
            continue
        # What waits for the words of a row is not known here.
        table = without_placeholders(stock.sign_types[sign.type])
        expected = _unlike_type(sign, table, made_of[sign.piece], kinds.get(sign.id))
        if expected:
            says = f"which sign_types.{sign.type} of the shop file is not"
            path = f"signs[{number}].type"
            yield DocumentFault(path, shown_value(sign.type), f"{expected}, {says}")


def _unlike_type(
    sign: OrderedSign, table: Mapping[str, Any], made_of: str, kind: str | None
) -> str:
    """The type that a sign would need where it is not of a type; empty where it may be of it."""
    sheets = table.get("sheet", made_of)
    if made_of not in ([sheets] if isinstance(sheets, str) else sheets):
        return f"one that may be made of {made_of}"
    size = stated_size(table)
    if size is not None and not same_lengths(sign.size, size):
        return f"one of {pair_text(sign.size)} mm"
    if kind is not None and table.get("kind", kind) != kind:
        return f"one of the kind {kind}"
    return ""


def faults_of_gutter(order: WorkOrder, gutter: float) -> Iterator[DocumentFault]:
    """Signs of one piece that lie closer together than the gutter, in mm."""
    by_piece: dict[str, list[tuple[int, OrderedSign]]] = defaultdict(list)
    for number, sign in enumerate(order.signs):
        by_piece[sign.piece].append((number, sign))
    for signs in by_piece.values():
        # Each pair of a piece; few signs share one, so nothing faster is needed.
        for (_, one), (number, other) in itertools.combinations(signs, 2):
            places = (one.at, one.size_as_it_lies), (other.at, other.size_as_it_lies)
            distance = distance_between(*places)
            # Places are rounded to a micrometre, which may bring two together by as much.
            if distance < gutter - PLACE_MM:
                found = f"{number_text(max(distance, 0.0))} mm from {one.id}"
                expected = f"at least {number_text(gutter)} mm, the gutter of [composition]"
                yield DocumentFault(f"signs[{number}].at", found, expected)


def _unknown_printer(order: WorkOrder, stock: Stock) -> Iterator[DocumentFault]:
    if stock.printers and order.printer not in stock.printers:
        yield _unknown_id("printer", order.printer, "a printer", stock.printers)


def _unknown_types(order: WorkOrder, stock: Stock, pieces: set[str]) -> Iterator[DocumentFault]:
    """Types of the signs on some pieces that the shop does not have."""
    if not stock.sign_types:
        return
    for number, sign in enumerate(order.signs):
        if sign.piece in pieces and sign.type not in stock.sign_types:
            path = f"signs[{number}].type"
            yield _unknown_id(path, sign.type, "a sign type", stock.sign_types)


def _unknown_id(path: str, id: str, what: str, known: Any) -> DocumentFault:
    expected = f"{what} that the shop file has: {listed_names(sorted(known))}"
    return DocumentFault(path, shown_value(id), expected)


def _lost_pieces(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Pieces that only one has of a work order and the job of a load: one is outdated."""
    listed = {piece.id for piece in order.pieces if piece.load == load}
    yield from _lost_ids("pieces", listed, {sheet.id for sheet in job.media}, load)


def _lost_signs(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Signs that only one has, on pieces that both have: a lost piece speaks for its signs."""
    pieces = {piece.id for piece in order.pieces if piece.load == load}
    both = pieces & {sheet.id for sheet in job.media}
    listed = {sign.id: sign.piece for sign in order.signs if sign.piece in pieces}
    there = {sign.id: job.media_of(sign).id for sign in job.signs}
    lost = {id for id in set(listed) ^ set(there) if listed.get(id, there.get(id)) in both}
    yield from _lost_ids("signs", lost & set(listed), lost & set(there), load)


def _lost_ids(table: str, listed: set[str], there: set[str], load: str) -> Iterator[DocumentFault]:
    for id in sorted(listed - there):
        found = f"{shown_value(id)} in {load}"
        yield DocumentFault(table, found, "what the job of that load has too")
    for id in sorted(there - listed):
        expected = f"{shown_value(id)}, as in the job of {load}"
        yield DocumentFault(table, f"no {shown_value(id)} in {load}", expected)


def _moved_pieces(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Pieces that lie elsewhere, or are of another size, than in the job of their load."""
    sheets = {sheet.id: sheet for sheet in job.media}
    for number, piece in enumerate(order.pieces):
        sheet = sheets.get(piece.id)
        if piece.load != load or sheet is None:
            continue
        for key in ("at", "size"):
            stated, there = getattr(piece, key), getattr(sheet, key)
            if not same_lengths(stated, there):
                expected = f"{pair_text(there)} mm, as in the job of {load}"
                yield DocumentFault(f"pieces[{number}].{key}", f"{pair_text(stated)} mm", expected)


def _moved_signs(order: WorkOrder, load: str, job: Job) -> Iterator[DocumentFault]:
    """Signs that lie elsewhere than in the job of their load."""
    signs = {sign.id: sign for sign in job.signs}
    pieces = {piece.id for piece in order.pieces if piece.load == load}
    for number, row in enumerate(order.signs):
        sign = signs.get(row.id)
        if row.piece not in pieces or sign is None:
            continue
        where = f"signs[{number}]"
        expected = f"as in the job of {load}"
        piece = job.media_of(sign).id
        if piece != row.piece:
            found, wanted = shown_value(row.piece), f"{shown_value(piece)}, {expected}"
            yield DocumentFault(f"{where}.piece", found, wanted)
        # A job that was written by hand need not say where its signs lie.
        if sign.area is None:
            continue
        corner, size = (sign.area.x, sign.area.y), (sign.area.width, sign.area.height)
        if not same_lengths(row.at, corner):
            wanted = f"{pair_text(corner)} mm, {expected}"
            yield DocumentFault(f"{where}.at", f"{pair_text(row.at)} mm", wanted)
        if not same_lengths(row.size_as_it_lies, size):
            found = f"{pair_text(row.size)} mm, {row.lies}"
            wanted = f"what takes {pair_text(size)} mm, {expected}"
            yield DocumentFault(f"{where}.size", found, wanted)
