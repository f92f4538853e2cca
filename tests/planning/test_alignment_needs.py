"""Of alignments that are needed only the narrowest count: what serves one serves any around it."""

from __future__ import annotations

import pytest

from signrules.physics.landing import Window
from signrules.planning.gaps.alignment_records import with_window


@pytest.mark.parametrize(
    ("needs", "wanted", "expected"),
    [
        ([], (0, 1), [(0, 1)]),
        ([(0, 1)], (0, 1), [(0, 1)]),
        ([(0.2, 0.8)], (0, 1), [(0.2, 0.8)]),
        ([(0, 1)], (0.2, 0.8), [(0.2, 0.8)]),
        ([(0, 1)], (0.5, 1.5), [(0, 1), (0.5, 1.5)]),
        ([(0.5, 1.5)], (0, 1), [(0, 1), (0.5, 1.5)]),
        ([(0, 1), (2, 3)], (2, 2.5), [(0, 1), (2, 2.5)]),
    ],
)
def test_a_window_that_holds_another_is_left_out(needs, wanted, expected):
    found = with_window(frozenset(Window(*need) for need in needs), Window(*wanted))
    assert found == {Window(*window) for window in expected}
