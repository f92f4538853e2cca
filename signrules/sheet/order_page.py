"""The page of a work order: one self-contained HTML page that links the run sheets of its loads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from signrules import __version__
from signrules.cautions import CAUTIONS, Caution
from signrules.estimating import WorkOrderEstimate
from signrules.model.wording import counted_things
from signrules.reports.causes import where_words
from signrules.reports.estimate_report import UNPRICED, short_number, sum_lines
from signrules.reports.order_estimate_report import lacking_words
from signrules.reports.work_order_report import PROOFREADING, work_order_report
from signrules.reports.work_order_text import example_words, failure_words, short_amount
from signrules.sheet.sheet_words import (
    NBSP,
    clean_text,
    clipped_words,
    count_text,
    figure_text,
    mm_text,
    sentence_text,
)
from signrules.sheet.stock_drawing import stock_picture
from signrules.sheet.templates import rendered_page
from signrules.work_order_files import JudgedOrder

LONGEST_NAME = 160
UNKNOWN = "not known"


def work_order_page(
    judged: JudgedOrder,
    estimate: WorkOrderEstimate | None = None,
    *,
    links: Mapping[str, str] | None = None,
) -> str:
    """The page of a work order: an HTML page without script or anything from outside.

    `estimate` is that of the same work order; left out, no prices are told. `links` are the run
    sheets of the loads, by their ids. Raises SignrulesError where jinja2 is not installed.
    """
    found = judged.estimate() if estimate is None else estimate
    report = work_order_report(judged, found)
    contents = order_contents(report, links or {}) | _cost_contents(found)
    return rendered_page("order_page.html.j2", contents)


def order_contents(report: Mapping[str, Any], links: Mapping[str, str]) -> dict[str, Any]:
    """Everything that the page says of the report, as plain text and pictures."""
    loads = [each["load"] for each in report["sequence"]]
    verdict = sentence_text(report["verdict"])
    return {
        "name": clipped_words(report["name"], LONGEST_NAME) or "work order",
        "ok": report["ok"],
        "verdict": verdict,
        "footer": verdict.partition(":")[0],
        "summary": _summary(report["counts"]),
        "bad_loads": _bad_loads(report),
        "failed": [sentence_text(failure_words(each, loads)) for each in report["failed"]],
        "found": {
            kind: [_cause_entry(cause, report) for cause in causes]
            for kind, causes in report["causes"].items()
        },
        "cautions": (*CAUTIONS, Caution("NOTICE", "Proofreading", PROOFREADING)),
        "loads": [_load_entry(load, links) for load in report["sequence"]],
        "stock": [_stock_row(use) for use in report["buy"]["stock"]],
        "inks": [_ink_row(ink) for ink in report["buy"]["ink"]],
        "sheets": [
            stock_picture(sheet, f"stock-{number}")
            for number, sheet in enumerate(report["stock_sheets"], start=1)
        ],
        "signs": [_sign_row(sign) for sign in report["signs"]],
        "notes": [sentence_text(note) for note in report["notes"]],
        "version": __version__,
    }


def _summary(counts: Mapping[str, int]) -> list[str]:
    return [
        f"{counts['loads_ok']} of {count_text(counts['loads'], 'load')} pass",
        count_text(counts["signs"], "sign"),
        f"{count_text(counts['signs_failing'], 'failing sign')}",
        f"{count_text(counts['stock_sheets'], 'sheet')} from stock",
        f"{count_text(counts['not_checked'], 'check')} not made",
    ]


def _bad_loads(report: Mapping[str, Any]) -> str:
    bad = [clean_text(load["load"]) for load in report["sequence"] if not load["ok"]]
    return f"Leave out {counted_things(len(bad), 'load')}: {', '.join(bad)}."


def _cause_entry(cause: Mapping[str, Any], report: Mapping[str, Any]) -> dict[str, str]:
    signs = [each["id"] for each in report["signs"]]
    loads = [each["load"] for each in report["sequence"]]
    return {
        "rule": cause["rule"],
        "where": clean_text(where_words(cause, signs, loads)),
        "example": sentence_text(example_words(cause)),
        "source": sentence_text(cause["source"]),
    }


def _load_entry(load: Mapping[str, Any], links: Mapping[str, str]) -> dict[str, str]:
    return {
        "name": clean_text(load["load"]),
        "link": quote(links.get(load["load"], "")),
        "signs": str(len(load["signs"])),
        "align": _extras_text(load["alignments"]),
        "before": _extras_text(load["aligned_before"]),
        "on_record": _extras_text(load["on_record"]),
        "gaps": _gaps_text(load),
        "setup": _amount_text(load["setup_minutes"], "min"),
        "printing": _amount_text(load["printing_minutes"], "min"),
        "verdict": sentence_text(load["verdict"]),
    }


def _gaps_text(load: Mapping[str, Any]) -> str:
    if load["gap_settings"] is None:
        return UNKNOWN
    kept = ", the first one stands" if load["gap_is_kept"] else ""
    return f"{load['gap_settings']}{kept}"


def _extras_text(extras: list[float] | None) -> str:
    if extras is None:
        return UNKNOWN
    return ", ".join(map(mm_text, extras)) or "none"


def _amount_text(amount: str | None, unit: str) -> str:
    return UNKNOWN if amount is None else f"{short_amount(amount)}{NBSP}{unit}"


def area_text(square_metres: str) -> str:
    """An area in m2, to a tenth of a square decimetre."""
    return figure_text(round(float(square_metres), 3))


def _stock_row(use: Mapping[str, Any]) -> tuple[str, ...]:
    material = clean_text(use["material"] or "material not stated")
    if use["thickness"] is not None:
        material += f", {mm_text(use['thickness'])}"
    waste = "not known"
    if use["waste_m2"] is not None:
        share = figure_text(round(100 * float(use["waste_share"]), 1))
        waste = f"{area_text(use['waste_m2'])}{NBSP}m2 ({share}{NBSP}%)"
    width, height = use["size"]
    size = f"{figure_text(width)} x {mm_text(height)}"
    area = f"{area_text(use['area_m2'])}{NBSP}m2"
    return (clean_text(use["stock"]), str(use["sheets"]), material, size, area, waste)


def _ink_row(ink: Mapping[str, Any]) -> tuple[str, ...]:
    with_waste = _amount_text(ink["with_waste_ml"], "mL")
    if Decimal(ink["waste"]) == 0:
        with_waste = "no waste stated"
    return (clean_text(ink["ink"]), _amount_text(ink["ml"], "mL"), with_waste)


def _sign_row(sign: Mapping[str, Any]) -> tuple[str, ...]:
    return (
        str(sign["number"]),
        clean_text(sign["id"]),
        clean_text(sign["type"] or ""),
        "" if sign["row"] is None else str(sign["row"]),
        clean_text(sign["load"]),
        clean_text(sign["sheet"]),
        clean_text(sign["stock_sheet"] or ""),
    )


def _cost_contents(found: WorkOrderEstimate) -> dict[str, Any]:
    """Lines, sums and rows of the schedule with their prices; nothing without a rate table."""
    if found.currency is None:
        return {"costs": [], "currency": "", "sums": [], "rows": []}
    return {
        "costs": list(_cost_rows(found)),
        "currency": clean_text(found.currency),
        "sums": [sentence_text(text) for text in sum_lines(found, lacking_words(found))],
        "rows": list(_schedule_rows(found)),
    }


def _cost_rows(found: WorkOrderEstimate) -> Iterator[tuple[str, ...]]:
    for line in found.lines:
        amount = "not known" if line.amount is None else short_number(line.amount)
        price = UNPRICED if line.price is None else f"{line.price:f}"
        note = "; ".join(part for part in (line.unpriced, line.note) if part)
        of = clean_text(line.item)
        yield (line.kind, of, f"{amount} {line.unit}".strip(), price, sentence_text(note))


def _schedule_rows(found: WorkOrderEstimate) -> Iterator[tuple[str, ...]]:
    for row in found.rows:
        each = "" if row.each is None else f"{row.each:f}"
        all_of_it = "" if row.takes.price is None else f"{row.takes.price:f}"
        yield (str(row.row), clean_text(row.type), str(len(row.signs)), each, all_of_it)
