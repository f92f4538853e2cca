"""Estimates as text and as CSV for spreadsheets."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from decimal import Decimal

from signrules.estimating.amounts import FIXED
from signrules.estimating.job_estimate import Estimate, EstimateLine
from signrules.reports.text_report import MOST_OF_A_NAME, on_terms, one_line

UNPRICED = "UNPRICED"
NO_TOTAL = "NO TOTAL"
_BEGINS_A_FORMULA = re.compile(r"""(?:^|(?<=[,;|]))(?=[\s"]*[=+\-@＝＋－＠])""")
HEAD = ("kind", "item", "amount", "unit", "waste", "unit_price", "price", "currency", "note")


def estimate_text(estimate: Estimate) -> str:
    """A table of the lines, then the sum; or, where a line has no price, what is left out."""
    return "\n".join(_report_lines(estimate)) + "\n"


def _report_lines(estimate: Estimate) -> Iterator[str]:
    name = one_line(estimate.job, MOST_OF_A_NAME) or "job"
    if estimate.currency is None:
        yield f"{name}: what it takes"
    else:
        yield f"{name}: estimate in {estimate.currency}"
    yield _verdict_lines(estimate)
    for title, texts in on_terms(estimate.accepted, estimate.shop):
        yield f"\n{title}:"
        yield from (f"  {one_line(text)}" for text in texts)
    yield ""
    rows = [_table_row(line, priced=estimate.currency is not None) for line in estimate.lines]
    widths = [max(len(row[column]) for row in rows) for column in range(5)]
    for kind, item, amount, unit, price, note in rows:
        cells = [
            kind.ljust(widths[0]),
            item.ljust(widths[1]),
            amount.rjust(widths[2]),
            unit.ljust(widths[3]),
        ]
        yield "  ".join([*cells, price.rjust(widths[4]), note]).rstrip()
    if estimate.missing:
        yield "\nNot stated:"
        yield from (f"  {one_line(missing)}" for missing in estimate.missing)
    if estimate.currency is not None:
        yield ""
        yield from _sum_lines(estimate)


def _verdict_lines(estimate: Estimate) -> str:
    """What was decided of the job; of one that is not to be printed, what its estimate is worth."""
    if estimate.ok:
        return estimate.verdict
    return f"{estimate.verdict}. This is what it would take as it stands."


def _table_row(line: EstimateLine, *, priced: bool) -> tuple[str, str, str, str, str, str]:
    amount = "unknown" if line.amount is None else _short_number(line.amount)
    if line.kind == FIXED:
        amount = ""
    price = UNPRICED if line.price is None else f"{line.price:f}"
    if not priced:
        price = ""
    note = "; ".join(one_line(part, 200) for part in (line.unpriced, line.note) if part)
    return line.kind, one_line(line.item, 40), amount, line.unit, price, note


def _sum_lines(estimate: Estimate) -> Iterator[str]:
    assert estimate.so_far is not None
    assert estimate.markup is not None
    if estimate.total is None:
        count = len(estimate.unpriced)
        lines = "1 line has" if count == 1 else f"{count} lines have"
        yield f"{NO_TOTAL}: {lines} no price."
        yield (
            f"What is priced comes to {estimate.so_far:f} {estimate.currency}, without markup and"
            " minimum."
        )
        return
    yield f"Sum: {estimate.so_far:f} {estimate.currency}"
    if estimate.markup:
        yield f"Markup: {estimate.markup:f} {estimate.currency}"
    if estimate.raised:
        yield f"Raised to the minimum by: {estimate.raised:f} {estimate.currency}"
    yield f"Total: {estimate.total:f} {estimate.currency}"


def estimate_csv(estimate: Estimate, *, delimiter: str = ",", decimal_comma: bool = False) -> str:
    """Rows of RFC 4180 with a head: the lines, and below them the sums. Above the sums, rows of the
    kind `job` say what was decided of the job, whose failing the shop accepts, and what it has set.

    Spreadsheets in German want `delimiter=";"` and `decimal_comma=True`. Numbers are plain numbers.
    Text that a spreadsheet would take for a formula is preceded by an apostrophe, which makes it
    text. An unpriced line says so in place of its price, and so does the total.
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow(HEAD)
    mark = "," if decimal_comma else "."
    writer.writerows(_csv_line(line, estimate, mark) for line in estimate.lines)
    remarks = [_verdict_lines(estimate)]
    for title, texts in on_terms(estimate.accepted, estimate.shop):
        remarks += (f"{title}: {text}" for text in texts)
    for remark in remarks:
        writer.writerow(["job", *[""] * (len(HEAD) - 2), csv_cell(remark)])
    if estimate.currency is not None:
        writer.writerows(_csv_sums(estimate, mark))
    return out.getvalue()


def _csv_line(line: EstimateLine, estimate: Estimate, mark: str) -> list[str]:
    price = _csv_number(line.price, mark)
    if line.price is None and estimate.currency is not None:
        price = UNPRICED
    note = "; ".join(part for part in (line.unpriced, line.note) if part)
    return [
        csv_cell(line.kind),
        csv_cell(line.item),
        _csv_number(line.amount, mark),
        csv_cell(line.unit),
        _csv_number(line.waste, mark),
        _csv_number(line.unit_price, mark),
        price,
        csv_cell(estimate.currency or ""),
        csv_cell(note),
    ]


def _csv_sums(estimate: Estimate, mark: str) -> Iterator[list[str]]:
    sums = {
        "so far": estimate.so_far,
        "markup": estimate.markup,
        "raised to minimum": estimate.raised,
        "total": estimate.total,
    }
    for name, value in sums.items():
        shown = _csv_number(value, mark) or NO_TOTAL
        yield ["sum", name, "", "", "", "", shown, csv_cell(estimate.currency or ""), ""]


def _csv_number(value: Decimal | None, mark: str) -> str:
    """A plain number with a decimal mark; nothing where it is not known."""
    if value is None:
        return ""
    return f"{value:f}".replace(".", mark)


def csv_cell(text: str) -> str:
    """Text on one line, with an apostrophe before what a spreadsheet would take for a formula.

    That is so at the start, and also behind a comma, a semicolon or a bar: a spreadsheet that
    separates cells by another sign than the file splits the text there, quoted or not. Source:
    OWASP, *CSV Injection*: cells that begin with = + - @ or their full-width forms, separators and
    quotes within cells.
    """
    return _BEGINS_A_FORMULA.sub("'", one_line(text))


def _short_number(value: Decimal) -> str:
    """A number without trailing zeros."""
    text = f"{value:f}"
    if "." not in text:
        return text
    return text.rstrip("0").rstrip(".")
