"""Rectangles in bins: nothing overlaps, bounds hold, and few are packed as well as can be."""

from __future__ import annotations

import random
from itertools import permutations

import pytest
from attrs import evolve
from effort import effort
from exact_shares import cheapest, fewest_of_bands
from hypothesis import given, settings
from hypothesis import strategies as st

from signrules.composing.exact_packing import packed_exactly
from signrules.composing.grouping import Likeness, Room, all_settings, cost_of, grouped, likeness_of
from signrules.composing.packing_bounds import fewest_bins, fewest_bins_of_bands
from signrules.composing.rectangles import Frame, Rectangle, sequences_of
from signrules.model.work_order import TURNED, UPRIGHT

WIDTH, HEIGHT = 12, 9
FRAME = Frame(WIDTH, HEIGHT)
GAPS = [frozenset({1.0}), frozenset({1.0, 2.0}), frozenset({3.0}), frozenset({1.0, 2.0, 3.0})]


def ways_of(width: int, height: int, turning: bool) -> tuple[str, ...]:
    turned = turning and height <= WIDTH and width <= HEIGHT
    return (UPRIGHT, TURNED) if turned else (UPRIGHT,)


@st.composite
def some_rectangles(draw, most: int = 30, bands: str = "a"):
    """Rectangles of a few sizes, each of which fits into the frame."""
    kinds = draw(st.lists(st.tuples(st.integers(1, 8), st.integers(1, 7)), min_size=1, max_size=4))
    turning = draw(st.booleans())
    items = draw(
        st.lists(
            st.tuples(st.sampled_from(kinds), st.sampled_from(GAPS), st.sampled_from(bands)),
            min_size=1,
            max_size=most,
        )
    )
    return [
        Rectangle(f"{number:03}", *size, ways_of(*size, turning), Likeness(gaps, band))
        for number, (size, gaps, band) in enumerate(items)
    ]


def boxes(spots):
    for spot in spots:
        width, height = spot.rectangle.size(spot.way)
        yield spot.x, spot.y, spot.x + width, spot.y + height


def demand_sound(bins, rectangles, frame, between_bands=0):
    """Each rectangle once, inside, as it may lie, on no other, and bands apart."""
    placed = [spot.rectangle.id for spots in bins for spot in spots]
    assert sorted(placed) == sorted(each.id for each in rectangles)
    for spots in bins:
        assert all(spot.way in spot.rectangle.ways for spot in spots)
        found = list(boxes(spots))
        for left, low, right, high in found:
            assert frame.x <= left
            assert right <= frame.x + frame.width
            assert frame.y <= low
            assert high <= frame.y + frame.height
        for one in range(len(found)):
            for other in range(one):
                a, b = found[one], found[other]
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, (a, b)
                if likeness_of(spots[one].rectangle) != likeness_of(spots[other].rectangle):
                    bands = {likeness_of(spots[at].rectangle).band for at in (one, other)}
                    if len(bands) == 2:
                        assert max(a[1] - b[3], b[1] - a[3]) >= between_bands


@given(some_rectangles())
@settings(max_examples=effort(40))
def test_bins_are_sound_and_not_fewer_than_the_bound(rectangles):
    found = grouped(rectangles, Room((FRAME,)))
    demand_sound(found.bins, rectangles, FRAME)
    assert found.at_least <= len(found.bins)
    area = sum(each.area for each in rectangles)
    assert found.at_least >= -(-area // (WIDTH * HEIGHT))


@given(some_rectangles(most=12, bands="ab"), st.integers(1, 3))
@settings(max_examples=effort(30))
def test_bands_share_no_stretch_along_y(rectangles, between):
    frame = Frame(WIDTH, 2 * HEIGHT, 5, 7)
    found = grouped(rectangles, Room((frame,), between))
    demand_sound(found.bins, rectangles, frame, between)


@given(some_rectangles(most=20), st.randoms(use_true_random=False))
@settings(max_examples=effort(20))
def test_the_sequence_in_which_rectangles_come_costs_nothing(rectangles, chance):
    mixed = list(rectangles)
    chance.shuffle(mixed)
    one, other = (grouped(each, Room((FRAME,))) for each in (rectangles, mixed))
    assert (len(one.bins), one.at_least) == (len(other.bins), other.at_least)


def random_case(seed: int, most: int = 8):
    chance = random.Random(seed)
    kinds = [(chance.randint(2, 8), chance.randint(2, 7)) for _ in range(chance.randint(1, 4))]
    turning = chance.random() < 0.6
    return [
        Rectangle(str(number), *size, ways_of(*size, turning), Likeness(chance.choice(GAPS)))
        for number, size in enumerate(chance.choices(kinds, k=chance.randint(3, most)))
    ]


@pytest.mark.parametrize("seed", range(effort(12)))
def test_few_rectangles_are_shared_out_as_well_as_can_be(seed):
    # Expected: every way to share them out, by the independent search of exact_shares.
    rectangles = random_case(seed, most=7)
    found = grouped(rectangles, Room((FRAME,)))
    items = [
        (tuple(each.size(way) for way in each.ways), likeness_of(each).settings)
        for each in rectangles
    ]
    best = cheapest(items, WIDTH, HEIGHT)
    assert cost_of(found.bins) == best
    assert found.at_least <= best[0]


def test_the_bound_knows_that_two_wide_ones_share_no_bin():
    # Each takes 7 of 12 along x and 5 of 9 along y: three quarters of a bin lie beside the first.
    wide = [Rectangle(str(number), 7, 5) for number in range(4)]
    assert 2 * WIDTH * HEIGHT > 4 * 7 * 5
    assert fewest_bins(wide, FRAME) == 4


def test_the_bound_knows_the_distance_between_two_bands():
    # 600 and 250 mm along y leave 30 of 880: too little for 40 between them, enough for 30.
    frame = Frame(600, 880)
    thick, thin = Rectangle("thick", 600, 600), Rectangle("thin", 600, 250)
    assert fewest_bins([thick, thin], frame) == 1
    assert fewest_bins_of_bands([[thick], [thin]], frame, 30) == 1
    assert fewest_bins_of_bands([[thick], [thin]], frame, 40) == 2
    assert fewest_bins_of_bands([[thick], [evolve(thin, height=240)]], frame, 40) == 1


def test_the_bound_knows_that_bands_which_share_no_bin_need_their_own():
    # Two bins for the thick ones, and three of the thin ones fit one above the other.
    frame = Frame(1238, 888)
    thick = [Rectangle(f"thick-{number}", 1008, 608) for number in range(2)]
    thin = [Rectangle(f"thin-{number}", 1008, 258) for number in range(4)]
    assert fewest_bins_of_bands([thick, thin], frame, 32) == 4
    assert fewest_bins_of_bands([thick, thin[:3]], frame, 32) == 3
    # 608 + 22 + 258 is the height of the frame.
    assert fewest_bins_of_bands([thick, thin], frame, 22) <= 3


def banded_case(seed: int):
    """Up to six rectangles of two bands, the frame, and the distance between bands."""
    chance = random.Random(seed)
    frame = Frame(WIDTH, chance.randint(HEIGHT, 14))
    found = []
    for number in range(chance.randint(2, 6)):
        width, height = chance.randint(3, 12), chance.randint(2, 7)
        kind = Likeness(band=chance.choice("ab"))
        turning = chance.random() < 0.4
        found.append(Rectangle(str(number), width, height, ways_of(width, height, turning), kind))
    return found, frame, chance.randint(1, 4)


def by_band(rectangles):
    bands = {likeness_of(each).band for each in rectangles}
    return [[each for each in rectangles if likeness_of(each).band == band] for band in bands]


def fewest_by_solver(rectangles, frame, between):
    """The fewest bins by a model that states the distance for each pair, and no strips."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    model = cp_model.CpModel()
    most = len(rectangles)
    places = []
    for each in rectangles:
        turned = model.new_bool_var("")
        if TURNED not in each.ways:
            model.add(turned == 0)
        wide = each.width + (each.height - each.width) * turned
        high = each.height + (each.width - each.height) * turned
        x, y = model.new_int_var(0, frame.width, ""), model.new_int_var(0, frame.height, "")
        model.add(x + wide <= frame.width)
        model.add(y + high <= frame.height)
        places.append((model.new_int_var(0, most - 1, ""), x, y, wide, high))
    for one in range(most):
        for other in range(one):
            ways = [model.new_bool_var("") for _ in range(6)]
            model.add_bool_or(ways)
            same = likeness_of(rectangles[one]).band == likeness_of(rectangles[other]).band
            gap = 0 if same else between
            for way, (a, b) in zip(ways, [(one, other), (other, one)] * 3, strict=True):
                (bin, x, y, wide, high), (next_bin, next_x, next_y, *_) = places[a], places[b]
                number = ways.index(way)
                if number < 2:
                    model.add(bin < next_bin).only_enforce_if(way)
                elif number < 4:
                    model.add(y + high + gap <= next_y).only_enforce_if(way)
                elif same:
                    model.add(x + wide <= next_x).only_enforce_if(way)
                else:
                    model.add(way == 0)
    last = model.new_int_var(0, most - 1, "")
    model.add_max_equality(last, [bin for bin, *_ in places])
    model.minimize(last)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.value(last) + 1


@pytest.mark.thorough
@pytest.mark.parametrize("seeds", [range(start, start + 20) for start in range(0, effort(80), 20)])
def test_no_bins_of_two_bands_are_fewer_than_the_bound(seeds):
    # Expected: every way to share them out, by the independent search of exact_shares.
    better = 0
    for seed in seeds:
        rectangles, frame, between = banded_case(seed)
        items = [
            (tuple(each.size(way) for way in each.ways), likeness_of(each).band)
            for each in rectangles
        ]
        best = fewest_of_bands(items, frame.width, frame.height, between)
        found = grouped(rectangles, Room((frame,), between))
        demand_sound(found.bins, rectangles, frame, between)
        assert found.at_least == fewest_bins_of_bands(by_band(rectangles), frame, between)
        assert found.at_least <= best <= len(found.bins)
        better += found.at_least > fewest_bins(rectangles, frame)
    assert better


@pytest.mark.parametrize("seed", range(effort(10)))
def test_a_solver_finds_no_fewer_bins_of_two_bands_than_the_search(seed):
    rectangles, frame, between = banded_case(seed)
    items = [
        (tuple(each.size(way) for way in each.ways), likeness_of(each).band) for each in rectangles
    ]
    best = fewest_of_bands(items, frame.width, frame.height, between)
    assert fewest_by_solver(rectangles, frame, between) == best


def test_the_bound_knows_what_no_sum_of_sides_covers():
    # 5 and 5 make 10 of 12, 4 and 4 make 8 of 9: four in a bin, though the area would take five.
    alike = [Rectangle(str(number), 5, 4) for number in range(5)]
    assert WIDTH * HEIGHT >= 5 * 5 * 4
    assert fewest_bins(alike, FRAME) == 2
    assert len(grouped(alike, Room((FRAME,))).bins) == 2


def test_what_need_not_turn_lies_upright():
    found = grouped([Rectangle(str(n), 4, 3, (UPRIGHT, TURNED)) for n in range(6)], Room((FRAME,)))
    assert {spot.way for spots in found.bins for spot in spots} == {UPRIGHT}


def test_alike_gaps_belong_together_where_that_costs_no_bin():
    # Two bins either way; shared out by gaps they take 1 and 3 settings, mixed 3 and 3.
    flat = [Rectangle(f"flat{n}", 6, 9, kind=Likeness(frozenset({1.0}))) for n in range(2)]
    dots = [Rectangle(f"dots{n}", 6, 9, kind=Likeness(frozenset({2.0, 3.0}))) for n in range(2)]
    found = grouped([flat[0], dots[0], flat[1], dots[1]], Room((FRAME,)))
    assert sorted(len(all_settings(spots)) for spots in found.bins) == [1, 2]


def test_what_fits_nowhere_has_no_bins():
    assert grouped([Rectangle("long", 13, 1)], Room((FRAME,))) is None


def berkey_wang(seed: int, count: int, most: int) -> list[Rectangle]:
    """Sides drawn evenly from 1 to 10: class I (bins of 10) and class II (bins of 30) of Berkey and
    Wang, "Two-dimensional finite bin-packing algorithms", 1987; from memory.
    """
    chance = random.Random(seed)
    return [
        Rectangle(f"{number:03}", chance.randint(1, most), chance.randint(1, most))
        for number in range(count)
    ]


@pytest.mark.parametrize(("side", "slack"), [(10, 1.06), (30, 1.35)])
def test_instances_as_the_literature_draws_them(side, slack):
    frame = Frame(side, side)
    bins = least = 0
    for seed in range(5):
        rectangles = berkey_wang(seed, 60, 10)
        found = grouped(rectangles, Room((frame,)))
        demand_sound(found.bins, rectangles, frame)
        bins, least = bins + len(found.bins), least + found.at_least
    assert bins <= slack * least


def test_a_solver_agrees_with_what_was_tried():
    pytest.importorskip("ortools")
    decided = 0
    for seed in range(30):
        rectangles = random_case(seed)
        found = grouped(rectangles, Room((FRAME,)))
        if len(found.bins) == 1:
            continue
        answer = packed_exactly(rectangles, FRAME, len(found.bins) - 1)
        assert answer.bins is None
        decided += answer.proven_none
        more = packed_exactly(rectangles, FRAME, len(found.bins))
        if more.bins is not None:
            demand_sound(more.bins, rectangles, FRAME)
    assert decided


@given(some_rectangles(most=6, bands="ab"))
@settings(max_examples=effort(30))
def test_every_sequence_of_few_rectangles_is_tried_once(rectangles):
    """Beside all permutations, of which the first of those that look alike is taken."""

    def looks(sequence):
        return tuple((each.width, each.height, each.ways, each.kind) for each in sequence)

    unlike = {}
    for sequence in permutations(rectangles):
        unlike.setdefault(looks(sequence), [each.id for each in sequence])
    tried = [[each.id for each in sequence] for sequence in sequences_of(rectangles)]
    assert tried[-len(unlike) :] == list(unlike.values())
