"""What trials may take: a budget in states of the planner, and a fixed price for all else.

Counts and no times: the same remedies are found on every machine.
"""

from __future__ import annotations

from attrs import frozen

PLANNED_PRICE = 50
"""What a trial counts as besides the states that it opens, where it must be planned again: heights,
replay and rules take about as long as so many states of the same job."""

KEPT_PRICE = 10
"""What a trial counts as that keeps the plan, since it changes nothing that is printed: a fifth of
the former.
"""

LEAST_WORK = 2_000
"""States times passes that an evaluation counts as at the least, so that small jobs get more
trials: about 0.1 s.
"""

PART_OF_A_CASE = 2
"""The search for the remedies of one finding may take one of so many parts of what is left: others
get some too.
"""

PART_OF_A_TRIAL = 3
"""A single trial may open one of so many parts of all that there is, so that a hard one leaves
something for others.
"""


@frozen
class TrialBudget:
    """What all trials of one question may take: as much as so many evaluations of the job."""

    evaluations: int

    def states_for(self, items: int, states: int) -> int:
        """The budget in states of the planner, for a job of so many passes and handling that opened
        so many states.
        """
        return self.evaluations * max(PLANNED_PRICE + states, LEAST_WORK // max(items, 1))


REPORT = TrialBudget(12)
"""The remedies of a report, or of one finding that is asked for alone: a report promises to take at
most twenty times its evaluation, or two seconds more where that is longer."""

MENDING = TrialBudget(24)
"""Mending, which combines changes: twice a report."""

HEADROOM = TrialBudget(120)
"""How far a number goes: both ways take some sixty trials, each at most as hard as the job and
mostly easier.
"""
