"""What the answers say: every branch of the words, on invented changes to the sample job."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

from signrules import JobError, job_from_dict, load_plugins, next_steps, sample_job
from signrules.cli import main
from signrules.continuing.added_layers import added_layers
from signrules.continuing.fixed_order import done_first
from signrules.continuing.measured_now import dot_range, with_measured
from signrules.continuing.more_layers import ranges_for_layers
from signrules.continuing.remaining import Lost, lost_of, with_true_reasons
from signrules.continuing.rest_without import rest_without
from signrules.errors import RecordError
from signrules.evaluation import evaluate
from signrules.model.job import free_id
from signrules.planning.pipeline import BUDGET
from signrules.rules.checks import Level, Outcome
from signrules.rules.engine import Fault

DONE = ("ground", "look", "dots")
LOW = {"room-214": [0.60, 0.62]}


def changed(change):
    document = sample_job()
    change(document)
    return job_from_dict(document)


def test_dots_that_are_printed_two_way_and_the_alignment_that_serves():
    def two_way(document):
        document["passes"][1]["directions"] = 2

    found = next_steps(changed(two_way), DONE, measured=LOW)
    assert "It prints two-way, by the alignment at an extra of" in str(found)

    def unknown(document):
        two_way(document)
        del document["printer"]["landing_tolerance"], document["printer"]["resolution"]
        document["alignments"] = []

    found = next_steps(changed(unknown), DONE, measured=LOW)
    assert "nobody knows by which alignment" in str(found)


def test_dots_too_far_apart_for_any_number_of_layers():
    found = next_steps(changed(lambda document: None), DONE, measured={"room-214": [0.4, 0.93]})
    assert "No whole number of layers brings all of them within the range" in str(found)
    assert found.to_dict()["dots"][0]["more_layers"] is None


def test_more_layers_than_a_pass_can_have():
    job = changed(lambda document: None)
    assert added_layers(job, DONE, "room-214", 100_001, evaluate) is None
    # 0.0001 mm is the thinnest layer: 22 of them are a dot of 2.2 um.
    found = next_steps(job, DONE, measured={"room-214": [0.000_05]})
    assert "no pass has as many layers" in str(found)


def test_what_is_no_number_is_no_height():
    job = changed(lambda document: None)
    for height in (True, "0.6", math.nan, 0.0):
        with pytest.raises(RecordError):
            next_steps(job, DONE, measured={"room-214": [height]})


def test_a_free_id():
    assert free_id("a", []) == "a"
    assert free_id("a", ["a", "a-2"]) == "a-3"


def two_signs(document):
    """A second sign, whose dots are built by the same pass."""
    sign = {"id": "room-216", "media": "panel", "area": ["0 mm", "200 mm", "240 mm", "100 mm"]}
    document["signs"].append(sign)
    document["signs"][0]["area"] = ["0 mm", "0 mm", "240 mm", "200 mm"]
    document["passes"][1]["areas"].append(["30 mm", "250 mm", "60 mm", "8 mm"])
    document["passes"][1]["builds"] = ["room-214.braille", "room-216.braille"]


def test_dots_that_nobody_measured_may_be_as_high_as_their_ink():
    job = changed(two_signs)
    layer = with_measured(job, DONE, {"room-214": [0.60]}).inks[-1].layer
    assert (layer.low, layer.high) == (pytest.approx(0.60 / 22), 0.034)
    (answer,) = next_steps(job, DONE, measured={"room-214": [0.60, 0.62]}).dots
    # Only where the sign lies that was measured.
    assert [area.y for area in answer.added.item.areas] == [42.0]


def test_dots_of_two_inks_give_no_figure():
    def both(document):
        document["passes"][0]["builds"] = "room-214.braille"

    (answer,) = next_steps(changed(both), DONE, measured={"room-214": [0.7]}).dots
    assert answer.line is None
    assert answer.layers == 23


def test_plain_data_of_a_moved_sheet_and_a_strike():
    found = next_steps(changed(lambda document: None), DONE, moved=["panel"], struck=True)
    data = found.to_dict()
    assert data["moved"]["located_by"] == "pins"
    assert data["strike"]["put_back"] is True
    assert data["strike"]["text"] == list(found.strike.lines())


def pinned(document):
    document["media"][0]["hold"] = "pins"


def test_room_for_scrap_and_ink_that_stands_higher_than_the_alignment():
    found = next_steps(changed(pinned), (*DONE, "letters"), struck=True)
    assert "Leave the sheets where they lie: 310 x 450 mm" in str(found)
    # Aligned 0.75 + 1.158 mm over scrap of 2.8 mm, the head lies at 4.708 mm; the sheet may reach
    # 3.2 + 0.2 mm and the ink 0.894 mm more, which leaves 0.414 of the 0.5 mm that are needed.
    assert found.strike.too_low == found.strike.alignments
    assert "does not clear the ink on the sheets" in str(found)


def test_a_strike_that_asks_for_no_alignment():
    done = (*DONE, "ink-on-dots")
    found = next_steps(changed(pinned), done, struck=True)
    assert found.strike.alignments == ()
    assert "Align both directions" not in str(found)
    assert next_steps(changed(pinned), [], struck=True).strike.firm == ()


def test_a_printer_without_minutes_and_a_whole_job_without_an_order():
    def without(document):
        del document["printer"]["minutes"]

    assert "minutes of set-up" not in str(next_steps(changed(without), ["ground"]))

    def low(document):
        document["passes"][0]["gap"] = {"head_above_bed": "3.2 mm"}

    found = next_steps(changed(low), ["ground"])
    assert not found.can_go_on
    assert "nor had the whole job" in str(found)
    assert found.rest is None


def test_a_search_that_ends_before_it_knows():
    job = changed(lambda document: None)
    found = next_steps(job, ["ground", "look", "letters"], budget=BUDGET)
    assert found.lost is None
    unproven = evolve(found, remaining=None, lost=lost_without_proof())
    assert "Not proven: the search ended" in str(unproven)


def lost_without_proof():
    return Lost((), ("nothing was found.",), proven=False)


def test_nothing_goes_on_where_nothing_is_left_out():
    job = changed(lambda document: None)
    assert rest_without(job, (), (), evaluate) is None


def test_ranges_that_layers_make():
    # 24 layers of 0.6 mm and one more are 0.625 mm.
    rows = list(ranges_for_layers(0.625, None, 24))
    assert rows[0] == (pytest.approx(0.6), math.inf, 1)
    assert len(rows) == 24
    assert next(ranges_for_layers(None, 0.625, 24))[:2] == (0.0, pytest.approx(0.6))


def test_a_job_that_names_an_unknown_standard(tmp_path, monkeypatch, capsys):
    from signrules import write_job

    monkeypatch.chdir(tmp_path)
    job = evolve(changed(lambda document: None), standards=("none-such",))
    write_job(job, "job.toml")
    assert main(["next", "job.toml", "--done", "ground"]) == 2
    assert "none-such" in capsys.readouterr().err
    with pytest.raises(JobError):
        next_steps(job, ["ground"])
    write_job(evolve(job, standards=()), "job.toml")
    assert main(["next", "job.toml", "--done", "ground", "--moved", "panel=pins"]) == 0
    assert "put back against pins" in capsys.readouterr().out


def added_to_the_sample(change=lambda document: None):
    job = changed(change)
    standing = done_first(with_measured(job, DONE, LOW), DONE)
    return added_layers(standing, DONE, "room-214", 2, evaluate)


def test_what_holds_against_the_new_pass_alone_forbids_it():
    added = added_to_the_sample()
    assert added.why_not == ()
    check = next(one for one in added.result.checks if "passes.dots" in one.subjects)
    held = evolve(check, outcome=Outcome.BROKEN, level=Level.STOP, words="too much.")
    new = evolve(held, subjects=("passes.dots-more",))
    assert with_checks(added, [new]).why_not == ("too much.",)
    # What holds against the dots themselves as well is nothing new.
    assert with_checks(added, [new, held]).why_not == ()


def test_an_evaluation_that_is_incomplete_forbids_it():
    added = added_to_the_sample()
    fault = Fault("a rule", "a plugin", "", "passes.dots", "it failed")
    (reason,) = evolve(added, result=evolve(added.result, faults=(fault,))).why_not
    assert "the evaluation is incomplete" in reason


def with_checks(added, checks):
    return evolve(added, result=evolve(added.result, checks=tuple(checks)))


def test_dots_whose_gap_the_planner_chooses():
    def opened(document):
        document["passes"][1]["gap"] = "auto"

    added = added_to_the_sample(opened)
    assert added.item.gap is None
    assert added.why_not == ()


def test_a_row_that_a_person_weighs_limits_nothing():
    standard = load_plugins().standards["us-ada-2010"]
    sign = changed(lambda document: None).signs[0]
    assert dot_range(sign, [standard]).most == pytest.approx(0.9398)
    rows = tuple(evolve(row, level="REVIEW") for row in standard.rows)
    assert dot_range(sign, [evolve(standard, rows=rows)]).sources == ()


def test_a_pause_leaves_the_load_on_the_bed():
    def paused(document):
        document["handling"].append({"id": "cool", "does": "pause", "after": ["dots"]})

    found = next_steps(changed(paused), (*DONE, "cool"), moved=["panel"])
    assert found.moved.sheets == ("panel",)


def test_an_incomplete_evaluation_names_what_failed():
    fault = Fault("a rule", "a plugin", "", "job", "it failed")
    result = evolve(evaluate(changed(lambda document: None)), faults=(fault,))
    lost = lost_of(result, DONE)
    assert lost.names == ()
    assert "it failed" in " ".join(lost.reasons)


def test_a_whole_job_without_a_plan_is_not_compared_with():
    found = next_steps(changed(lambda document: None), ["ground"])
    unplanned = evolve(found, whole=evolve(found.whole, found_plan=None))
    assert "What remains:" in str(unplanned).splitlines()


def test_reasons_tell_a_done_order_as_one_that_was_done():
    # Ground, close above the sheet, was printed when the dots stood already: 0.9 mm too low.
    job = changed(_free_of_order)
    found = next_steps(job, ["dots", "ground"])
    (reason,) = found.lost.reasons
    assert "dots must come before ground: ground was done after dots." in reason
    assert "declared" not in reason


def test_reasons_tell_what_is_still_to_do_and_keep_what_the_job_declares():
    def looked_at_first(document):
        _free_of_order(document)
        document["handling"] = [{"id": "look", "does": "pause"}]
        document["passes"][-1]["after"] = ["look"]

    job = changed(looked_at_first)
    last = job.passes[-1].id
    claim = f"b must come before {last}: {last} is declared to come after"
    lost = Lost((), (f"{claim} dots.", f"{claim} look."))
    true = with_true_reasons(lost, job, ["dots", "look"])
    assert true.reasons[0].endswith(f": dots is done and {last} is not.")
    assert true.reasons[1] == lost.reasons[1]


def _free_of_order(document):
    """Nothing is declared to come after anything, and no sign asks for its height."""
    document["standards"], document["signs"], document["handling"] = [], [], []
    for item in document["passes"]:
        for key in ("over", "after", "builds"):
            item.pop(key, None)
