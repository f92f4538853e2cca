"""Numbers that functions of physics are given, held to the range in which they mean something."""

from __future__ import annotations

import math


def positive_number(name: str, value: float, unit: str) -> float:
    """The value itself. Raises ValueError unless it is a finite number above 0."""
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name}: expected a number of {unit} above 0, got {value!r}")
    return value


def not_negative(name: str, value: float, unit: str) -> float:
    """The value itself. Raises ValueError unless it is a finite number of at least 0."""
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{name}: expected a number of {unit} of at least 0, got {value!r}")
    return value


def share_of_one(name: str, value: float) -> float:
    """The value itself. Raises ValueError unless it is a share from 0 to 1."""
    if not 0 <= value <= 1:
        raise ValueError(f"{name}: expected a share from 0 to 1, got {value!r}")
    return value
