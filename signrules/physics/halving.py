"""Where something ends that holds up to some number and not beyond."""

from __future__ import annotations

from collections.abc import Callable


def last_holding(
    holds: Callable[[float], bool], good: float, bad: float, *, finest: float
) -> float:
    """The largest number, to within `finest`, up to which something holds that ends once.

    It holds at `good` and not at `bad`, which is larger. By halving.
    """
    # The good end always lies below: what is given never promises too much.
    while bad - good > finest:
        middle = (good + bad) / 2
        if holds(middle):
            good = middle
        else:
            bad = middle
    return good
