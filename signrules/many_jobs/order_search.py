"""Which order of jobs takes the least set-up, each planned with what those before it left.

First orders that are told at once: the given one, and the nearest neighbour from each job, with
small changes to the best. Where these do not cost what any order costs at the least, the dynamic
programme of Held and Karp (1962): of all ways to do a set of jobs that leave the same behind, only
the cheapest goes on. It proves the order if the planner need not be asked too often.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations
from math import prod

from attrs import frozen

from signrules.many_jobs.job_plans import MOST_STEPS, NOTHING_LEFT, JobPlans, OutOfTrials
from signrules.many_jobs.row_setup import sum_of_costs
from signrules.planning.setup_cost import Cost

Order = tuple[int, ...]
Way = tuple[Cost, Order]
Ways = dict[tuple[int, int], Way]
"""Ways to do some jobs, by the bitmask of these jobs and the number of what they leave."""

NOTHING: Cost = (0, 0.0)

KEPT_BACK = 0.5
"""The share of the trials that orders told at once leave to the proof."""


@frozen
class FoundOrder:
    """An order of jobs, what it costs, and what any order costs at the least."""

    order: Order
    cost: Cost
    least: Cost


def best_order(plans: JobPlans, least: Cost) -> FoundOrder:
    """The cheapest order found of all jobs; of orders that cost the same the given one, if it may.

    `least` is what any order is known to cost at the least.
    """
    way = _told_order(plans, least)
    if way[0] > least:
        exact = _exact_order(plans)
        if exact is not None:
            return FoundOrder(exact[1], exact[0], exact[0])
    return FoundOrder(way[1], way[0], min(least, way[0]))


def cost_of_order(plans: JobPlans, order: Sequence[int]) -> Cost:
    """What jobs cost one after the other."""
    left, costs = NOTHING_LEFT, []
    for at in order:
        cost, left = plans.after(at, left)
        costs.append(cost)
    return sum_of_costs(costs)


# --- orders told at once --------------------------------------------------------------------------


def _told_order(plans: JobPlans, least: Cost) -> Way:
    given = tuple(range(len(plans.alone)))
    # The given order is looked at however many plans that takes: no answer may be dearer than it.
    plans.kept_back = None
    best: Way = cost_of_order(plans, given), given
    plans.kept_back = KEPT_BACK
    try:
        for start in _one_of_each_kind(plans):
            if best[0] <= least:
                return best
            way = _nearest_neighbours(plans, start)
            if way[0] < best[0]:
                best = way
        return _improved_order(plans, best, least)
    except OutOfTrials:
        return best


def _one_of_each_kind(plans: JobPlans) -> list[int]:
    """The first job of each kind, in the order of the kinds: that depends on no given order."""
    first: dict[int, int] = {}
    for at, kind in enumerate(plans.kinds):
        first.setdefault(kind, at)
    return [first[kind] for kind in sorted(first)]


def _nearest_neighbours(plans: JobPlans, start: int) -> Way:
    """From a job on always the one that costs least next."""
    cost, left = plans.after(start, NOTHING_LEFT)
    order, costs = [start], [cost]
    waiting = [at for at in range(len(plans.alone)) if at != start]
    while waiting:
        # By kind before place, so that the order in which jobs are given decides nothing but twins.
        _, _, nearest = min((plans.after(at, left)[0], plans.kinds[at], at) for at in waiting)
        waiting.remove(nearest)
        cost, left = plans.after(nearest, left)
        order.append(nearest)
        costs.append(cost)
    return sum_of_costs(costs), tuple(order)


def _improved_order(plans: JobPlans, best: Way, least: Cost) -> Way:
    """The order with stretches turned round and jobs moved, as long as that makes it cheaper."""
    improves = True
    while improves and best[0] > least:
        improves = False
        for order in _changed_orders(best[1]):
            try:
                way = cost_of_order(plans, order), order
            except OutOfTrials:
                return best
            if way[0] < best[0]:
                best, improves = way, True
                break
    return best


def _changed_orders(order: Order) -> Iterator[Order]:
    """Each order that differs by one stretch turned round, or by one job moved."""
    for first, last in combinations(range(len(order)), 2):
        yield order[:first] + order[first : last + 1][::-1] + order[last + 1 :]
        if last - first > 1:
            yield (
                order[:first] + order[first + 1 : last + 1] + order[first:][:1] + order[last + 1 :]
            )
            yield order[:first] + order[last:][:1] + order[first:last] + order[last + 1 :]


# --- the proof ------------------------------------------------------------------------------------


def _exact_order(plans: JobPlans) -> Way | None:
    """The cheapest of all orders; None where the planner would have to be asked too often."""
    if _number_of_sets(plans) > MOST_STEPS:
        return None
    plans.kept_back = 0.0
    earlier_twins = _earlier_twins(plans)
    ways: Ways = {(0, NOTHING_LEFT): (NOTHING, ())}
    try:
        for _ in plans.alone:
            ways = _one_job_further(plans, ways, earlier_twins)
    except OutOfTrials:
        return None
    return min(ways.values())


def _number_of_sets(plans: JobPlans) -> int:
    """How many sets of jobs there are, jobs of one kind being alike."""
    return prod(count + 1 for count in Counter(plans.kinds).values())


def _one_job_further(plans: JobPlans, ways: Ways, earlier_twins: Sequence[int]) -> Ways:
    """The cheapest ways with one job more, by which jobs are done and by what they leave."""
    found: Ways = {}
    for (done, left), (cost, order) in ways.items():
        for at, twins in enumerate(earlier_twins):
            if done >> at & 1 or twins & ~done:
                continue
            more, following = plans.after(at, left)
            key = done | 1 << at, following
            # Of ways of one cost the one nearer to the given order is the smaller tuple, and stays.
            way = sum_of_costs((cost, more)), (*order, at)
            if key not in found or way < found[key]:
                found[key] = way
    return found


def _earlier_twins(plans: JobPlans) -> list[int]:
    """For each job the bitmask of the earlier ones of its kind, which go first: any may."""
    masks: dict[int, int] = {}
    found = []
    for at, kind in enumerate(plans.kinds):
        found.append(masks.get(kind, 0))
        masks[kind] = masks.get(kind, 0) | 1 << at
    return found
