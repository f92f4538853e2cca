"""The order of a job with stated gaps by the changeover core, as runs with one head plane."""

from __future__ import annotations

from attrs import frozen

from signrules.physics.machine import Machine
from signrules.planning.order.reduction import Reduced
from signrules.planning.order.solver import Solver

FEWEST_STATES = 50
"""So many states the core may open however long the job is."""

PASSES_A_STATE = 200
"""A state of the core with so many passes takes about as long as one state of the planner's budget.
"""


@frozen(eq=False)
class OrderOfRuns:
    """What the core says of a job.

    `order` holds all items, None where the core knows none. `settings` is what any safe order takes
    at the least; None where it says nothing of that. `stuck` is a bitmask of passes that no order
    can do, 0 where none are known.
    """

    order: tuple[int, ...] | None
    settings: int | None
    stuck: int
    states: int


def states_of_core(budget: int, passes: int) -> int:
    """How many states the core may open: each takes time in proportion to the passes."""
    share = budget * PASSES_A_STATE // max(passes, PASSES_A_STATE)
    return max(min(budget, FEWEST_STATES), share)


def order_of_runs(problem: Reduced, budget: int) -> OrderOfRuns:
    """The cheapest order of a reduced job, or the passes that no order can do."""
    most_states = states_of_core(budget, len(problem.loose.classes))
    loose = Solver(problem.loose)
    if problem.strict is None:
        loosely_solved = loose.solve(most_states)
        return _without_order(
            problem, loosely_solved.bound, loosely_solved.stuck, loosely_solved.expansions
        )
    solved = Solver(problem.strict).solve(most_states)
    if problem.strict is problem.loose:
        bound, stuck, states = solved.bound, solved.stuck, solved.expansions
    else:
        loosely_solved = loose.solve(most_states)
        bound, stuck = loosely_solved.bound, loosely_solved.stuck
        states = solved.expansions + loosely_solved.expansions
    if solved.order is None:
        return _without_order(problem, bound, stuck, states)
    # The bound is that of the loose problem: a strict one may hold back safe orders.
    return OrderOfRuns(with_handling(problem.machine, solved.order), bound, 0, states)


def _without_order(problem: Reduced, bound: int, stuck: int, states: int) -> OrderOfRuns:
    """What the core says where it found no order: what is stuck, or else a bound."""
    if not stuck:
        return OrderOfRuns(None, bound, 0, states)
    # Of several loads a stuck set proves only that they cannot each be put on once.
    if problem.groups > 1:
        return OrderOfRuns(None, None, 0, states)
    return OrderOfRuns(None, None, stuck, states)


def with_handling(machine: Machine, order: tuple[int, ...]) -> tuple[int, ...]:
    """An order of the passes with each handling as soon as may be, the others at the end."""
    if len(order) == len(machine.items):
        return order
    missing = [len(earlier_items) for earlier_items in machine.before]
    handling = range(machine.pass_count, len(machine.items))
    handling_free = [item_index for item_index in handling if not machine.before[item_index]]
    result: list[int] = []

    def do(item_index: int) -> None:
        result.append(item_index)
        for follower in machine.followers[item_index]:
            missing[follower] -= 1
            if not missing[follower] and not machine.is_pass(follower):
                do(follower)

    for item_index in handling_free:
        if machine.followers[item_index]:
            do(item_index)
    for item_index in order:
        do(item_index)
    for item_index in handling_free:
        if not machine.followers[item_index]:
            do(item_index)
    return tuple(result)
