"""The run sheet as one self-contained HTML page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules import __version__
from signrules.braille.cells import dots_of
from signrules.evaluation import Evaluation
from signrules.evaluation.cautions import CAUTIONS
from signrules.evaluation.verdict import DO_NOT_PRINT, worst_reason
from signrules.model.sign import Sign
from signrules.reports.figure_lines import figure_lines
from signrules.reports.text_report import not_checked, not_settled
from signrules.rules.checks import Check
from signrules.sheet.hands import before_reaching
from signrules.sheet.scene import Scale
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
from signrules.sheet.templates import rendered_page
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
    all_findings = tuple(findings)
    return Findings(all_findings[:MOST_FINDINGS], max(len(all_findings) - MOST_FINDINGS, 0))


@frozen
class Measuring:
    """What to measure on one sign.

    It says how many dots, also in words, the range that holds, and what was measured already.
    """

    sign: str
    path: str
    blanks: int
    dots: str
    allowed: str
    known: str


def run_sheet(result: Evaluation, *, changed: Sequence[str] = ()) -> str:
    """The run sheet of an evaluated job: an HTML page without script or anything from outside.

    `changed` says in words which artwork is not as it was when the job was read from it: the page
    then says not to print. The same evaluation gives the same text each time. Raises SignrulesError
    where jinja2 is not installed.
    """
    contents = page_contents(result)
    if changed:
        contents |= _changed_contents(result, changed)
    return rendered_page("page.html.j2", contents)


def _changed_contents(result: Evaluation, changed: Sequence[str]) -> dict[str, Any]:
    """What the page says in place of a verdict on artwork as it was."""
    contents: dict[str, Any] = {
        "ok": False,
        "against": first_of([*map(sentence_text, changed), *_reasons_against(result)]),
        "measuring": [],
        "quantities": [],
        "not_settled": "",
    }
    if result.ok:
        contents["verdict"] = f"{DO_NOT_PRINT}: artwork has changed since the job was read from it"
        contents["reason"] = "Artwork has changed since the job was read from it."
    return contents


def page_contents(result: Evaluation) -> dict[str, Any]:
    """Everything that the page says, as plain text and cards."""
    return {
        **_head_contents(result),
        **_verdict_contents(result),
        **_card_contents(result),
        **_quantity_contents(result),
        "cautions": CAUTIONS,
        "meanings": [
            pair for pair in MEANINGS if pair[0] in {caution.signal for caution in CAUTIONS}
        ],
        "reaching": before_reaching(inked=True),
    }


def _head_contents(result: Evaluation) -> dict[str, Any]:
    """What the head and the foot of the page say of the job, the printer and the shop."""
    job = result.job
    full_name = ""
    if len(job.name) > LONGEST_NAME:
        full_name = clipped_words(job.name, 4 * LONGEST_NAME)
    return {
        "name": clipped_words(job.name, LONGEST_NAME) or "job",
        "full_name": full_name,
        "name_length": len(job.name),
        "printer": clipped_words(job.printer.name or "", LONGEST_NAME),
        "min_clearance": mm_text(job.printer.min_clearance),
        "summary": _page_summary(result),
        "shop": first_of(map(sentence_text, result.shop.in_words())),
        "version": __version__,
    }


def _verdict_contents(result: Evaluation) -> dict[str, Any]:
    """What was decided, what stands against it, and what was not looked at."""
    reason = worst_reason(result)
    if reason:
        reason = f"{reason[:1].upper()}{reason[1:]}."
    conflict_head = ""
    if result.conflict is not None:
        conflict_head = sentence_text(result.conflict.message.split("\n", 1)[0])
    waived = [check for check in result.checks if check.waiver is not None]
    accepted = [
        (clipped_words(str(fault), 1000), clipped_words(why, 400)) for fault, why in result.accepted
    ]
    return {
        "verdict": result.verdict,
        "ok": result.ok,
        "reason": reason,
        "against": first_of(_reasons_against(result)),
        "conflict_head": conflict_head,
        "violations": first_of(map(_finding_entry, result.violations)),
        "not_checked": first_of(sentence_text(not_checked(check)) for check in result.unassessed),
        "figures": first_of(sentence_text(line) for line in figure_lines(result)),
        "waived": first_of(map(_waived_entry, waived)),
        "accepted": first_of(accepted),
    }


def _card_contents(result: Evaluation) -> dict[str, Any]:
    """The steps of the plan, if it is shown."""
    plan = result.plan
    # An order that a rule forbids is shown only where it is the one that someone brought along to
    # have judged.
    if plan is None or not (result.order_is_safe or plan.judged):
        return {"cards": None, "aligns": [], "steps": [], "on_record": [], "scale": None}
    cards = Cards(result)
    return {
        "cards": cards,
        "aligns": cards.before_the_load(),
        "steps": cards.at_the_machine(),
        "on_record": _on_record(result, cards),
        "scale": cards.scale and _scale_text(cards.scale),
    }


def _quantity_contents(result: Evaluation) -> dict[str, Any]:
    """What to measure and what the job takes; nothing for a job that is not to be printed."""
    if not result.ok:
        return {"measuring": [], "quantities": [], "not_settled": ""}
    return {
        "measuring": list(signs_to_measure(result)),
        "quantities": list(_quantity_lines(result)),
        "not_settled": "" if result.settled else not_settled(result),
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
    summary = [
        count_text(plan.loads, "bed load"),
        count_text(result.timeline.gap_settings, "gap setting"),
    ]
    summary.append(count_text(len(result.timeline.new_alignments), "new alignment"))
    if plan.setup_minutes is not None:
        summary.append(f"{count_text(plan.setup_minutes, 'minute')} of set-up")
    if not plan.judged:
        best = "no order costs less" if plan.optimal else "the cheapest order that was found"
        summary.append(best)
    return summary


def _finding_entry(check: Check) -> tuple[str, str, str]:
    return f"{check.level.value} {check.outcome.value}", sentence_text(check.message), check.rule


def _waived_entry(check: Check) -> tuple[str, str, str, str]:
    assert check.waiver is not None
    until = ""
    if check.waiver.until is not None:
        until = check.waiver.until.isoformat()
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
        made_on = "not stated" if alignment.date is None else alignment.date.isoformat()
        use = "void: the heads were worked on after it"
        if alignment in usable:
            use = cards.users(alignment.extra)
        rows.append((mm_text(alignment.extra), made_on, use))
    return rows


def _scale_text(scale: Scale) -> dict[str, str]:
    cut = mm_text(scale.cut) if scale.cut else ""
    return {"factor": figure_text(scale.factor), "cut": cut}


def signs_to_measure(result: Evaluation) -> Iterator[Measuring]:
    """The signs whose dots are to be measured: those with braille that has any."""
    limits: dict[str, list[Check]] = {}
    for check in result.checks:
        if check.rule == "braille.dot-height":
            limits.setdefault(check.subjects[0], []).append(check)
    for sign in result.job.signs:
        if sign.braille is not None:
            total = _count_of_dots(sign.braille.cells)
            if total != 0:
                yield _measuring_form(limits.get(f"signs.{sign.id}", []), sign, total)


def _count_of_dots(cells: str | None) -> int | None:
    """How many dots cells have; None where they are not stated."""
    if cells is None:
        return None
    return sum(len(dots_of(cell)) for cell in cells if cell != "\n")


def _measuring_form(limits: list[Check], sign: Sign, total: int | None) -> Measuring:
    blanks = DOTS_TO_MEASURE
    if total is not None:
        blanks = min(total, DOTS_TO_MEASURE)
    dots = count_text(blanks, "dot")
    if total is not None:
        dots += f" of {total}"
    known_heights: Iterable[float] = ()
    if sign.measured is not None:
        known_heights = sign.measured.dot_height[:60]
    allowed = dict.fromkeys(filter(None, map(_range_text, limits)))
    return Measuring(
        clean_text(sign.id),
        f"signs.{clean_text(sign.id)}.measured.dot_height",
        blanks,
        dots,
        "; ".join(allowed),
        ", ".join(map(mm_text, known_heights)),
    )


def _range_text(check: Check) -> str:
    """The range of a limit with its source; nothing where there is none.

    Limits are written exactly: a rounded one would be another limit.
    """
    low, high = check.limit
    if low is not None and high is not None:
        text = f"{exact_text(low)} to {exact_text(high)}"
    elif low is not None:
        text = f"at least {exact_text(low)}"
    elif high is not None:
        text = f"at most {exact_text(high)}"
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
