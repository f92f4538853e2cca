"""Evaluations as text for the person at the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from signrules.physics.timeline import Step
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.wording import number, quantity

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation

CAUTIONS = (
    "WARNING: keep hands off the bed while the carriage is armed or moving; it crushes and does not stop for fingers.",
    "WARNING: UV light harms eyes and skin: keep the shields closed and do not look at lamps or their reflections.",
    "WARNING: uncured ink sensitises skin for good: wear nitrile gloves and touch no print that is not fully cured.",
    "A dimension check is not a certification: local codes and the authority having jurisdiction decide.",
)


def evaluation_text(result: Evaluation, *, everything: bool = False) -> str:
    """Verdict, violations, order with its steps, what was not assessed. `everything` lists met checks and notes too."""
    return "\n".join(_lines(result, everything)) + "\n"


def plain(text: str) -> str:
    """Text without control characters, so that a hostile name cannot steer the terminal."""
    return "".join(char if char.isprintable() or char == "\n" else "\N{REPLACEMENT CHARACTER}" for char in text)


def _lines(result: Evaluation, everything: bool) -> Iterator[str]:
    yield f"{plain(result.job.name) or 'job'}: {verdict(result)}"
    if result.faults:
        yield from _section(
            "Failed while judging; nothing is called safe until this is mended", map(str, result.faults)
        )
    if result.conflict is not None:
        yield ""
        yield plain(result.conflict.message)
    broken = [check for check in result.violations if check.level is Level.STOP]
    doubts = [check for check in result.violations if check.level is Level.REVIEW]
    yield from _section("Stop", map(_finding, broken))
    yield from _section("Look at", map(_finding, doubts))
    yield from _section("Waived", (_waived(check) for check in result.checks if check.waiver is not None))
    if result.plan is not None:
        yield from _section(_plan_title(result), (_numbered(n, s) for n, s in enumerate(result.plan.steps, start=1)))
    missing = sorted({check.missing for check in result.unassessed if check.missing})
    yield from _section("Not assessed, for want of", missing)
    if everything:
        rest = [c for c in result.checks if not c.is_violation and c.outcome is not Outcome.UNASSESSED]
        yield from _section("All other checks", map(_finding, rest))
    yield from _section("Cautions", CAUTIONS)


def verdict(result: Evaluation) -> str:
    """The outcome in a few words."""
    if not result.complete:
        return "INCOMPLETE"
    if result.conflict is not None:
        return "NO SAFE ORDER" if result.conflict.proven else "NO SAFE ORDER FOUND"
    if not result.ok:
        return "NOT IN ORDER" if not result.order_is_safe else "SAFE TO PRINT, BUT NOT IN ORDER"
    return "IN ORDER"


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    body = [f"  {plain(line)}" for line in lines]
    if body:
        yield from ("", f"{title}:", *body)


def _finding(check: Check) -> str:
    return f"[{check.level.value} {check.outcome.value}] {check.rule}: {check.message} ({check.source})"


def _waived(check: Check) -> str:
    assert check.waiver is not None
    until = f" until {check.waiver.until.isoformat()}" if check.waiver.until else ""
    return f"{_finding(check)} Waived by {check.waiver.by}{until}: {check.waiver.reason}"


def _plan_title(result: Evaluation) -> str:
    plan = result.plan
    assert plan is not None
    minutes = "" if plan.setup_minutes is None else f", {number(plan.setup_minutes)} minutes of set-up"
    loads = f"{plan.loads} bed load{'' if plan.loads == 1 else 's'}"
    if plan.judged:
        kind = "The sequence as given" if result.order_is_safe else "The sequence as given, NOT SAFE"
        best = plan.best
        if best is not None and best.cost < plan.cost:
            spared = f"{number(plan.cost[1] - best.cost[1])} {'minutes' if plan.in_minutes else 'settings'}"
            less = f"{plan.loads - best.loads} bed loads" if best.loads < plan.loads else spared
            return f"{kind} ({loads}{minutes}); {less} less in the order {', '.join(best.order)}"
    else:
        kind = "Safe order, none cheaper" if plan.optimal else "Safe order, the cheapest found"
    return f"{kind} ({loads}{minutes})"


def _numbered(position: int, step: Step) -> str:
    return f"{position:>2}. {step_text(step)}"


def step_text(step: Step) -> str:
    """One step in words."""
    match step.kind:
        case "align":
            assert step.offset is not None
            how = f"{number(step.offset)} mm over a bare sheet"
            if step.offset < 0:
                how = f"the gap plain and the scrap raised by {number(-step.offset)} mm"
            return f"align both directions on flat scrap, {how}"
        case "load":
            return f"load {step.subject}"
        case "unload":
            return f"unload {step.subject}"
        case "gap":
            assert step.printing is not None
            assert step.offset is not None
            place = {"media": f"over {step.media}", "build-up": f"over the build-up on {step.media}"}
            where = place.get(step.reference or "", "above the bed")
            plane = number(step.printing.plane.height.nominal)
            return f"set the gap: {number(step.offset)} mm {where} (head at {plane} mm above the bed)"
        case "print":
            assert step.printing is not None
            clearance = quantity(step.printing.clearance, "mm")
            low, high = step.printing.throw.span
            throw = number(low) if number(low) == number(high) else f"{number(low)} to {number(high)}"
            return f"print {step.subject} (clearance {clearance}, throw {throw} mm)"
        case _:
            return f"do {step.subject}"
