"""Gaps for an order that is given: how planes are kept, and that no other gaps are better."""

from __future__ import annotations

from itertools import product

import pytest
from attrs import evolve
from benchmarks.cases import rows_of_signs
from drawn_beds import every_open_gap
from effort import effort
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.model import Gap, Interval, Spacers
from signrules.model.quantities import GUARD_MM
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, clears_head
from signrules.physics.replaying import KEEP, replay_items
from signrules.planning.gaps import cheapest
from signrules.planning.gaps.cheapest import (
    NARROW,
    WAYS_A_STATE,
    CheapestGaps,
    cheapest_gaps,
    run_ends,
)
from signrules.planning.gaps.gap_candidates import OpenGaps
from signrules.planning.gaps.order_walk import Places
from signrules.planning.setup_cost import Costs


def machine_of(document):
    return Machine(Heights(signrules.job_from_dict(document)))


def opened(document):
    """The sign with all its gaps left open."""
    for item in document["passes"]:
        item["gap"] = "auto"
    pass_of(document, "dots").pop("builds")
    return document


def with_reach(job, most):
    return evolve(job, printer=evolve(job.printer, max_throw=most))


def rank_of(machine, order, choices):
    """How many passes of an order strike or throw too far, and what the set-up of it weighs."""
    timeline = replay_items(machine, order, choices)
    _, weight = Costs.of(machine.job.printer.minutes).of_timeline(timeline)
    unsafe = sum(is_unsafe(machine, at, printing) for at, printing in timeline.printings.items())
    return unsafe, weight - Costs.of(machine.job.printer.minutes).weight(timeline.loads, 0, 0)


def is_unsafe(machine, at, printing):
    """Whether a pass comes too near, or throws too far from a gap that is left open."""
    printer = machine.job.printer
    if not clears_head(printing.clearance.low, printer.min_clearance):
        return True
    if machine.job.passes[at].gap is not None or printer.max_throw is None:
        return False
    return printing.throw.to_lowest.high > printer.max_throw + GUARD_MM


@pytest.mark.thorough
@settings(max_examples=effort(60))
@given(jobs(max_passes=4, signs=False), st.randoms(use_true_random=False))
def test_no_other_gaps_of_an_order_are_better(job, chance):
    """Every gap that the printer can set, and every plane kept, for every pass that leaves its gap
    open.

    Of an order that no gaps make safe only the number of unsafe steps is held: there the most room
    is given.
    """
    job = evolve(job, printer=evolve(job.printer, gap=Spacers((0.4, 1.2))))
    opened = [at for at, item in enumerate(job.passes) if item.gap is None]
    assume(opened)
    machine = Machine(Heights(job))
    order = list(range(len(machine.items)))
    chance.shuffle(order)
    order = machine.sorted_by([(place,) for place in order])
    found = rank_of(machine, order, cheapest_gaps(machine, order))
    ways = product((KEEP, *every_open_gap(job.printer)), repeat=len(opened))
    best = min(rank_of(machine, order, dict(zip(opened, way, strict=True))) for way in ways)
    assert found[0] == best[0]
    if best[0] == 0:
        assert found == pytest.approx(best)


def test_a_plane_is_kept_for_a_stated_gap_at_its_height():
    """Of the gaps that do for the first pass, the one that the second states is taken, and set
    once.
    """
    document = opened(sign_job(standards=[], signs=[]))
    job = signrules.job_from_dict(document)
    for extra in job.printer.gap.extras():
        second = evolve(job.passes[1], gap=Gap(Interval.exact(extra)), layers=1)
        machine = Machine(Heights(evolve(job, passes=(job.passes[0], second, *job.passes[2:]))))
        choices = cheapest_gaps(machine, (0, 1))
        assert choices[0].extra.nominal == extra
        assert replay_items(machine, (0, 1), choices).gap_settings == 1


def test_where_nothing_is_open_nothing_is_searched(monkeypatch):
    monkeypatch.setattr(cheapest, "Places", None)
    machine = Machine(Heights(rows_of_signs(40, 4, 1)))
    assert cheapest_gaps(machine, machine.declared_order()) == {}


def test_no_more_ways_through_a_long_order_are_followed_than_are_allowed():
    """Also through one that is given: a search would take as long as the square of its length."""
    machine = Machine(Heights(with_reach(rows_of_signs(80, 6, 2, auto=True), 2.2)))
    order = machine.declared_order()
    ranks = []
    for ways in (0, 50, 4_000):
        gaps = CheapestGaps(machine)
        ranks.append(rank_of(machine, order, gaps.of_order(order, ways)))
        # Twice through the order: a few ways at each step, with each gap or the plane kept, or as
        # many as allowed.
        few = 80 * NARROW * (1 + len(every_open_gap(machine.job.printer)))
        assert 80 <= gaps.states * WAYS_A_STATE <= 2 * (few + ways)
    assert ranks == sorted(ranks, reverse=True)


def test_an_open_gap_that_nothing_makes_safe_leaves_the_most_clearance():
    """A thick layer under a head that cannot be raised enough: 2 mm of ink, 1.5 mm base gap, no
    extra.
    """
    document = opened(sign_job(standards=[], signs=[]))
    document["printer"]["gap"] = {"control": "spacers", "spacers": [0.25]}
    pass_of(document, "dots")["layers"] = 200
    machine = machine_of(document)
    order = (1,)
    choices = cheapest_gaps(machine, order)
    left = {
        gap: replay_items(machine, order, {1: gap}).printings[1].clearance.low
        for gap in every_open_gap(machine.job.printer)
    }
    assert replay_items(machine, order, choices).printings[1].clearance.low == max(left.values())
    assert max(left.values()) < machine.job.printer.min_clearance


# --- what an order asks for at the least ----------------------------------------------------------

whole = st.integers(0, 9)
reaches = st.tuples(whole, whole).map(lambda pair: (float(min(pair)), float(max(pair))))


@given(st.lists(reaches, max_size=8))
@example([(1.0, 9.0), (5.0, 9.0), (1.0, 3.0)])
@example([(1.0, 9.0), (1.0, 5.0), (7.0, 9.0)])
@example([(5.0, 9.0), (1.0, 9.0), (1.0, 3.0)])
def test_a_run_of_reaches_ends_before_the_first_without_a_height_in_common(some):
    """Every whole height is tried: all ends are whole, so that any that is shared is among them."""

    def serves(height, start, end):
        return all(low <= height <= high for low, high in some[start:end])

    for start, end in enumerate(run_ends(some)):
        assert any(serves(height, start, end) for height in range(10))
        assert end == len(some) or not any(serves(height, start, end + 1) for height in range(10))


def test_every_alignment_that_serves_a_pass_lies_where_the_pass_says():
    """Stated at the plain gap: 0.06 mm * 6000 / (2 * 800) = 0.225 mm to either side of it. Left
    open, at whatever gap the printer can set.
    """
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": "plain", "ink": "black", "areas": [[0, 0, 9, 9]], "gap": {"extra": 0}},
        {"id": "open", "ink": "black", "areas": [[50, 0, 9, 9]], "gap": "auto"},
        {
            "id": "one-way",
            "ink": "black",
            "areas": [[90, 0, 9, 9]],
            "gap": {"extra": 0},
            "directions": 1,
        },
    ]
    machine = machine_of(document)
    plain, left_open, one_way = Places(machine, (0, 1, 2), OpenGaps(machine, thorough=True)).places
    assert one_way.serves is None
    assert plain.serves == pytest.approx((-0.225, 0.225))
    assert len(left_open.anew) > 1
    for option in left_open.anew:
        assert left_open.serves[0] <= option.window.low < option.window.high
        assert option.window.high <= left_open.serves[1]


def test_a_gap_over_the_build_up_may_be_kept_from_the_passes_just_before_that_state_it():
    """Set 1.5 + 0.5 mm over 3 mm and what stands: nothing, then 0.01 mm, and 0.03 mm after two
    passes more. Another gap stands between the third pass of it and the first two.
    """
    document = sign_job(standards=[], signs=[])
    names = {"first": 0.5, "second": 0.5, "between": 1, "last": 0.5}
    document["passes"] = [
        {"id": name, "ink": "black", "gap": {"extra": extra, "above": "build-up"}}
        for name, extra in names.items()
    ]
    machine = machine_of(document)
    places = Places(machine, range(4), OpenGaps(machine, thorough=True)).places
    expected = [(5, 5), (5, 5.01), (5.52, 5.52), (5.03, 5.03)]
    assert [place.heights for place in places] == [pytest.approx(pair) for pair in expected]
