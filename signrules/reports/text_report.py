"""Evaluations as text for the person at the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from attrs import frozen

from signrules.cautions import CAUTIONS
from signrules.evaluation.terms import on_terms
from signrules.evaluation.verdict import DO_NOT_PRINT, unsettled_checks
from signrules.given_values import demand_given
from signrules.model.job import Job
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import counted_things, number_text
from signrules.physics.timeline import Step, Timeline
from signrules.planning.plan import Plan
from signrules.plugins import BUILT_IN
from signrules.reports.colour import painted_text
from signrules.reports.figure_lines import figure_lines
from signrules.reports.unchecked_lines import lines_not_checked
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.remedy import Remedy

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation
    from signrules.remedies.found_remedies import Reported

MOST_NOT_TRIED = 6
"""The most findings that are named as not fully tried; JSON has them all."""

MOST_OF_A_NAME = 120
MOST_OF_A_LINE = 2000
"""Characters of a name and of a line that are shown; of longer ones the beginning, and how long
they are.
"""


def evaluation_text(
    result: Evaluation,
    *,
    everything: bool = False,
    colour: bool = False,
    cautions: bool = True,
) -> str:
    """Verdict, violations, order with its steps, what was not checked, cautions.

    `everything` lists met checks and notes too; `colour` adds the colours of a terminal and no
    other character. Whoever shows several says the `cautions` once for all of them.
    """
    from signrules.evaluation import Evaluation

    demand_given("evaluation_text", (result, Evaluation))
    text = "\n".join(_report_lines(result, everything, colour)) + "\n"
    return text + caution_text(colour=colour) if cautions else text


def caution_text(*, colour: bool = False) -> str:
    """What whoever prints must heed, below a title."""
    title = painted_text("Cautions:", "title", on=colour)
    return "\n".join(("", title, *(f"  {caution}" for caution in CAUTIONS))) + "\n"


def plain_text(text: str) -> str:
    """Text without control characters, so that a hostile name cannot steer the terminal.

    Those that turn the direction of writing around and those that cannot be seen are among them.
    """
    if text.isprintable():
        return text
    return "".join(map(_shown_char, text))


def _shown_char(char: str) -> str:
    if char.isprintable() or char == "\n":
        return char
    return "\N{REPLACEMENT CHARACTER}"


def one_line(text: str, most: int = MOST_OF_A_LINE) -> str:
    """Plain text on one line, of long text the beginning and its length."""
    # Cut before anything is looked at: a name of a million letters should cost nothing.
    shown = plain_text(text[:most]).replace("\n", "\N{REPLACEMENT CHARACTER}")
    return shown if len(text) <= most else f"{shown}... ({len(text)} characters)"


def _report_lines(result: Evaluation, everything: bool, colour: bool) -> Iterator[str]:
    sections = _Sections(result.reported_remedies, colour)
    name = one_line(result.job.name, MOST_OF_A_NAME) or "job"
    style = "good" if result.ok else "bad"
    yield f"{name}: {painted_text(result.verdict, style, on=colour)}"
    yield from sections.titled(
        "Failed while judging; nothing is decided until this is fixed",
        map(str, result.faults),
        "bad",
    )
    for title, lines in on_terms(result.accepted, result.shop):
        yield from sections.titled(title, lines)
    yield from _problem_lines(result, sections)
    yield from sections.titled("Taken for granted when artwork was read", result.job.read_notes)
    if result.plan is not None:
        yield from sections.titled(plan_title(result), _numbered_steps(result.plan.steps, result))
    # Behind the plan: what stops the print comes first, then what is done, then what is open.
    yield from sections.titled("Not checked", lines_not_checked(result.unassessed, result.job))
    yield from sections.titled("Figures from elsewhere", figure_lines(result))
    # Where something is broken the verdict says no, whatever is still open.
    if result.ok and not result.settled:
        yield from ("", not_settled(result))
    yield from sections.titled("Not judged", not_judged(result.checks))
    yield from sections.titled("Nothing said", lines_of_silent_rules(result, everything))
    if everything:
        judged = [check for check in result.checks if check.outcome is not Outcome.UNASSESSED]
        others = [check for check in judged if not check.is_violation]
        yield from sections.findings("All other checks", others, "good")


def _problem_lines(result: Evaluation, sections: _Sections) -> Iterator[str]:
    """The conflict, what is broken, doubtful or waived, and what would help."""
    reported = sections.reported
    if result.conflict is not None:
        yield ""
        yield plain_text(result.conflict.message)
        yield from (f"  {one_line(text)}" for text in first_remedy(reported.of_conflict))
    broken = [check for check in result.violations if check.level is Level.STOP]
    doubts = [check for check in result.violations if check.level is Level.REVIEW]
    yield from sections.findings("Stop", broken, "bad")
    yield from sections.findings("To review", doubts, "doubt")
    if reported.not_tried:
        yield from ("", one_line(not_tried(reported)))
    waived = [check for check in result.checks if check.waiver is not None]
    yield from sections.findings("Waived", waived, "faint")


@frozen
class _Sections:
    """Writes the sections of a report, with or without colour."""

    reported: Reported
    colour: bool

    def titled(self, title: str, lines: Iterable[str], style: str = "title") -> Iterator[str]:
        """Lines below a title; nothing where there are none."""
        body = [f"  {one_line(line)}" for line in lines]
        if body:
            yield from ("", painted_text(f"{title}:", style, on=self.colour), *body)

    def findings(self, title: str, checks: Sequence[Check], style: str) -> Iterator[str]:
        """Checks below a title, each with what would meet it; nothing where there are none."""
        if checks:
            yield from ("", painted_text(f"{title}:", "title", on=self.colour))
        for check in checks:
            head = f"[{check.level.value} {check.outcome.value}]"
            line = one_line(finding_line(f"{check.rule}:", check))
            yield f"  {painted_text(head, style, on=self.colour)} {line}"
            yield from (f"    {one_line(text)}" for text in self._remedy(check))

    def _remedy(self, check: Check) -> Iterator[str]:
        spoken_for = self.reported.as_on.get(check)
        if spoken_for is None:
            yield from first_remedy(self.reported.of_checks.get(check, ()))
        else:
            yield f"Remedy: as on {spoken_for}."


def not_judged(checks: Iterable[Check]) -> Iterator[str]:
    """What tables of the job name and no rule judges, a line for each table."""
    for check in checks:
        if check.rule == "tables.notes" and check.outcome is Outcome.BROKEN:
            yield check.message.removeprefix("job: ")


def lines_of_silent_rules(result: Evaluation, everything: bool) -> Iterator[str]:
    """How many rules said nothing of the job; those of plugins by name, all with `everything`."""
    silent = result.silent_rules
    if silent:
        yield f"{len(silent)} of {counted_things(result.rules_run, 'rule')}: nothing for them here"
    named = [each for each in silent if everything or each.plugin != BUILT_IN]
    for plugin in sorted({each.plugin for each in named}):
        rules = ", ".join(each.rule for each in named if each.plugin == plugin)
        yield f"of {'the built-in sets' if plugin == BUILT_IN else f'plugin {plugin}'}: {rules}"


def not_settled(result: Evaluation) -> str:
    """What it means that checks of level STOP could not be made, or depend on doubtful figures."""
    unmade = len(unsettled_checks(result))
    doubtful = sum(bool(figure.hangs) for figure in result.figures)
    reasons = []
    if unmade:
        reasons.append(f"{unmade} of these are of level STOP, and each may still forbid the print")
    if doubtful:
        figures = counted_things(doubtful, "figure")
        reasons.append(f"verdicts of level STOP depend on {figures} that must be measured")
    return f"Not settled: {'; '.join(reasons)}."


def first_remedy(remedies: Sequence[Remedy]) -> Iterator[str]:
    """The first of some remedies, and how many more there are: JSON has them all."""
    for remedy in remedies[:1]:
        more = len(remedies) - 1
        further = f" ({more} more: see --format json)" if more else ""
        yield f"Remedy: {remedy.summary}{_cost_text(remedy.setup_minutes)}{further}"


def _cost_text(minutes: float | None) -> str:
    """What a remedy costs in set-up, or spares; nothing where it does neither."""
    if not minutes:
        return ""
    more_or_less = "more" if minutes > 0 else "less"
    return f" ({counted_things(number_text(abs(minutes)), 'minute')} of set-up {more_or_less})"


def not_tried(reported: Reported) -> str:
    """The findings whose possible remedies were not all tried."""
    named = [f"{rule} on {subject}" for rule, subject in reported.not_tried[:MOST_NOT_TRIED]]
    unnamed = reported.left_out - len(named)
    listed = ", ".join(named)
    if unnamed:
        listed += f" and {unnamed} more"
    findings = counted_things(reported.left_out, "finding")
    return f"The trials ran out before every remedy was tried for {findings}: {listed}."


def finding_line(head: str, check: Check) -> str:
    """What a check found, after a head, with the source of its limit and whoever waives it."""
    text = f"{head} {check.message} ({check.source})"
    if check.waiver is None:
        return text
    until = f" until {check.waiver.until.isoformat()}" if check.waiver.until else ""
    waived_by, reason = (
        one_line(check.waiver.by, MOST_OF_A_NAME),
        one_line(check.waiver.reason, MOST_OF_A_LINE // 2),
    )
    return f"{text} Waived by {waived_by}{until}: {reason}"


def plan_title(result: Evaluation) -> str:
    """What kind of order the plan of an evaluation is, and what it takes."""
    plan = result.plan
    assert plan is not None
    takes = counted_things(plan.loads, "bed load")
    if plan.setup_minutes is not None:
        takes += f", {counted_things(number_text(plan.setup_minutes), 'minute')} of set-up"
    if plan.judged:
        kind = "The sequence as given"
    elif not result.order_is_safe:
        # A rule forbids it that the planner does not look for.
        kind = "The order as planned"
    else:
        kind = "Pass order, none cheaper" if plan.optimal else "Pass order, the cheapest found"
    if not result.order_is_safe:
        kind += f", {DO_NOT_PRINT}"
    return f"{kind} ({takes}){_better_order(plan)}"


def _better_order(plan: Plan) -> str:
    """How much less the best order takes than the given one; nothing where it takes no less."""
    best = plan.best
    if not plan.judged or best is None or not best.cost < plan.cost:
        return ""
    if best.loads < plan.loads:
        saved = counted_things(plan.loads - best.loads, "bed load")
    else:
        unit = "minute" if plan.in_minutes else "setting"
        saved = counted_things(number_text(plan.cost[1] - best.cost[1]), unit)
    return f"; {saved} less in the order {', '.join(best.order)}"


def _numbered_steps(steps: Iterable[Step], result: Evaluation) -> Iterator[str]:
    return (f"{number:>2}. {step_text(step, result)}" for number, step in enumerate(steps, start=1))


def _back_up(step: Step, job: Job) -> str:
    """Which sheets of a load go on with their back up, in words; empty where none do."""
    named = step.back_up or ()
    if not named:
        return ""
    all_of_it = len(named) == sum(sheet.load == step.subject for sheet in job.media)
    return ", back up" if all_of_it else f", back up: {', '.join(named)}"


def _serving_range(timeline: Timeline, alignment: float) -> tuple[float, float]:
    """The range in mm in which an alignment would still serve every pass that it serves.

    It is its own extra twice where nothing is known.
    """
    served = [
        window
        for pass_index, window in timeline.windows.items()
        if timeline.serving_alignment(timeline.printings[pass_index]) == alignment
    ]
    low = max((window.low for window in served), default=alignment)
    high = min((window.high for window in served), default=alignment)
    # An alignment that was made before serves its passes without lying in the middle of them.
    if low <= alignment <= high:
        return low, high
    return alignment, alignment


def _alignment_text(extra: float, serves: tuple[float, float]) -> str:
    """How to make an alignment, and the range in which it still serves its passes."""
    low, high = serves
    if extra < 0:
        # Below 0 the operator raises the scrap: no printer can take anything off its base gap.
        raised = quantity_text(Interval.between(max(-high, 0.0), -low), "mm")
        best = f", best by {number_text(-extra)} mm" if high - low > GUARD_MM else ""
        return f"align both directions on flat scrap raised by {raised}{best}, with no extra gap"
    text = f"align both directions on flat scrap, with an extra of {number_text(extra)} mm"
    if high - low <= GUARD_MM:
        return text
    return f"{text} ({quantity_text(Interval.between(low, high), 'mm')} will do)"


def step_text(step: Step, result: Evaluation) -> str:
    """One step of the plan of an evaluation in words."""
    job = result.job
    match step.kind:
        case "align":
            assert step.extra is not None
            assert result.plan is not None
            return _alignment_text(step.extra, _serving_range(result.plan.timeline, step.extra))
        case "load":
            return f"load {step.subject}{_back_up(step, job)}"
        case "unload":
            return f"unload {step.subject}"
        case "gap":
            assert step.printing is not None
            assert step.extra is not None
            plane = number_text(step.printing.plane.height.nominal)
            return (
                f"set the gap: {number_text(step.extra)} mm {step.gap_place}"
                f" (head at {plane} mm above the bed)"
            )
        case "print":
            assert step.printing is not None
            clearance = quantity_text(step.printing.clearance, "mm")
            # One number where both ends read alike.
            throw = " to ".join(dict.fromkeys(map(number_text, step.printing.throw.span)))
            return f"print {step.subject} (clearance {clearance}, throw {throw} mm)"
        case _:
            item = job.handling_named(step.subject)
            return f"{item.id}: {job.handling_words(item)}"
