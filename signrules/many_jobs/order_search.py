"""Which order of jobs takes the least set-up, each planned with what those before it left.

Jobs that need the same set-up are of one kind, so orders are searched as orders of kinds. First
come quick orders: the given one, and the nearest neighbour from each kind, with small changes to
the best. Where these cost more than any order costs at the least, the dynamic programme of Held and
Karp (1962) follows: of all ways to do a set of jobs that leave the same behind, only the cheapest
goes on. It proves the order if the planner need not be asked too often.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from math import prod
from typing import NamedTuple

from attrs import frozen

from signrules.evaluation import Evaluation, Judge
from signrules.many_jobs.job_plans import NOTHING_LEFT, JobPlans, OutOfTrials
from signrules.many_jobs.least_setup import least_of_row
from signrules.many_jobs.row_setup import sum_of_costs
from signrules.planning.setup_cost import Cost

Order = tuple[int, ...]
"""Jobs, by their place among those given."""

Kinds = tuple[int, ...]
"""The kinds of jobs in an order."""

Ways = dict[tuple[tuple[int, ...], int], tuple[Cost, Order]]
"""Ways to do some jobs, by how many of each kind these are and the number of what they leave."""

NOTHING: Cost = (0, 0.0)

KEPT_BACK = 0.5
"""The share of the trials that quick orders leave to the proof."""


class QuickOrder(NamedTuple):
    """An order that was found without a proof, as the kinds of its jobs, and what it costs."""

    cost: Cost
    kinds: Kinds


@frozen
class FoundOrder:
    """An order of jobs, what it costs, and what any order costs at the least."""

    order: Order
    cost: Cost
    least: Cost


@frozen(eq=False)
class OrderedKinds:
    """What was found of jobs of some kinds: an order, the plans that it was found with, and what
    any order costs at the least whatever the plans.
    """

    found: FoundOrder
    plans: JobPlans
    least_of_any: Cost

    @property
    def order(self) -> Order:
        """The jobs in order."""
        return self.found.order

    def least_beside(self, cost: Cost) -> Cost:
        """What any order costs at the least, where the one that was found came to cost so much."""
        # What was proven holds for the plans that it was proven with.
        proven = self.found.least if cost == self.found.cost else self.least_of_any
        return min(proven, cost)


def order_of_kinds(
    alone: Mapping[str, Evaluation],
    kinds: Sequence[str],
    judge: Judge,
    today: datetime.date,
    trials: int,
) -> OrderedKinds:
    """The best order found of jobs of some kinds.

    `alone` has one of each kind evaluated by itself, with a safe order.
    """
    # Numbered in an order that depends on no given one.
    numbers = {kind: number for number, kind in enumerate(sorted(alone))}
    counts = Counter(kinds)
    some = [alone[kind] for kind in numbers]
    least = least_of_row(some, [counts[kind] for kind in numbers], judge)
    plans = JobPlans(some, [numbers[kind] for kind in kinds], judge, today, trials)
    return OrderedKinds(best_order(plans, least), plans, least)


def best_order(plans: JobPlans, least: Cost) -> FoundOrder:
    """The cheapest order found of all jobs; of orders that cost the same the given one, if it may.

    `least` is what any order is known to cost at the least.
    """
    quick = _quick_order(plans, least)
    if quick.cost > least:
        exact = _exact_order(plans)
        if exact is not None:
            cost, order = exact
            return FoundOrder(order, cost, least=cost)
    return FoundOrder(_jobs_in_order(plans, quick.kinds), quick.cost, min(least, quick.cost))


def cost_of_order(plans: JobPlans, kinds: Sequence[int]) -> Cost:
    """What jobs of these kinds cost one after the other."""
    left, costs = NOTHING_LEFT, []
    for kind in kinds:
        cost, left = plans.after(kind, left)
        costs.append(cost)
    return sum_of_costs(costs)


def _jobs_of_kinds(plans: JobPlans) -> list[list[int]]:
    """The jobs of each kind, as they are given."""
    jobs: list[list[int]] = [[] for _ in plans.alone]
    for job, kind in enumerate(plans.kinds):
        jobs[kind].append(job)
    return jobs


def _jobs_in_order(plans: JobPlans, kinds: Kinds) -> Order:
    """The jobs for an order of kinds: of one kind the first given comes first."""
    waiting = [iter(jobs) for jobs in _jobs_of_kinds(plans)]
    return tuple(next(waiting[kind]) for kind in kinds)


# --- quick orders ---------------------------------------------------------------------------------


def _quick_order(plans: JobPlans, least: Cost) -> QuickOrder:
    # The given order is looked at however many plans that takes: no answer may be dearer than it.
    best = QuickOrder(cost_of_order(plans, plans.kinds), plans.kinds)
    with plans.within_trials(KEPT_BACK):
        try:
            # A start from each kind: which of them is a good one is not known beforehand.
            for start in range(len(plans.alone)):
                if best.cost <= least:
                    return best
                nearest = _nearest_neighbours(plans, start)
                if nearest.cost < best.cost:
                    best = nearest
            return _improved_order(plans, best, least)
        except OutOfTrials:
            return best


def _nearest_neighbours(plans: JobPlans, start: int) -> QuickOrder:
    """From a job of a kind on always the one that costs least next."""
    cost, left = plans.after(start, NOTHING_LEFT)
    order, costs = [start], [cost]
    waiting = Counter(plans.kinds)
    waiting[start] -= 1
    for _ in range(len(plans.kinds) - 1):
        _, nearest = min((plans.after(kind, left)[0], kind) for kind in +waiting)
        waiting[nearest] -= 1
        cost, left = plans.after(nearest, left)
        order.append(nearest)
        costs.append(cost)
    return QuickOrder(sum_of_costs(costs), tuple(order))


def _improved_order(plans: JobPlans, best: QuickOrder, least: Cost) -> QuickOrder:
    """The order with stretches turned round and jobs moved, as long as that makes it cheaper."""
    improves = True
    while improves and best.cost > least:
        improves = False
        for kinds in _changed_orders(best.kinds):
            # Jobs of one kind that change places are the same order.
            if kinds == best.kinds:
                continue
            try:
                cost = cost_of_order(plans, kinds)
            except OutOfTrials:
                return best
            if cost < best.cost:
                best, improves = QuickOrder(cost, kinds), True
                break
    return best


def _changed_orders(order: Kinds) -> Iterator[Kinds]:
    """Each order that differs by one stretch turned round, or by one job moved."""
    for first, last in combinations(range(len(order)), 2):
        before, stretch, after = order[:first], order[first : last + 1], order[last + 1 :]
        yield before + stretch[::-1] + after
        # Of two jobs, one moved past the other is the same as both turned round.
        if len(stretch) > 2:
            yield before + stretch[1:] + stretch[:1] + after
            yield before + stretch[-1:] + stretch[:-1] + after


# --- the proof ------------------------------------------------------------------------------------


def _exact_order(plans: JobPlans) -> tuple[Cost, Order] | None:
    """The cheapest of all orders and its cost; None where the planner would be asked too often."""
    jobs_of_kinds = _jobs_of_kinds(plans)
    # Known beforehand to be too much: nothing is spent on it.
    if _fewest_steps([len(jobs) for jobs in jobs_of_kinds]) > plans.steps_left:
        return None
    ways: Ways = {(tuple(0 for _ in jobs_of_kinds), NOTHING_LEFT): (NOTHING, ())}
    try:
        with plans.within_trials():
            for _ in plans.kinds:
                ways = _one_job_further(plans, ways, jobs_of_kinds)
    except OutOfTrials:
        return None
    return min(ways.values())


def _fewest_steps(counts: Sequence[int]) -> int:
    """How often a job is put behind others, if each set of jobs leaves the same behind whatever its
    order: each set is followed by a job of every kind that it does not hold in full.
    """
    sets = prod(count + 1 for count in counts)
    return sum(sets // (count + 1) * count for count in counts)


def _one_job_further(plans: JobPlans, ways: Ways, jobs_of_kinds: Sequence[Sequence[int]]) -> Ways:
    """The cheapest ways with one job more, by how many of each kind are done and what they leave.

    Of one kind the first given comes first: any may.
    """
    found: Ways = {}
    for (done, left), (cost, order) in ways.items():
        for kind, jobs in enumerate(jobs_of_kinds):
            count = done[kind]
            if count == len(jobs):
                continue
            more, following = plans.after(kind, left)
            # Of ways of one cost the one nearer to the given order is the smaller tuple, and stays.
            key = (*done[:kind], count + 1, *done[kind + 1 :]), following
            way = sum_of_costs((cost, more)), (*order, jobs[count])
            if key not in found or way < found[key]:
                found[key] = way
    return found
