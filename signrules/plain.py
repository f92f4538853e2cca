"""Checks, plans, conflicts and faults as plain data: dicts, lists, text and numbers, ready for
JSON.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from signrules.model.quantities import Interval
from signrules.physics.timeline import Step
from signrules.planning.plan import Conflict, Plan
from signrules.rules.checks import Check
from signrules.rules.engine import Fault
from signrules.rules.remedy import Remedy

DECIMALS = 6
"""Lengths are given in mm to the nanometre: finer digits are rounding of binary floats."""


def plan_to_dict(plan: Plan) -> dict[str, Any]:
    """A plan with its steps."""
    return {
        "loads": plan.loads,
        "setup_minutes": plan.setup_minutes,
        "optimal": plan.optimal,
        "bound": None if plan.bound is None else list(plan.bound),
        "judged": plan.judged,
        "best": None
        if plan.best is None
        else plan_to_dict(plan.best) | {"order": list(plan.best.order)},
        "steps": [step_to_dict(step) for step in plan.steps],
    }


def check_to_dict(check: Check, remedies: Iterable[Remedy] = ()) -> dict[str, Any]:
    """One check, with the remedies that are given."""
    data: dict[str, Any] = {
        "rule": check.rule,
        "plugin": check.plugin,
        "subjects": list(check.subjects),
        "outcome": check.outcome.value,
        "level": check.level.value,
        "measured": None if check.measured is None else ends_of_interval(check.measured),
        "limit": [None if end is None else rounded_number(end) for end in check.limit],
        "unit": check.unit,
        "margin": None if check.margin is None else rounded_number(check.margin),
        "message": check.message,
        "source": str(check.source),
        "remedies": [remedy.to_dict() for remedy in remedies],
    }
    if check.missing is not None:
        data["missing"] = check.missing
    if check.found is not None:
        data |= {"found": check.found, "allowed": list(check.allowed)}
    if check.waiver is not None:
        until = check.waiver.until
        data["waiver"] = {
            "reason": check.waiver.reason,
            "by": check.waiver.by,
            "until": None if until is None else until.isoformat(),
        }
    return data


def rounded_number(value: float) -> float:
    """A number to the nanometre, never a negative zero."""
    # -0.0 + 0.0 is 0.0 (IEEE 754).
    return round(value, DECIMALS) + 0.0


def ends_of_interval(interval: Interval) -> list[float]:
    """An interval as [low, high]."""
    return [rounded_number(interval.low), rounded_number(interval.high)]


def step_to_dict(step: Step) -> dict[str, Any]:
    """One step of a plan."""
    data: dict[str, Any] = {"kind": step.kind}
    if step.subject is not None:
        data["subject"] = step.subject
    if step.extra is not None:
        data["extra"] = rounded_number(step.extra)
    if step.above is not None:
        data["above"] = step.above
    if step.media is not None:
        data["media"] = step.media
    # Keys that say nothing are left out, so that data of jobs without them stay as they were.
    if step.back_up:
        data["back_up"] = list(step.back_up)
    if step.again:
        data["again"] = True
    printing = step.printing
    if printing is not None:
        data["head_plane"] = rounded_number(printing.plane.height.nominal)
    if printing is not None and step.kind == "print":
        data["clearance"] = ends_of_interval(printing.clearance)
        data["throw"] = [rounded_number(end) for end in printing.throw.span]
        data["surface_before"] = ends_of_interval(printing.surface_before)
        data["surface_after"] = ends_of_interval(printing.surface_after)
    return data


def conflict_to_dict(conflict: Conflict, remedies: Iterable[Remedy] = ()) -> dict[str, Any]:
    """Why there is no safe order, with the remedies that are given."""
    return {
        "subjects": list(conflict.subjects),
        "reasons": list(conflict.reasons),
        "message": conflict.message,
        "proven": conflict.proven,
        "smallest": conflict.smallest,
        "remedies": [remedy.to_dict() for remedy in remedies],
    }


def fault_to_dict(fault: Fault) -> dict[str, Any]:
    """A rule or plugin that failed."""
    return {
        "rule": fault.rule,
        "plugin": fault.plugin,
        "version": fault.version,
        "subject": fault.subject,
        "error": fault.error,
    }
