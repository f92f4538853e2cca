"""Head planes, surfaces and orders of small jobs, worked by hand; where nothing is named the source
is geometry.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from benchmarks.cases import rows_of_signs
from scenario import pass_of, sign_job

import signrules
from signrules.model import Area, Gap, HeadAboveBed, Interval
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, Move
from signrules.physics.replaying import replay_items
from signrules.physics.standing import Standing
from signrules.physics.zones import zones_of

approx = pytest.approx


def machine_of(document):
    return Machine(Heights(signrules.job_from_dict(document)))


def toleranced():
    """The sign with layers of 25 to 35 um of clear ink: 24 of them stand 0.6 to 0.84 mm high."""
    document = sign_job(standards=[], signs=[])
    document["inks"][1]["layer"] = "0.025 .. 0.035 mm"
    del pass_of(document, "dots")["builds"]
    return document


def test_ink_from_which_the_gap_is_set_cancels_with_the_same_ink_under_the_head():
    heights = machine_of(toleranced()).heights
    over = heights.head_plane(2, Gap(Interval.exact(0.0), "build-up"), {1})
    left = heights.clearance(2, over, {1, 2})
    assert (left.low, left.high) == (approx(1.5 - 0.01), approx(1.5 - 0.01))
    from_sheet = heights.head_plane(2, Gap(Interval.exact(1.0), "media"), {1})
    left = heights.clearance(2, from_sheet, {1, 2})
    assert (left.low, left.high) == (approx(2.5 - 0.84 - 0.01), approx(2.5 - 0.6 - 0.01))


def test_a_gap_from_the_bed_knows_nothing_of_what_stands():
    heights = machine_of(toleranced()).heights
    gap = HeadAboveBed(Interval.exact(6.0))
    for printed in ((), (1,), (0, 1, 2)):
        assert heights.head_plane(0, gap, printed).height == Interval.exact(6.0)


def test_the_lowest_surface_is_farther_than_the_highest():
    heights = machine_of(toleranced()).heights
    plane = heights.head_plane(2, Gap(Interval.exact(1.0)), {1})
    lowest, highest = (
        heights.crisp_extra(2, plane, {1}, surface) for surface in ("lowest", "highest")
    )
    # Less the base gap: 1 mm over the sheet between the dots, 0.6 to 0.84 mm less over them.
    assert (lowest.low, lowest.high) == (approx(1.0), approx(1.0))
    assert (highest.low, highest.high) == (approx(1.0 - 0.84), approx(1.0 - 0.6))


def test_planes_of_the_same_parts_are_the_same_whatever_they_come_to():
    heights = machine_of(toleranced()).heights
    one = heights.head_plane(0, Gap(Interval.exact(0.5)), ())
    assert one.key == heights.head_plane(1, Gap(Interval.exact(0.5)), {0}).key
    assert one.key != heights.head_plane(0, Gap(Interval.exact(0.6)), ()).key


def test_bare_ground_around_one_area_is_four_pieces():
    bare, area = sorted(
        zones_of((10.0, 10.0), {0: [Area(4, 4, 2, 2)]}, 1e-6), key=lambda zone: zone.cover
    )
    assert [(p.x0, p.y0, p.x1, p.y1) for p in area.pieces] == [(4, 4, 6, 6)]
    # Left and right of the area a piece goes on from below; above it the three are one again.
    assert {(p.x0, p.y0, p.x1, p.y1) for p in bare.pieces} == {
        (0, 0, 4, 6),
        (4, 0, 6, 4),
        (6, 0, 10, 6),
        (0, 6, 10, 10),
    }


def test_an_area_within_another_starts_where_it_starts():
    """The sweep cuts the strip of the outer area, which is itself younger than the bare ground
    beside it.
    """
    zones = zones_of((10.0, 10.0), {0: [Area(2, 2, 6, 6)], 1: [Area(4, 4, 2, 2)]}, 1e-6)
    by_cover = {
        zone.cover: sum((p.x1 - p.x0) * (p.y1 - p.y0) for p in zone.pieces) for zone in zones
    }
    assert by_cover == {(): 100 - 36, (0,): 36 - 4, (0, 1): 4}
    (inner,) = next(zone.pieces for zone in zones if zone.cover == (0, 1))
    assert (inner.x0, inner.y0, inner.x1, inner.y1) == (4, 4, 6, 6)
    assert min(p.y0 for zone in zones if zone.cover == (0,) for p in zone.pieces) == 2


def test_a_short_area_beside_a_long_one_ends_neither():
    """One pass with areas from 0 to 1, 5 to 9 and 6 to 7 mm up; the head then passes from 7.9 to
    8.3 mm.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"]["head_length"] = "0.1 mm"
    tall = [[0, 0, 10, 1], [0, 5, 10, 4], [50, 6, 10, 1]]
    document["passes"] = [
        {"id": "tall", "ink": "clear", "layers": 20, "areas": tall, "gap": {"extra": 1}},
        {"id": "beside", "ink": "black", "areas": [[150, 8, 5, 0.2]], "gap": {"extra": 0}},
    ]
    heights = machine_of(document).heights
    plane = heights.head_plane(1, Gap(Interval.exact(0.0)), ())
    assert heights.clearance(1, plane, {0, 1}).low == approx(1.5 - 0.6)


def test_a_throw_counts_ink_in_the_plane_and_under_it_once():
    """The gap is set over 0.6 to 0.84 mm of ink that covers the whole area: the drops fly the base
    gap, exactly.
    """
    document = toleranced()
    pass_of(document, "dots")["coverage"] = 1.0
    heights = machine_of(document).heights
    over = heights.head_plane(2, Gap(Interval.exact(0.0), "build-up"), {1})
    for throw in (heights.throw(2, over, {1}).to_lowest, heights.throw(2, over, {1}).to_highest):
        assert (throw.low, throw.high) == (approx(1.5), approx(1.5))


def test_a_bow_counts_for_the_head_and_not_for_what_drops_land_on():
    document = toleranced()
    document["media"][0]["bow"] = "0 .. 0.3 mm"
    heights = machine_of(document).heights
    plane = heights.head_plane(0, Gap(Interval.exact(0.0)), ())
    flat, bowed = (
        heights.above_ink(plane, "panel", 0.0, (1,), {1}),
        heights.over_bare(plane, "panel"),
    )
    assert (flat.low, flat.high) == (approx(1.5 - 0.84), approx(1.5 - 0.6))
    assert (bowed.low, bowed.high) == (approx(1.5 - 0.3), approx(1.5))


def test_a_long_stack_counts_only_where_the_head_passes():
    """Many short areas in a row and one long one far up the sheet, which only passes up there
    travel over.
    """
    document = sign_job(standards=[], signs=[])
    document["media"][0].update({"size": [200, 400], "at": [0, 0]})
    document["passes"] = [
        {"id": f"low{n}", "ink": "black", "areas": [[10 * n, 5, 5, 5]], "gap": {"extra": 0}}
        for n in range(8)
    ]
    tall = {
        "id": "tall",
        "ink": "clear",
        "layers": 20,
        "areas": [[0, 200, 10, 180]],
        "gap": {"extra": 1},
    }
    document["passes"].append(tall)
    heights = machine_of(document).heights
    plane = heights.head_plane(0, Gap(Interval.exact(0.0)), ())
    assert heights.clearance(0, plane, {0, 8}).low == approx(1.5 - 0.01)
    assert heights.clearance(8, plane, {0, 8}).low == approx(1.5 - 0.6)


PLACES = ((0, "a"), (9, "b"), (18, "c"))


def test_passes_stay_as_declared_though_one_of_them_must_follow_another():
    document = sign_job(standards=[], signs=[])
    document["passes"] = [
        {"id": name, "ink": "black", "areas": [[10 * at, 0, 5, 5]], "gap": {"extra": 0}}
        for at, name in enumerate("abc")
    ]
    pass_of(document, "c")["after"] = ["a"]
    assert machine_of(document).declared_order() == (0, 1, 2)
    document["handling"] = [{"id": "wait", "does": "pause", "after": ["a"]}]
    assert machine_of(document).declared_order() == (0, 3, 1, 2)


def test_ink_underneath_may_lift_a_sheet_and_may_not():
    """0.72 mm on the front, then the back: the head is left 1.5 mm less the back's own 0.01 mm, or
    0.72 mm less.
    """
    document = sign_job(standards=[], signs=[])
    document["handling"] = [{"id": "turn", "does": "flip", "media": "panel", "locates_by": "pins"}]
    document["passes"] = [
        pass_of(document, "dots") | {"builds": None},
        {"id": "back", "ink": "black", "side": "back", "gap": {"extra": 0}},
    ]
    del document["passes"][0]["builds"]
    heights = machine_of(document).heights
    plane = heights.head_plane(1, Gap(Interval.exact(0.0)), {0})
    left = heights.clearance(1, plane, {0, 1}, {"panel"})
    assert (left.low, left.high) == (approx(1.5 - 0.01 - 0.72), approx(1.5 - 0.01))
    assert heights.clearance(1, plane, {1}, {"panel"}).low == approx(1.5 - 0.01)


def test_replays_with_other_moves_do_not_show_the_same():
    machine = machine_of(sign_job())
    one = replay_items(machine, (0, 1, 2), {})
    assert one.shows_the_same(replay_items(machine, (0, 1, 2), {}))
    moved = evolve(one, moves=((1, Move("1", "unload")),))
    assert not one.shows_the_same(moved)
    assert not moved.shows_the_same(one)


def test_the_same_gap_over_the_build_up_is_kept_from_pass_to_pass():
    """The second pass would find the build-up 0.01 mm higher, and the plane of the first still
    leaves it 1.48 mm.
    """
    document = sign_job(standards=[], signs=[])
    del pass_of(document, "dots")["builds"]
    document["passes"].append(pass_of(document, "ink-on-dots") | {"id": "again"})
    machine = machine_of(document)
    played = replay_items(machine, (0, 1, 2, 3), {})
    assert played.printings[3].plane.key == played.printings[2].plane.key
    assert played.printings[3].clearance.low == approx(1.5 - 2 * 0.01)
    assert played.gap_settings == 3


def test_a_replay_follows_what_stands_and_never_reckons_it_from_the_start(monkeypatch):
    """Else long runs over the build-up would take the square of their length, in time and in
    memory.
    """
    job = rows_of_signs(60, 6, 1)
    gap = Gap(Interval.exact(5.0), "build-up")
    machine = Machine(
        Heights(evolve(job, passes=tuple(evolve(item, gap=gap) for item in job.passes)))
    )
    made = []
    monkeypatch.setattr(
        "signrules.physics.heights.Standing", lambda *given: made.append(given) or Standing(*given)
    )
    played = replay_items(machine, machine.declared_order(), {})
    assert played.gap_settings == 1
    assert len(made) == 1


def test_what_stands_where_is_reckoned_from_where_the_sheet_lies():
    """A sheet far to the right: what counts is how far up the bed it lies, not how far along."""
    document = sign_job(standards=[], signs=[])
    document["media"][0].update({"size": [100, 400], "at": [400, 0]})
    document["passes"] = [
        {"id": "low", "ink": "black", "areas": [[0, 5, 5, 5]], "gap": {"extra": 0}},
        {
            "id": "tall",
            "ink": "clear",
            "layers": 20,
            "areas": [[0, 200, 10, 10]],
            "gap": {"extra": 1},
        },
    ]
    heights = machine_of(document).heights
    plane = heights.head_plane(0, Gap(Interval.exact(0.0)), ())
    assert heights.clearance(0, plane, {0, 1}).low == approx(1.5 - 0.01)


def test_planes_set_at_two_times_are_compared_by_their_parts():
    heights = machine_of(toleranced()).heights
    gap = Gap(Interval.exact(0.5))
    one, other = heights.standing().head_plane(0, gap), heights.standing({0}).head_plane(1, gap)
    assert one is not other
    assert one.key == other.key
    bed = HeadAboveBed(Interval.exact(6.0))
    assert heights.standing({0, 1, 2}).head_plane(0, bed).height == Interval.exact(6.0)


def test_a_plane_over_one_of_two_stacks_is_not_the_plane_over_both():
    """Either of two inks may stand highest: 0.25 to 0.35 mm, or 0.28 to 0.32 mm."""
    document = toleranced()
    document["inks"].append({"id": "other", "layer": "0.028 .. 0.032 mm"})
    document["passes"] = [
        {"id": "a", "ink": "clear", "layers": 10, "areas": [[0, 0, 9, 9]], "gap": {"extra": 1}},
        {"id": "b", "ink": "other", "layers": 10, "areas": [[20, 0, 9, 9]], "gap": {"extra": 1}},
        {"id": "c", "ink": "black", "areas": [[40, 0, 9, 9]], "gap": {"extra": 1}},
    ]
    heights, gap = machine_of(document).heights, Gap(Interval.exact(0.5), "build-up")
    one, both = (
        heights.standing({0}).head_plane(2, gap),
        heights.standing({0, 1}).head_plane(2, gap),
    )
    assert one.height.nominal == approx(both.height.nominal)
    assert both.is_as(heights.standing({0, 1}).head_plane(2, gap))
    assert not both.is_as(one)
    assert not one.is_as(both)


def test_a_wide_sheet_is_under_the_head_no_farther_up_than_it_reaches():
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": "long", "thickness": 3, "size": [50, 400], "at": [0, 0]},
        {"id": "wide", "thickness": 3, "size": [400, 20], "at": [60, 100]},
    ]
    document["passes"] = [
        {"id": name, "ink": "black", "media": "long", "areas": [[0, y, 5, 5]], "gap": {"extra": 0}}
        for name, y in (("beside", 105), ("above", 300))
    ]
    document["printer"]["head_length"] = "30 mm"
    layout = machine_of(document).heights.layout
    assert layout.in_band == (("long", "wide"), ("long",))
    assert layout.bands == ((105 - 30, 110 + 30), (300 - 30, 305 + 30))
