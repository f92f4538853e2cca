"""Why there is no safe order: a smallest set of passes and handling that cannot live together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import chain

from attrs import evolve

from signrules.graph import passes_next_to, through_handling
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, clears
from signrules.planning.assuming import with_most_room
from signrules.planning.changeover import Changeover, bits
from signrules.planning.plan import Conflict
from signrules.planning.reaches import open_gaps
from signrules.planning.reduction import reduced
from signrules.planning.search import Search
from signrules.planning.solver import Solver


def conflict_of_stuck(machine: Machine, solver: Solver, stuck: int) -> Conflict:
    """A conflict from a set of passes of which none may stand last among them, made as small as it can be.

    Passes are left out one by one, the last declared first, as long as what remains is stuck; each time only what is
    still stuck then is kept. Pauses between them belong to it where it is they that tie the passes.
    """
    core = _shrunk(solver, stuck)
    return _conflict(machine, core | _tying(machine, core), proven=True)


def _tying(machine: Machine, core: int) -> int:
    """The pauses without which some passes that are stuck would not be."""
    pauses = _between(machine, set(bits(core)))
    for at in sorted(pauses, reverse=True):
        part = reduced(_part(machine, [*bits(core), *(pauses - {at})]))
        assert part is not None
        if Solver(part.problem).stuck((1 << core.bit_count()) - 1):
            pauses.remove(at)
    return sum(1 << at for at in pauses)


def _between(machine: Machine, passes: set[int]) -> set[int]:
    """The pauses that come after one of some passes and before another."""
    return {
        at
        for at in range(machine.pass_count, len(machine.items))
        if passes & passes_next_to(machine, at, machine.before)
        and passes & passes_next_to(machine, at, machine.followers)
    }


def _shrunk(solver: Solver, stuck: int) -> int:
    core = _closed_part(solver.problem, stuck)
    for at in sorted(bits(core), reverse=True):
        if core >> at & 1:
            core = solver.stuck(core & ~(1 << at)) or core
    return core


def _closed_part(problem: Changeover, stuck: int) -> int:
    """From one item of a stuck set on, what keeps each from standing last: mostly few of them, and stuck already."""
    part, waiting = 0, stuck & -stuck
    while waiting:
        at = waiting.bit_length() - 1
        part |= 1 << at
        waiting = (waiting | _blockers(problem, at, stuck, part | waiting)) & ~part
    return part


def _blockers(problem: Changeover, at: int, stuck: int, known: int) -> int:
    """Items of a stuck set that by themselves keep one from standing last, of those `known` as many as will do."""
    following = problem.after[at] & stuck
    if following:
        return following & known or following & -following
    most, stack = next((bar.most, stack) for bar in problem.bars[at] if (stack := bar.too_heavy(stuck)) is not None)
    masks = [mask for _, mask in sorted(stack.weights, reverse=True)]
    some = (mask & among & ~(1 << at) for among in (stuck & known, stuck & ~known) for mask in masks)
    others, chosen = chain.from_iterable(map(bits, some)), 1 << at
    while stack.weight(chosen) <= most:
        chosen |= 1 << next(others)
    return chosen


def conflict_of_open(machine: Machine, budget: int) -> Conflict | None:
    """A conflict of a machine with open gaps that has no order whatever they are; None where that is not the reason.

    It is found with the most room that open gaps can have, and then made smallest by the search. Of several bed loads
    nothing is said: that they cannot stand together does not mean that one cannot be put on twice.
    """
    if not machine.has_open_gaps:
        return None
    roomy = with_most_room(machine)
    problem = None if roomy is None else reduced(roomy)
    if problem is None or problem.groups > 1:
        return None
    solver = Solver(problem.problem)
    stuck = solver.stuck((1 << machine.pass_count) - 1)
    if not stuck:
        return None
    return conflict_of_reduced(machine, solver, stuck, budget)


def conflict_of_reduced(machine: Machine, solver: Solver, stuck: int, budget: int) -> Conflict | None:
    """A conflict from a stuck set of the problem to which a machine was reduced; None where it has an order after all.

    The reason may lie outside the set: ink on the front that lifts a sheet, a partner on the other side of a reload. So
    the search confirms that the set has no order with all that moves sheets, or with pauses as well.
    """
    core, handling = _shrunk(solver, stuck), range(machine.pass_count, len(machine.items))
    moving = sum(1 << at for at in handling if machine.move_by(at) is not None)
    for start in dict.fromkeys((core | moving, core | sum(1 << at for at in handling))):
        if Search(machine, start).run(budget, any_order=True).exhausted:
            return _conflict(machine, *smallest_core(machine, budget, start))
    return None


def conflict_of_circle(machine: Machine, budget: int) -> Conflict | None:
    """A conflict of items that must come before each other in a circle; None where none do."""
    try:
        TopologicalSorter(dict(enumerate(machine.before))).prepare()
    except CycleError as error:
        return _conflict(machine, *smallest_core(machine, budget, sum(1 << at for at in set(error.args[1]))))
    return None


def conflict_of_part(machine: Machine, stuck: Sequence[int], most: int) -> Conflict:
    """The same for a few of very many passes, which are looked at as a job of their own.

    Where there are more than `most`, all of them are the conflict.
    """
    if len(stuck) > most:
        names = [machine.items[at].id for at in stuck]
        message = f"No safe order: of {len(names)} passes, {names[0]} the first of them, none can be printed last."
        return Conflict(tuple(machine.path(at) for at in stuck), (), message)
    part = _part(machine, [*stuck, *_between(machine, set(stuck))])
    problem = reduced(part)
    everything = (1 << len(stuck)) - 1
    assert problem is not None
    return conflict_of_stuck(part, Solver(problem.problem), everything)


def _part(machine: Machine, kept: Sequence[int]) -> Machine:
    """The machine of some of the passes and pauses, without what they name of the others."""
    ids = {machine.items[at].id for at in kept}

    def among(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name for name in names if name in ids)

    passes = tuple(
        evolve(item, over=among(item.over), after=among(item.after), registers_to=None, builds=None)
        for item in machine.job.passes
        if item.id in ids
    )
    pauses = tuple(evolve(item, after=among(item.after)) for item in machine.job.handling if item.id in ids)
    job = evolve(machine.job, passes=passes, handling=pauses, signs=(), sequence=None, waivers=())
    number = {machine.index[item.id]: at for at, item in enumerate(job.items)}
    ordered = (
        evolve(edge, before=number[edge.before], then=number[edge.then])
        for edge in machine.precedence
        if edge.before in number and edge.then in number
    )
    return Machine(Heights(job), ordered)


def conflict_of_search(machine: Machine, budget: int) -> Conflict:
    """A conflict of a machine whose items have no safe order; `budget` is for each of the searches that it takes."""
    return _conflict(machine, *smallest_core(machine, budget))


def smallest_core(machine: Machine, budget: int, among: int | None = None) -> tuple[int, bool]:
    """A bitmask of items that have no order, though they have one without any single one; and whether that is proven.

    It starts from all items, or from those `among` which there is no order either. Items are left out one by one, the
    last declared first, as long as what remains still has no order, and again from the start until none can go: a
    build-up from which a gap is set may help another pass, so what could not go at first may go later. A flip stays
    while a pass on the back needs it.
    """
    active = (1 << len(machine.items)) - 1 if among is None else among
    proven = shrunk = True
    while shrunk:
        shrunk = False
        for at in sorted(bits(active), reverse=True):
            if not _needed(machine, active, at):
                found = Search(machine, active & ~(1 << at)).run(budget, any_order=True)
                if found.order is None:
                    active &= ~(1 << at)
                    proven = proven and found.exhausted
                    shrunk = True
    return active, proven


def _conflict(machine: Machine, core: int, proven: bool) -> Conflict:
    members = tuple(bits(core))
    reasons = tuple(_against(machine, members, at) for at in members)
    names = [machine.items[at].id for at in members]
    head = (
        f"No safe order: {names[0]} cannot be printed."
        if len(names) == 1
        else f"No safe order: {_listed(names)} cannot follow each other in any order."
    )
    message = "\n".join([head, *(f"  {reason}" for reason in reasons)])
    return Conflict(tuple(machine.path(at) for at in members), reasons, message, proven)


def gave_up(machine: Machine, budget: int) -> Conflict:
    """What is returned where the search ended before it had found an order or ruled every one out."""
    message = (
        f"No safe order found: the search stopped after {budget} states and has not ruled every order out. "
        "Allow it more, state gaps instead of leaving them to the planner, or split the job."
    )
    return Conflict(tuple(machine.path(at) for at in range(len(machine.items))), (), message, proven=False)


def too_many(machine: Machine, most: int) -> Conflict:
    """What is returned for very many passes that only a search could put in order."""
    message = (
        f"No safe order found: of more than {most} passes, only those that need no handling but pauses are put in "
        "order, and few ways of setting open gaps are tried. State the gaps that are left open, or split the job."
    )
    return Conflict(tuple(machine.path(at) for at in range(len(machine.items))), (), message, proven=False)


def _needed(machine: Machine, active: int, at: int) -> bool:
    media = machine.flips(at)
    return media is not None and any(
        machine.heights.media[i].id == media and machine.job.passes[i].side == "back"
        for i in bits(active)
        if machine.is_pass(i)
    )


def _against(machine: Machine, core: Sequence[int], at: int) -> str:
    """What stands against doing one item of a core after all the others."""
    name = machine.items[at].id
    others = [i for i in core if i != at]
    for edge in (*machine.precedence, *through_handling(machine)):
        if edge.before == at and edge.then in others:
            return f"{name} must come before {machine.items[edge.then].id}: {edge.reason}."
    if not machine.is_pass(at):
        return f"{name} moves the sheet while passes still have to register."
    for obstacle in _OBSTACLES:
        text = obstacle(machine, others, at)
        if text:
            return f"{name} {text}"
    return f"{name} can only come after the others, which leaves one of them no place."


def _strikes(machine: Machine, others: list[int], at: int) -> str:
    heights, item = machine.heights, machine.job.passes[at]
    printed = {i for i in others if machine.is_pass(i)}
    turned: set[str] = set()
    for i in others:
        flipped = machine.flips(i)
        turned ^= {flipped} if flipped else set()
    least = machine.job.printer.min_clearance
    when = (
        f"printed after {_listed([machine.job.passes[i].id for i in sorted(printed)])}" if printed else "printed first"
    )
    if item.gap is not None:
        plane = heights.head_plane(at, item.gap, printed)
        clearance = heights.clearance(at, plane, {*printed, at}, turned).low
        if clears(clearance, least):
            return ""
        how = "strikes" if clearance <= 0 else "comes too near"
        return (
            f"{how} if it is {when}: the head is left {clearance:.3f} mm, {least:g} mm are needed; "
            f"a gap larger by {max(least - clearance, 0):.3f} mm would clear."
        )
    best = max(_within_reach(heights, at, printed, turned), default=None)
    if best is not None and clears(best, least):
        return ""
    short = (
        f"all throw its drops farther than the {machine.job.printer.max_throw:g} mm that they can fly"
        if best is None
        else f"the best leaves {best:.3f} mm, {least:g} mm are needed"
    )
    return f"finds no gap that the printer can set if it is {when}: {short}."


def _within_reach(heights: Heights, at: int, printed: set[int], turned: set[str]) -> list[float]:
    """What each gap that throws no farther than drops reach would leave of the clearance, in mm."""
    planes = (heights.head_plane(at, gap, printed) for gap in open_gaps(heights.job.printer))
    most = heights.job.printer.max_throw
    return [
        heights.clearance(at, plane, {*printed, at}, turned).low
        for plane in planes
        if most is None or heights.throw(at, plane, printed).to_lowest.high <= most + GUARD_MM
    ]


def _wrong_side(machine: Machine, others: list[int], at: int) -> str:
    side, media = machine.job.passes[at].side, machine.heights.media[at].id
    flips = [machine.items[i].id for i in others if machine.flips(i) == media]
    up = "back" if len(flips) % 2 else "front"
    if side == up:
        return ""
    if media not in machine.turning:
        return "prints on the back, and nothing turns the sheet over."
    when = f"after {_listed(flips)}" if flips else "before it is turned over"
    return f"prints on the {side}, and {when} the {up} lies up."


def _unregistered(machine: Machine, others: list[int], at: int) -> str:
    partners = [i for i in machine.partners(at) if i in others]
    if not partners:
        return ""
    names = _listed([machine.items[i].id for i in partners])
    if any(machine.loose(at, i) for i in partners):
        return f"must register with {names}, and nothing holds the sheet."
    return f"must register with {names}, and the sheet is moved between them."


_OBSTACLES: tuple[Callable[[Machine, list[int], int], str], ...] = (_strikes, _wrong_side, _unregistered)


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
