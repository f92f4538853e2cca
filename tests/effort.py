"""How much the tests try: a little in the quick run, all of it with `SIGNRULES_FULL=1`, ten times
as much with `SIGNRULES_LONG=1`.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import Any

import pytest

LONG = bool(os.environ.get("SIGNRULES_LONG"))
FULL = LONG or bool(os.environ.get("SIGNRULES_FULL"))
FEWEST = 2


def effort(count: int) -> int:
    """As many examples of so many as this run tries."""
    if LONG:
        return count * 10
    if FULL:
        return count
    return min(count, max(FEWEST, count // 10))


def first_quick(
    quick: int, values: Iterable[Any], others: pytest.MarkDecorator = pytest.mark.slow
) -> list[Any]:
    """Values of one parameter: the first few are for the quick run too, the others are marked."""
    some = list(values)
    marked = [pytest.param(value, marks=others) for value in some[quick:]]
    return [*some[:quick], *marked]
