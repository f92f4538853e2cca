"""Whether an order, replayed, is a safe one; and if not, what the first trouble is, in words."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.model.quantities import GUARD_MM
from signrules.model.wording import clearance_words
from signrules.physics.machine import Machine, clears_head, flies_far_enough
from signrules.physics.timeline import Timeline


def keeps_precedence(machine: Machine, order: Sequence[int]) -> bool:
    """Whether an order of all items does each after what must come before it."""
    done_items: set[int] = set()
    for item_index in order:
        if not machine.before[item_index] <= done_items:
            return False
        done_items.add(item_index)
    return True


def trouble_of_steps(machine: Machine, timeline: Timeline) -> str:
    """The first thing, in words, that is not safe in a replay that keeps the precedence.

    Empty where all of it is safe.
    """
    for item_index in timeline.order:
        if machine.is_pass(item_index):
            trouble = _trouble_of_pass(machine, timeline, item_index)
            if trouble:
                return trouble
    return ""


def _trouble_of_pass(machine: Machine, timeline: Timeline, item_index: int) -> str:
    name, least_clearance = machine.items[item_index].id, machine.job.printer.min_clearance
    printing = timeline.printings[item_index]
    if not clears_head(printing.clearance.low, least_clearance):
        return f"{clearance_words(printing.clearance.low, least_clearance)} when {name} is printed"
    if printing.side_up != machine.job.passes[item_index].side:
        return f"{name} would print on the {printing.side_up} of its sheet"
    if _throws_too_far(machine, timeline, item_index):
        return f"{name} would need its drops to fly farther than they can"
    if not _registers_with_all(machine, timeline, item_index):
        return f"{name} would no longer register: the sheet is moved before it"
    return ""


def _throws_too_far(machine: Machine, timeline: Timeline, pass_index: int) -> bool:
    # A stated gap is someone's decision, and `throw.reach` asks for a look at it.
    if machine.job.passes[pass_index].gap is not None:
        return False
    throw = timeline.printings[pass_index].throw.to_lowest.high
    return not flies_far_enough(throw, machine.job.printer.max_throw)


def _registers_with_all(machine: Machine, timeline: Timeline, item_index: int) -> bool:
    """Whether a pass registers with every partner that was printed before it."""
    partner = timeline.earliest_partner(item_index)
    if partner is None:
        return True
    if machine.loose(item_index, item_index) or machine.loose(partner, partner):
        return False
    # Whatever moved the sheet since any of its register group has moved it since the first of them,
    # so that one answers for the group.
    named = machine.named_partners[item_index]
    earlier = {
        other for other in named if timeline.positions[other] < timeline.positions[item_index]
    }
    return all(_lies_true(machine, timeline, item_index, other) for other in {partner, *earlier})


def _lies_true(machine: Machine, timeline: Timeline, pass_index: int, other: int) -> bool:
    if machine.loose(pass_index, other):
        return False
    moves = timeline.moves_between(other, pass_index)
    if any(not move.bridges for move in moves):
        return False
    tolerance = machine.job.registration_tolerance
    shift = sum(move.error or 0.0 for move in moves)
    return tolerance is None or shift <= tolerance + GUARD_MM
