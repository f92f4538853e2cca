"""On which side of a move passes must stand, by hand."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.settling import settled_machine

WASH = {"id": "wash", "does": "reload", "media": "panel"}


def settled(*passes, **wash):
    document = sign_job(standards=[], signs=[])
    common = {"ink": "black", "gap": {"extra": 0}, "registers_to": []}
    document["passes"] = [common | item for item in passes]
    document["handling"] = [WASH | wash]
    return settled_machine(Machine(Heights(signrules.job_from_dict(document))))


def frames(machine):
    """Who must come before whom so that passes that register stay on one side of the move."""
    names = [item.id for item in machine.items]
    return {
        (names[edge.before], names[edge.then])
        for edge in machine.precedence
        if edge.kind == "frame"
    }


@pytest.mark.parametrize(
    ("passes", "wash", "expected"),
    [
        (({"id": "a"}, {"id": "b", "registers_to": ["a"]}), {"after": ["a"]}, {("b", "wash")}),
        (({"id": "a"}, {"id": "b", "registers_to": ["a"], "after": ["wash"]}), {}, {("wash", "a")}),
        (({"id": "a"}, {"id": "b", "over": ["a"]}), {"after": ["b"]}, set()),
        (({"id": "a"}, {"id": "b", "registers_to": ["a"]}), {"locates_by": "pins"}, set()),
        (({"id": "a"}, {"id": "b"}), {}, set()),
    ],
)
def test_a_pass_stays_on_the_side_of_the_move_where_the_one_is_that_it_names(
    passes, wash, expected
):
    """Put back by nothing that locates it, the sheet lies elsewhere. Over pins both sides do, and
    passes that register with nothing stand where they like.
    """
    assert frames(settled(*passes, **wash)) == expected


def test_where_nothing_says_on_which_side_two_passes_stand_it_is_left_open():
    assert settled({"id": "a"}, {"id": "b", "registers_to": ["a"]}) is None


def test_two_passes_on_both_sides_of_a_move_that_register_have_no_settled_place():
    after = {"id": "b", "registers_to": ["a"], "after": ["wash"]}
    assert settled({"id": "a"}, after, after=["a"]) is None
