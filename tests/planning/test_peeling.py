"""Very many passes peeled from the end of their order: a few, whose one order is known by hand."""

from __future__ import annotations

from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.peeling import peel_from_end
from signrules.planning.order.reduction import setup_classes

SPOT = [[40, 30, 9, 9]]
"""Where thick ink stands; the other passes print elsewhere below the same head."""


def peeled_of(*passes):
    document = sign_job(standards=[], signs=[])
    common = {"ink": "black", "areas": [[90, 30, 9, 9]], "registers_to": []}
    document["passes"] = [common | item for item in passes]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    kinds = setup_classes(machine)
    peeled = peel_from_end(machine, kinds.classes, kinds.watched)
    if peeled.order is None:
        return None, [machine.items[at].id for at in peeled.stuck]
    return [machine.items[at].id for at in peeled.order], []


def thick(name, *after):
    """0.72 mm of ink, below a head at 1.5 + 1.5 mm."""
    ink = {"ink": "clear", "layers": 24, "areas": SPOT}
    return ink | {"id": name, "gap": {"extra": 1.5}, "after": list(after)}


def low(name, extra, *after):
    """A pass whose head, less 1 mm to be clear, leaves 0.5 mm and `extra` for ink."""
    return {"id": name, "gap": {"extra": extra}, "after": list(after)}


def test_a_pass_that_thick_ink_bars_comes_before_it():
    assert peeled_of(thick("tall"), low("flat", 0)) == (["flat", "tall"], [])


def test_a_pass_is_looked_at_again_as_soon_as_enough_is_taken_from_where_it_waits():
    """Room for 0.5 mm and for 1 mm beside twice 0.72 mm: before any of it, and after one at the
    most. The wider one must come after the first, so it must not wait for both to be taken.
    """
    passes = (
        thick("first"),
        thick("second", "first"),
        low("narrow", 0),
        low("wide", 0.5, "first"),
    )
    assert peeled_of(*passes) == (["narrow", "first", "wide", "second"], [])


def test_what_no_order_can_do_is_stuck():
    """The narrow pass must come before the thick ink, and is told to come after it."""
    order, stuck = peeled_of(thick("tall"), low("narrow", 0, "tall"), low("wide", 1))
    assert order is None
    assert stuck == ["tall", "narrow"]
