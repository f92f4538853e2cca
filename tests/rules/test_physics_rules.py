"""Rules on registration, drops, alignments, sheets and domes: at their limits, and with fields left
out.
"""

from __future__ import annotations

import pytest
from effort import effort
from hypothesis import given, settings
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules import Level, Outcome
from signrules.rules import between_passes

approx = pytest.approx


def evaluate(document):
    return signrules.evaluate(signrules.job_from_dict(document))


def checks_of(result, rule, subject):
    return [check for check in result.checks if check.rule == rule and check.subjects[0] == subject]


def the_check(result, rule, subject):
    (found,) = checks_of(result, rule, subject)
    return found


def warm_sheet(by=10, **media):
    """An invented sheet of 600 mm on which colour is printed so many kelvins warmer than the
    ground.
    """
    document = sign_job(standards=[], signs=[])
    document["media"][0] |= {
        "material": "acrylic",
        "size": [600, 50],
        "at": [0, 0],
        "located_at": [0, 0],
        **media,
    }
    document["passes"] = [
        {"id": "ground", "ink": "black", "gap": {"extra": 0}, "sheet_temperature": 22},
        {"id": "colour", "ink": "black", "gap": {"extra": 0}, "sheet_temperature": 22 + by},
    ]
    return document


def test_acrylic_of_600_mm_that_warms_ten_kelvins():
    result = evaluate(warm_sheet())
    growth = the_check(result, "registration.growth", "passes.colour")
    # 600 mm x 10 K x 34, 70 and 162 millionths.
    assert (growth.measured.low, growth.measured.nominal, growth.measured.high) == approx(
        (0.204, 0.42, 0.972)
    )
    assert (growth.outcome, growth.level) == (Outcome.BROKEN, Level.STOP)
    assert "0.42 mm at 70 ppm/K" in growth.message
    # 0.15 / (600 x 162e-6) = 1.54 K above the 22 C of the ground.
    assert "at most 1.54 K" in growth.message
    assert "cool to 23.5 C" in growth.message
    assert "state printer.cooling" in growth.message
    assert "allow 0.972 mm" in growth.message
    assert not result.order_is_safe
    assert checks_of(result, "registration.growth", "passes.ground") == []


def test_how_long_a_sheet_must_cool():
    document = warm_sheet()
    document["temperature"] = 20
    document["printer"]["cooling"] = "10 W/m2K"
    message = the_check(evaluate(document), "registration.growth", "passes.colour").message
    # From 12 K above the room to 3.54 K, at 525 s: 525 x ln(12 / 3.54) = 640 s.
    assert "about 11 minutes" in message
    document["temperature"] = 25
    assert (
        "never in a room this warm"
        in the_check(evaluate(document), "registration.growth", "passes.colour").message
    )


@pytest.mark.parametrize(
    ("kelvins", "outcome"), [(1.54, Outcome.MET), (1.55, Outcome.DOUBTFUL), (8, Outcome.BROKEN)]
)
def test_growth_at_its_limit(kelvins, outcome):
    assert (
        the_check(evaluate(warm_sheet(kelvins)), "registration.growth", "passes.colour").outcome
        is outcome
    )


def test_a_stated_coefficient_replaces_that_of_the_material():
    growth = the_check(
        evaluate(warm_sheet(expansion="70 ppm/K")), "registration.growth", "passes.colour"
    )
    assert (growth.measured.low, growth.measured.high) == approx((0.42, 0.42))


@pytest.mark.parametrize(
    ("material", "field"), [(None, "media.panel.material"), ("unheard of", "media.panel.expansion")]
)
def test_an_unknown_coefficient_is_unassessed_and_forbids_nothing(material, field):
    document = warm_sheet(material=material) if material else warm_sheet()
    if material is None:
        del document["media"][0]["material"]
    result = evaluate(document)
    assert the_check(result, "registration.growth", "passes.colour").missing == field
    assert the_check(result, "registration.total", "passes.colour").missing == field
    assert result.order_is_safe


def test_without_a_difference_no_coefficient_is_needed():
    document = warm_sheet(by=0)
    del document["media"][0]["material"]
    result = evaluate(document)
    assert checks_of(result, "registration.growth", "passes.colour") == []
    # Nothing but the 10 um of the ground, over which the colour lands 2 x 800 x 0.01 / 6000 mm
    # apart.
    assert the_check(result, "registration.total", "passes.colour").measured.high == approx(
        16 / 6000
    )


def test_the_warmest_partner_counts_and_not_only_the_first():
    document = warm_sheet(0)
    document["passes"].insert(
        1, {"id": "hot", "ink": "black", "gap": {"extra": 0}, "sheet_temperature": 23}
    )
    growth = the_check(evaluate(document), "registration.growth", "passes.colour")
    assert growth.subjects == ("passes.colour", "passes.hot")
    assert "let the sheet cool before" not in growth.message
    assert growth.measured.high == approx(600 * 162e-6)


def test_a_larger_estimate_does_not_hide_a_stated_growth_that_stops_the_job():
    # The colour comes 4 K above the stated pass; above the other, whose 21 C are estimated, some 9
    # K.
    document = warm_sheet()
    document["temperature"] = 20
    document["printer"] |= {
        "absorbed_dose": "0.5 J/cm2",
        "cooling": "10 W/m2K",
        "swath": 25.4,
        "swath_passes": 4,
    }
    document["printer"] |= {"carriage_acceleration": "10 m/s2", "overrun": 50}
    document["passes"] = [
        {"id": "stated", "ink": "black", "gap": {"extra": 0}, "sheet_temperature": 26},
        {"id": "other", "ink": "black", "gap": {"extra": 0}},
        {"id": "colour", "ink": "black", "gap": {"extra": 0}, "sheet_temperature": 30},
    ]
    result = evaluate(document | {"sequence": ["stated", "other", "colour"]})
    growth = the_check(result, "registration.growth", "passes.colour")
    assert growth.subjects == ("passes.colour", "passes.stated")
    assert growth.level is Level.STOP
    assert growth.measured.high == approx(600 * 4 * 162e-6)
    assert not result.order_is_safe


def test_a_doubtful_partner_does_not_hide_a_broken_one():
    document = warm_sheet(0, expansion="100 ppm/K")
    document["registration_tolerance"] = "0.1 mm"
    document["printer"]["locating"] = {"pins": "0.06 mm", "stops": "0.02 mm"}
    document["handling"] = [
        {"id": "first", "does": "reload", "locates_by": "pins", "after": ["ground"]},
        {"id": "second", "does": "reload", "locates_by": "pins", "after": ["first"]},
        {"id": "third", "does": "reload", "locates_by": "stops", "after": ["warm"]},
    ]
    plain = {"ink": "black", "gap": {"extra": 0}, "directions": 1, "sheet_temperature": 22}
    document["passes"] = [
        {"id": "ground", **plain},
        {"id": "warm", **plain, "after": ["second"], "sheet_temperature": 23.8},
        {"id": "colour", **plain, "after": ["third"]},
    ]
    total = the_check(evaluate(document), "registration.total", "passes.colour")
    # From the ground 0.06, 0.06 and 0.02 mm: 0.14 mm, as the root of squares 0.087 mm. From the
    # warm pass 0.02 mm and 600 mm x 1.8 K x 100 millionths: 0.128 mm and 0.110 mm.
    assert (total.outcome, total.subjects[1]) == (Outcome.BROKEN, "passes.warm")
    assert (total.measured.low, total.measured.high) == approx(((0.02**2 + 0.108**2) ** 0.5, 0.128))


def test_a_sheet_whose_fixed_point_is_not_said_grows_from_its_far_end():
    document = warm_sheet()
    document["passes"][1]["areas"] = [[0, 0, 100, 50]]
    near = the_check(evaluate(document), "registration.growth", "passes.colour").measured.nominal
    del document["media"][0]["located_at"]
    far = the_check(evaluate(document), "registration.growth", "passes.colour").measured.nominal
    assert (near, far) == approx((100 * 10 * 70e-6, 600 * 10 * 70e-6))


def test_on_the_back_any_corner_may_stay_put():
    """Front and back print by the corner that is located, and that corner may be anywhere once the
    sheet is turned.
    """
    document = warm_sheet()
    corner = {"areas": [[0, 0, 100, 50]]}
    back = {
        "id": "back",
        "ink": "black",
        "gap": {"extra": 0},
        "side": "back",
        "registers_to": ["colour"],
    }
    document["passes"][1] |= corner
    document["passes"].append(back | corner | {"sheet_temperature": 22})
    document["passes"].append(
        back | corner | {"id": "late", "registers_to": ["back"], "sheet_temperature": 23}
    )
    document["handling"] = [{"id": "turn", "does": "flip", "media": "panel", "locates_by": "pins"}]
    document["printer"]["locating"] = {"pins": 0.1}
    result = evaluate(document)
    for name, degrees, distance in (("colour", 10, 100), ("back", 10, 600), ("late", 1, 600)):
        growth = the_check(result, "registration.growth", f"passes.{name}")
        assert growth.measured.nominal == approx(
            0.1 * (name == "back") + distance * degrees * 70e-6
        )


def test_loaded_back_up_the_corner_that_stays_put_is_known_for_the_back():
    """The fixed point is one of the sheet as it is loaded: the front is where any corner may stay
    put.
    """
    document = warm_sheet()
    document["media"][0]["up"] = "back"
    corner = {"areas": [[0, 0, 100, 50]]}
    document["passes"][1] |= corner | {"side": "back"}
    document["passes"][0]["side"] = "back"
    front = {"id": "front", "ink": "black", "gap": {"extra": 0}, "registers_to": ["colour"]}
    document["passes"].append(front | corner | {"sheet_temperature": 22})
    document["handling"] = [{"id": "turn", "does": "flip", "media": "panel", "locates_by": "pins"}]
    document["printer"]["locating"] = {"pins": 0.1}
    result = evaluate(document)
    for name, distance in (("colour", 100), ("front", 600)):
        growth = the_check(result, "registration.growth", f"passes.{name}")
        assert growth.measured.nominal == approx(0.1 * (name == "front") + distance * 10 * 70e-6)


def test_estimated_warmth_wants_a_look_and_stops_nothing():
    document = warm_sheet()
    for item in document["passes"]:
        del item["sheet_temperature"]
    document["passes"][0]["layers"] = 10
    document["printer"] |= {"absorbed_dose": "0.5 J/cm2"}
    assert (
        the_check(evaluate(document), "registration.growth", "passes.colour").missing
        == "printer.cooling"
    )
    document["printer"]["cooling"] = "10 W/m2K"
    assert (
        the_check(evaluate(document), "registration.growth", "passes.colour").missing
        == "printer.swath"
    )
    document["printer"] |= {
        "swath": 25.4,
        "swath_passes": 4,
        "carriage_acceleration": "10 m/s2",
        "overrun": 50,
    }
    result = evaluate(document)
    growth = the_check(result, "registration.growth", "passes.colour")
    assert growth.level is Level.REVIEW
    assert result.order_is_safe
    # A layer of 0.953 K, one every 11 strokes of 0.955 s, q = exp(-10.505 / 524.8): 8.72 K after
    # ten, 9.5 K after the eleventh; the ground began at room temperature.
    assert growth.measured.high == approx(600 * 162e-6 * 9.5, rel=0.01)


def total_of(document, name="dots"):
    return the_check(evaluate(document), "registration.total", f"passes.{name}")


def test_everything_between_two_passes_is_added():
    document = sign_job()
    document["alignments"] = [{"extra": 0}, {"extra": 0.99}, {"extra": 0.72}]
    assert total_of(document).measured.high == approx(0)
    document["handling"] = [
        {"id": "put-back", "does": "reload", "locates_by": "pins", "after": ["ground"]}
    ]
    pass_of(document, "dots")["after"] = ["put-back"]
    document["alignments"] = [{"extra": 0.1}, {"extra": 0.85}]
    document["registration_tolerance"] = "0.2 mm"
    # Pins 0.1; ground 0.1 mm off its alignment: 2 x 800 x 0.1 / 6000; dots 0.14 mm off theirs (0.01
    # mm of ground).
    parts = [0.1, 2 * 800 * 0.1 / 6000, 2 * 800 * 0.14 / 6000]
    total = total_of(document)
    assert total.measured.high == approx(sum(parts))
    assert total.measured.low == approx(sum(part * part for part in parts) ** 0.5)
    assert total.outcome is Outcome.MET
    assert "locating 0.1, growth 0, landing 0.037 and 0.027 mm" in total.message
    document["registration_tolerance"] = "0.15 mm"
    assert (total_of(document).outcome, total_of(document).level) == (
        Outcome.DOUBTFUL,
        Level.REVIEW,
    )
    document["registration_tolerance"] = "0.1 mm"
    assert total_of(document).outcome is Outcome.BROKEN
    assert evaluate(document).order_is_safe
    del document["registration_tolerance"]
    assert total_of(document).missing == "registration_tolerance"


def over_dots(alignments, **printer):
    """Colour over dots of 0.5 mm, the gap set from the dots: common practice, no
    published source.
    """
    document = sign_job(standards=[])
    document["printer"] |= printer
    document["inks"][1]["layer"] = "20 um"
    pass_of(document, "dots")["layers"] = 25
    document["alignments"] = alignments
    return the_check(evaluate(document), "alignment.served", "passes.ink-on-dots")


def test_an_alignment_at_the_height_of_the_dots_serves_their_foot():
    served = over_dots([{"extra": 0}, {"extra": 0.5, "date": "2026-03-02"}, {"extra": 1}])
    assert served.measured.high == approx(0, abs=1e-9)
    assert "on record since 2026-03-02" in served.message
    left = over_dots([{"extra": 0}], landing_tolerance="0.3 mm")
    # 2 x 800 mm/s x 0.5 mm / 6 m/s.
    assert left.measured.high == approx(2 * 800 * 0.5 / 6000)
    assert left.outcome is Outcome.MET
    assert "on record" in left.message


def test_drag_leaves_a_throw_in_doubt_and_says_which_end():
    """Two surfaces 0.5 mm apart under one alignment: within in still air, beyond in air
    that moves.
    """
    document = sign_job(standards=[])
    document["printer"] |= {
        "landing_tolerance": "0.14 mm",
        "drop_volume": "7 pL",
        "drop_density": "1050 kg/m3",
    }
    document["inks"][1]["layer"] = "20 um"
    pass_of(document, "dots")["layers"] = 25
    document["alignments"] = [{"extra": 0.5}]
    other = the_check(evaluate(document), "alignment.other-surface", "passes.ink-on-dots")
    assert other.measured.low == approx(2 * 800 * 0.5 / 6000)
    assert other.outcome is Outcome.DOUBTFUL
    assert (
        "is within tolerance in still air (0.133 mm), but not in air that moves with the head"
        in other.message
    )
    document["printer"]["landing_tolerance"] = "0.1 mm"
    other = the_check(evaluate(document), "alignment.other-surface", "passes.ink-on-dots")
    assert other.outcome is Outcome.BROKEN
    assert "Even in still air" in other.message


def test_a_stale_alignment_is_not_on_record():
    document = sign_job(
        alignments=[{"extra": 0, "date": "2026-03-02"}, {"extra": 1}, {"extra": 0.72}]
    )
    document["printer"]["head_work"] = "2026-03-09"
    result = evaluate(document)
    stale, undated, _ = checks_of(result, "alignment.stale", "job")
    assert (stale.outcome, stale.level, stale.measured.high) == (Outcome.BROKEN, Level.REVIEW, 7)
    assert undated.missing == "alignments[1].date"
    assert result.timeline.new_alignments == approx((0.0,))
    assert result.plan.setup_minutes == approx(4 + 3 * 2 + 12)
    fresh = sign_job(alignments=[{"extra": 0, "date": "2026-03-09"}, {"extra": 1}, {"extra": 0.72}])
    fresh["printer"]["head_work"] = "2026-03-09"
    result = evaluate(fresh)
    assert checks_of(result, "alignment.stale", "job")[0].outcome is Outcome.MET
    assert result.timeline.new_alignments == ()
    assert checks_of(evaluate(sign_job(alignments=[{"extra": 0}])), "alignment.stale", "job") == []


def test_satellites_and_slow_drops():
    document = sign_job()
    document["printer"] |= {"satellite_volume": "1 pL"}
    assert (
        the_check(evaluate(document), "throw.satellite", "passes.dots").missing
        == "printer.satellite_speed"
    )
    document["printer"] |= {"satellite_speed": "4 m/s"}
    assert (
        the_check(evaluate(document), "throw.satellite", "passes.dots").missing
        == "printer.drop_density"
    )
    assert checks_of(evaluate(document), "throw.slowing", "passes.dots") == []
    document["printer"]["drop_density"] = "1050 kg/m3"
    result = evaluate(document)
    assert the_check(result, "throw.slowing", "passes.dots").missing == "printer.drop_volume"
    # They stop after 1.66 mm; the ground is thrown over 1.5 mm, the dots over 2.49 mm.
    assert the_check(result, "throw.satellite", "passes.ground").outcome is Outcome.MET
    far = the_check(result, "throw.satellite", "passes.dots")
    assert (far.outcome, far.level) == (Outcome.BROKEN, Level.NOTE)
    document["printer"] |= {"drop_volume": "7 pL", "drop_speed": "4 m/s"}
    assert the_check(evaluate(document), "throw.slowing", "passes.ground").measured.high == approx(
        1.195, abs=2e-3
    )


def test_an_assumed_thickness_enters_the_heights():
    document = sign_job()
    document["media"][0]["sheet_type"] = "cast-acrylic"
    result = evaluate(document)
    assumed = the_check(result, "thickness.assumed", "media.panel")
    assert (assumed.measured.low, assumed.measured.high, assumed.level) == (
        approx(2.3),
        approx(3.7),
        Level.NOTE,
    )
    assert "ISO 7823-1" in str(assumed.source)
    before = result.timeline.printings[0].surface_before
    assert (before.low, before.high) == approx((2.3, 3.7))
    document["media"][0]["thickness"] = "2.95 .. 3.1 mm"
    assert checks_of(evaluate(document), "thickness.assumed", "media.panel") == []


def on_a_moving_bed(acceleration="2 m/s2", **media):
    document = sign_job()
    document["printer"]["moving_bed"] = (
        {} if acceleration is None else {"acceleration": acceleration}
    )
    document["media"][0] |= {"size": [600, 400], "at": [0, 0], **media}
    return checks_of(evaluate(document), "hold.slip", "media.panel")


HELD = {"material": "acrylic", "friction": 0.3, "vacuum_pressure": "5 kPa", "vacuum_share": 0.1}


def test_what_a_moving_bed_asks_of_a_sheet():
    (held,) = on_a_moving_bed(**HELD)
    # 0.3 x (120 N + 0.857 kg x g) / 0.857 kg, to three digits.
    assert held.measured.low == approx(45.0, rel=1e-3)
    assert held.outcome is Outcome.MET
    (loose,) = on_a_moving_bed("3 m/s2", **HELD, hold="none")
    assert (loose.outcome, loose.level) == (Outcome.BROKEN, Level.REVIEW)
    assert loose.measured.high == approx(2.94, rel=1e-3)
    (enough,) = on_a_moving_bed("2.9 m/s2", **HELD, hold="none")
    assert (enough.outcome, enough.limit) == (Outcome.MET, (2.9, None))
    (hardly,) = on_a_moving_bed("2.96 m/s2", **HELD, hold="none")
    assert hardly.outcome is Outcome.BROKEN
    assert on_a_moving_bed(**HELD, hold="pins") == []
    assert checks_of(evaluate(sign_job()), "hold.slip", "media.panel") == []


@pytest.mark.parametrize(
    ("field", "path"),
    [
        ("friction", "media.panel.friction"),
        ("vacuum_pressure", "media.panel.vacuum_pressure"),
        ("vacuum_share", "media.panel.vacuum_share"),
        ("material", "media.panel.material"),
    ],
)
def test_what_a_sheet_does_not_say_of_its_hold_is_named(field, path):
    (found,) = on_a_moving_bed(**{key: value for key, value in HELD.items() if key != field})
    assert found.missing == path


def test_the_acceleration_of_the_bed_is_named():
    (found,) = on_a_moving_bed(None, **HELD)
    assert found.missing == "printer.moving_bed.acceleration"


def test_a_dot_higher_than_half_its_base_is_no_plain_dome():
    assert the_check(evaluate(sign_job()), "braille.dome", "signs.room").outcome is Outcome.MET
    document = sign_job()
    document["inks"][1]["layer"] = "29 um .. 31 um"
    pass_of(document, "dots")["layers"] = 26
    doubtful = the_check(evaluate(document), "braille.dome", "signs.room")
    assert (doubtful.outcome, doubtful.level) == (Outcome.DOUBTFUL, Level.NOTE)
    document["inks"][1]["layer"] = "30 um"
    predicted = the_check(evaluate(document), "braille.dome", "signs.room")
    # 26 x 30 um (the colour lies on the face beside them too) against half of 1.55 mm.
    assert (predicted.outcome, predicted.level) == (Outcome.BROKEN, Level.REVIEW)
    assert predicted.margin == approx(0.775 - 0.78)
    document["signs"][0]["measured"] = {"dot_height": [0.775, 0.78]}
    first, second = checks_of(evaluate(document), "braille.dome", "signs.room")
    assert [first.outcome, second.outcome] == [Outcome.MET, Outcome.BROKEN]
    assert second.level is Level.NOTE
    del document["signs"][0]["braille"]["dot_diameter"]
    assert (
        the_check(evaluate(document), "braille.dome", "signs.room").missing
        == "signs.room.braille.dot_diameter"
    )


def test_the_whole_tolerance_of_a_base_counts_for_its_dome():
    # Dots of 0.72 mm; half of 1.4, 1.5 and 1.6 mm is 0.7, 0.75 and 0.8 mm.
    document = sign_job()
    for base, margin, outcome, level in [
        ("1.5 mm +- 0.1 mm", 0.7 - 0.72, Outcome.DOUBTFUL, Level.NOTE),
        ("1.5 mm +- 0.05 mm", 0.725 - 0.72, Outcome.MET, Level.NOTE),
        ("1.4 mm +- 0.02 mm", 0.69 - 0.72, Outcome.BROKEN, Level.REVIEW),
    ]:
        document["signs"][0]["braille"]["dot_diameter"] = base
        dome = the_check(evaluate(document), "braille.dome", "signs.room")
        assert (dome.outcome, dome.level) == (outcome, level)
        assert dome.margin == approx(margin)


def test_a_dome_of_which_a_number_is_not_stated_is_told_and_one_that_is_not_there_is_not():
    document = sign_job(standards=[])  # Without a standard no other rule asks for the numbers.
    del pass_of(document, "dots")["builds"]
    assert (
        the_check(evaluate(document), "braille.dome", "signs.room").missing
        == "signs.room.braille.dot_height"
    )
    document["signs"][0]["braille"]["dot_height"] = "0.7 mm"
    assert the_check(evaluate(document), "braille.dome", "signs.room").outcome is Outcome.MET
    del document["signs"][0]["braille"]["dot_diameter"]
    assert (
        the_check(evaluate(document), "braille.dome", "signs.room").missing
        == "signs.room.braille.dot_diameter"
    )
    del document["signs"][0]["braille"]["dot_height"]
    assert document["signs"][0]["braille"]
    assert checks_of(evaluate(document), "braille.dome", "signs.room") == []
    del document["signs"][0]["braille"]
    assert checks_of(evaluate(document), "braille.dome", "signs.room") == []
    pass_of(document, "dots")["builds"] = "room.braille"
    assert (
        the_check(evaluate(document), "braille.dome", "signs.room").missing
        == "signs.room.braille.dot_diameter"
    )


def put_back_unstated(kelvins, **media):
    """The warm sheet, put back in between by pins of which the printer says nothing."""
    document = warm_sheet(kelvins, **media)
    document["handling"] = [
        {"id": "look", "does": "reload", "locates_by": "pins", "after": ["ground"]}
    ]
    pass_of(document, "colour")["after"] = ["look"]
    document["printer"]["locating"] = {}
    return document


@pytest.mark.parametrize("kelvins", [0, 0.5])
def test_growth_that_is_added_to_an_error_that_is_not_stated_is_unknown(kelvins):
    document = put_back_unstated(kelvins)
    at = "passes.colour"
    result = evaluate(document)
    document["printer"]["locating"] = {"pins": "0.1 mm"}
    stated = evaluate(document)
    assert the_check(result, "registration.total", at).missing == "printer.locating.pins"
    assert the_check(result, "registration.budget", at).missing == "printer.locating.pins"
    if kelvins:
        assert the_check(stated, "registration.growth", at).measured.nominal == approx(0.1 + 0.021)
        assert the_check(result, "registration.growth", at).missing == "printer.locating.pins"
    else:
        assert (
            checks_of(stated, "registration.growth", at)
            == checks_of(result, "registration.growth", at)
            == []
        )


@pytest.mark.parametrize(
    ("kelvins", "outcome"), [(10, Outcome.BROKEN), (2, Outcome.DOUBTFUL), (1, Outcome.UNASSESSED)]
)
def test_growth_may_be_too_much_without_the_locating_error_that_is_not_stated(kelvins, outcome):
    # 600 mm x 34 to 162 millionths, where 0.15 mm is allowed: at 10 K from 0.204 mm on, at 2 K up
    # to 0.194 mm.
    result = evaluate(put_back_unstated(kelvins))
    growth = the_check(result, "registration.growth", "passes.colour")
    assert growth.outcome is outcome
    assert ("as far as they are stated" in growth.message) is (outcome is not Outcome.UNASSESSED)
    assert result.order_is_safe is (outcome is Outcome.UNASSESSED)


def test_all_that_is_known_may_be_too_much_without_the_rest():
    document = put_back_unstated(10, expansion="100 ppm/K")
    total = the_check(evaluate(document), "registration.total", "passes.colour")
    # 600 mm x 10 K x 100 millionths, and 2 x 800 x 0.01 / 6000 mm of landing.
    assert total.outcome is Outcome.BROKEN
    assert total.measured.high == approx(0.6 + 16 / 6000)
    assert "as far as they are known" in total.message
    # Nothing is said of landing: pins alone are too much.
    document = put_back_unstated(10)
    del document["media"][0]["material"], document["printer"]["landing_tolerance"]
    document["printer"]["locating"] = {"pins": "0.1 mm"}
    assert (
        the_check(evaluate(document), "registration.total", "passes.colour").missing
        == "media.panel.material"
    )
    document["registration_tolerance"] = "0.05 mm"
    total = the_check(evaluate(document), "registration.total", "passes.colour")
    assert (total.measured.low, total.outcome) == (approx(0.1), Outcome.BROKEN)
    assert "locating 0.1, growth not known, landing not known and not known mm" in total.message


def two_sheets(here=30, there=26):
    """Colour on one sheet that must lie true to the ground on the other one beside it, in a room of
    22 C.
    """
    document = sign_job(standards=[], signs=[], temperature=22, registration_tolerance="1 mm")
    plain = {"size": [250, 50], "hold": "vacuum", "thickness": 3}
    document["media"] = [
        {"id": "left", "at": [0, 0], "located_at": [0, 0], "expansion": "20 ppm/K", **plain},
        {"id": "right", "at": [300, 0], "located_at": [250, 0], "expansion": "100 ppm/K", **plain},
    ]
    document["passes"] = [
        {
            "id": "ground",
            "ink": "black",
            "media": "right",
            "areas": [[50, 0, 100, 50]],
            "sheet_temperature": there,
        },
        {
            "id": "colour",
            "ink": "black",
            "media": "left",
            "areas": [[100, 0, 100, 50]],
            "sheet_temperature": here,
            "registers_to": ["ground"],
            "after": ["ground"],
        },
    ]
    return document


def test_two_sheets_grow_each_by_itself():
    document = two_sheets()
    growth = the_check(evaluate(document), "registration.growth", "passes.colour")
    # 200 mm x 8 K x 20 millionths on the one, 250 - 50 mm x 4 K x 100 millionths on the other.
    assert growth.measured.high == approx(0.032 + 0.08)
    document["registration_tolerance"] = "0.06 mm"
    growth = the_check(evaluate(document), "registration.growth", "passes.colour")
    # 200 mm x 120 millionths grow by 0.06 mm in 2.5 K.
    assert (
        "while left and right differ by at most 2.50 K from the temperature of the room"
        in growth.message
    )
    within = evaluate(two_sheets(24.49, 24.49) | {"registration_tolerance": "0.06 mm"})
    assert the_check(within, "registration.growth", "passes.colour").outcome is Outcome.MET


def test_of_two_sheets_the_one_that_stays_cool_needs_no_coefficient():
    document = two_sheets(there=22)
    del document["media"][1]["expansion"]
    assert the_check(
        evaluate(document), "registration.growth", "passes.colour"
    ).measured.high == approx(0.032)
    document["passes"][0]["sheet_temperature"] = 23
    assert (
        the_check(evaluate(document), "registration.growth", "passes.colour").missing
        == "media.right.material"
    )


def test_minutes_and_ink_of_a_plan():
    document = sign_job()
    quantities = evaluate(document).quantities
    assert "printing_minutes" not in quantities
    # 200 x 200 mm of 10 um, and 60 x 8 mm of 10 um; 60 x 8 mm at 0.3 of 0.72 mm.
    assert quantities["ink_ml.black"] == approx((200 * 200 + 60 * 8) * 0.010 / 1000)
    assert quantities["ink_ml.clear"] == approx(60 * 8 * 0.72 * 0.3 / 1000)
    document["printer"] |= {
        "swath": 25.4,
        "swath_passes": 4,
        "carriage_acceleration": "10 m/s2",
        "overrun": 50,
    }
    quantities = evaluate(document).quantities
    # Ground: ceil(200 / 6.35) + 3 = 35 strokes of 300 / 800 + 0.08 s; dots 24 layers of 5 strokes
    # of 160 / 800 + 0.08.
    ground, dots, colour = 35 * 0.455 / 60, 24 * 5 * 0.28 / 60, 5 * 0.28 / 60
    assert quantities["printing_minutes.ground"] == approx(ground)
    assert quantities["printing_minutes"] == approx(ground + dots + colour)


@settings(max_examples=effort(60))
@given(jobs(physics=True, max_passes=5, sides=("front", "back")))
def test_whatever_a_job_says_no_rule_fails(job):
    result = signrules.evaluate(job)
    assert not result.faults
    assert not any(
        c.level is Level.STOP
        for c in result.unassessed
        if c.rule.startswith(("throw.", "alignment."))
    )


@pytest.mark.thorough
@settings(max_examples=effort(60))
@given(jobs(physics=True, max_passes=4))
def test_plans_with_drag_and_stale_alignments_pass_the_audit(job):
    result = signrules.evaluate(job)
    if result.found_plan is not None:
        assert signrules.audit(job, result.found_plan) == []


def test_a_base_that_may_be_none_is_no_measure_of_a_dome():
    document = sign_job()
    document["signs"][0]["braille"]["dot_diameter"] = "0.5 mm +- 0.5 mm"
    assert checks_of(evaluate(document), "braille.dome", "signs.room") == []
    document["signs"][0]["braille"]["dot_diameter"] = "0.5 mm +- 0.4 mm"
    assert the_check(evaluate(document), "braille.dome", "signs.room").outcome is Outcome.BROKEN


def test_a_sheet_that_nothing_holds_is_to_be_held():
    document = sign_job()
    document["media"][0]["hold"] = "none"
    frame = the_check(evaluate(document), "registration.frame", "passes.dots")
    assert frame.message.endswith(
        "nothing holds panel. Hold the sheet by vacuum, tape, tack or pins."
    )
    document["media"][0]["hold"] = "vacuum"
    document["handling"] = [{"id": "look", "does": "reload", "after": ["ground"]}]
    pass_of(document, "dots")["after"] = ["look"]
    frame = the_check(evaluate(document), "registration.frame", "passes.dots")
    assert frame.message.endswith(
        "look moves the sheet. Print both while the sheet stays on the bed, or locate the sheet"
        " after each move."
    )


@pytest.mark.parametrize(("base", "said"), [("1.5 mm", False), ("1.5 .. 1.6 mm", True)])
def test_a_base_that_may_be_wider_is_spoken_of_where_it_may(base, said):
    document = sign_job()
    document["signs"][0]["braille"]["dot_diameter"] = base
    dome = the_check(evaluate(document), "braille.dome", "signs.room")
    assert ("less half of what the base may be wider than 1.5 mm" in dome.message) is said


def test_areas_are_cut_with_each_other_only_where_a_sheet_is_warm(monkeypatch):
    """Very many areas on each of two passes would be very many pairs."""
    calls = []
    cut = between_passes.common_areas
    monkeypatch.setattr(
        between_passes, "common_areas", lambda *areas: calls.append(areas) or cut(*areas)
    )
    assert evaluate(warm_sheet(by=0)).complete
    assert calls == []
    assert evaluate(warm_sheet(by=10)).complete
    assert calls
