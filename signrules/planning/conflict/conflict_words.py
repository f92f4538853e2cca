"""A conflict in words: what stands against each of its members."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from signrules.job_graphs import through_handling
from signrules.model.wording import clearance_words, joined_names, number_text
from signrules.physics.machine import Machine, clears_head, flies_far_enough
from signrules.physics.planes import HeadPlane
from signrules.planning.conflict.sides import out_of_step, turned_too_late, wrong_side
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.plan import Conflict

NOT_SMALLEST = (
    "Fewer of these may already rule each other out: the search for the fewest was stopped early."
)


def conflict_in_words(machine: Machine, members: Sequence[int], *, smallest: bool) -> Conflict:
    """The conflict of some items that have no order.

    `smallest` says whether all of them are needed for that.
    """
    reasons = tuple(_what_is_against(machine, members, item_index) for item_index in members)
    names = [machine.items[item_index].id for item_index in members]
    head = f"No safe order: {joined_names(names)} cannot follow each other in any order."
    if len(names) == 1:
        head = f"No safe order: {names[0]} cannot be printed."
    lines = [head, *(f"  {reason}" for reason in reasons)]
    if not smallest:
        lines.append(NOT_SMALLEST)
    return Conflict(paths_of(machine, members), reasons, "\n".join(lines), smallest=smallest)


def paths_of(machine: Machine, items: Iterable[int]) -> tuple[str, ...]:
    """Where items stand in the job, as checks name them."""
    return tuple(machine.path(item_index) for item_index in items)


def _what_is_against(machine: Machine, members: Sequence[int], item_index: int) -> str:
    """What stands against doing one item of a conflict after all the others."""
    name = machine.items[item_index].id
    others = [other for other in members if other != item_index]
    # What the document itself says comes first: nobody can argue with a line of their own.
    for edge in (*machine.precedence, *through_handling(machine)):
        if edge.before == item_index and edge.then in others:
            reason = f"{name} must come before {machine.items[edge.then].id}: {edge.said}."
            return f"{reason} {out_of_step(machine, edge)}".rstrip()
    # The first reason that applies is told: a pass on the wrong side need not clear as well.
    obstacles = _OF_PASSES if machine.is_pass(item_index) else _OF_HANDLING
    for obstacle in obstacles:
        text = obstacle(machine, others, item_index)
        if text:
            return f"{name} {text}"
    return f"{name} can only come after the others, which leaves one of them no place."


def _strikes_after(machine: Machine, others: list[int], pass_index: int) -> str:
    """What the head would hit, printing one pass after the others; empty where it clears."""
    printed = [other for other in others if machine.is_pass(other)]
    when = "printed first"
    if printed:
        names = [machine.items[other].id for other in sorted(printed)]
        when = f"printed after {joined_names(names)}"
    turned = machine.back_up_after(others)
    if machine.job.passes[pass_index].gap is not None:
        return _strikes_as_stated(machine, pass_index, printed, turned, when)
    return _finds_no_gap(machine, pass_index, printed, turned, when)


def _strikes_as_stated(
    machine: Machine, pass_index: int, printed: list[int], turned: frozenset[str], when: str
) -> str:
    heights, gap = machine.heights, machine.job.passes[pass_index].gap
    assert gap is not None
    # Set over all the others, since the sentence says what happens if it comes after them.
    plane = heights.head_plane(pass_index, gap, printed)
    clearance = heights.clearance(pass_index, plane, {*printed, pass_index}, turned).low
    least_clearance = machine.job.printer.min_clearance
    if clears_head(clearance, least_clearance):
        return ""
    how = "strikes" if clearance <= 0 else "comes too near"
    room = clearance_words(
        clearance,
        least_clearance,
        _other_sheet(machine, pass_index, plane, {*printed, pass_index}, turned),
    )
    larger = number_text(max(least_clearance - clearance, 0.0))
    return f"{how} if it is {when}: {room}. A gap larger by {larger} mm would clear."


def _other_sheet(
    machine: Machine, pass_index: int, plane: HeadPlane, printed: set[int], turned: frozenset[str]
) -> str:
    """The other sheet that the head clears least; empty where that is the sheet of the pass."""
    standing = machine.heights.standing_after(printed)
    obstacles = standing.obstacles(pass_index, turned)
    nearest = min(obstacles, key=lambda one: standing.clearance_over((one,), plane).low)
    media = nearest.base.media
    if media == machine.heights.media[pass_index].id:
        return ""
    return media


def _finds_no_gap(
    machine: Machine, pass_index: int, printed: list[int], turned: frozenset[str], when: str
) -> str:
    printer = machine.job.printer
    best = _most_room(machine, pass_index, printed, turned)
    if best is None:
        farther = f"farther than the {printer.max_throw:g} mm that they can"
        short = f"with each of them its drops would fly {farther}"
        return f"has no gap that the printer can set if it is {when}: {short}."
    clearance, plane = best
    if clears_head(clearance, printer.min_clearance):
        return ""
    other_sheet = _other_sheet(machine, pass_index, plane, {*printed, pass_index}, turned)
    short = clearance_words(clearance, printer.min_clearance, other_sheet)
    within = "" if printer.max_throw is None else f" within the throw of {printer.max_throw:g} mm"
    return f"has no gap that the printer can set{within} if it is {when}: with the best, {short}."


def _most_room(
    machine: Machine, pass_index: int, printed: list[int], turned: frozenset[str]
) -> tuple[float, HeadPlane] | None:
    """What the gap with most room leaves in mm, and the plane that it is stated over; None if drops
    reach over none.
    """
    gaps = OpenGaps(machine, thorough=False)
    heights = machine.heights
    fresh = gaps.fresh(pass_index, heights.standing_after(printed))
    fresh_gap, gap = gaps.most_room(fresh)
    longest_throw = machine.job.printer.max_throw
    if not flies_far_enough(fresh_gap.throw + gap.stated.nominal, longest_throw):
        return None
    over_plane = heights.clearance(pass_index, fresh_gap.plane, {*printed, pass_index}, turned).low
    return over_plane + gap.stated.nominal, fresh_gap.plane


def _not_registered(machine: Machine, others: list[int], pass_index: int) -> str:
    partners = [partner for partner in machine.partners(pass_index) if partner in others]
    if not partners:
        return ""
    names = joined_names([machine.items[partner].id for partner in partners])
    if any(machine.loose(pass_index, partner) for partner in partners):
        return f"must register with {names}, and nothing holds the sheet."
    return f"must register with {names}, and the sheet is moved between them."


def _moves_partners(machine: Machine, others: list[int], item_index: int) -> str:
    """The message for handling that, done last, moves a sheet between passes that register.

    Empty if it does not.
    """
    if machine.move_by(item_index) is None:
        return ""
    load = machine.load_of[item_index]
    on_it = {other for other in others if machine.is_pass(other) and machine.load_of[other] == load}
    if any(on_it.intersection(machine.partners(other)) for other in on_it):
        return "moves the sheet while passes still have to register."
    return ""


Obstacle = Callable[[Machine, list[int], int], str]
_OF_PASSES: tuple[Obstacle, ...] = (wrong_side, _strikes_after, _not_registered)
_OF_HANDLING: tuple[Obstacle, ...] = (turned_too_late, _moves_partners)
