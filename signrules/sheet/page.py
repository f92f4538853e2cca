"""The run sheet as one self-contained HTML page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib.resources import files
from typing import Any

from attrs import frozen

from signrules import __version__
from signrules.braille.cells import dots_of
from signrules.errors import SignrulesError
from signrules.evaluation import Evaluation
from signrules.evaluation.cautions import CAUTIONS
from signrules.evaluation.verdict import worst_reason
from signrules.model.sign import Sign
from signrules.reports.text_report import not_checked, not_settled
from signrules.rules.checks import Check
from signrules.sheet.hands import before_reaching
from signrules.sheet.sheet_words import (
    NBSP,
    clean_text,
    clipped_words,
    count_text,
    figure_text,
    mm_text,
    sentence_text,
)
from signrules.sheet.step_cards import Cards
from signrules.standards.written_numbers import exact_text

LONGEST_NAME = 160
MOST_FINDINGS = 200
DOTS_TO_MEASURE = 10
"""Dots to measure of each sign, or all if there are fewer. Common practice, no published source."""

MEANINGS = (
    ("DANGER", "kills or injures badly unless it is avoided"),
    ("WARNING", "can kill or injure badly"),
    ("CAUTION", "can injure slightly"),
    ("NOTICE", "is not about injury"),
)
"""What the signal words of ANSI Z535.4 say; those on injury are in ISO 3864-2 as well.

From memory.
"""


@frozen
class Findings:
    """The first of many findings, and how many more there are."""

    shown: tuple[Any, ...]
    more: int


def first_of(findings: Iterable[Any]) -> Findings:
    """The first findings, if there are very many."""
    found = tuple(findings)
    return Findings(found[:MOST_FINDINGS], max(len(found) - MOST_FINDINGS, 0))


@frozen
class Measuring:
    """What to measure on one sign: how many dots, also in words, the range that holds, what was
    measured already.
    """

    sign: str
    path: str
    blanks: int
    dots: str
    allowed: str
    known: str


def run_sheet(result: Evaluation) -> str:
    """The run sheet of an evaluated job: an HTML page without script or reference to anything
    outside.

    The same evaluation gives the same text each time. Raises SignrulesError where jinja2 is not
    installed.
    """
    try:
        from jinja2 import DictLoader, Environment, StrictUndefined
    except ModuleNotFoundError:
        raise SignrulesError(
            "the run sheet needs the package jinja2, which is not installed: pip install"
            " 'signrules[sheet]'"
        ) from None

    here = files("signrules.sheet")
    sources = {
        name: here.joinpath(name).read_text(encoding="utf-8")
        for name in ("page.html.j2", "page.css")
    }
    environment = Environment(
        loader=DictLoader(sources),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("page.html.j2").render(page_contents(result)) + "\n"


def page_contents(result: Evaluation) -> dict[str, Any]:
    """Everything that the page says, as plain text and cards."""
    job = result.job
    name = clipped_words(job.name, LONGEST_NAME) or "job"
    plan = result.plan
    # An order that a rule forbids is shown only where it is the one that someone brought along to
    # have judged.
    shown = plan is not None and (result.order_is_safe or plan.judged)
    reason = worst_reason(result)
    cards = Cards(result) if shown else None
    return {
        "name": name,
        "full_name": clipped_words(job.name, 4 * LONGEST_NAME)
        if len(job.name) > LONGEST_NAME
        else "",
        "name_length": len(job.name),
        "verdict": result.verdict,
        "ok": result.ok,
        "reason": f"{reason[:1].upper()}{reason[1:]}." if reason else "",
        "against": first_of(_reasons_against(result)),
        "conflict_head": (
            ""
            if result.conflict is None
            else sentence_text(result.conflict.message.split("\n", 1)[0])
        ),
        "violations": first_of(map(_finding_entry, result.violations)),
        "cautions": CAUTIONS,
        "meanings": [pair for pair in MEANINGS if pair[0] in {each.signal for each in CAUTIONS}],
        "summary": _page_summary(result),
        "cards": cards,
        "aligns": cards.before_the_load() if cards else [],
        "steps": cards.at_the_machine() if cards else [],
        "on_record": _on_record(result, cards) if cards else [],
        "scale": None if cards is None or cards.scale is None else _scale_text(cards),
        "min_clearance": mm_text(job.printer.min_clearance),
        "measuring": list(signs_to_measure(result)) if result.ok else [],
        "reaching": before_reaching(inked=True),
        "quantities": list(_quantity_lines(result)) if result.ok else [],
        "not_checked": first_of(sentence_text(not_checked(check)) for check in result.unassessed),
        "not_settled": not_settled(result) if result.ok and not result.settled else "",
        "waived": first_of(
            _waived_entry(check) for check in result.checks if check.waiver is not None
        ),
        "accepted": first_of(
            (clipped_words(str(fault), 1000), clipped_words(why, 400))
            for fault, why in result.accepted
        ),
        "shop": first_of(map(sentence_text, result.shop.in_words())),
        "version": __version__,
        "printer": clipped_words(job.printer.name or "", LONGEST_NAME),
    }


def _reasons_against(result: Evaluation) -> Iterator[str]:
    """What stands against every order, one by one."""
    if result.conflict is not None:
        yield from map(sentence_text, result.conflict.reasons)
    yield from (clipped_words(str(fault), 1000) for fault in result.faults)


def _page_summary(result: Evaluation) -> list[str]:
    plan = result.plan
    if plan is None:
        return []
    found = [
        count_text(plan.loads, "bed load"),
        count_text(result.timeline.gap_settings, "gap setting"),
    ]
    found.append(count_text(len(result.timeline.new_alignments), "new alignment"))
    if plan.setup_minutes is not None:
        found.append(f"{count_text(plan.setup_minutes, 'minute')} of set-up")
    if not plan.judged:
        found.append("no order costs less" if plan.optimal else "the cheapest order that was found")
    return found


def _finding_entry(check: Check) -> tuple[str, str, str]:
    return f"{check.level.value} {check.outcome.value}", sentence_text(check.message), check.rule


def _waived_entry(check: Check) -> tuple[str, str, str, str]:
    assert check.waiver is not None
    until = "" if check.waiver.until is None else check.waiver.until.isoformat()
    return (
        sentence_text(check.message),
        clipped_words(check.waiver.reason, 400),
        clipped_words(check.waiver.by, 200),
        until,
    )


def _on_record(result: Evaluation, cards: Cards) -> list[tuple[str, str, str]]:
    usable = set(result.job.usable_alignments)
    rows = []
    for alignment in result.job.alignments:
        made = "not stated" if alignment.date is None else alignment.date.isoformat()
        use = (
            cards.users(alignment.extra)
            if alignment in usable
            else "void: the heads were worked on after it"
        )
        rows.append((mm_text(alignment.extra), made, use))
    return rows


def _scale_text(cards: Cards) -> dict[str, str]:
    assert cards.scale is not None
    return {
        "factor": figure_text(cards.scale.factor),
        "cut": mm_text(cards.scale.cut) if cards.scale.cut else "",
    }


def signs_to_measure(result: Evaluation) -> Iterator[Measuring]:
    """The signs whose dots are to be measured: those with braille that has any."""
    limits: dict[str, list[Check]] = {}
    for check in result.checks:
        if check.rule == "braille.dot-height":
            limits.setdefault(check.subjects[0], []).append(check)
    for sign in result.job.signs:
        if sign.braille is not None:
            cells = sign.braille.cells
            total = (
                None if cells is None else sum(len(dots_of(each)) for each in cells if each != "\n")
            )
            if total != 0:
                yield _measuring_form(limits.get(f"signs.{sign.id}", []), sign, total)


def _measuring_form(limits: list[Check], sign: Sign, total: int | None) -> Measuring:
    known = () if sign.measured is None else sign.measured.dot_height
    allowed = list(dict.fromkeys(text for check in limits if (text := _range_text(check))))
    blanks = DOTS_TO_MEASURE if total is None else min(total, DOTS_TO_MEASURE)
    return Measuring(
        clean_text(sign.id),
        f"signs.{clean_text(sign.id)}.measured.dot_height",
        blanks,
        count_text(blanks, "dot") + ("" if total is None else f" of {total}"),
        "; ".join(allowed),
        ", ".join(mm_text(height) for height in known[:60]),
    )


def _range_text(check: Check) -> str:
    # Limits are written exactly: a rounded one would be another limit.
    low, high = (None if limit is None else exact_text(limit) for limit in check.limit)
    if low is not None:
        text = f"at least {low}" if high is None else f"{low} to {high}"
    elif high is not None:
        text = f"at most {high}"
    else:
        return ""
    return f"{text}{NBSP}mm ({sentence_text(str(check.source))})"


_NAMES = {
    "bed_loads": ("Bed loads", ""),
    "gap_settings": ("Gap settings", ""),
    "new_alignments": ("New alignments", ""),
    "setup_minutes": ("Set-up", "minutes"),
    "printing_minutes": ("Printing", "minutes"),
    "ink_ml": ("Cured ink", "mL"),
}


def _quantity_lines(result: Evaluation) -> Iterator[tuple[str, str]]:
    for key, value in result.quantities.items():
        kind, _, subject = key.partition(".")
        label, unit = _NAMES.get(kind, (kind.replace("_", " "), ""))
        about = f" of {clean_text(subject)}" if subject else ""
        yield f"{label}{about}", f"{figure_text(round(value, 3))}{NBSP}{unit}".rstrip()
