"""Does a plan cost what it says?"""

from __future__ import annotations

from typing import TypeGuard

from signrules.model.job import Job
from signrules.model.limits import is_number
from signrules.planning.audit.claims import agrees_with, is_near
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.replay import Replay
from signrules.planning.plan import Plan

Cost = tuple[int, float]
"""Bed loads, and set-up minutes or, where those are not stated, settings and alignments."""

GUARD_MINUTES = 1e-6


def is_cost(said: object) -> TypeGuard[Cost]:
    """Whether something is a pair of a count and a number, neither below 0."""
    if not isinstance(said, tuple) or len(said) != 2:
        return False
    # A bool is an int to isinstance, and no count of loads.
    return type(said[0]) is int and said[0] >= 0 and is_number(said[1]) and said[1] >= 0


def check_price(job: Job, plan: Plan, replay: Replay, findings: Findings) -> None:
    """Tell where the cost is not that of the steps."""
    loads, weight, in_minutes = _price_of_replay(job, replay)
    said: object = plan.cost
    if not is_cost(said) or said[0] != loads or not is_near(said[1], weight, GUARD_MINUTES):
        findings.tell(f"the cost is {loads} loads and {weight:g}, not as the plan says")
    if not agrees_with(plan.in_minutes, in_minutes):
        findings.tell(f"whether the cost is in minutes is {in_minutes}, not as the plan says")


def _price_of_replay(job: Job, replay: Replay) -> tuple[int, float, bool]:
    """Loads, what the set-up weighs, and whether that is in minutes."""
    minutes = job.printer.minutes
    loads, settings, alignments = replay.bed.loads, replay.head.settings, replay.alignments
    if minutes.load is None or minutes.gap is None or minutes.alignment is None:
        return loads, float(settings + alignments), False
    weight = loads * minutes.load + settings * minutes.gap + alignments * minutes.alignment
    return loads, weight, True
