"""How many layers are added: the function, and the dots of the sample job against `evaluate`."""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st

from signrules import Interval, evaluate, job_from_dict, more_layers, next_steps, sample_job
from signrules.continuing.added_layers import added_layers
from signrules.continuing.fixed_order import done_first
from signrules.continuing.measured_now import with_measured
from signrules.continuing.more_layers import ranges_for_layers
from signrules.rules.checks import Outcome

DONE = ("ground", "look", "dots")
LAYERS = 22
"""Of the dots in the sample job."""

# Heights of dots: 2010 ADA Standards, Table 703.3.1 (0.025 to 0.037 in).
LEAST, MOST = 0.635, 0.9398


@pytest.mark.parametrize(
    ("low", "high", "count"),
    [
        (0.635, 0.9398, 0),
        (0.60, 0.62, 2),  # 0.60 + 0.02 and 0.62 + 0.02 mm: 0.62 is too low, 0.64 is not.
        (0.634, 0.9398, None),
        (0.7, 0.94, None),
        (0.5, 0.9, None),
    ],
)
def test_by_hand(low, high, count):
    assert more_layers(low, high, LEAST, MOST, Interval.exact(0.02)) == count


def test_a_range_without_an_end_and_what_is_no_dot():
    assert more_layers(0.5, 9.0, 0.6, math.inf, Interval.exact(0.1)) == 1
    assert more_layers(0.5, 0.6, -math.inf, 0.6, Interval.exact(0.1)) == 0
    assert more_layers(0.5, 0.6, math.inf, math.inf, Interval.exact(0.1)) is None
    with pytest.raises(ValueError, match="lowest dot first"):
        more_layers(0.6, 0.5, LEAST, MOST, Interval.exact(0.1))
    with pytest.raises(ValueError, match="above 0"):
        more_layers(0.5, 0.6, LEAST, MOST, Interval.exact(0.0))


@given(
    st.lists(st.integers(300, 1100), min_size=2, max_size=2),
    st.lists(st.integers(5, 120), min_size=2, max_size=2),
)
def test_as_a_loop_over_all_numbers(heights, layers):
    low, high = sorted(height / 1000 for height in heights)
    thin, thick = sorted(layer / 1000 for layer in layers)
    # In whole micrometres, so that the loop knows no rounding; 635 and 939.8 as above.
    micro = [
        count
        for count in range(200)
        if min(heights) + count * min(layers) >= 635 and max(heights) + count * max(layers) <= 939
    ]
    found = more_layers(low, high, LEAST, MOST, Interval.between(thin, thick))
    assert found == min(micro, default=None)


@pytest.mark.thorough
@settings(max_examples=effort(60), deadline=None)
@given(st.lists(st.integers(480, 660), min_size=1, max_size=4))
def test_the_answer_is_the_first_number_with_which_the_job_is_in_order(heights):
    """A loop over the layers, each judged by `evaluate` as a pass on the dots as measured."""
    job = job_from_dict(sample_job())
    measured = {"room-214": [height / 1000 for height in heights]}
    found = next_steps(job, DONE, measured=measured)
    (answer,) = found.dots
    standing = done_first(with_measured(job, DONE, measured), DONE)
    in_order = []
    if dots_outcome(evaluate(standing)) is Outcome.MET:
        in_order.append(0)
    for count in range(1, 15):
        added = added_layers(standing, DONE, "room-214", count, evaluate)
        if dots_outcome(added.result) is Outcome.MET:
            in_order.append(count)
    assert answer.add == min(in_order, default=None)
    if answer.says == "more layers":
        assert found.can_go_on
        assert answer.added.item.id in found.remaining.order


def dots_outcome(result):
    (check,) = [check for check in result.checks if check.rule == "braille.dot-height"]
    return check.outcome


def test_the_measured_heights_count_for_clearance():
    job = job_from_dict(sample_job())
    nominal = next_steps(job, DONE).standing[0].height
    measured = next_steps(job, DONE, measured={"room-214": [0.9, 0.92]})
    # 10 um of ink on the ground below the dots.
    assert nominal.high == pytest.approx(0.01 + LAYERS * 0.034)
    assert measured.standing[0].height.low == pytest.approx(0.91)
    assert measured.standing[0].height.high == pytest.approx(0.93)


def test_dots_too_high_for_the_gap_of_the_letters():
    job = job_from_dict(sample_job())
    found = next_steps(job, DONE, measured={"room-214": [1.45]})
    assert found.scrapped == ("room-214",)
    # Letters are printed with the head 2.05 mm above the sheet, which may stand 0.2 mm off the bed;
    # 10 um of ground and 1.45 mm of dots leave 0.39 mm, and 0.5 mm are needed.
    assert not found.can_go_on
    assert found.lost.names == ("letters",)
    assert "These orders are lost: letters" in str(found)
    document = sample_job()
    document["passes"][2]["gap"]["extra"] = "2.1 mm"
    found = next_steps(job_from_dict(document), DONE, measured={"room-214": [1.45]})
    assert found.can_go_on


def test_layers_that_would_do_and_do_not_clear_are_scrap():
    document = sample_job()
    document["printer"] |= {"gap": {"control": "spacers", "spacers": ["0.3 mm"]}}
    document["printer"]["max_throw"] = "1.2 mm"
    document["passes"] = document["passes"][:2]
    document["passes"][1]["gap"]["extra"] = "0.3 mm"
    job = job_from_dict(document)
    found = next_steps(job, DONE, measured={"room-214": [0.3, 0.31]})
    (answer,) = found.dots
    assert answer.says == "scrap"
    assert answer.why_not
    assert "cannot be printed" in str(answer)


def test_dots_that_are_covered_and_the_line_for_the_shop_file(tmp_path):
    from signrules import read_shop

    job = job_from_dict(sample_job())
    done = (*DONE, "ink-on-dots")
    found = next_steps(job, done, measured={"room-214": [0.60, 0.62]})
    (answer,) = found.dots
    assert answer.added.covers == ("ink-on-dots",)
    assert "They cover ink-on-dots" in str(found)
    path = tmp_path / "signrules.toml"
    path.write_text(f"signrules = 1\n{answer.line}\nrole = 'clear'\n", encoding="utf-8")
    stock = read_shop(path).stock
    assert stock.origins["inks.clear.layer"].kind == "measured"
    low, high = 0.60 / LAYERS * 1000, 0.62 / LAYERS * 1000
    middle, half = (float(part.split()[0]) for part in stock.inks["clear"]["layer"].split(" +- "))
    assert middle - half <= low < high <= middle + half


def test_no_table_no_limits():
    job = evolve(job_from_dict(sample_job()), standards=())
    (answer,) = next_steps(job, DONE, measured={"room-214": [0.2]}).dots
    assert answer.says == "no limit"
    assert "no table of the job limits them" in str(answer)


@given(
    st.lists(st.integers(300, 1100), min_size=2, max_size=2).map(sorted),
    st.integers(5, 40),
)
def test_the_ranges_of_a_page_say_the_same(heights, layers):
    """A page looks dots up in rows; whole micrometres against limits that are none, so that no
    height lies on the edge of a row.
    """
    least, most = 0.635_137, 0.939_873
    low, high = (height / 1000 for height in heights)
    rows = ranges_for_layers(least, most, layers)
    fits = (count for lowest, highest, count in rows if low >= lowest and high <= highest)
    layer = Interval(low / layers, low / layers, high / layers)
    count = more_layers(low, high, least, most, layer)
    looked_up = 0 if low >= least and high <= most else next(fits, None)
    # Dots above the range are scrap, and a page has no more rows than the dots have layers.
    if high > most or (count or 0) > layers:
        looked_up = count
    assert looked_up == count
