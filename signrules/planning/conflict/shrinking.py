"""From items that have no order to a smallest set: leave any one out and there is an order."""

from __future__ import annotations

from itertools import chain, product

from attrs import frozen

from signrules.physics.machine import Machine
from signrules.planning.bitmasks import bits_of
from signrules.planning.order.changeover import Changeover
from signrules.planning.order.solver import Solver


@frozen
class Deadlock:
    """Items that have no order, as a bitmask.

    `is_smallest` says whether it is proven that none can be left out.
    """

    items: int
    is_smallest: bool
    states: int = 0


def shrunk_deadlock(solver: Solver, stuck: int) -> int:
    """A smallest part of a stuck set that is stuck by itself.

    Passes are left out one by one, the last first, as long as what remains is stuck; each time only
    what is still stuck then is kept.
    """
    deadlock = closed_part(solver.problem, stuck)
    # A stuck set stays stuck whatever stands beside it. So what a larger set cannot do without no
    # smaller one can, and to try each once is enough.
    for item in sorted(bits_of(deadlock), reverse=True):
        if deadlock >> item & 1:
            deadlock = solver.stuck(deadlock & ~(1 << item)) or deadlock
    return deadlock


def closed_part(problem: Changeover, stuck: int) -> int:
    """What keeps each from standing last, from one item of a stuck set on.

    Mostly that is few of them, and stuck already.
    """
    # When nothing waits any more, each of the part is kept from the end by others of the part.
    part, waiting = 0, stuck & -stuck
    while waiting:
        item = waiting.bit_length() - 1
        part |= 1 << item
        waiting = (waiting | _blockers_of(problem, item, stuck, part | waiting)) & ~part
    return part


def _blockers_of(problem: Changeover, item: int, stuck: int, known: int) -> int:
    """The items of a stuck set that by themselves keep one from standing last.

    As many of those `known` are taken as will do.
    """
    # One that must come after it is enough; if none must, a stack bars it.
    following = problem.after[item] & stuck
    if following:
        return following & known or following & -following
    heavy = ((bar.most, bar.too_heavy(stuck)) for bar in problem.bars[item])
    most_weight, stack = next(
        (most_weight, stack) for most_weight, stack in heavy if stack is not None
    )
    masks = [mask for _, mask in sorted(stack.weights, reverse=True)]
    among = (stuck & known & ~(1 << item), stuck & ~known & ~(1 << item))
    # First of what is known already, the thickest first, so that the part stays small.
    candidates = (mask & part for part, mask in product(among, masks))
    others, chosen = chain.from_iterable(map(bits_of, candidates)), 1 << item
    while stack.weight(chosen) <= most_weight:
        chosen |= 1 << next(others)
    return chosen


def smallest_deadlock(machine: Machine, budget: int, among: int) -> Deadlock:
    """A smallest part of the items `among` that has no order, as they have none.

    Items are left out one by one, the last first, as long as what remains still has no order, and
    again from the start until none can go: a build-up from which a gap is set may help another
    pass, so what could not go at first may go later. A flip stays while a pass on the back needs
    it. `budget` is the states that all of it may reach; where it ends before the deadlock is the
    smallest, that is said.
    """
    from signrules.planning.order.step_search import StepSearch

    active, states = among, 0
    shrinks = is_smallest = True
    while shrinks:
        shrinks = False
        # The last first, so that what remains are the passes that come early in the document.
        for item_index in sorted(bits_of(active), reverse=True):
            if _is_needed(machine, active, item_index):
                continue
            # Only a search that has ended says that there is no order.
            remaining = active & ~(1 << item_index)
            searched = StepSearch(machine, remaining).any_order(budget - states)
            states += searched.states
            if searched.order is None and searched.ended:
                active, shrinks = remaining, True
            # The budget ended before either was known: this item may be left out, or may not.
            elif searched.order is None:
                is_smallest = False
    return Deadlock(active, is_smallest, states)


def _is_needed(machine: Machine, active: int, item_index: int) -> bool:
    """Whether an item turns a sheet over on whose back something is printed."""
    media = machine.flips(item_index)
    if media is None:
        return False
    on_back = machine.heights.layout.passes_on[media, "back"]
    return any(active >> other & 1 for other in on_back)
