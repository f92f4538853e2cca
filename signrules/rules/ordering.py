"""Pass order: what must come before what."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.passes import Handling, Pass
from signrules.physics.machine import Precedence
from signrules.physics.timeline import Printing, Timeline
from signrules.rules.checks import Draft, Level, check, geometry, one_of, stated_by_the_job
from signrules.rules.declaration import RuleSet, rule


@rule(
    "order.sequence",
    each="step",
    level=Level.STOP,
    source=stated_by_the_job("after and over"),
    decides=True,
    breaks={"sequence": ["ground", "look", "ink-on-dots", "dots", "letters"]},
    meets={},
)
def order_sequence(item: Pass | Handling, timeline: Timeline) -> Iterator[Draft]:
    """Nothing is done before what it must come after.

    Why it matters: colour that is printed before the dots it belongs on ends up under them.
    A job that breaks it: a sequence that lists the colour over the dots ahead of the dots.
    One that meets it: the same sequence with the dots first.
    """
    machine = timeline.machine
    item_index = machine.index[item.id]
    # By its position in the replay, so that a plan and a stated sequence are judged alike.
    own_position = timeline.positions[item_index]
    late_items = [
        other
        for other in sorted(machine.before[item_index])
        if timeline.positions[other] > own_position
    ]
    names = ", ".join(machine.items[other].id for other in late_items)
    # A set, since one plugin often gives the same reason for many passes.
    reasons = {
        reason for other in late_items for reason in machine.reasons.get((other, item_index), ())
    }
    why = f": {'; '.join(sorted(reasons))}" if reasons else ""
    yield check(
        "the number of passes and handling that must come before it but come later",
        measured=len(late_items),
        most=0,
        unit="",
        advice=f"Put it after {names}{why}." if late_items else "",
        others=[machine.path(other) for other in late_items],
    )


@rule(
    "order.side",
    each="pass",
    level=Level.STOP,
    source=geometry("the side that lies up when the sheet is loaded, and each flip turns it"),
    decides=True,
    breaks={"passes.ground.side": "back"},
    meets={},
)
def order_side(item: Pass, printing: Printing) -> Iterator[Draft]:
    """The side on which a pass prints is the side that lies up.

    Why it matters: a pass meant for the back that prints on the front ruins the sign.
    A job that breaks it: a pass on the back of a sheet that is loaded front up, before any flip.
    One that meets it: the same pass after a flip, or on a sheet that is loaded back up.
    """
    yield one_of(
        "the side that lies up",
        found=printing.side_up,
        allowed=[item.side],
        advice="Turn the sheet over before this pass, print the pass at another time, "
        "or load the sheet the other way up.",
    )


@rule(
    "order.cycle",
    each="job",
    level=Level.STOP,
    source=geometry("an order has a first pass"),
    decides=True,
    breaks={"passes.ground.after": ["dots"], "handling.look.after": []},
    meets={},
)
def order_cycle(cycle: tuple[Precedence, ...]) -> Iterator[Draft]:
    """The precedence of passes, declared or required by clearance, does not run in a circle.

    Why it matters: passes that wait for each other in a circle cannot be printed in any order.
    A job that breaks it: flat colour that must come after the dots, at a gap that cannot clear the
    dots.
    One that meets it: the same colour with its gap set from the build-up.
    """
    yield check(
        "the number of passes that wait for each other in a circle",
        measured=len(cycle),
        most=0,
        unit="",
        advice="; ".join(edge.said for edge in cycle) + "." if cycle else "",
    )


ORDER = RuleSet(
    "order",
    (order_sequence, order_side, order_cycle),
    "Passes and handling follow each other as they must.",
)
