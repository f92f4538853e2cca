"""The hooks of the house: table, board, printer, white before colour, film and cleaning.

Numbers worked by hand.
"""

from __future__ import annotations

import pytest
import signrules_house_rules.plugin as plugin

from signrules import (
    Job,
    JobError,
    changed,
    evaluate,
    job_from_dict,
    load_plugins,
    sample_job,
    shop_from_dict,
)
from signrules.testing import assert_no_looser_table


def job(**changes) -> Job:
    return job_from_dict(sample_job() | changes)


# --- the table ------------------------------------------------------------------------------------


def test_every_row_of_the_house_lies_within_the_standard_that_it_amends(loaded_plugins):
    base = load_plugins().standards["us-ada-2010"]
    own = [
        row
        for row in loaded_plugins.standards["harbour-tactile"].rows
        if row.clause.startswith("house ")
    ]
    assert len(own) == 4
    for row in own:
        # The first row is that of rooms; others are of kinds of their own.
        law, *_ = base.rows_for(row.quantity)
        assert row.least.value > law.least.value
        assert row.unit == law.unit
        if law.most is not None:
            assert row.most.value < law.most.value


def test_the_table_asks_for_no_less_than_the_law(loaded_plugins):
    assert_no_looser_table(loaded_plugins)


def test_the_other_rows_are_those_of_the_standard(loaded_plugins):
    base = load_plugins().standards["us-ada-2010"]
    house = loaded_plugins.standards["harbour-tactile"]
    assert {row.quantity for row in house.rows} == {row.quantity for row in base.rows}
    assert (
        house.rows_for("braille.dot_diameter")[0].clause
        == base.rows_for("braille.dot_diameter")[0].clause
    )


@pytest.mark.parametrize(
    ("standard", "outcome"), [("us-ada-2010", "MET"), ("harbour-tactile", "BROKEN")]
)
def test_a_sign_that_the_law_allows_and_the_house_does_not(loaded_plugins, standard, outcome):
    checks = evaluate(job(standards=[standard]), plugins=loaded_plugins).checks
    (room,) = [c for c in checks if c.rule == "braille.clear-space"]
    assert room.outcome.value == outcome  # 10 mm: 3/8 in are 9.525 mm, the house asks for 12 mm.


# --- board and printer ----------------------------------------------------------------------------


def test_the_board_is_a_material(loaded_plugins):
    sheet = sample_job()["media"][0] | {"material": "harbour-board"}
    assert evaluate(job(media=[sheet]), plugins=loaded_plugins).faults == ()
    assert loaded_plugins.materials["harbour-board"].source_of("density") == "invented"


def test_the_printer_can_be_used(loaded_plugins):
    document = sample_job() | {
        "printer": {"use": "harbour-flatbed", "moving_bed": {"acceleration": "3 m/s2"}}
    }
    read = job_from_dict(document, plugins=loaded_plugins)
    assert read.printer.bed == (600.0, 450.0)
    assert evaluate(read, plugins=loaded_plugins).complete


# --- white before colour --------------------------------------------------------------------------


def layered(**colour):
    """A colour that is declared before the white under it."""
    document = sample_job()
    document["inks"].append({"id": "white", "role": "white", "layer": "12 um"})
    area = [["30 mm", "200 mm", "50 mm", "50 mm"]]
    document["passes"] += [{"id": "picture", "ink": "blue", "areas": area} | colour]
    document["passes"] += [{"id": "underbase", "ink": "white", "areas": area}]
    return job_from_dict(document)


def before(loaded_plugins, read, first, then):
    order = evaluate(read, plugins=loaded_plugins).order
    return order.index(first) < order.index(then)


def test_white_goes_before_the_colour_on_it(loaded_plugins):
    assert before(load_plugins(), layered(), "picture", "underbase")
    assert before(loaded_plugins, layered(), "underbase", "picture")


def test_white_beside_the_colour_has_no_order(loaded_plugins):
    beside = layered(areas=[["80 mm", "200 mm", "50 mm", "50 mm"]])
    assert ("underbase", "picture") not in {
        pair[:2] for pair in plugin.signrules_precedence(beside)
    }


def test_what_the_job_itself_says_goes_first(loaded_plugins):
    document = sample_job()
    document["inks"].append({"id": "white", "role": "white", "layer": "12 um"})
    area = [["30 mm", "200 mm", "50 mm", "50 mm"]]
    document["passes"] += [{"id": "picture", "ink": "blue", "areas": area, "after": ["look"]}]
    document["passes"] += [
        {"id": "underbase", "ink": "white", "areas": area, "after": ["letters", "picture"]}
    ]
    read = job_from_dict(document)
    pairs = {pair[:2] for pair in plugin.signrules_precedence(read)}
    assert ("underbase", "picture") not in pairs
    assert ("underbase", "ground") not in pairs  # after picture, after look, after ground
    assert evaluate(read, plugins=loaded_plugins).order_is_safe


def test_a_sequence_with_colour_first_is_broken(loaded_plugins):
    document = sample_job()
    document["inks"].append({"id": "white", "role": "white", "layer": "12 um"})
    document["passes"].append(
        {"id": "underbase", "ink": "white", "areas": [["30 mm", "200 mm", "50 mm", "50 mm"]]}
    )
    sequence = ["ground", "look", "underbase", "dots", "letters", "ink-on-dots"]
    result = evaluate(job_from_dict(document | {"sequence": sequence}), plugins=loaded_plugins)
    (broken,) = [
        c for c in result.checks if c.rule == "order.sequence" and c.outcome.value == "BROKEN"
    ]
    assert "our white goes under the colour" in broken.message


# --- quantities -----------------------------------------------------------------------------------


def test_film_and_cleaning_by_hand(loaded_plugins):
    result = evaluate(job(), plugins=loaded_plugins)
    # One sheet of 240 x 320 mm with 20 mm all round: 0.28 m x 0.36 m.
    assert result.quantities["masking_film_m2"] == pytest.approx(0.1008)
    # ground, dots and letters, ink-on-dots: blue, clear, blue are two changes; the reload makes two
    # loads.
    assert result.order == ("ground", "look", "dots", "letters", "ink-on-dots")
    assert result.quantities["cleaning_minutes"] == pytest.approx(2 * 3.0 + 2 * 1.5)


def test_the_shop_sets_what_they_depend_on(evaluate_with):
    name = plugin.__name__
    settings = {"film_margin": "1 cm", "load_cleaning": 5, "ink_cleaning": 0}
    shop = shop_from_dict({"signrules": 1, "plugins": {name: {"settings": settings}}})
    result = evaluate_with(shop=shop)
    assert result.quantities["masking_film_m2"] == pytest.approx(0.26 * 0.34)
    assert result.quantities["cleaning_minutes"] == pytest.approx(2 * 5.0)


def test_a_second_sheet_takes_more_film(loaded_plugins):
    document = sample_job()
    document["media"].append(
        document["media"][0] | {"id": "strip", "size": [100, 100], "load": "2"}
    )
    for each in document["passes"]:
        each["media"] = "panel"
    for each in document["handling"]:
        each["media"] = "panel"
    result = evaluate(job_from_dict(document), plugins=loaded_plugins)
    assert result.quantities["masking_film_m2"] == pytest.approx(0.1008 + 0.14 * 0.14)


def test_a_sheet_that_comes_with_film_takes_none(loaded_plugins):
    stated = changed(sample_job(), {"media.panel.data": {"harbour": {"film": "front"}}})
    made = job_from_dict(stated, plugins=loaded_plugins)
    result = evaluate(made, plugins=loaded_plugins)
    assert result.faults == ()
    assert result.quantities["masking_film_m2"] == 0
    stated["media"][0]["data"]["harbour"]["film"] = "back"
    with pytest.raises(JobError, match="found 'back', expected one of none, front"):
        job_from_dict(stated, plugins=loaded_plugins)


def test_it_is_found_by_its_entry_point():
    found = [
        each
        for each in load_plugins(entry_points=True).loaded
        if each.name == "signrules-house-rules"
    ]
    if not found:
        pytest.skip("signrules-house-rules is not installed in this environment")
    assert "rule harbour.spacer" in found[0].adds
    assert found[0].api == "1.0"
