"""The report of a work order as text: what was found, by cause and not by sign."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from signrules.model.wording import counted_things, number_text
from signrules.reports.cause_places import (
    ids_repeat,
    short_names,
    where_words,
    with_short_loads,
)
from signrules.reports.causes import NOT_CHECKED, REVIEW, STOP, WAIVED
from signrules.reports.id_runs import runs_of_ids
from signrules.reports.text_report import MOST_OF_A_NAME, one_line

TITLES = {STOP: "Stop", REVIEW: "To review", NOT_CHECKED: "Not checked", WAIVED: "Waived"}
"""What causes of each kind stand under."""

Report = Mapping[str, Any]


def work_order_text(report: Report) -> str:
    """The verdict, causes with the signs that they concern, loads in their order, cautions."""
    names = short_names(each["load"] for each in report["sequence"])
    return "\n".join(_report_lines(with_short_loads(report, names))) + "\n"


def _report_lines(report: Report) -> Iterator[str]:
    name = one_line(report["name"], MOST_OF_A_NAME) or "work order"
    yield f"{name}: {report['verdict']}"
    loads = [each["load"] for each in report["sequence"]]
    yield from _titled(
        "Not to be printed", (failure_words(each, loads) for each in report["failed"])
    )
    for kind, title in TITLES.items():
        causes = report["causes"][kind]
        yield from _titled(title, (cause_words(each, report) for each in causes))
    # Without a work order nobody knows in which order they are printed.
    title = "Loads, in this order" if report["stock_sheets"] else "Loads"
    yield from _titled(title, map(load_words, report["sequence"]))
    yield from _titled("Notes", report["notes"])
    yield from _titled("Cautions", report["cautions"])


def _titled(title: str, lines: Iterable[str]) -> Iterator[str]:
    """Lines below a title; nothing where there are none."""
    body = [f"  {one_line(line)}" for line in lines]
    if body:
        yield from (f"\n{title}:", *body)


def failure_words(failure: Report, loads: list[str]) -> str:
    """Why loads are not to be printed, and which."""
    # A conflict has several lines, and a list of reasons one for each.
    reason = " ".join(failure["reason"].split())
    return f"{runs_of_ids(failure['loads'], loads)}: {reason}"


def cause_words(cause: Report, report: Report) -> str:
    """A cause in one line: rule, source, where, and an example or what is not stated."""
    where = where_words(cause, report)
    return f"{cause['rule']} ({cause['source']}), {where}. {example_words(cause, report)}"


def example_words(cause: Report, report: Report) -> str:
    """What is not stated, or what was found on one of several."""
    if cause["missing"]:
        return f"Not stated: {cause['missing']}."
    if cause["checks"] == 1:
        return str(cause["example"])
    of_which = f"The worst of {cause['checks']}"
    # The message names a sign or a pass, and each of several loads may have one of that id.
    if ids_repeat(report) and len(cause["loads"]) > 1:
        of_which += f", in {cause['example_load']}"
    return f"{of_which}: {cause['example']}"


def load_words(load: Report) -> str:
    """A load with what is to be set up for it."""
    parts = [counted_things(len(load["signs"]), "sign")]
    if load["alignments"] is not None:
        parts.append(alignment_words(load))
        parts.append(counted_things(load["gap_settings"], "gap setting"))
    if load["setup_minutes"] is not None:
        parts.append(f"set-up {short_amount(load['setup_minutes'])} min")
    # Without a plan nothing is known, and it goes without saying.
    if load["gap_settings"] is not None:
        parts += _besides_words(load)
    if load["printing_minutes"] is not None:
        parts.append(f"printing {short_amount(load['printing_minutes'])} min")
    return f"{load['load']}: {', '.join(parts)}: {load['verdict']}"


def _besides_words(load: Report) -> Iterator[str]:
    """The minutes of handling and of pauses, which are no set-up; nothing of what takes none."""
    for word, minutes in (
        ("handling", load["handling_minutes"]),
        ("pauses", load["pause_minutes"]),
    ):
        if minutes is None:
            yield f"{word} unknown"
        elif Decimal(minutes):
            yield f"{word} {short_amount(minutes)} min"


def alignment_words(load: Report) -> str:
    """The alignments that a load needs first."""
    text = "no alignment to make"
    if load["alignments"]:
        text = f"align first at {_extras_words(load['alignments'])}"
    if load["aligned_before"]:
        text += f" (aligned before at {_extras_words(load['aligned_before'])})"
    return text


def _extras_words(extras: list[float]) -> str:
    return ", ".join(f"{number_text(extra)} mm" for extra in extras)


def short_amount(amount: str) -> str:
    """An amount of the report without trailing zeros."""
    return amount.rstrip("0").rstrip(".") if "." in amount else amount
