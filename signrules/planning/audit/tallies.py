"""Do the order, the places, the moves and the counts of a timeline agree with its steps?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from signrules.model.job import Job
from signrules.physics.machine import Machine, Move, Precedence
from signrules.physics.timeline import Timeline
from signrules.planning.audit.bed import Moved
from signrules.planning.audit.claims import agrees_with
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.replay import Replay


def check_tallies(job: Job, timeline: Timeline, replay: Replay, findings: Findings) -> None:
    """Tell what a timeline says beside its steps and is not so, and what comes too early."""
    numbers = {item.id: item_index for item_index, item in enumerate(job.items)}
    order = tuple([numbers[name] for name in replay.order])
    places = {item_index: place for place, item_index in enumerate(order)}
    if not agrees_with(timeline.order, order):
        findings.tell("the order is not that of the steps")
    if not isinstance(timeline.positions, Mapping) or dict(timeline.positions) != places:
        findings.tell("the positions are not those of the steps")
    # Handling has no printing, and its numbers come after those of all passes.
    passes = {item_index for item_index in order if item_index < len(job.passes)}
    if not isinstance(timeline.printings, Mapping) or set(timeline.printings) != passes:
        findings.tell("the printings are not those of the passes that are printed")
    if not _moves_alike(timeline.moves, replay.bed.moves):
        findings.tell("the moves are not those of the steps")
    for what, said, found in (
        ("loads", timeline.loads, replay.bed.loads),
        ("gap settings", timeline.gap_settings, replay.head.settings),
    ):
        if not agrees_with(said, found):
            findings.tell(f"there are {found} {what}, not {said}")
    _check_precedence(job, timeline.machine, places, findings)


def _moves_alike(said: object, found: list[Moved]) -> bool:
    if not isinstance(said, Sequence) or len(said) != len(found):
        return False
    return all(map(_is_move, said, found))


def _is_move(said: object, found: Moved) -> bool:
    if not isinstance(said, tuple) or len(said) != 2 or not isinstance(said[1], Move):
        return False
    position, move = said
    claim = (position, move.load, move.what, move.method, move.error)
    return all(map(agrees_with, claim, found))


def _check_precedence(
    job: Job,
    machine: object,
    places: Mapping[int, int],
    findings: Findings,
) -> None:
    """Hold the order to what plugins asked for, which the machine of the plan alone knows."""
    ids = [item.id for item in job.items]
    if not isinstance(machine, Machine) or [item.id for item in machine.items] != ids:
        findings.tell("the plan is one of another job")
        return
    for edge in machine.precedence:
        if not isinstance(edge, Precedence):
            findings.tell(f"{edge!r} orders nothing in the job")
        # What is not done at all stands at -1 and has been told elsewhere.
        elif places.get(edge.before, -1) > places.get(edge.then, -1) >= 0:
            early, late = ids[edge.then], ids[edge.before]
            findings.warn(f"{early} is done before {late}: {edge.said}")
