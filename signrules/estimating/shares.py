"""Shares of an amount that add up to it exactly, by largest remainder."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

Weight = Fraction | Decimal | float | int


def split_exactly(whole: Decimal, weights: Sequence[Weight], step: Decimal) -> list[Decimal]:
    """Shares of a whole by weights, each a multiple of `step`, that add up to the whole.

    Each gets its exact share rounded towards zero; the steps that are left go to those that lost
    most by it, the earlier first (the method of largest remainder, common practice). Where all
    weights are zero, all count alike. What of the whole is no multiple of a step goes to the first.
    Raises ValueError where there is nothing to share among, or for a weight below zero.
    """
    # Exact, floats too: the steps that are given out must come to the whole.
    exact = [Fraction(weight) for weight in weights]
    if not exact or min(exact) < 0:
        raise ValueError(f"expected at least one weight, none below 0, got {list(weights)!r}")
    if not any(exact):
        exact = [Fraction(1)] * len(exact)
    total = sum(exact)
    steps = math.floor(abs(Fraction(whole)) / Fraction(step))
    due = [steps * weight / total for weight in exact]
    given = [math.floor(share) for share in due]
    # Fractions compare exactly, and sorting is stable: of equal losses the earlier comes first.
    lost_most = sorted(range(len(due)), key=lambda at: given[at] - due[at])
    for at in lost_most[: steps - sum(given)]:
        given[at] += 1
    sign = -1 if whole < 0 else 1
    shares = [sign * count * step for count in given]
    # Less than a step, so that the sum is the whole to its last digit.
    shares[0] += whole - sum(shares)
    return shares
