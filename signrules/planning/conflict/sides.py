"""Which side lies up when: what a conflict says of passes on the wrong side, and of flips."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.model.passes import OTHER_SIDE, SIDES
from signrules.model.wording import joined_names
from signrules.physics.machine import Machine, Precedence


def wrong_side(machine: Machine, others: Sequence[int], pass_index: int) -> str:
    """The message for a pass that would print on the wrong side after the others, else nothing."""
    item, sheet = machine.job.passes[pass_index], machine.heights.media[pass_index]
    up = side_up_after(machine, others, sheet.id)
    # What is under the head is another matter: see `_strikes_after`.
    if item.side == up:
        return ""
    what_it_does = f"prints on the {item.side} of {sheet.id}"
    if sheet.id not in machine.turning:
        loaded = f"the sheet is loaded {up} up and nothing turns it over"
        return f"{what_it_does}, which is never up: {loaded}. {_what_to_do(machine, pass_index)}"
    flips = [machine.items[other].id for other in others if machine.flips(other) == sheet.id]
    when = "before it is turned over"
    if flips:
        when = f"after {joined_names(flips)}"
    return f"{what_it_does}, and {when} its {up} faces up."


def turned_too_late(machine: Machine, others: Sequence[int], item_index: int) -> str:
    """The message for passes that need a flip that is done last; empty if there are none."""
    media = machine.flips(item_index)
    if media is None or any(machine.flips(other) == media for other in others):
        return ""
    up = side_up_after(machine, (), media)
    printed = [
        other
        for other in others
        if machine.is_pass(other) and machine.heights.media[other].id == media
    ]
    names = [machine.items[other].id for other in printed if machine.job.passes[other].side != up]
    if not names:
        return ""
    down = OTHER_SIDE[up]
    waiting = f"{joined_names(names)} can only be printed after that"
    return f"turns {media} over, and {waiting}: its {down} faces down until then."


def out_of_step(machine: Machine, edge: Precedence) -> str:
    """The message for a flip that comes too late or too early for a pass; empty if it does not."""
    first, then = machine.items[edge.before].id, machine.items[edge.then].id
    if machine.is_pass(edge.before):
        printed, turned, late = edge.before, edge.then, True
    else:
        printed, turned, late = edge.then, edge.before, False
    if machine.is_pass(turned) or not machine.is_pass(printed):
        return ""
    sheet, side = machine.heights.media[printed], machine.job.passes[printed].side
    handling = range(machine.pass_count, len(machine.items))
    flips = [item_index for item_index in handling if machine.flips(item_index) == sheet.id]
    if flips != [turned] or late == (side == sheet.up):
        return ""
    if late:
        return f"{then} comes too late for {first}: the {side} of {sheet.id} faces down until then."
    return f"{first} comes too early for {then}: the {side} of {sheet.id} faces down from then on."


def side_up_after(machine: Machine, done: Sequence[int], media: str) -> str:
    """The side of a sheet that lies up once some items are done."""
    return "back" if media in machine.back_up_after(done) else "front"


def _what_to_do(machine: Machine, pass_index: int) -> str:
    """What makes a side lie up that never does."""
    side, media = machine.job.passes[pass_index].side, machine.heights.media[pass_index].id
    on_both = all(machine.heights.layout.passes_on[media, face] for face in SIDES)
    if on_both:
        return "Add a flip between the passes on its two sides."
    return f'Load it {side} up (up = "{side}"), or add a flip.'
