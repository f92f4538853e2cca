"""Settings and one new alignment counted together, against a try of every extra on a fine grid."""

from __future__ import annotations

from itertools import combinations

from hypothesis import example, given
from hypothesis import strategies as st

from signrules.planning.gaps.plane_reaches import common_reach, fewest_by_one, fewest_further

ends = st.integers(0, 8)
reaches = st.tuples(ends, ends).map(lambda pair: (float(min(pair)), float(max(pair))))
moved = st.lists(st.tuples(reaches, reaches), min_size=1, max_size=3)


def fewest_points(intervals):
    """The fewest of their high ends that lie in all intervals: some fewest points always are such
    ends.
    """
    points = sorted({high for _, high in intervals})
    for count in range(len(points) + 1):
        for some in combinations(points, count):
            if all(any(low <= point <= high for point in some) for low, high in intervals):
                return count
    raise AssertionError("all high ends together lie in all of them")


def fewest_on_a_grid(fixed, some, height, extras):
    """At every half: between two neighbouring ends, which are whole, one half stands for all."""
    best = None
    for halves in range(int(2 * extras[0]), int(2 * extras[1]) + 1):
        extra = halves / 2
        served = [(max(r[0], extra + a[0]), min(r[1], extra + a[1])) for r, a in some]
        if any(low > high for low, high in served):
            continue
        left = [
            one for one in (*fixed, *served) if height is None or not one[0] <= height <= one[1]
        ]
        count = fewest_points(left)
        best = count if best is None else min(best, count)
    return best


@given(st.lists(reaches, max_size=3), moved, st.none() | ends.map(float), reaches)
@example([(0.0, 1.0)], [((0.0, 8.0), (2.0, 2.0)), ((0.0, 8.0), (5.0, 5.0))], None, (0.0, 8.0))
@example([(5.0, 5.0)], [((0.0, 8.0), (2.0, 3.0))], 3.0, (0.0, 8.0))
@example([], [((0.0, 1.0), (5.0, 6.0))], None, (0.0, 8.0))
def test_the_fewest_heights_that_one_alignment_allows(fixed, some, height, extras):
    assert fewest_by_one(fixed, some, height, extras) == fewest_on_a_grid(
        fixed, some, height, extras
    )


@given(st.lists(reaches, min_size=1, max_size=5), ends.map(float))
def test_a_height_that_is_set_serves_what_holds_it(some, height):
    missed = [one for one in some if not one[0] <= height <= one[1]]
    assert fewest_further(height, some) == fewest_points(missed)
    low, high = common_reach(some)
    assert (low <= height <= high) == all(one[0] <= height <= one[1] for one in some)
