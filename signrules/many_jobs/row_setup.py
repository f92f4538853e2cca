"""Set-up of jobs, counted so that it can be added up."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from attrs import frozen

from signrules.plain import rounded_number
from signrules.planning.plan import Plan
from signrules.planning.setup_cost import Cost, Costs


@frozen
class Setup:
    """The set-up of one or several jobs: what is done, and what that takes.

    `weight` is in minutes where `in_minutes` is True. It is False where a printer does not state
    all three of its minutes: there each gap setting and each new alignment weighs one instead.
    """

    loads: int = 0
    gap_settings: int = 0
    alignments: int = 0
    weight: float = 0.0
    in_minutes: bool = True

    @classmethod
    def of_plan(cls, plan: Plan, *, gap_is_kept: bool = False) -> Setup:
        """The set-up of a plan; its first gap setting costs nothing where the gap is kept."""
        timeline = plan.timeline
        costs = Costs.of(timeline.machine.job.printer.minutes)
        settings = timeline.gap_settings - gap_is_kept
        alignments = len(timeline.new_alignments)
        weight = costs.weight(plan.loads, settings, alignments)
        return cls(plan.loads, settings, alignments, weight, costs.stated)

    @property
    def cost(self) -> Cost:
        """Bed loads first, then the weight, as the cost of a plan."""
        return self.loads, self.weight

    @property
    def minutes(self) -> float | None:
        """Minutes of set-up; None where a printer does not state all of its own."""
        return self.weight if self.in_minutes else None

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "bed_loads": self.loads,
            "gap_settings": self.gap_settings,
            "new_alignments": self.alignments,
            "setup_minutes": None if self.minutes is None else rounded_number(self.minutes),
        }


def total_setup(setups: Iterable[Setup]) -> Setup:
    """The set-up of several jobs together."""
    total = Setup()
    for each in setups:
        total = Setup(
            total.loads + each.loads,
            total.gap_settings + each.gap_settings,
            total.alignments + each.alignments,
            # Rounded each time, so that the same jobs in another order come to the same number.
            round(total.weight + each.weight, 9),
            # One job without minutes makes the sum one of counts and minutes, which is no time any
            # more.
            total.in_minutes and each.in_minutes,
        )
    return total


def sum_of_costs(costs: Iterable[Cost]) -> Cost:
    """Bed loads and weights added up, each by itself."""
    loads, weight = 0, 0.0
    for more_loads, more in costs:
        loads, weight = loads + more_loads, round(weight + more, 9)
    return loads, weight
