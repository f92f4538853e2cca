"""Where something ends that holds up to some number: known ends, found by halving."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules.physics.halving import last_holding


@given(st.floats(0, 99), st.sampled_from([1e-6, 0.01, 3]))
def test_the_end_is_found_to_within_the_finest_step_and_never_passed(end, finest):
    found = last_holding(lambda number: number <= end, 0.0, 100.0, finest=finest)
    assert end - finest <= found <= end


def test_nothing_is_tried_between_ends_that_are_close_enough():
    def tried(number):
        raise AssertionError(f"{number} was tried")

    assert last_holding(tried, 2.0, 2.5, finest=0.5) == 2.0
    assert last_holding(lambda number: number < 3, 2.0, 4.0, finest=1.0) == pytest.approx(2.0)
