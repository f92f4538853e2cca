"""Estimates of work orders as text and as CSV for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from signrules.estimating.order_estimate import (
    LoadEstimate,
    RowEstimate,
    SignEstimate,
    StockUse,
    WorkOrderEstimate,
)
from signrules.evaluation.terms import on_terms
from signrules.model.wording import FINE_DECIMALS, counted_things, number_text
from signrules.reports.estimate_report import (
    HEAD,
    NO_TOTAL,
    csv_cell,
    csv_line,
    csv_number,
    csv_sums,
    short_number,
    sum_lines,
    table_of_lines,
    verdict_line,
)
from signrules.reports.id_runs import runs_of_ids
from signrules.reports.text_report import MOST_OF_A_NAME, one_line

ORDER_HEAD = ("job", *HEAD)
_MOST_OF_A_CELL = 40


def order_estimate_text(estimate: WorkOrderEstimate) -> str:
    """The order with its sum, then the rows of the schedule, then the loads."""
    return "\n".join(_report_lines(estimate)) + "\n"


def _report_lines(estimate: WorkOrderEstimate) -> Iterator[str]:
    name = one_line(estimate.name, MOST_OF_A_NAME) or "work order"
    if estimate.currency is None:
        yield f"{name}: what it takes"
    else:
        yield f"{name}: estimate in {estimate.currency}"
    yield verdict_line(estimate)
    for title, texts in on_terms(estimate.accepted, estimate.shop):
        yield from _titled(title, texts)
    yield ""
    yield from table_of_lines(estimate.lines, priced=estimate.currency is not None)
    yield from _titled("Sheets from stock", map(stock_words, estimate.stock))
    yield from _titled(_cause_title(estimate), _cause_lines(estimate))
    if estimate.currency is not None:
        yield ""
        yield from sum_lines(estimate, lacking_words(estimate))
    yield from _titled("By row of the schedule", _aligned(map(_row_cells, estimate.rows)))
    yield from _titled("By load", _aligned(_load_rows(estimate.loads)))


def _titled(title: str, lines: Iterable[str]) -> Iterator[str]:
    """Lines below a title; nothing where there are none."""
    body = [f"  {one_line(line)}" for line in lines]
    if body:
        yield from (f"\n{title}:", *body)


def _cause_title(estimate: WorkOrderEstimate) -> str:
    return "Not known" if estimate.currency is None else "No price"


def _cause_lines(estimate: WorkOrderEstimate) -> Iterator[str]:
    ids = [*(load.id for load in estimate.loads), *(sign.id for sign in estimate.signs)]
    for each in estimate.unpriced:
        where = f" ({runs_of_ids(each.on, ids)})" if each.on else ""
        yield f"{each.cause}{where}"


def lacking_words(estimate: WorkOrderEstimate) -> str:
    """How many things have no price, in words."""
    count = len(estimate.unpriced)
    return "1 thing has" if count == 1 else f"{count} things have"


def stock_words(use: StockUse) -> str:
    """Sheets from one stock and their waste in words."""
    sides = " x ".join(number_text(side, FINE_DECIMALS) for side in use.size)
    parts = [f"{use.sheets} x {use.stock}", use.material or "material not stated"]
    if use.thickness is not None:
        parts.append(f"{number_text(use.thickness, FINE_DECIMALS)} mm")
    parts.append(f"{sides} mm")
    return f"{', '.join(parts)}: {number_text(float(use.area_m2))} m2, {waste_words(use)}"


def waste_words(use: StockUse) -> str:
    """How much of some sheets no sign covers."""
    if use.waste_m2 is None or use.waste_share is None:
        return "waste not known: the jobs do not state where their signs lie"
    share = number_text(100 * float(use.waste_share), 1)
    return f"{number_text(float(use.waste_m2))} m2 of it waste ({share} %)"


def _row_cells(row: RowEstimate) -> tuple[str, ...]:
    each = "" if row.each is None else f"{row.each:f} each"
    signs = counted_things(len(row.signs), "sign")
    return (f"row {row.row}", row.type, signs, each, _price_words(row.takes.price), "")


def _load_rows(loads: Sequence[LoadEstimate]) -> Iterator[tuple[str, ...]]:
    """The cells of each load, with handling and pauses where one of the loads has any."""
    every = [_minutes_besides(load) for load in loads]
    # Of a load without a plan nothing is known, and that alone asks for no further column.
    planned = [each for load, each in zip(loads, every, strict=True) if load.lines]
    besides = [word for word in ("handling", "pauses") if any(each[word] != 0 for each in planned)]
    for load, minutes in zip(loads, every, strict=True):
        yield _load_cells(load, {word: minutes[word] for word in besides})


def _minutes_besides(load: LoadEstimate) -> dict[str, Decimal | None]:
    """The minutes that are neither set-up nor printing."""
    return {"handling": load.takes.handling_minutes, "pauses": load.takes.pause_minutes}


def _load_cells(load: LoadEstimate, besides: Mapping[str, Decimal | None]) -> tuple[str, ...]:
    return (
        load.id,
        counted_things(load.signs, "sign"),
        f"set-up {amount_words(load.takes.setup_minutes, 'min')}",
        *(f"{word} {amount_words(minutes, 'min')}" for word, minutes in besides.items()),
        f"printing {amount_words(load.takes.printing_minutes, 'min')}",
        f"ink {amount_words(load.takes.ink_ml, 'mL')}",
        _price_words(load.takes.price),
        load.verdict,
    )


def amount_words(amount: Decimal | None, unit: str) -> str:
    """An amount without trailing zeros, and its unit."""
    return "unknown" if amount is None else f"{short_number(amount)} {unit}"


def _price_words(price: Decimal | None) -> str:
    return "" if price is None else f"{price:f}"


def _aligned(rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Rows of cells in columns; the last is not filled up."""
    # A single long id would push all columns behind it off the screen.
    shown = [[one_line(cell, _MOST_OF_A_CELL) for cell in row[:-1]] + [row[-1]] for row in rows]
    widths = [max(map(len, column)) for column in zip(*shown, strict=True)]
    for row in shown:
        cells = [cell.ljust(width) for cell, width in zip(row, widths[:-1], strict=False)]
        yield "  ".join([*cells, row[-1]]).rstrip()


def order_estimate_csv(
    estimate: WorkOrderEstimate, *, delimiter: str = ",", decimal_comma: bool = False
) -> str:
    """Rows of RFC 4180 with a head, as of a job's estimate and with its load before them.

    First the lines of the order, then rows of the kinds `row`, `load` and `sign`, which share the
    same money, then the lines of each load, then remarks and the sums.
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow(ORDER_HEAD)
    mark = "," if decimal_comma else "."
    writer.writerows(["", *csv_line(line, estimate.currency, mark)] for line in estimate.lines)
    writer.writerows(_part_rows(estimate, mark))
    for load in estimate.loads:
        cell = csv_cell(load.id)
        writer.writerows([cell, *csv_line(line, estimate.currency, mark)] for line in load.lines)
    blank = [""] * (len(HEAD) - 2)
    writer.writerows(["", "order", *blank, csv_cell(text)] for text in _remarks(estimate))
    if estimate.currency is not None:
        writer.writerows(["", *row] for row in csv_sums(estimate, mark))
    return out.getvalue()


def _remarks(estimate: WorkOrderEstimate) -> Iterator[str]:
    yield verdict_line(estimate)
    for title, texts in on_terms(estimate.accepted, estimate.shop):
        yield from (f"{title}: {text}" for text in texts)
    yield from (f"{_cause_title(estimate)}: {line}" for line in _cause_lines(estimate))


def _part_rows(estimate: WorkOrderEstimate, mark: str) -> Iterator[list[str]]:
    """What rows of the schedule, loads and signs cost of the whole."""
    for row in estimate.rows:
        item = f"row {row.row}: {row.type}"
        yield _part_row(estimate, "row", "", item, len(row.signs), row.each, row, mark)
    for load in estimate.loads:
        yield _part_row(estimate, "load", load.id, load.id, load.signs, None, load, mark)
    for sign in estimate.signs:
        each = sign.takes.price
        yield _part_row(estimate, "sign", sign.load, sign.id, 1, each, sign, mark)


def _part_row(
    estimate: WorkOrderEstimate,
    kind: str,
    job: str,
    item: str,
    count: int,
    each: Decimal | None,
    part: RowEstimate | LoadEstimate | SignEstimate,
    mark: str,
) -> list[str]:
    price = csv_number(part.takes.price, mark)
    # An empty cell would add up as 0 in a spreadsheet.
    if not price and estimate.currency is not None:
        price = NO_TOTAL
    note = part.verdict if isinstance(part, LoadEstimate) else ""
    currency = csv_cell(estimate.currency or "")
    unit_price = csv_number(each, mark)
    cells = [csv_cell(job), kind, csv_cell(item), str(count), "sign", "", unit_price, price]
    return [*cells, currency, csv_cell(note)]
