"""All sheets loaded front up: the stages of the planner know no others.

Which side of a sheet is called the front decides nothing but words. So of a sheet that is loaded
with its back up the planner calls the back the front, and what it works out has one case, not two.
"""

from __future__ import annotations

from attrs import evolve

from signrules.model.passes import OTHER_SIDE, Pass
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine


def front_up(machine: Machine) -> Machine:
    """The machine with all its sheets loaded front up; itself where they are."""
    job = machine.job
    back_up = job.loaded_back_up
    if not back_up:
        return machine
    passes = []
    for item in job.passes:
        if job.media_of(item).id in back_up:
            item = other_way_up(item)
        passes.append(item)
    media = tuple(evolve(sheet, up="front") for sheet in job.media)
    brought = (edge for edge in machine.precedence if edge.kind not in ("after", "over"))
    return Machine(Heights(evolve(job, media=media, passes=tuple(passes))), brought)


def other_way_up(item: Pass) -> Pass:
    """A pass on the other side of its sheet."""
    return evolve(item, side=OTHER_SIDE[item.side])
