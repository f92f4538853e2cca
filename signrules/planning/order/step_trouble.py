"""Whether an order, replayed, is a safe one; and if not, what the first trouble is, in words."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.model.quantities import GUARD_MM
from signrules.model.wording import clearance_words
from signrules.physics.machine import Machine, clears_head, flies_far_enough
from signrules.physics.timeline import Timeline


def keeps_precedence(machine: Machine, order: Sequence[int]) -> bool:
    """Whether an order of all items does each after what must come before it."""
    done: set[int] = set()
    for at in order:
        if not machine.before[at] <= done:
            return False
        done.add(at)
    return True


def trouble_of_steps(machine: Machine, timeline: Timeline) -> str:
    """The first thing, in words, that is not safe in a replay that keeps the precedence.

    Empty where all of it is safe.
    """
    for at in timeline.order:
        if machine.is_pass(at):
            trouble = _trouble_of_pass(machine, timeline, at)
            if trouble:
                return trouble
    return ""


def _trouble_of_pass(machine: Machine, timeline: Timeline, at: int) -> str:
    name, least = machine.items[at].id, machine.job.printer.min_clearance
    printing = timeline.printings[at]
    if not clears_head(printing.clearance.low, least):
        return f"{clearance_words(printing.clearance.low, least)} when {name} is printed"
    if printing.side_up != machine.job.passes[at].side:
        return f"{name} would print on the {printing.side_up} of its sheet"
    if _throws_too_far(machine, timeline, at):
        return f"{name} would need its drops to fly farther than they can"
    if not _registers_with_all(machine, timeline, at):
        return f"{name} would no longer register: the sheet is moved before it"
    return ""


def _throws_too_far(machine: Machine, timeline: Timeline, at: int) -> bool:
    if machine.job.passes[at].gap is not None:
        return False
    throw = timeline.printings[at].throw.to_lowest.high
    return not flies_far_enough(throw, machine.job.printer.max_throw)


def _registers_with_all(machine: Machine, timeline: Timeline, at: int) -> bool:
    """Whether a pass registers with every partner that was printed before it."""
    partner = timeline.earliest_partner(at)
    if partner is None:
        return True
    if machine.loose(at, at) or machine.loose(partner, partner):
        return False
    named = machine.named_partners[at]
    earlier = {other for other in named if timeline.positions[other] < timeline.positions[at]}
    return all(_lies_true(machine, timeline, at, other) for other in {partner, *earlier})


def _lies_true(machine: Machine, timeline: Timeline, at: int, other: int) -> bool:
    if machine.loose(at, other):
        return False
    moves = timeline.moves_between(other, at)
    if any(not move.bridges for move in moves):
        return False
    tolerance = machine.job.registration_tolerance
    shift = sum(move.error or 0.0 for move in moves)
    return tolerance is None or shift <= tolerance + GUARD_MM
