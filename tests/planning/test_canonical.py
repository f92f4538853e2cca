"""Passes, sheets and handling that differ in any field stand in one order, however they were
declared.
"""

from __future__ import annotations

import pytest
from attrs import evolve, field, frozen
from scenario import sign_job

from signrules import job_from_dict
from signrules.model import Area, Gap, Handling, Ink, Interval, Job, Media, Pass, Printer, Spacers
from signrules.model.declared import declared_fields
from signrules.model.declaring import plain_number
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.order.canonical import (
    NO_DIFFERENCE_OF_HANDLING,
    NO_DIFFERENCE_OF_PASSES,
    NO_DIFFERENCE_OF_SHEETS,
    canonical_machine,
)
from signrules.planning.planner import plan_job

EXACT = Interval.exact
PRINTER = Printer((600.0, 400.0), EXACT(1.5), 0.5, Spacers((1.0,)), 20.0, 800.0, 6000.0)
SHEET = Media("panel", EXACT(3.0), (100.0, 60.0))
INKS = (Ink("clear", EXACT(0.03), "clear"), Ink("flat", EXACT(0.01), "colour"))


@frozen
class PassOfTomorrow(Pass):
    """A pass with a field that nobody has told the planner of."""

    haste: float = field(default=1.0, metadata=plain_number("a share", 0.1, 1, "how fast"))


@frozen
class SheetOfTomorrow(Media):
    """A sheet with such a field."""

    haste: float = field(default=1.0, metadata=plain_number("a share", 0.1, 1, "how fast"))


PLAIN = PassOfTomorrow("one", "clear", "panel", (Area(10.0, 10.0, 50.0, 20.0),))
DIFFERENT = {
    "ink": "flat",
    "areas": (Area(10.0, 10.0, 50.0, 21.0),),
    "layers": 2,
    "coverage": 0.5,
    "gap": Gap(EXACT(1.0)),
    "side": "back",
    "directions": 1,
    "crisp_on": "highest",
    "sheet_temperature": 40.0,
    "registers_to": (),
    "haste": 0.5,
}


def names_in_order(job: Job) -> list[str]:
    return [item.id for item in canonical_machine(Machine(Heights(job))).machine.items]


def job_of(passes, media=(SHEET,), handling=()) -> Job:
    return Job(PRINTER, tuple(media), INKS, tuple(passes), tuple(handling))


@pytest.mark.parametrize("name", DIFFERENT)
def test_passes_that_differ_in_a_field_stand_in_one_order(name):
    other = evolve(PLAIN, id="other", **{name: DIFFERENT[name]})
    assert names_in_order(job_of([PLAIN, other])) == names_in_order(job_of([other, PLAIN]))


def test_passes_that_only_their_neighbours_tell_apart_stand_in_one_order():
    other = evolve(PLAIN, id="other")
    last = evolve(PLAIN, id="last", layers=2, after=("other",))
    listed = names_in_order(job_of([PLAIN, other, last]))
    assert listed == names_in_order(job_of([other, PLAIN, last]))
    assert listed == names_in_order(job_of([last, PLAIN, other]))


def test_passes_that_differ_in_name_alone_keep_their_order():
    other = evolve(PLAIN, id="other")
    assert names_in_order(job_of([PLAIN, other])) == ["one", "other"]
    assert names_in_order(job_of([other, PLAIN])) == ["other", "one"]


SHEETS = {
    "thickness": EXACT(3.1),
    "size": (100.0, 61.0),
    "at": (0.0, 5.0),
    "bow": EXACT(0.1),
    "hold": "tape",
    "sheet_type": "cast-acrylic",
    "located_at": (0.0, 0.0),
    "expansion": EXACT(70.0),
    "density": 1190.0,
    "heat_capacity": 1470.0,
    "vacuum_pressure": 5000.0,
    "vacuum_share": 0.5,
    "friction": 0.3,
    "haste": 0.5,
}


@pytest.mark.parametrize("name", SHEETS)
def test_sheets_that_differ_in_a_field_stand_in_one_order(name):
    one = SheetOfTomorrow("panel", EXACT(3.0), (100.0, 60.0))
    other = evolve(one, id="other", load="2", **{name: SHEETS[name]})
    passes = [PLAIN, evolve(PLAIN, id="two", media="other")]
    orders = [
        names_in_order(job_of(first, media=media))
        for first, media in ((passes, (one, other)), (passes[::-1], (other, one)))
    ]
    assert orders[0] == orders[1]


HANDLED = {"does": "reload", "locates_by": "pins"}


@pytest.mark.parametrize("name", HANDLED)
def test_handling_that_differs_in_a_field_stands_in_one_order(name):
    one = Handling("turn", "flip", "panel")
    other = evolve(one, id="turn again", **{name: HANDLED[name]})
    orders = [
        names_in_order(job_of([PLAIN], handling=both)) for both in ([one, other], [other, one])
    ]
    assert orders[0] == orders[1]


@pytest.mark.parametrize(
    ("cls", "without", "tried"),
    [
        (Pass, NO_DIFFERENCE_OF_PASSES, DIFFERENT),
        (Media, NO_DIFFERENCE_OF_SHEETS, SHEETS),
        (Handling, NO_DIFFERENCE_OF_HANDLING, HANDLED),
    ],
)
def test_what_makes_no_difference_is_a_field_and_no_other_one_tried_here(cls, without, tried):
    assert set(without) <= set(declared_fields(cls)) - set(tried)


def test_as_many_states_are_reached_whichever_way_round_a_job_is_declared():
    """Open gaps and gaps over the build-up keep the search at work."""
    document = sign_job(standards=[], signs=[])
    del document["passes"][1]["builds"]
    gaps = [
        {"extra": 0.5, "above": "build-up"},
        "auto",
        {"extra": 1.5, "above": "build-up"},
        "auto",
    ]
    document["passes"] += [
        {"id": f"p{number}", "ink": "black", "areas": [[10 * number, 150, 9, 9]], "gap": gap}
        for number, gap in enumerate(gaps)
    ]
    job = job_from_dict(document)
    turned = evolve(job, passes=job.passes[::-1])
    found, again = (plan_job(Machine(Heights(one)), 300) for one in (job, turned))
    assert found.states == again.states > 100
    assert found.plan.cost == again.plan.cost
