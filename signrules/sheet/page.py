"""The run sheet as one self-contained HTML page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules import __version__
from signrules.cautions import CAUTIONS
from signrules.evaluation import Evaluation
from signrules.evaluation.verdict import DO_NOT_PRINT, worst_reason
from signrules.given_values import demand_given
from signrules.model.job import Job
from signrules.reports.figure_lines import figure_lines
from signrules.reports.text_report import not_settled
from signrules.reports.unchecked_lines import lines_not_checked
from signrules.rules.checks import Check
from signrules.sheet.block_making import MOST_IN_FULL, SetupBlocks
from signrules.sheet.blocks import Block, Tick
from signrules.sheet.dots_form import Measuring, signs_to_measure
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.load_plan import load_plan
from signrules.sheet.page_data import page_data
from signrules.sheet.page_head import head_contents
from signrules.sheet.scene import Scale
from signrules.sheet.sheet_words import clipped_words, sentence_text
from signrules.sheet.step_table import MOST_PLACES, steps_to_enter
from signrules.sheet.templates import rendered_page
from signrules.sheet.ticks import before_reaching

MOST_FINDINGS = 200
LONGEST_SUBJECT = 200
"""Characters of the name of what a quantity is of."""

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


def run_sheet(
    result: Evaluation,
    *,
    changed: Sequence[str] = (),
    language: Language = ENGLISH,
    reasons: bool = False,
    script: bool = True,
) -> str:
    """The run sheet of an evaluated job: an HTML page with nothing from outside.

    `changed` says in words which artwork is not as it was when the job was read from it: the page
    then says not to print. With `reasons`, what lies behind the sheet is unfolded, and so printed.
    Without `script` the page has none: it is paper alone. The same evaluation gives the same text
    each time. Raises SignrulesError where jinja2 is not installed.
    """
    demand_given("run_sheet", (result, Evaluation), (language, Language))
    contents = page_contents(result, language)
    if changed:
        contents |= _changed_contents(result, changed)
    contents["unfolded"] = reasons or not contents["ok"]
    contents["alive"] = page_data(result, language) if script and contents["ok"] else ""
    return rendered_page("run_sheet.html.j2", contents, language)


def _changed_contents(result: Evaluation, changed: Sequence[str]) -> dict[str, Any]:
    """What the page says in place of a verdict on artwork as it was."""
    contents: dict[str, Any] = {
        "ok": False,
        "against": first_of([*map(sentence_text, changed), *_reasons_against(result)]),
        "measured_at": {},
        "quantities": [],
        "not_settled": "",
    }
    if result.ok:
        contents["verdict"] = f"{DO_NOT_PRINT}: artwork has changed since the job was read from it"
        contents["reason"] = "Artwork has changed since the job was read from it."
    return contents


def page_contents(result: Evaluation, language: Language) -> dict[str, Any]:
    """Everything that the page says, as plain text and blocks."""
    return {
        **head_contents(result, language),
        **_verdict_contents(result),
        **_block_contents(result, language),
        **_quantity_contents(result, language),
        "shop": first_of(map(sentence_text, result.shop.in_words())),
        "version": __version__,
        "cautions": CAUTIONS,
        "meanings": [
            pair for pair in MEANINGS if pair[0] in {caution.signal for caution in CAUTIONS}
        ],
        "language": language,
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
        "not_checked": first_of(
            map(sentence_text, lines_not_checked(result.unassessed, result.job))
        ),
        "figures": first_of(sentence_text(line) for line in figure_lines(result)),
        "waived": first_of(map(_waived_entry, waived)),
        "accepted": first_of(accepted),
    }


def _block_contents(result: Evaluation, language: Language) -> dict[str, Any]:
    """The steps of the plan, if it is shown."""
    plan = result.plan
    # An order that a rule forbids is shown only where it is the one that someone brought along to
    # have judged.
    if plan is None or not (result.order_is_safe or plan.judged):
        return {
            "made": None,
            "aligns": [],
            "steps": [],
            "scale": None,
            "common": [],
            "looked_at": "",
        }
    made = SetupBlocks(result, language)
    aligns, steps = made.before_the_load(), made.at_the_machine()
    prints = [row for block in steps for row in block.prints]
    loads = dict.fromkeys(block.picture for block in steps if block.kind == "load")
    return {
        "made": made,
        "aligns": aligns,
        "steps": steps,
        "loads": {load: made.sheets_of_load(load) for load in loads},
        "load_plans": dict(_load_plans(result, loads, language)),
        "folded": len(prints) > MOST_IN_FULL,
        "with_plan": _rows_with_plan(steps, result.job),
        "common": list(_common_ticks([*aligns, *steps])),
        "looked_at": _where_to_look(result, made, language) if result.ok else "",
        "places": range(1, MOST_PLACES + 1),
        "step_table": steps_to_enter(language),
        "to_buy": list(made.spacers_to_buy()),
        "on_record": list(_on_record(result, made, language)),
        "scale": made.rows.scale and _scale_text(made.rows.scale, language),
    }


def _where_to_look(result: Evaluation, made: SetupBlocks, language: Language) -> str:
    """Where it stands what is to review, and what was not checked."""
    report = language.say("the report")
    lines = []
    if result.violations:
        steps, others = made.rows.steps_to_review()
        places = [language.say("step {step}", step=step) for step in steps]
        if others:
            places.append(report)
        lines.append(language.say("To review: {places}.", places=language.listed(places)))
    if result.unassessed:
        lines.append(language.say("Not checked: see the report."))
    return " ".join(lines)


def _load_plans(
    result: Evaluation, loads: Iterable[str], language: Language
) -> Iterator[tuple[str, str]]:
    """The plan of each load on which several sheets or signs lie; of one alone words say it."""
    job = result.job
    for number, load in enumerate(loads, start=1):
        sheets = [sheet.id for sheet in job.media if sheet.load == load]
        signs = [sign for sign in job.signs if job.media_of(sign).id in sheets]
        if len(sheets) > 1 or len(signs) > 1:
            yield load, load_plan(result.timeline, load, f"load-{number}", language)


def _rows_with_plan(steps: Sequence[Block], job: Job) -> set[int]:
    """The numbers of the passes beside which the bed is drawn on paper.

    Where several sheets lie on a load, it is each at which the bed looks otherwise than at the one
    before. Of one sheet alone words say it.
    """
    shown: set[int] = set()
    load, drawn_last = "", ""
    for block in steps:
        if block.kind == "load":
            load, drawn_last = block.picture, ""
        alone = sum(sheet.load == load for sheet in job.media) == 1
        for row in block.prints:
            drawn = row.plan.partition("</desc>")[2]
            if not alone and drawn != drawn_last:
                shown.add(row.number)
            drawn_last = drawn
    return shown


def _common_ticks(blocks: Iterable[Block]) -> Iterator[Tick]:
    """What is asked by a short word at several steps, each once."""
    by_term = {tick.term: tick for block in blocks for tick in block.all_ticks if tick.short}
    yield from by_term.values()


def _on_record(
    result: Evaluation, made: SetupBlocks, language: Language
) -> Iterator[tuple[str, str, str]]:
    usable = set(result.job.usable_alignments)
    for alignment in result.job.alignments:
        made_on = language.say("not stated")
        if alignment.date is not None:
            made_on = alignment.date.isoformat()
        use = language.say("void: the heads were worked on after it")
        if alignment in usable:
            use = made.rows.users(alignment.extra)
        yield language.mm(alignment.extra), made_on, use


def _quantity_contents(result: Evaluation, language: Language) -> dict[str, Any]:
    """What to measure and what the job takes; nothing for a job that is not to be printed."""
    if not result.ok:
        return {
            "measured_at": {},
            "allowed": "",
            "quantities": [],
            "not_settled": "",
            "reaching": (),
        }
    measuring = list(signs_to_measure(result, language))
    limits = {sign.allowed for sign in measuring}
    return {
        "measured_at": _measured_at(result, measuring),
        "allowed": limits.pop() if len(limits) == 1 else "",
        "quantities": list(_quantity_lines(result, language)),
        "not_settled": "" if result.settled else not_settled(result),
        "reaching": before_reaching(language, inked=True),
    }


def _measured_at(result: Evaluation, measuring: Iterable[Measuring]) -> dict[int, list[Measuring]]:
    """What is measured before which step: before a load is taken off for the last time."""
    if result.plan is None:
        return {}
    last_of_load = {
        step.subject: number
        for number, step in enumerate(result.plan.steps, start=1)
        if step.kind == "unload"
    }
    measured: dict[int, list[Measuring]] = {}
    for form in measuring:
        measured.setdefault(last_of_load[form.load], []).append(form)
    return measured


def _reasons_against(result: Evaluation) -> Iterator[str]:
    """What stands against every order, one by one."""
    if result.conflict is not None:
        yield from map(sentence_text, result.conflict.reasons)
    yield from (clipped_words(str(fault), 1000) for fault in result.faults)


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


def _scale_text(scale: Scale, language: Language) -> dict[str, str]:
    cut = language.mm(scale.cut) if scale.cut else ""
    return {"factor": language.figure(scale.factor), "cut": cut}


def _quantity_lines(result: Evaluation, language: Language) -> Iterator[tuple[str, str]]:
    minutes, millilitres = language.say("minutes"), "mL"
    names = {
        "bed_loads": (language.say("Bed loads"), ""),
        "gap_settings": (language.say("Gap settings"), ""),
        "new_alignments": (language.say("New alignments"), ""),
        "setup_minutes": (language.say("Set-up"), minutes),
        "printing_minutes": (language.say("Printing"), minutes),
        "ink_ml": (language.say("Cured ink"), millilitres),
    }
    for key, value in result.quantities.items():
        kind, _, subject = key.partition(".")
        label, unit = names.get(kind, (kind.replace("_", " "), ""))
        if subject:
            label = language.say(
                "{what}: {name}", what=label, name=clipped_words(subject, LONGEST_SUBJECT)
            )
        figure = language.figure(round(value, 3))
        yield label, language.unit(figure, unit) if unit else figure
