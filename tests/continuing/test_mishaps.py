"""A moved sheet, a strike and passes out of turn, on the sample job and invented changes to it."""

from __future__ import annotations

import pytest
from attrs import evolve

from signrules import evaluate, job_from_dict, next_steps, sample_job
from signrules.continuing.fixed_order import with_needed_handling
from signrules.continuing.mishaps import with_dependents, without_items
from signrules.continuing.strikes import free_room
from signrules.errors import RecordError

DONE = ("ground", "look", "dots")


def sample(**changes):
    document = sample_job()
    document["printer"] |= changes
    return job_from_dict(document)


def unhandled(**changes):
    """The sample job whose sheet stays on the bed from the first pass to the last."""
    document = sample_job()
    document["printer"] |= changes
    document["handling"] = []
    for item in document["passes"]:
        item.pop("after", None)
    return job_from_dict(document)


@pytest.mark.parametrize(
    ("asked", "path", "words"),
    [
        ({"done": ["grund"]}, "done[0]", "'ground' perhaps"),
        ({"done": ["ground", "ground"]}, "done[1]", "each pass once"),
        ({"done": ["ink-on-dots"]}, "done[0]", "'dots' done before it"),
        ({"done": ["dots"]}, "done[0]", "'look' done before it"),
        ({"done": ["ground"], "moved": ["pane"]}, "moved.pane", "'panel' perhaps"),
        ({"done": ["ground"], "moved": {"panel": "pin"}}, "moved.panel", "'pins' perhaps"),
        ({"done": ["ground"], "measured": {"room-214": [0.6]}}, "measured.room-214", "builds"),
        ({"done": DONE, "measured": {"room-21": [0.6]}}, "measured.room-21", "'room-214' perhaps"),
        ({"done": DONE, "measured": {"room-214": []}}, "measured.room-214", "at least one dot"),
        ({"done": DONE, "measured": {"room-214": [600]}}, "measured.room-214[0]", "at most 10"),
    ],
)
def test_what_does_not_fit_the_job(asked, path, words):
    with pytest.raises(RecordError) as caught:
        next_steps(sample(), **asked)
    (fault,) = caught.value.faults
    assert fault.path == path
    assert words in str(fault)


def test_a_sheet_is_put_back_by_the_method_with_the_least_error():
    found = next_steps(sample(), DONE, moved=["panel"])
    # pins 0.1 mm and stops 0.5 mm off; 0.3 mm are allowed.
    assert (found.moved.located_by, found.moved.error) == ("pins", 0.1)
    assert found.moved.affected == ("letters", "ink-on-dots")
    assert found.remaining.order[0] == found.moved.handling
    assert not found.scrapped


@pytest.mark.parametrize("locating", [{"stops": "0.5 mm", "pins": "0.4 mm"}])
def test_a_method_that_is_too_far_off_leaves_scrap(locating):
    found = next_steps(unhandled(locating=locating), ["ground", "dots"], moved=["panel"])
    assert found.scrapped == ("panel",)
    assert found.moved.lost == ("letters", "ink-on-dots")
    assert found.remaining.order == ()
    assert "pins: 0.4 mm off is too much" in str(found.moved)


def test_only_the_method_that_is_stated_is_tried():
    found = next_steps(unhandled(), ["ground", "dots"], moved={"panel": "pins"})
    assert found.moved.located_by == "pins"
    found = next_steps(unhandled(), ["ground", "dots"], moved={"panel": "stops"})
    assert found.moved.tried == ("stops: 0.5 mm off is too much",)


def test_handling_between_prints_is_done_with_them():
    job = sample()
    assert with_needed_handling(job, ["ground", "dots"]) == ("ground", "look", "dots")
    assert with_needed_handling(job, ["ground", "grund"]) == ("ground", "grund")
    assert with_needed_handling(job, ["dots", "dots"]) == ("dots", "dots")


def test_no_method_at_all_and_dots_that_are_too_low():
    job = unhandled(locating={})
    found = next_steps(job, ["ground", "dots"], moved=["panel"], measured={"room-214": [0.6]})
    assert found.scrapped == ("panel", "room-214")
    assert "states no printer.locating" in str(found)
    assert "the sheet was moved" in str(found)


def test_a_sheet_from_which_nothing_remains_to_register_goes_on():
    done = ("ground", "look", "dots", "letters", "ink-on-dots")
    found = next_steps(sample(), done, moved=["panel"])
    assert found.moved.affected == ()
    assert found.remaining.order == ()
    assert "NOTHING REMAINS" in str(found)


def test_a_sheet_that_is_not_on_the_bed():
    found = next_steps(sample(), [], moved=["panel"])
    assert found.moved.off_bed == ("panel",)
    assert "not on the bed" in str(found.moved)


def test_after_a_strike_no_alignment_is_on_record_and_the_gap_is_set():
    job = sample()
    quiet, found = next_steps(job, DONE), next_steps(job, DONE, struck=True)
    assert quiet.remaining.new_alignments == ()
    # Of what remains ink-on-dots prints two-way.
    (extra,) = found.remaining.new_alignments
    assert found.strike.alignments == (extra,)
    # An alignment takes 12 minutes, a gap 2, a load 4; the sheet is put back besides.
    assert found.remaining.setup_minutes == quiet.remaining.setup_minutes + 12 + 2 + 4
    assert found.strike.loose == ("panel",)
    assert found.moved.located_by == "pins"
    assert "before they are put back" in str(found)


def test_a_sheet_that_pins_hold_stays_and_scrap_needs_room_beside_it():
    document = sample_job()
    document["media"][0]["hold"] = "pins"
    found = next_steps(job_from_dict(document), DONE, struck=True)
    assert found.moved is None
    assert found.strike.firm == ("panel",)
    # A bed of 600 x 450 mm; the sheet of 240 x 320 mm lies at (50, 50).
    assert found.strike.room == (310.0, 450.0)
    assert found.strike.has_room
    document["printer"]["bed"] = ["300 mm", "380 mm"]
    document["media"][0]["at"] = ["20 mm", "20 mm"]
    found = next_steps(job_from_dict(document), DONE, struck=True)
    assert not found.strike.has_room
    assert "The bed has no room for scrap" in str(found)


def test_the_free_room_of_very_many_sheets_lies_beside_them_all():
    job = sample()
    sheet = job.media[0]
    many = [evolve(sheet, id=f"s{n}", size=(4.0, 4.0), at=(4.0 * n, 0.0)) for n in range(61)]
    assert free_room(job, many) == (600.0, 446.0)
    assert free_room(job, []) == job.printer.bed


def test_a_pass_too_early_is_told_in_words():
    """The head of ink-on-dots lies low: letters, printed first, stand in its way."""
    document = sample_job()
    document["passes"][3]["gap"] = {"extra": "0.9 mm", "above": "media"}
    document["passes"][2]["layers"] = 32
    job = job_from_dict(document)
    assert evaluate(job).order == ("ground", "look", "dots", "ink-on-dots", "letters")
    found = next_steps(job, ["ground", "look", "letters"])
    assert not found.can_go_on
    assert "ink-on-dots" in found.lost.names
    assert (found.rest.left_out, found.rest.order) == (("ink-on-dots",), ("dots",))
    assert found.to_dict()["rest"]["order"] == ["dots"]
    text = str(found)
    assert "These orders are lost" in text
    assert "Without ink-on-dots there is a safe order of the rest: dots." in text
    assert "after ground, look and letters" in text
    assert found.to_dict()["lost"]["proven"]


def test_dependents_and_a_job_without_them():
    job = sample()
    assert tuple(with_dependents(job, ["dots"])) == ("dots", "ink-on-dots")
    left = without_items(job, ["dots", "ink-on-dots"])
    assert [item.id for item in left.passes] == ["ground", "letters"]


def test_the_order_of_the_job_itself_and_plain_data():
    job = sample()
    whole = evaluate(job)
    found = next_steps(job, whole.order[:2])
    assert found.as_whole_plan
    assert "What remains, as planned:" in str(found)
    data = found.to_dict()
    assert data["planned_order"] == list(whole.order)
    assert data["remaining"]["order"] == list(whole.order[2:])
    assert "WARNING: UV light" in str(found)
