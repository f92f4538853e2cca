"""Why there is no safe order: a smallest set of items without one, or that none is known.

Every job is looked at for a circle; the search and the words of a conflict are loaded for one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from graphlib import CycleError, TopologicalSorter

from attrs import evolve

from signrules.job_graphs import passes_next_to
from signrules.model.media import Media
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.bitmasks import all_of, as_mask, bits_of
from signrules.planning.conflict.shrinking import Deadlock, shrunk_deadlock, smallest_deadlock
from signrules.planning.order.facing import front_up
from signrules.planning.order.reduction import Reduced, reduced_problems
from signrules.planning.order.solver import Solver
from signrules.planning.plan import Conflict
from signrules.planning.predecessors import LARGE


def circle_of(machine: Machine) -> int:
    """The items of a circle in the precedence, as a bitmask; 0 where there is none."""
    try:
        TopologicalSorter(dict(enumerate(machine.before))).prepare()
    except CycleError as error:
        return as_mask(error.args[1])
    return 0


def deadlock_of_circle(machine: Machine, budget: int) -> Deadlock | None:
    """A conflict of items that must come before each other in a circle; None where none do."""
    circle = circle_of(machine)
    if not circle:
        return None
    return smallest_deadlock(machine, budget, circle)


def deadlock_of_side(machine: Machine) -> Deadlock | None:
    """A pass on a side that never lies up, since nothing turns its sheet over; None without one."""
    for pass_index in range(machine.pass_count):
        sheet = machine.heights.media[pass_index]
        if machine.job.passes[pass_index].side != sheet.up and sheet.id not in machine.turning:
            # One pass alone: nothing of what else is done makes any difference to it.
            return Deadlock(1 << pass_index, is_smallest=True)
    return None


def deadlock_of_one_sheet(machine: Machine, budget: int) -> tuple[Deadlock | None, int]:
    """A conflict among what is done to one sheet alone, and the states that looking for it took.

    What has no order by itself has none among other things: on a bed of many sheets the search for
    any order ends long before it has ruled out all of them, while one sheet has few orders.
    """
    from signrules.planning.gaps.most_room import with_most_room
    from signrules.planning.order.step_search import StepSearch

    # A pass with an open gap may keep a plane that was set over another sheet, where no gap over
    # its own would clear. By itself it is therefore given all the room that any plane could have.
    roomy = with_most_room(machine) if machine.has_open_gaps else machine
    if roomy is None:
        return None, 0
    spent = 0
    for sheet in roomy.job.media:
        done_to_sheet = _done_to_sheet(roomy, sheet)
        # What remains of the budget, so that a bed of many sheets is not many times as dear.
        searched = StepSearch(roomy, done_to_sheet).any_order(max(0, budget - spent))
        spent += searched.states
        if searched.order is None and searched.ended:
            return smallest_deadlock(roomy, max(0, budget - spent), done_to_sheet), spent
    return None, spent


def _done_to_sheet(machine: Machine, sheet: Media) -> int:
    """The passes on a sheet, and the handling that moves it, as a bitmask."""
    passes = (
        item_index
        for item_index in range(machine.pass_count)
        if machine.heights.media[item_index].id == sheet.id
    )
    handling = (
        item_index
        for item_index in range(machine.pass_count, len(machine.items))
        if machine.flips(item_index) == sheet.id
        or (machine.flips(item_index) is None and machine.load_of[item_index] == sheet.load)
    )
    return as_mask(passes) | as_mask(handling)


def deadlock_of_stuck(machine: Machine, problem: Reduced, stuck: int, budget: int) -> Deadlock:
    """A conflict from passes of which none may stand last among them, of the job that was reduced.

    Where the problem is all that the job asks for, the deadlock is one of its passes and of the
    pauses that tie them. Otherwise the search confirms what belongs to it.
    """
    # Bars and precedence that the reduction added are none that a person could read in the job.
    if problem.strict is not problem.loose or problem.machine is not machine:
        return deadlock_of_roomy(machine, problem, stuck, budget)
    deadlock = shrunk_deadlock(Solver(problem.loose), stuck)
    return Deadlock(deadlock | _tying_pauses(machine, deadlock), is_smallest=True)


def deadlock_of_roomy(machine: Machine, problem: Reduced, stuck: int, budget: int) -> Deadlock:
    """A deadlock of a job with open gaps, from what is stuck even with the most room."""
    deadlock = shrunk_deadlock(Solver(problem.loose), stuck)
    handling = range(machine.pass_count, len(machine.items))
    deadlock |= _needed_flips(machine, deadlock)
    moving = as_mask(
        item_index for item_index in handling if machine.move_by(item_index) is not None
    )
    everything = all_of(len(machine.items))
    # What the core left out may be needed for the deadlock: the least that may do comes first.
    starts = (deadlock, deadlock | moving, deadlock | as_mask(handling), everything)
    return _confirmed_deadlock(machine, tuple(dict.fromkeys(starts)), budget)


def _needed_flips(machine: Machine, deadlock: int) -> int:
    """The flips of the sheets on whose back some passes print.

    Without these the passes are no conflict of the job.
    """
    backs = {
        machine.heights.media[item_index].id
        for item_index in bits_of(deadlock)
        if machine.is_pass(item_index) and machine.job.passes[item_index].side == "back"
    }
    return as_mask(
        item_index
        for item_index in range(machine.pass_count, len(machine.items))
        if machine.flips(item_index) in backs
    )


def _confirmed_deadlock(machine: Machine, starts: Sequence[int], budget: int) -> Deadlock:
    """A smallest deadlock within the first of some sets that is seen to have no order.

    Where none is, all items.
    """
    from signrules.planning.order.step_search import StepSearch

    spent = 0
    for start in starts:
        searched = StepSearch(machine, start).any_order(max(0, budget - spent))
        spent += searched.states
        if searched.order is None and searched.ended:
            deadlock = smallest_deadlock(machine, max(0, budget - spent), start)
            return evolve(deadlock, states=deadlock.states + spent)
    everything = all_of(len(machine.items))
    return Deadlock(everything, is_smallest=False, states=spent)


def _tying_pauses(machine: Machine, deadlock: int) -> int:
    """The pauses without which some passes that are stuck would not be."""
    pauses = pauses_between(machine, set(bits_of(deadlock)))
    for item_index in sorted(pauses, reverse=True):
        part = reduced_problems(part_of(machine, [*bits_of(deadlock), *(pauses - {item_index})]))
        assert part is not None
        if Solver(part.loose).stuck(all_of(deadlock.bit_count())):
            pauses.remove(item_index)
    return as_mask(pauses)


def pauses_between(machine: Machine, passes: set[int]) -> set[int]:
    """The pauses that come after one of some passes and before another."""
    pauses = set()
    for item_index in range(machine.pass_count, len(machine.items)):
        earlier = passes & passes_next_to(machine, item_index, machine.before)
        if earlier and passes & passes_next_to(machine, item_index, machine.followers):
            pauses.add(item_index)
    return pauses


def conflict_of_many(machine: Machine, stuck: Sequence[int], most: int) -> Conflict:
    """A conflict of a few of very many passes, which are looked at as a job of their own.

    Where there are more than `most`, all of them are the conflict.
    """
    from signrules.planning.conflict.conflict_words import conflict_in_words

    if len(stuck) > most:
        first = machine.items[stuck[0]].id
        message = (
            f"No safe order: none of {len(stuck)} passes, the first of which is {first}, can be"
            " printed last."
        )
        return Conflict(tuple(machine.path(item_index) for item_index in stuck), (), message)
    part = part_of(machine, [*stuck, *pauses_between(machine, set(stuck))])
    seen = front_up(part)
    problem = reduced_problems(seen)
    assert problem is not None
    deadlock = deadlock_of_stuck(seen, problem, all_of(len(stuck)), 0)
    return conflict_in_words(part, tuple(bits_of(deadlock.items)), smallest=deadlock.is_smallest)


def part_of(machine: Machine, kept: Sequence[int]) -> Machine:
    """The machine of some of the passes and pauses, without what they name of the others."""
    ids = {machine.items[item_index].id for item_index in kept}

    def among(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in names if name in ids)

    passes = tuple(
        # Registration is left aside: it only forbids more, and the part is stuck without it.
        evolve(item, over=among(item.over), after=among(item.after), registers_to=None, builds=())
        for item in machine.job.passes
        if item.id in ids
    )
    pauses = tuple(
        evolve(item, after=among(item.after)) for item in machine.job.handling if item.id in ids
    )
    job = evolve(machine.job, passes=passes, handling=pauses, signs=(), sequence=None, waivers=())
    number = {machine.index[item.id]: item_index for item_index, item in enumerate(job.items)}
    ordered = (
        evolve(edge, before=number[edge.before], then=number[edge.then])
        for edge in machine.precedence
        if edge.before in number and edge.then in number
    )
    return Machine(Heights(job), ordered)


def gave_up(machine: Machine, states: int) -> Conflict:
    """What is said where the budget ended before an order was found or all were ruled out."""
    from signrules.planning.conflict.conflict_words import paths_of

    return Conflict(
        paths_of(machine, range(len(machine.items))),
        (),
        f"No safe order found: none of the orders that were tried is safe, and after {states} "
        f"states not every order was ruled out. {' '.join(_conflict_advice(machine))}",
        proven=False,
    )


def _conflict_advice(machine: Machine) -> Iterator[str]:
    """What may help, of what the job leaves to do."""
    if machine.has_open_gaps:
        yield "State the gaps that are left open."
    if len(machine.items) <= LARGE:
        yield "Allow it more states: --states, in Python budget=."
    if len({sheet.load for sheet in machine.job.media}) == 1 and len(machine.job.media) > 1:
        yield "Or print the sheets in several jobs."
    else:
        yield "Or split the job."
