"""When handling has its place: what turns and moves sheets put in order with the passes before
anything is searched.

A flip stands between the passes on the front and those on the back. A move that nothing bridges may
not stand between passes that register, so where one of them must come before it, or after it, all
of them must. If that settles every such move, handling is a matter of precedence alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from signrules.model.quantities import GUARD_MM
from signrules.physics.machine import Machine, Precedence


def settled_machine(machine: Machine) -> Machine | None:
    """The machine with the precedence that follows from its handling; itself where it has only
    pauses.

    None where something is left open: several bed loads with handling that moves them, a sheet that
    is turned more than once, moves that may stand on either side of passes that register, or that
    may not be bridged together.
    """
    moving = [
        at
        for at in range(machine.pass_count, len(machine.items))
        if machine.move_by(at) is not None
    ]
    if not moving:
        return machine if all(item.side == "front" for item in machine.job.passes) else None
    if len({sheet.load for sheet in machine.job.media}) > 1 or not _bridged_together(
        machine, moving
    ):
        return None
    turned = [machine.flips(at) for at in moving if machine.flips(at) is not None]
    backs = {
        machine.heights.media[at].id
        for at, item in enumerate(machine.job.passes)
        if item.side == "back"
    }
    if len(turned) > len(set(turned)) or not backs <= set(turned):
        return None
    edges = list(_sides_of_move(machine, moving))
    while True:
        now = Machine(machine.heights, (*_plugin_precedence(machine), *edges))
        more = _frames_kept(now, [at for at in moving if not _is_bridged(machine, at)])
        if more is None:
            return None
        new = [edge for edge in more if edge.before not in now.before[edge.then]]
        if not new:
            return now
        edges += new


def _plugin_precedence(machine: Machine) -> Iterator[Precedence]:
    """The precedence that plugins brought."""
    return (edge for edge in machine.precedence if edge.kind not in ("after", "over"))


def _is_bridged(machine: Machine, at: int) -> bool:
    move = machine.move_by(at)
    return move is not None and move.bridges


def _bridged_together(machine: Machine, moving: Sequence[int]) -> bool:
    """Whether all moves that are bridged stay within tolerance even when all of them lie between
    two passes.
    """
    tolerance = machine.job.registration_tolerance
    moves = [machine.move_by(at) for at in moving]
    total = sum(move.error or 0.0 for move in moves if move is not None and move.bridges)
    return tolerance is None or total <= tolerance + GUARD_MM


def _sides_of_move(machine: Machine, moving: Iterable[int]) -> Iterator[Precedence]:
    for at in moving:
        media, name = machine.flips(at), machine.items[at].id
        for number, item in enumerate(machine.job.passes):
            if machine.heights.media[number].id == media and item.side == "front":
                yield Precedence(
                    number, at, "side", f"{item.id} prints on the front, before {name}"
                )
            elif machine.heights.media[number].id == media:
                yield Precedence(at, number, "side", f"{item.id} prints on the back, after {name}")


def _frames_kept(machine: Machine, moves: Iterable[int]) -> list[Precedence] | None:
    """What keeps passes that register on one side of each move; None where nothing says
    on which.
    """
    if machine.topological is None:
        return None
    named = {
        frozenset((at, other))
        for at, others in enumerate(machine.named_partners)
        for other in others
    }
    groups = [*map(frozenset, machine.register_groups), *sorted(named, key=sorted)]
    found = []
    for at in moves:
        before, behind = _all_from(machine.before, at), _all_from(machine.followers, at)
        for group in (group for group in groups if len(group) > 1):
            ahead, later = group & before, group & behind
            if bool(ahead) == bool(later):
                return None
            name = machine.items[at].id
            for one in sorted(group - (ahead or later)):
                text = f"{machine.items[one].id} registers with passes on that side of {name}"
                found.append(
                    Precedence(one, at, "frame", text)
                    if ahead
                    else Precedence(at, one, "frame", text)
                )
    return found


def _all_from(next_to: Sequence[Iterable[int]], start: int) -> set[int]:
    found: set[int] = set()
    waiting = [start]
    while waiting:
        for far in next_to[waiting.pop()]:
            if far not in found:
                found.add(far)
                waiting.append(far)
    return found
