"""Counting what something takes: calls instead of seconds, which another process would change."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import pytest

from signrules.model.wording import nearest_name

NOT_TRACED = pytest.mark.skipif(
    sys.gettrace() is not None,
    reason="a tracer, such as that of coverage, stands where steps would be counted",
)
"""Tests of what counts steps: there can be only one tracer, and nothing is counted beside another.
"""


class Name(str):
    """A text whose comparisons and look-ups count as calls, also where compiled code makes them."""

    def __eq__(self, other: object) -> bool:
        return str.__eq__(self, other) is True

    def __hash__(self) -> int:
        return str.__hash__(self)


def calls_of(action: Callable[[], object]) -> int:
    """How many functions are called while something is done, those in C too."""
    count = 0

    def tally(frame: FrameType, event: str, argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    nearest_name.cache_clear()  # What an earlier one has found is no work for the next.
    before = sys.getprofile()
    sys.setprofile(tally)
    try:
        action()
    finally:
        sys.setprofile(before)
    return count
