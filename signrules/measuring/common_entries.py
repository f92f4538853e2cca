"""Entries and words that several procedures share."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.measuring.entries import Entry
from signrules.measuring.procedure import Finding
from signrules.measuring.statistics import Estimate, mean_estimate, next_estimate, range_of
from signrules.model.wording import counted_things

READS_TO = Entry("reads_to", "length", "the step that the tool reads to", above=0)
CARRIAGE_SPEED = Entry(
    "carriage_speed", "speed", "speed of the carriage while it prints the test", above=0
)
DROP_VOLUME = Entry(
    "drop_volume", "volume", "of one drop, where it is known", required=False, above=0
)
DROP_DENSITY = Entry(
    "drop_density", "density", "of the ink as it flies, beside the volume", required=False, above=0
)

STOP_FIRST = (
    "Stop the machine so that it cannot start before hands or tools go under the carriage or on"
    " the bed, each time."
)
STOP_AND_CURE = (
    "Stop the machine again so that it cannot start, and let the print cure fully before you touch"
    " it."
)
PRINT_CLEAR = (
    "Close the covers, keep hands and tools away from the bed, and print. Do not look at the lamps."
)


def level_text(count: int, what: str) -> str:
    """The meaning of a t-interval of the mean."""
    readings = counted_things(count, "reading")
    return f"{what} lies within this interval, at 95 % (t-interval, {readings})"


def next_text(count: int, what: str) -> str:
    """The meaning of a prediction interval."""
    readings = counted_things(count, "reading")
    return f"{what} lies within this interval, at 95 % (predicted from {readings})"


def range_text(count: int) -> str:
    """The meaning of the range of the readings."""
    return f"from the least to the greatest of {counted_things(count, 'reading')}"


def mean_finding(
    values: Sequence[float], reads_to: float, as_range: bool, what: str
) -> tuple[Finding, Estimate]:
    """What readings say of their mean, and that mean with its uncertainty."""
    estimate = mean_estimate(values, reads_to)
    # A shop that wants no statistics gets what it saw, without a word on what it did not see.
    if as_range:
        return Finding(range_of(values), range_text(len(values))), estimate
    return Finding(estimate.interval(), level_text(len(values), what)), estimate


def next_finding(values: Sequence[float], reads_to: float, as_range: bool, what: str) -> Finding:
    """What readings say of one more like them."""
    if as_range:
        return Finding(range_of(values), range_text(len(values)))
    # One sign is printed at one place: it gets a single value, and not the mean of many.
    estimate = next_estimate(values, reads_to)
    return Finding(estimate.interval(), next_text(len(values), what))


def plus_minus(estimate: Estimate, unit: str) -> str:
    """An estimate in words, for a note: value and tolerance with their unit."""
    interval = estimate.interval()
    return f"{interval.nominal:.4g} {unit} +- {interval.high - interval.nominal:.2g} {unit}"
