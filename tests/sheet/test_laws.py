"""What holds for the page of any job."""

from __future__ import annotations

import pytest
from effort import effort
from hypothesis import given, settings
from sheet.pages import of_class, tree
from sheet.test_section import sections
from strategies import jobs

import signrules


@settings(max_examples=effort(25), deadline=None)
@given(jobs())
def test_boxes_to_tick_stand_on_pages_alone_whose_checks_pass(job):
    result = signrules.evaluate(job)
    page = signrules.run_sheet(result)
    root = tree(page)
    assert ("DO NOT PRINT" in page) == (not result.ok)
    assert bool(list(root.iter("input"))) == result.ok
    # To measure the dots is a part of the last step before the unloading: "7a" beside "7b".
    steps = [each for each in of_class(root, "no") if not (each.text or "").endswith("a")]
    shown = result.plan is not None and (result.order_is_safe or result.plan.judged)
    assert len(steps) == (len(result.plan.steps) if shown else 0)


@settings(max_examples=effort(25), deadline=None)
@given(jobs(sequence=True, sides=("front", "back")))
def test_what_is_drawn_is_what_was_reckoned(job):
    # A sequence that is judged is drawn, safe or not.
    result = signrules.evaluate(job)
    drawn = list(sections(result, signrules.run_sheet(result)))
    assert len(drawn) == len(job.passes)
    for printing, read in drawn:
        plane = printing.plane.height.nominal
        assert read.heights("head-plane") == pytest.approx((plane, plane), **read.near)
        surface = plane - printing.clearance.nominal
        assert read.heights("dimension", "clearance") == pytest.approx(
            (plane, surface), **read.near
        )
        highest = max(top for *_, top in [*read.boxes("ink"), *read.boxes("sheet")])
        assert highest == pytest.approx(surface, **read.near)
        if job.passes[printing.pass_index].side == printing.side_up:
            own = read.boxes("own")
            assert max(top for *_, top in own) == pytest.approx(
                printing.surface_after.nominal, **read.near
            )
            assert max(bottom for *_, bottom, _ in own) == pytest.approx(
                printing.surface_before.nominal, **read.near
            )
