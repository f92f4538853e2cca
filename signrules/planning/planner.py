"""From a machine to a plan or a conflict.

Most jobs reduce to the changeover core, which is fast and proves its answer. What does not (gaps left open, handling
whose place is not settled, neighbours that a gap over the build-up may or may not clear) is searched exactly step by
step.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import chain

from attrs import evolve, frozen

from signrules.physics.machine import Machine
from signrules.physics.timeline import Timeline, replay
from signrules.planning.assuming import assumed
from signrules.planning.audit import audit
from signrules.planning.conflicts import (
    conflict_of_circle,
    conflict_of_open,
    conflict_of_part,
    conflict_of_reduced,
    conflict_of_search,
    conflict_of_stuck,
    gave_up,
    too_many,
)
from signrules.planning.costs import Costs
from signrules.planning.greedy import peel
from signrules.planning.judging import cheapest_gaps
from signrules.planning.keeping import kept_longest
from signrules.planning.plan import Conflict, Plan
from signrules.planning.reaches import least_cost
from signrules.planning.reduction import Reduced, reduced, setups
from signrules.planning.search import Cost, Search
from signrules.planning.solver import Solver
from signrules.planning.tally import counted_states

BUDGET = 100_000
"""States that one search opens at the most: a count and not a time, so that no answer depends on the machine.

The changeover core, whose states are sets of all passes, opens fewer the more passes there are: see `states_of_core`.
"""

SMALL = 14
"""Jobs of up to so many items are searched step by step as well.

The changeover core proves what the cheapest order costs; of all that cost as little, the step by step search finds the
one that is smallest in declared order.
"""

TIE_BUDGET = 20_000
"""States that the search opens at the most where it only has to break a tie."""

ASSUMED = 4_000
"""Ways times passes: so much is tried at the most with assumed gaps, and never fewer than two ways."""

LARGE = 12_000
"""Jobs of more passes are peeled greedily: sets of so many passes as bitmasks would no longer be small."""


@frozen(eq=False)
class Outcome:
    """A plan or a conflict, never both, and the replay on which the rules judge: the plan's or the declared order's.

    `states` is how many states were opened for it.
    """

    plan: Plan | None
    conflict: Conflict | None
    timeline: Timeline
    states: int = 0


def plan_job(machine: Machine, budget: int = BUDGET, known: Outcome | None = None) -> Outcome:
    """The cheapest safe order, the job's own sequence replayed, or the reason why no order is safe.

    `known` is what came of a nearly equal job; it is not made use of yet.
    """
    with counted_states() as tally:
        outcome = _planned(machine, budget)
    return evolve(outcome, states=tally.states)


def _planned(machine: Machine, budget: int) -> Outcome:
    declared = cache(lambda: replay_order(machine, machine.declared_order()))
    best = _best(machine, budget, declared)
    if machine.job.sequence is not None:
        order = tuple(machine.index[name] for name in machine.job.sequence)
        timeline = replay_order(machine, order)
        return Outcome(_judged(machine, timeline, best), None, timeline)
    if isinstance(best, Conflict):
        return Outcome(None, best, declared())
    return Outcome(best, None, best.timeline)


def states_of_core(budget: int, passes: int) -> int:
    """How many states the changeover core may open: a state of ten times the passes takes some ten times as long."""
    return max(min(budget, 50), budget * 20 // max(passes, 20))


def replay_order(machine: Machine, order: tuple[int, ...]) -> Timeline:
    """An order as it stands, with the cheapest gaps for the passes that leave theirs open."""
    return replay(machine, order, cheapest_gaps(machine, order))


def _best(machine: Machine, budget: int, declared: Callable[[], Timeline]) -> Plan | Conflict:
    """The cheapest plan, or why there is none; `declared` replays the declared order where that is needed."""
    quick = _quickly(machine, budget)
    if machine.pass_count > LARGE:
        return quick or too_many(machine, LARGE)
    if quick is not None and _needs_no_search(machine, quick):
        return quick
    assert not isinstance(quick, Conflict)
    steps = _states_of_search(budget, machine, quick)
    if quick is None:
        hopeless = conflict_of_circle(machine, steps) or conflict_of_open(machine, steps)
        if hopeless is not None:
            return hopeless
    if quick is not None and steps < len(machine.items) > SMALL:
        return quick  # The search would end before its first order does.
    found = Search(machine).run(steps)
    if found.order is not None:
        return _plan(machine, replay(machine, found.order, found.choices), found.bound)
    if quick is not None:
        bounds = [least for least in (quick.least, found.bound) if least is not None]
        return _plan(machine, quick.timeline, max(bounds, default=None))
    if found.exhausted:
        return conflict_of_search(machine, budget)
    some = Search(machine).run(steps, any_order=True)
    if some.order is None:
        return _safe_as_it_is(machine, declared(), found.bound) or gave_up(machine, steps)
    return _plan(machine, replay(machine, some.order, some.choices), found.bound)


def _safe_as_it_is(machine: Machine, timeline: Timeline, least: Cost | None) -> Plan | None:
    """A plan of a replay that the search did not come to; None where it is not safe."""
    plan = _plan(machine, timeline, least)
    return None if audit(machine.job, plan) else plan


def _quickly(machine: Machine, budget: int) -> Plan | Conflict | None:
    """What comes of a job without the step by step search; None where nothing does."""
    if machine.has_open_gaps:
        return _by_assuming(machine, budget) if len(machine.items) > SMALL else None
    if machine.pass_count > LARGE:
        return _by_peeling(machine)
    problem = reduced(machine)
    return None if problem is None else _by_changeover(machine, problem, budget)


def _needs_no_search(machine: Machine, quick: Plan | Conflict) -> bool:
    if isinstance(quick, Conflict):
        return True
    if len(machine.items) > SMALL:
        return quick.optimal or not machine.has_open_gaps
    return quick.optimal and quick.timeline.order == machine.declared_order()


def _states_of_search(budget: int, machine: Machine, quick: Plan | None) -> int:
    """How many states the search may open: fewer where a plan is there, and the more items the longer each takes."""
    items = len(machine.items)
    if quick is not None and quick.optimal:
        return min(budget, TIE_BUDGET)
    if items > SMALL:
        budget = budget // (5 if quick is None else 10)
    return min(budget, budget * 40 // items)


def _by_assuming(machine: Machine, budget: int) -> Plan | None:
    """The best of the orders for assumed gaps that is safe with gaps chosen anew; None where none of them is."""
    best: Plan | None = None
    least = least_cost(machine)
    orders = (_order_of(one, budget) for one in assumed(machine, max(2, ASSUMED // machine.pass_count)))
    for order in chain([machine.declared_order()], orders):
        if order is None:
            continue
        plan = _plan(machine, replay(machine, order, kept_longest(machine, order)), least)
        if (best is None or plan.cost < best.cost) and not audit(machine.job, plan):
            best = plan
            if best.optimal:
                break
    return best


def _order_of(machine: Machine, budget: int) -> tuple[int, ...] | None:
    """A good order of a job with stated gaps, whatever is known of it; None where there is none to be had quickly."""
    if machine.pass_count > LARGE:
        kinds = setups(machine)
        return None if kinds is None else peel(machine, kinds.classes, kinds.watched).order
    problem = reduced(machine)
    if problem is None:
        return None
    order = Solver(problem.problem).solve(states_of_core(budget, machine.pass_count)).order
    return None if order is None else _with_handling(problem.machine, order)


def _by_changeover(machine: Machine, problem: Reduced, budget: int) -> Plan | Conflict | None:
    """What the changeover core makes of a job; None where it says nothing, several loads having to come and go."""
    solver = Solver(problem.problem)
    states = states_of_core(budget, machine.pass_count)
    solved = solver.solve(states)
    placed = problem.machine
    if solved.order is None:
        if not solved.stuck or problem.groups > 1:
            return None
        if placed is machine:
            return conflict_of_stuck(machine, solver, solved.stuck)
        # Of a small job with handling, the search says whether the handling belongs to the conflict.
        return conflict_of_reduced(machine, solver, solved.stuck, budget // 5) if len(machine.items) > SMALL else None
    settings = solved.bound
    if problem.relaxed is not problem.problem:
        settings = Solver(problem.relaxed).solve(states).bound
    costs = Costs.of(machine.job.printer.minutes)
    bound = (problem.loads, costs.weight(problem.loads, settings, problem.alignments))
    declared = machine.declared_order()
    for order in (declared, _with_handling(placed, solved.order)):  # pragma: no branch - the second is always taken
        if order is declared and not _sound(placed, solver, declared):
            continue
        timeline = replay(machine, order, {})
        cost = costs.of_timeline(timeline)
        if order is not declared or cost <= bound:
            break
    return _plan(machine, timeline, bound)


def _by_peeling(machine: Machine) -> Plan | Conflict | None:
    """A good order of very many passes; None where it says nothing."""
    kinds = setups(machine)
    if kinds is None:
        return None
    peeled = peel(machine, kinds.classes, kinds.watched)
    if peeled.order is None:
        alone = len(set(machine.load_of[: machine.pass_count])) == 1
        return conflict_of_part(machine, peeled.stuck, LARGE) if alone else None
    timeline = replay(machine, peeled.order, {})
    costs = Costs.of(machine.job.printer.minutes)
    cost = costs.of_timeline(timeline)
    least = (cost[0], costs.weight(cost[0], kinds.fewest, 0))
    return _plan(machine, timeline, least)


def _sound(machine: Machine, solver: Solver, order: tuple[int, ...]) -> bool:
    """Whether an order of all items keeps precedence, bars and groups of the changeover problem."""
    place = {at: position for position, at in enumerate(order)}
    if any(place[first] > place[at] for at in order for first in machine.before[at]):
        return False
    passes = [at for at in order if machine.is_pass(at)]
    problem, standing = solver.problem, 0
    seen: list[int] = []
    for at in passes:
        following, standing = problem.after[at] & standing, standing | 1 << at
        if following or any(bar.too_heavy(standing) for bar in problem.bars[at]):
            return False
        if not seen or seen[-1] != problem.groups[at]:
            seen.append(problem.groups[at])
    return len(seen) == len(set(seen))


def _with_handling(machine: Machine, order: tuple[int, ...]) -> tuple[int, ...]:
    """An order of the passes with each handling as soon as what it comes after is done; the others at the end."""
    if len(order) == len(machine.items):
        return order
    missing = [len(some) for some in machine.before]
    free = [at for at in range(machine.pass_count, len(machine.items)) if not machine.before[at]]
    result: list[int] = []

    def do(at: int) -> None:
        result.append(at)
        for then in machine.followers[at]:
            missing[then] -= 1
            if not missing[then] and not machine.is_pass(then):
                do(then)

    for at in (at for at in free if machine.followers[at]):
        do(at)
    for at in order:
        do(at)
    for at in (at for at in free if not machine.followers[at]):
        do(at)
    return tuple(result)


def _judged(machine: Machine, timeline: Timeline, best: Plan | Conflict) -> Plan:
    """The replay of a sequence, with what the best order would cost beside it."""
    if isinstance(best, Conflict):
        return _plan(machine, timeline, None, judged=True)
    return _plan(machine, timeline, best.least, judged=True, best=best)


def _plan(
    machine: Machine, timeline: Timeline, least: Cost | None, *, judged: bool = False, best: Plan | None = None
) -> Plan:
    """A plan of a replay; `least` is what any safe order costs at the least, None where no order is safe."""
    costs = Costs.of(machine.job.printer.minutes)
    cost = costs.of_timeline(timeline)
    if judged or least is None:
        return Plan(timeline, cost, least, False, costs.stated, judged, best)
    return Plan(timeline, cost, min(least, cost), cost <= least, costs.stated)
