"""Heights against a plain raster of the bed, on generated jobs: surfaces, bands, planes, clearance,
throw.
"""

from __future__ import annotations

import random

import pytest
from attrs import evolve
from benchmarks.cases import rows_of_signs
from hypothesis import given
from hypothesis import strategies as st
from reference import Raster
from strategies import gaps, jobs

from signrules.model.passes import Gap
from signrules.model.quantities import Interval
from signrules.physics.heights import Heights


@given(jobs(sides=("front", "back"), handling=False, signs=False), st.data())
def test_heights_equal_those_of_a_plain_raster(job, data):
    heights, raster = Heights(job), Raster(job)
    at = data.draw(st.integers(0, len(job.passes) - 1), label="pass")
    item = job.passes[at]
    printed = frozenset(
        data.draw(st.lists(st.integers(0, len(job.passes) - 1), unique=True), label="printed")
    ) - {at}
    names = {job.passes[i].id for i in printed}
    turned = {m.id for m in job.media if data.draw(st.booleans(), label=f"{m.id} turned")}
    gap = item.gap or data.draw(gaps(), label="gap")

    plane = heights.head_plane(at, gap, printed)
    expected_plane = raster.plane(item, gap, names)
    assert plane.height.nominal == pytest.approx(raster.nominal(expected_plane), abs=1e-9)

    clearance = heights.clearance(at, plane, printed | {at}, turned)
    expected = raster.clearance(item, expected_plane, names | {item.id}, turned)
    assert (clearance.low, clearance.high) == pytest.approx(expected, abs=1e-9)

    throw = heights.throw(at, plane, printed)
    to_highest, to_lowest = raster.throws(item, expected_plane, names)
    assert (throw.to_highest.low, throw.to_highest.high) == pytest.approx(to_highest, abs=1e-9)
    assert (throw.to_lowest.low, throw.to_lowest.high) == pytest.approx(to_lowest, abs=1e-9)


@given(jobs(handling=False, signs=False, references=("media", "bed")), st.data())
def test_the_bad_end_is_reached_by_a_real_combination_of_the_unknowns(job, data):
    """Each unknown has one value: the clearance at any such values lies within, and at the worst it
    is the low end.
    """
    heights, raster = Heights(job), Raster(job)
    at = data.draw(st.integers(0, len(job.passes) - 1), label="pass")
    gap = job.passes[at].gap or data.draw(gaps(("media", "bed")), label="gap")
    printed = frozenset(range(at + 1))
    names = {job.passes[i].id for i in printed}
    clearance = heights.clearance(at, heights.head_plane(at, gap, ()), printed)
    plane = raster.plane(job.passes[at], gap, set())
    spread = dict(raster.values)

    def at_values(pick):
        raster.values = {unknown: (pick(unknown, v),) * 3 for unknown, v in spread.items()}
        return raster.clearance(job.passes[at], plane, names, set())[0]

    chosen = {u: data.draw(st.sampled_from(v), label=str(u)) for u, v in spread.items()}
    assert clearance.low - 1e-9 <= at_values(lambda u, v: chosen[u]) <= clearance.high + 1e-9

    def worst(*, plane_of, ground):
        difference = {u: plane_of.get(u, 0) - ground.get(u, 0) for u in {*plane_of, *ground}}
        return at_values(lambda u, v: v[0] if difference.get(u, 0) >= 0 else v[2])

    grounds = []
    for name in raster.in_band(job.passes[at]):
        for *_, over in raster.cells[name]:
            grounds.append({("t", name): 1, ("bow", name): 1} | raster.stack(over, names, "front"))
    assert min(worst(plane_of=plane[0], ground=ground) for ground in grounds) == pytest.approx(
        clearance.low, abs=1e-9
    )


@given(jobs(handling=False, signs=False))
def test_zones_tile_each_sheet_and_every_pass_covers_all_of_one_or_none(job):
    heights = Heights(job)
    for sheet in job.media:
        zones = heights.zones(sheet.id, "front")
        area = sum((p.x1 - p.x0) * (p.y1 - p.y0) for zone in zones for p in zone.pieces)
        assert area == pytest.approx(sheet.size[0] * sheet.size[1])
        for zone in zones:
            for piece in zone.pieces:
                # Off the middle: in the middle of a piece two rectangles of one pass may meet.
                x, y = (
                    p0 + 0.377 * (p1 - p0)
                    for p0, p1 in ((piece.x0, piece.x1), (piece.y0, piece.y1))
                )
                covering = tuple(
                    at
                    for at, item in enumerate(job.passes)
                    if job.media_of(item) == sheet
                    and any(
                        a.x < x < a.x + a.width and a.y < y < a.y + a.height
                        for a in job.areas_of(item)
                    )
                )
                assert zone.cover == covering


@pytest.mark.thorough
@given(jobs(sides=("front", "back"), handling=False, signs=False), st.data())
def test_what_is_printed_bit_by_bit_leaves_what_all_at_once_does(job, data):
    heights = Heights(job)
    standing, printed = heights.standing(), set[int]()
    planes = [
        heights.head_plane(at, Gap(Interval.exact(2.0), reference), ())
        for at in (0,)
        for reference in ("media", "build-up")
    ]
    for at in data.draw(st.permutations(range(len(job.passes)))):
        for plane in planes:
            assert standing.throw(at, plane) == heights.standing(printed).throw(at, plane)
        standing.add(at)
        printed.add(at)
        for plane in planes:
            assert standing.clearance(at, plane) == heights.standing(printed).clearance(at, plane)


@pytest.mark.parametrize("seed", range(3))
def test_the_highest_ink_under_the_head_is_kept_up_as_more_is_printed(seed):
    """Long bands that are asked for again after few and after many prints."""
    chance, job = random.Random(seed), rows_of_signs(150, 6, seed)
    # Flat ink that is mostly thin and may be thick, clear ink that is mostly thick and may be thin.
    layers = {"flat": Interval(0.001, 0.002, 0.03), "clear": Interval(0.0005, 0.02, 0.021)}
    job = evolve(job, inks=tuple(evolve(ink, layer=layers[ink.id]) for ink in job.inks))
    heights = Heights(job)
    order = list(range(len(job.passes)))
    chance.shuffle(order)
    standing = heights.standing()
    places = range(len(heights.layout.side("sheet", "front").covers))
    assert (
        len(
            {len(heights.layout.slots_in_band(at, "sheet", "front")) for at in order}
            | {len(places)}
        )
        > 2
    )
    for count, at in enumerate(order, 1):
        standing.add(at)
        for other in (at, *chance.sample(order, chance.choice([0, 0, 0, 5]))):
            plane = heights.head_plane(other, job.passes[other].gap, ())
            expected = heights.standing(order[:count]).clearance(other, plane)
            assert standing.clearance(other, plane) == expected
