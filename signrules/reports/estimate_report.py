"""Estimates as text and as CSV for spreadsheets."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal

from signrules.estimating.amounts import FIXED
from signrules.estimating.job_estimate import Estimate
from signrules.estimating.order_estimate import WorkOrderEstimate
from signrules.estimating.pricing import AddedLine, EstimateLine
from signrules.evaluation.terms import on_terms
from signrules.reports.text_report import MOST_OF_A_NAME, one_line

UNPRICED = "UNPRICED"
NO_TOTAL = "NO TOTAL"
# A spreadsheet skips blanks and quotes at the start of a cell before it looks for a formula.
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
    yield verdict_line(estimate)
    for title, texts in on_terms(estimate.accepted, estimate.shop):
        yield f"\n{title}:"
        yield from (f"  {one_line(text)}" for text in texts)
    yield ""
    yield from table_of_lines(estimate.lines, priced=estimate.currency is not None)
    if estimate.missing:
        yield "\nNot stated:"
        yield from (f"  {one_line(missing)}" for missing in estimate.missing)
    if estimate.currency is not None:
        yield ""
        count = len(estimate.unpriced)
        yield from sum_lines(estimate, "1 line has" if count == 1 else f"{count} lines have")


def verdict_line(estimate: Estimate | WorkOrderEstimate) -> str:
    """What was decided; of one that is not to be printed, what its estimate is worth."""
    if estimate.ok:
        return estimate.verdict
    return f"{estimate.verdict}. This is what it would take as it stands."


def table_of_lines(lines: Sequence[EstimateLine], *, priced: bool) -> Iterator[str]:
    """Lines as a table of text."""
    rows = [_table_row(line, priced=priced) for line in lines]
    widths = [max((len(row[column]) for row in rows), default=0) for column in range(5)]
    for kind, item, amount, unit, price, note in rows:
        cells = [
            kind.ljust(widths[0]),
            item.ljust(widths[1]),
            amount.rjust(widths[2]),
            unit.ljust(widths[3]),
        ]
        yield "  ".join([*cells, price.rjust(widths[4]), note]).rstrip()


def _table_row(line: EstimateLine, *, priced: bool) -> tuple[str, str, str, str, str, str]:
    amount = "unknown" if line.amount is None else short_number(line.amount)
    # A charge that does not depend on any amount: "1" would read as one piece.
    if line.kind == FIXED:
        amount = ""
    price = UNPRICED if line.price is None else f"{line.price:f}"
    if not priced:
        price = ""
    note = "; ".join(one_line(part, 200) for part in (line.unpriced, line.note) if part)
    return line.kind, one_line(line.item, 40), amount, line.unit, price, note


def sum_lines(estimate: Estimate | WorkOrderEstimate, lacking: str) -> Iterator[str]:
    """The sum with what comes on top, or that there is none; `lacking` says what has no price."""
    assert estimate.so_far is not None
    # Where a plugin failed every line may have a price all the same: that is told below.
    if estimate.total is None and not estimate.faults:
        yield f"{NO_TOTAL}: {lacking} no price."
        yield (
            f"What is priced comes to {estimate.so_far:f} {estimate.currency}, without markup and"
            " minimum."
        )
        return
    yield f"Sum: {estimate.so_far:f} {estimate.currency}"
    if estimate.markup:
        yield f"Markup: {estimate.markup:f} {estimate.currency}"
    for line in estimate.added:
        yield f"{one_line(line.name)} ({added_by(line)}): {line.price:f} {estimate.currency}"
    if estimate.raised:
        yield f"Raised to the minimum by: {estimate.raised:f} {estimate.currency}"
    for fault in estimate.faults:
        yield f"Failed while pricing: {one_line(str(fault))}"
    if estimate.total is None:
        yield f"{NO_TOTAL}: a plugin that adds lines failed."
    else:
        yield f"Total: {estimate.total:f} {estimate.currency}"


def added_by(line: AddedLine) -> str:
    """The plugin of a line, and the share that it is."""
    if line.share is None:
        return f"plugin {line.plugin}"
    return f"plugin {line.plugin}, {short_number(line.share * 100)} %"


def estimate_csv(estimate: Estimate, *, delimiter: str = ",", decimal_comma: bool = False) -> str:
    """Rows of RFC 4180 with a head: the lines, and below them the sums. Above the sums, rows of the
    kind `job` say what was decided of the job, whose failing the shop accepts, and what it has set.

    Spreadsheets in German want `delimiter=";"` and `decimal_comma=True`. Numbers are plain numbers.
    Text that a spreadsheet would take for a formula is preceded by an apostrophe, which makes it
    text. An unpriced line says so in place of its price, and so does the total.
    """
    out = io.StringIO()
    # RFC 4180, 2.1: lines end with CR LF on every system.
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow(HEAD)
    mark = "," if decimal_comma else "."
    writer.writerows(csv_line(line, estimate.currency, mark) for line in estimate.lines)
    remarks = [verdict_line(estimate)]
    for title, texts in on_terms(estimate.accepted, estimate.shop):
        remarks += (f"{title}: {text}" for text in texts)
    for remark in remarks:
        writer.writerow(["job", *[""] * (len(HEAD) - 2), csv_cell(remark)])
    if estimate.currency is not None:
        writer.writerows(csv_sums(estimate, mark))
    return out.getvalue()


def csv_line(line: EstimateLine, currency: str | None, mark: str) -> list[str]:
    """The cells of a line, as `HEAD` has them."""
    price = csv_number(line.price, mark)
    if line.price is None and currency is not None:
        price = UNPRICED
    note = "; ".join(part for part in (line.unpriced, line.note) if part)
    return [
        csv_cell(line.kind),
        csv_cell(line.item),
        csv_number(line.amount, mark),
        csv_cell(line.unit),
        csv_number(line.waste, mark),
        csv_number(line.unit_price, mark),
        price,
        csv_cell(currency or ""),
        csv_cell(note),
    ]


def csv_sums(estimate: Estimate | WorkOrderEstimate, mark: str) -> Iterator[list[str]]:
    """The cells of the sums and of the lines of plugins between them, as `HEAD` has them."""
    currency = csv_cell(estimate.currency or "")

    def row_of(kind: str, name: str, value: Decimal | None, note: str = "") -> list[str]:
        shown = csv_number(value, mark) or NO_TOTAL
        return [kind, csv_cell(name), "", "", "", "", shown, currency, csv_cell(note)]

    yield row_of("sum", "so far", estimate.so_far)
    yield row_of("sum", "markup", estimate.markup)
    for line in estimate.added:
        yield row_of("plugin", line.name, line.price, added_by(line))
    for fault in estimate.faults:
        yield row_of("plugin", fault.plugin, None, str(fault))
    yield row_of("sum", "raised to minimum", estimate.raised)
    yield row_of("sum", "total", estimate.total)


def csv_number(value: Decimal | None, mark: str) -> str:
    """A plain number with a decimal mark; nothing where it is not known."""
    if value is None:
        return ""
    # Without `f` a small number would be written with an exponent, which few spreadsheets take.
    return f"{value:f}".replace(".", mark)


def csv_cell(text: str) -> str:
    """Text on one line, with an apostrophe before what a spreadsheet would take for a formula.

    That is so at the start, and also behind a comma, a semicolon or a bar: a spreadsheet that
    separates cells by another sign than the file splits the text there, quoted or not. Source:
    OWASP, *CSV Injection*: cells that begin with = + - @ or their full-width forms, separators and
    quotes within cells.
    """
    return _BEGINS_A_FORMULA.sub("'", one_line(text))


def short_number(value: Decimal) -> str:
    """A number without trailing zeros."""
    text = f"{value:f}"
    if "." not in text:
        return text
    return text.rstrip("0").rstrip(".")
