"""The page of a work order: one self-contained HTML page that links the run sheets of its loads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from signrules import __version__
from signrules.cautions import CAUTIONS
from signrules.estimating import WorkOrderEstimate
from signrules.reports.cause_places import short_names, where_words, with_short_loads
from signrules.reports.estimate_report import UNPRICED, short_number, sum_lines
from signrules.reports.order_estimate_report import lacking_words
from signrules.reports.work_order_report import PROOFREADING, work_order_report
from signrules.reports.work_order_text import example_words, failure_words
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.sheet_words import clean_text, clipped_words, sentence_text
from signrules.sheet.stock_drawing import stock_picture
from signrules.sheet.templates import rendered_page
from signrules.work_order_files import JudgedOrder

LONGEST_NAME = 160


def work_order_page(
    judged: JudgedOrder,
    estimate: WorkOrderEstimate | None = None,
    *,
    links: Mapping[str, str] | None = None,
    language: Language = ENGLISH,
) -> str:
    """The page of a work order: an HTML page without script or anything from outside.

    `estimate` is that of the same work order; left out, no prices are told. `links` are the run
    sheets of the loads, by their ids. In another `language` what rules, plugins and prices say
    stays English. Raises SignrulesError where jinja2 is not installed.
    """
    found = judged.estimate() if estimate is None else estimate
    report = work_order_report(judged, found)
    contents = order_contents(report, links or {}, language) | _cost_contents(found, language)
    return rendered_page("order_page.html.j2", contents, language)


def order_contents(
    report: Mapping[str, Any], links: Mapping[str, str], language: Language = ENGLISH
) -> dict[str, Any]:
    """Everything that the page says of the report, as plain text and pictures."""
    names = short_names(each["load"] for each in report["sequence"])
    report = with_short_loads(report, names)
    links = {names[load]: page for load, page in links.items()}
    loads = [each["load"] for each in report["sequence"]]
    verdict = sentence_text(report["verdict"])
    return {
        "language": language,
        "name": clipped_words(report["name"], LONGEST_NAME) or language.say("work order"),
        "ok": report["ok"],
        "verdict": verdict,
        "footer": verdict.partition(":")[0],
        "summary": _summary(report["counts"], language),
        "bad_loads": _bad_loads(report, language),
        "failed": [sentence_text(failure_words(each, loads)) for each in report["failed"]],
        "found": {
            kind: [_cause_entry(cause, report) for cause in causes]
            for kind, causes in report["causes"].items()
        },
        "cautions": (*CAUTIONS, PROOFREADING),
        "loads": [_load_entry(load, links, language) for load in report["sequence"]],
        "besides": _besides_columns(report["sequence"], language),
        "stock": [_stock_row(use, language) for use in report["buy"]["stock"]],
        "inks": [_ink_row(ink, language) for ink in report["buy"]["ink"]],
        "sheets": [
            stock_picture(sheet, f"stock-{number}", language)
            for number, sheet in enumerate(report["stock_sheets"], start=1)
        ],
        "signs": [_sign_row(sign) for sign in report["signs"]],
        "notes": [sentence_text(note) for note in report["notes"]],
        "version": __version__,
    }


def _summary(counts: Mapping[str, int], language: Language) -> list[str]:
    say_count = language.say_count
    return [
        say_count(
            "{ok} of {count} load pass",
            "{ok} of {count} loads pass",
            counts["loads"],
            ok=counts["loads_ok"],
        ),
        say_count("{count} sign", "{count} signs", counts["signs"]),
        say_count("{count} failing sign", "{count} failing signs", counts["signs_failing"]),
        say_count("{count} sheet from stock", "{count} sheets from stock", counts["stock_sheets"]),
        say_count("{count} check not made", "{count} checks not made", counts["not_checked"]),
    ]


def _bad_loads(report: Mapping[str, Any], language: Language) -> str:
    bad = [clean_text(load["load"]) for load in report["sequence"] if not load["ok"]]
    return language.say_count(
        "Leave out {count} load: {names}.",
        "Leave out {count} loads: {names}.",
        len(bad),
        names=", ".join(bad),
    )


def _cause_entry(cause: Mapping[str, Any], report: Mapping[str, Any]) -> dict[str, str]:
    return {
        "rule": cause["rule"],
        "where": clean_text(where_words(cause, report)),
        "example": sentence_text(example_words(cause, report)),
        "source": sentence_text(cause["source"]),
    }


def _besides_columns(loads: list[Mapping[str, Any]], language: Language) -> list[tuple[str, str]]:
    """The columns of minutes that are neither set-up nor printing, where a load has any."""
    # Of a load without a plan nothing is known, and that alone asks for no further column.
    planned = [load for load in loads if load["gap_settings"] is not None]
    columns = []
    if any(_takes_some(load["handling_minutes"]) for load in planned):
        columns.append(("handling", language.say("Handling")))
    if any(_takes_some(load["pause_minutes"]) for load in planned):
        columns.append(("pauses", language.say("Pauses")))
    return columns


def _takes_some(minutes: str | None) -> bool:
    return minutes is None or Decimal(minutes) != 0


def _load_entry(
    load: Mapping[str, Any], links: Mapping[str, str], language: Language
) -> dict[str, str]:
    return {
        "name": clean_text(load["load"]),
        "link": quote(links.get(load["load"], "")),
        "signs": str(len(load["signs"])),
        "align": _extras_text(load["alignments"], language),
        "before": _extras_text(load["aligned_before"], language),
        "on_record": _extras_text(load["on_record"], language),
        "gaps": _gaps_text(load, language),
        "setup": _amount_text(load["setup_minutes"], "min", language),
        "handling": _amount_text(load["handling_minutes"], "min", language),
        "pauses": _amount_text(load["pause_minutes"], "min", language),
        "printing": _amount_text(load["printing_minutes"], "min", language),
        "verdict": sentence_text(load["verdict"]),
    }


def _gaps_text(load: Mapping[str, Any], language: Language) -> str:
    settings = load["gap_settings"]
    if settings is None:
        return language.say("not known")
    if load["gap_is_kept"]:
        return language.say("{settings}, the first one stands", settings=settings)
    return str(settings)


def _extras_text(extras: list[float] | None, language: Language) -> str:
    if extras is None:
        return language.say("not known")
    return ", ".join(map(language.mm, extras)) or language.say("none")


def _amount_text(amount: str | None, unit: str, language: Language) -> str:
    if amount is None:
        return language.say("not known")
    # A hundredth of a minute or of a millilitre is finer than either is known.
    return language.unit(language.figure(round(float(amount), 2)), unit)


def area_text(square_metres: str, language: Language) -> str:
    """An area in m2, to a tenth of a square decimetre."""
    return language.unit(language.figure(round(float(square_metres), 3)), "m2")


def _stock_row(use: Mapping[str, Any], language: Language) -> tuple[str, ...]:
    material = clean_text(use["material"] or language.say("material not stated"))
    if use["thickness"] is not None:
        material += f", {language.mm(use['thickness'])}"
    waste = language.say("not known")
    if use["waste_m2"] is not None:
        share = language.figure(round(100 * float(use["waste_share"]), 1))
        waste = f"{area_text(use['waste_m2'], language)} ({language.unit(share, '%')})"
    width, height = use["size"]
    size = f"{language.figure(width)} x {language.mm(height)}"
    area = area_text(use["area_m2"], language)
    return (clean_text(use["stock"]), str(use["sheets"]), material, size, area, waste)


def _ink_row(ink: Mapping[str, Any], language: Language) -> tuple[str, ...]:
    with_waste = _amount_text(ink["with_waste_ml"], "mL", language)
    if Decimal(ink["waste"]) == 0:
        with_waste = language.say("no waste stated")
    return (clean_text(ink["ink"]), _amount_text(ink["ml"], "mL", language), with_waste)


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


def _cost_contents(found: WorkOrderEstimate, language: Language) -> dict[str, Any]:
    """Lines, sums and rows of the schedule with their prices; nothing without a rate table."""
    if found.currency is None:
        return {"costs": [], "currency": "", "sums": [], "rows": []}
    return {
        "costs": list(_cost_rows(found, language)),
        "currency": clean_text(found.currency),
        "sums": [sentence_text(text) for text in sum_lines(found, lacking_words(found))],
        "rows": list(_schedule_rows(found, language)),
    }


def _cost_rows(found: WorkOrderEstimate, language: Language) -> Iterator[tuple[str, ...]]:
    for line in found.lines:
        amount = language.say("not known")
        if line.amount is not None:
            amount = language.with_mark(short_number(line.amount))
        price = UNPRICED if line.price is None else language.with_mark(f"{line.price:f}")
        note = "; ".join(part for part in (line.unpriced, line.note) if part)
        item = clean_text(line.item)
        yield (line.kind, item, f"{amount} {line.unit}".strip(), price, sentence_text(note))


def _schedule_rows(found: WorkOrderEstimate, language: Language) -> Iterator[tuple[str, ...]]:
    for row in found.rows:
        each = "" if row.each is None else language.with_mark(f"{row.each:f}")
        price = row.takes.price
        all_of_it = "" if price is None else language.with_mark(f"{price:f}")
        yield (str(row.row), clean_text(row.type), str(len(row.signs)), each, all_of_it)
