"""When handling has its place: what turns and moves sheets, put in order before any search.

A flip stands between the passes on the front and those on the back. A move that nothing bridges may
not stand between passes that register, so where one of them must come before it, or after it, all
of them must. If that settles every such move, handling is a matter of precedence alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from signrules.model.quantities import GUARD_MM
from signrules.physics.machine import Machine, Precedence


def settled_machine(machine: Machine) -> Machine | None:
    """The machine with the precedence of its handling; itself where that moves nothing.

    None where something is left open: several bed loads with handling done to them, a sheet that
    is turned more than once, moves that may stand on either side of passes that register, or that
    may not be bridged together.
    """
    on_sheets = [
        item_index
        for item_index in range(machine.pass_count, len(machine.items))
        if machine.load_of[item_index] is not None
    ]
    # A load that comes off moves as well, and when it does is not settled by the passes alone.
    if on_sheets and len({sheet.load for sheet in machine.job.media}) > 1:
        return None
    moving = [item_index for item_index in on_sheets if machine.move_by(item_index) is not None]
    if not moving:
        if any(item.side == "back" for item in machine.job.passes):
            return None
        return machine
    if not _bridged_together(machine, moving):
        return None
    turned = [
        machine.flips(item_index) for item_index in moving if machine.flips(item_index) is not None
    ]
    backs = {
        machine.heights.media[item_index].id
        for item_index, item in enumerate(machine.job.passes)
        if item.side == "back"
    }
    # Between two flips of a sheet either side may be due, and a back that is never up has no order.
    if len(turned) > len(set(turned)) or not backs <= set(turned):
        return None
    # What one move settles may settle another, so it goes on until nothing new follows.
    edges = list(_sides_of_move(machine, moving))
    # It ends: edges only ever join items, of which there are so many.
    while True:
        settled = Machine(machine.heights, (*_plugin_precedence(machine), *edges))
        further_edges = _frames_kept(
            settled, [item_index for item_index in moving if not _is_bridged(machine, item_index)]
        )
        if further_edges is None:
            return None
        new_edges = [edge for edge in further_edges if edge.before not in settled.before[edge.then]]
        if not new_edges:
            return settled
        edges += new_edges


def _plugin_precedence(machine: Machine) -> Iterator[Precedence]:
    """The precedence that plugins brought."""
    return (edge for edge in machine.precedence if edge.kind not in ("after", "over"))


def _is_bridged(machine: Machine, item_index: int) -> bool:
    move = machine.move_by(item_index)
    return move is not None and move.bridges


def _bridged_together(machine: Machine, moving: Sequence[int]) -> bool:
    """Whether all bridged moves, even between the same two passes, stay within tolerance."""
    tolerance = machine.job.registration_tolerance
    moves = [machine.move_by(item_index) for item_index in moving]
    total = sum(move.error or 0.0 for move in moves if move is not None)
    return tolerance is None or total <= tolerance + GUARD_MM


def _sides_of_move(machine: Machine, moving: Iterable[int]) -> Iterator[Precedence]:
    for item_index in moving:
        media, name = machine.flips(item_index), machine.items[item_index].id
        for number, item in enumerate(machine.job.passes):
            if machine.heights.media[number].id != media:
                continue
            if item.side == "front":
                text = f"{item.id} prints on the front, before {name}"
                yield Precedence(number, item_index, "side", text)
            else:
                text = f"{item.id} prints on the back, after {name}"
                yield Precedence(item_index, number, "side", text)


def _frames_kept(machine: Machine, moves: Iterable[int]) -> list[Precedence] | None:
    """What keeps passes that register on one side of each move; None where that is open."""
    if machine.topological is None:
        return None
    named: set[frozenset[int]] = set()
    for item_index, others in enumerate(machine.named_partners):
        named |= {frozenset((item_index, other)) for other in others}
    groups = [*map(frozenset, machine.register_groups), *sorted(named, key=sorted)]
    edges = []
    for item_index in moves:
        before, behind = (
            _all_from(machine.before, item_index),
            _all_from(machine.followers, item_index),
        )
        for group in (group for group in groups if len(group) > 1):
            ahead, later = group & before, group & behind
            # Nothing says on which side they belong, or they belong on both.
            if bool(ahead) == bool(later):
                return None
            name = machine.items[item_index].id
            for partner in sorted(group - (ahead or later)):
                text = f"{machine.items[partner].id} registers with passes on that side of {name}"
                first, then = (partner, item_index) if ahead else (item_index, partner)
                edges.append(Precedence(first, then, "frame", text))
    return edges


def _all_from(next_to: Sequence[Iterable[int]], start: int) -> set[int]:
    reached: set[int] = set()
    waiting = [start]
    while waiting:
        for neighbour in next_to[waiting.pop()]:
            if neighbour not in reached:
                reached.add(neighbour)
                waiting.append(neighbour)
    return reached
