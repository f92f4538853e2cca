"""Two-way landing at the last layer of a pass: worked by hand, by integrated flights, and by trying
every place.

The jobs are invented.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from physics.test_flight import flown
from scenario import pass_of, sign_job

import signrules
from signrules import Interval, Level, Outcome
from signrules.model.wording import number_text
from signrules.physics.landing import (
    Window,
    alignment_window,
    best_alignment,
    fewest_alignments,
    landing_error,
)

CLINIC = "docs/examples/clinic.toml"


def evaluate(document):
    return signrules.evaluate(signrules.job_from_dict(document))


def clinic(**changes):
    return signrules.job_to_dict(signrules.read_job(CLINIC)) | changes


def through(result, name="dots"):
    checks = [
        c
        for c in result.checks
        if c.rule == "alignment.through" and c.subjects[0] == f"passes.{name}"
    ]
    assert len(checks) <= 1
    return checks[0] if checks else None


def test_the_first_layer_lands_where_the_last_one_does_not():
    """24 layers of 0.033 mm +- 0.001 mm, the head 2.04 mm over the flat colour, aligned for 1.929
    mm.

    2 x 800 / 6000 x 0.111 mm at the first layer. The last lands on 23 others, which are 0.759 mm:
    0.648 mm short.
    """
    result = evaluate(clinic(alignments=[{"extra": 0}, {"extra": 1.179}]))
    check = through(result)
    assert check.measured.nominal == pytest.approx(2 * 800 / 6000 * (0.759 - 0.111))
    assert check.measured.low == pytest.approx(2 * 800 / 6000 * (23 * 0.032 - 0.111))
    assert check.measured.high == pytest.approx(2 * 800 / 6000 * (23 * 0.034 - 0.111))
    assert (check.outcome, check.level) == (Outcome.BROKEN, Level.REVIEW)
    assert "at the last of 24 layers (0.03 mm at the first)" in check.message
    assert "is 0.167 to 0.179 mm" in check.message
    assert result.ok


def test_what_two_passes_would_gain_is_what_half_of_it_gains():
    check = through(evaluate(clinic()))
    document = clinic(alignments=[])
    pass_of(document, "dots")["layers"] = 12
    document["passes"] = [pass_of(document, "ground"), pass_of(document, "dots")]
    half = evaluate(document)
    alone = max(through(half).measured.high, half.timeline.landing_errors[1])
    assert "Printed one-way it has none." in check.message
    told = (
        "of 12 layers each, each with its own gap and alignment, it is at most"
        f" {number_text(alone)} mm."
    )
    assert told in check.message


def test_parts_that_are_not_even_and_not_enough():
    document = clinic()
    document["printer"]["landing_tolerance"] = 0.03
    pass_of(document, "dots")["layers"] = 25
    assert "Split into two passes of 13 and 12 layers, each" in through(evaluate(document)).message
    assert ", still too much." in through(evaluate(document)).message


def test_one_way_is_a_remedy_and_has_no_error():
    result = evaluate(clinic())
    remedy = through(result).remedies[0]
    assert remedy.summary == "Print dots one-way, which takes longer."
    assert remedy.patch[-1] == {"op": "add", "path": "/passes/1/directions", "value": 1}
    after = signrules.evaluate(signrules.apply_remedy(result.job, remedy))
    check = through(after)
    assert (check.outcome, check.measured) == (Outcome.MET, Interval.exact(0.0))
    assert "two-way" not in check.message


def test_one_layer_has_no_other():
    assert through(evaluate(clinic()), "ground") is None
    assert through(evaluate(clinic()), "ink-on-dots") is None


def test_without_a_tolerance_it_is_not_assessed():
    document = clinic()
    del document["printer"]["landing_tolerance"], document["printer"]["resolution"]
    check = through(evaluate(document))
    assert (check.outcome, check.missing) == (Outcome.UNASSESSED, "printer.landing_tolerance")
    pass_of(document, "dots")["directions"] = 1
    assert through(evaluate(document)).outcome is Outcome.MET


def test_on_the_highest_surface_too():
    """Dots over dots of 0.72 mm, crisp on their tops: the last of 10 layers lands 9 x 0.03 mm
    nearer to the head.
    """
    document = sign_job(standards=[], alignments=[{"extra": 0.2}])
    again = {"id": "again", "ink": "clear", "layers": 10, "crisp_on": "highest", "over": ["dots"]}
    again |= {"areas": [[40, 20, 60, 18]], "gap": {"extra": 1}}
    document["passes"] = [pass_of(document, "dots"), again]
    document["printer"]["landing_tolerance"] = "0.1 mm"
    check = through(evaluate(document), "again")
    # The throw less base gap is 1 - 0.72 = 0.28 mm at the first layer and 0.01 mm at the last.
    assert check.measured.nominal == pytest.approx(2 * 800 / 6000 * (0.2 - 0.01))


def test_a_gap_from_ink_of_the_same_kind_knows_how_thick_it_is():
    """Set from 24 layers, landing on 24 layers and at last on 9 more: 24 of them cancel, whatever a
    layer is.
    """
    document = sign_job(standards=[], alignments=[{"extra": 0}])
    document["inks"][1]["layer"] = "25 .. 35 um"
    again = {"id": "again", "ink": "clear", "layers": 10, "crisp_on": "highest", "over": ["dots"]}
    again |= {"areas": [[40, 30, 60, 8]], "gap": {"extra": 0.2, "above": "build-up"}}
    document["passes"] = [pass_of(document, "dots"), again]
    document["printer"]["gap"]["spacers"].append("0.2 mm")
    document["printer"]["landing_tolerance"] = "0.1 mm"
    measured = through(evaluate(document), "again").measured
    ends = sorted(abs(0.2 - 9 * layer) for layer in (0.025, 0.035))
    assert measured.low == pytest.approx(2 * 800 / 6000 * min(ends))
    assert measured.high == pytest.approx(2 * 800 / 6000 * max(ends))


@settings(max_examples=effort(15), deadline=None)
@given(st.integers(2, 40), st.floats(5, 40), st.floats(0, 1.5))
def test_the_last_layer_by_integrated_flights(layers, volume, aligned):
    """Drops in air that moves with the head, flown to the last layer and to the sheet of the
    alignment.
    """
    document = sign_job(standards=[], alignments=[{"extra": round(aligned, 3)}])
    document["printer"] |= {
        "drop_volume": f"{volume} pL",
        "drop_density": "1050 kg/m3",
        "landing_tolerance": "5 mm",
    }
    pass_of(document, "dots")["layers"] = layers
    document["passes"] = [pass_of(document, "dots")]
    check = through(evaluate(document))
    throws = (1.5 + round(aligned, 3), 2.5 - (layers - 1) * 0.03)
    far, near = (flown(volume, 1050, 6000, throw, 800, "head")[1] for throw in throws)
    assert check.measured.high == pytest.approx(2 * abs(far - near), rel=1e-5, abs=1e-7)
    # At rest the drag changes nothing: geometry.
    assert check.measured.low == pytest.approx(
        2 * 800 / 6000 * abs(throws[0] - throws[1]), abs=1e-9
    )


# --- where alignments are made ------------------------------------------------------------------

PRINTER = signrules.job_from_dict(sign_job()).printer
DRAG = evolve(PRINTER, drop_volume=7.0, drop_density=1050.0)
TOLERANCE = 0.06


@st.composite
def passes(draw):
    """Throws at the first layer, and by how much the layers shorten them, as extras over a bare
    sheet.
    """
    start = draw(st.integers(0, 150)) / 100
    spread = draw(st.sampled_from([0.0, 0.05, 0.2]))
    return Interval.between(start, start + spread), draw(st.sampled_from([0.0, 0.02, 0.3, 0.9]))


def shortened(first, by):
    return Interval(first.low - by, first.nominal - by, first.high - by)


@settings(max_examples=effort(60), deadline=None)
@given(st.lists(passes(), min_size=1, max_size=5), st.sampled_from([PRINTER, DRAG]))
def test_no_place_that_serves_all_lands_off_less(drawn, printer):
    """Every hundredth of a millimetre is tried, where one alignment serves all the passes."""
    windows = [alignment_window(printer, first, TOLERANCE) for first, _ in drawn]
    wanted = [
        (one, Interval.between(first.low - by, first.high))
        for one, (first, by) in zip(windows, drawn, strict=True)
    ]
    made = fewest_alignments(printer, wanted, [])
    assert all(any(one.holds(extra) for extra in made) for one in windows)
    if len(made) > 1:
        # No single place serves all of them: the windows do not have a point in common.
        assert max(one.low for one in windows) > min(one.high for one in windows)
        return

    def worst(extra):
        ends = [end for first, by in drawn for end in (first, shortened(first, by))]
        return max(landing_error(printer, end, extra).high for end in ends)

    low, high = max(one.low for one in windows), min(one.high for one in windows)
    steps = [low + (high - low) * step / 50 for step in range(51)]
    assert worst(made[0]) <= min(map(worst, steps)) + 1e-6


@pytest.mark.parametrize(
    ("low", "high", "extra"),
    [
        (0.5000004, 0.9, 0.500001),
        (0.1, 0.1999996, 0.199999),
        (0.1234561, 0.1234564, 0.123456),
        (0.2, 0.5, 0.3),
    ],
)
def test_an_extra_is_rounded_to_the_nanometre_and_not_out_of_its_window(low, high, extra):
    """The middle of the throws is 0.3 mm; where no whole nanometre lies in the window, the nearest
    is taken.
    """
    throws = Interval.between(0.2, 0.4)
    assert best_alignment(PRINTER, [throws], Window(low, high)) == extra


def test_the_clinic_is_aligned_where_its_worst_layer_is_off_least():
    """One alignment serves dots and the colour over them from 1.065 to 1.293 mm
    (docs/how-it-computes.md).

    The throws reach from 1.29 mm down to 1.29 - 23 x 0.034 = 0.508 mm, whose middle of 0.899 mm
    does not serve.
    """
    assert evaluate(clinic()).timeline.new_alignments == pytest.approx((1.065,))
    document = clinic()
    document["printer"]["landing_tolerance"] = 0.12
    # Now an alignment serves throws 0.45 mm away: from 0.84 mm on.
    assert evaluate(document).timeline.new_alignments == pytest.approx((0.899,))


def test_of_two_alignments_that_serve_a_pass_uses_the_one_for_all_its_layers():
    result = evaluate(clinic(alignments=[{"extra": 0}, {"extra": 1.29}, {"extra": 1.1}]))
    assert result.timeline.serving_alignment(result.timeline.printings[1]) == 1.1
    assert result.timeline.serving_alignment(result.timeline.printings[0]) == 0
    assert "aligned at an extra of 1.1 mm" in through(result).message
