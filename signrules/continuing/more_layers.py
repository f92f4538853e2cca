"""Measured dots on a sheet that still lies there: fine, so many layers more, or scrap."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules.model.limits import MOST_LAYERS
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import counted_things, number_text
from signrules.physics.ink import layer_from_dots

FINE, MORE, SCRAP, UNKNOWN = "fine", "more layers", "scrap", "not known"


def more_layers(
    lowest: float,
    highest: float,
    least: float | None,
    most: float | None,
    layer: Interval,
) -> int | None:
    """The fewest layers more that bring all dots into a range; None where no number does.

    `lowest` and `highest` are the measured dots in mm, `least` and `most` the range, None where an
    end is open, `layer` what a further layer adds at the least and at the most. 0 means that all
    are in the range as they are. Raises ValueError for a layer that adds nothing.
    """
    if layer.low <= 0:
        raise ValueError(f"expected a layer of more than 0 mm, got {layer.low!r}")
    count = 0
    if least is not None:
        count = max(0, math.ceil((least - lowest - GUARD_MM) / layer.low))
    if count > MOST_LAYERS:
        return None
    if most is not None and highest + count * layer.high > most + GUARD_MM:
        return None
    return count


def ranges_for_layers(
    least: float | None, most: float | None, layers: int
) -> Iterator[tuple[float, float, int]]:
    """What dots of so many layers may measure, for each number of further layers that would do.

    Each is the least height of the lowest dot, the most of the highest one, in mm, and the number:
    further layers add what those there have added, the least where the dot is lowest and the most
    where it is highest. So h mm of L layers become h (L + n) / L, by simple proportion.
    """
    for count in range(1, layers + 1):
        share = layers / (layers + count)
        low = 0.0 if least is None else least * share
        high = math.inf if most is None else most * share
        yield low, high, count


@frozen
class DotsAnswer:
    """What the measured dots of a sign say.

    `verdict` is one of "fine", "more layers", "scrap" and "not known"; `layers` how many more.
    `layer` is the layer that they show, for the shop file, with how many dots stand behind it.
    """

    sign: str
    built_by: str
    heights: tuple[float, ...]
    least: float | None
    most: float | None
    verdict: str
    layers: int
    layer: Interval | None
    ink: str

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        layer = None
        if self.layer is not None:
            layer = {"low": self.layer.low, "nominal": self.layer.nominal, "high": self.layer.high}
        return {
            "sign": self.sign,
            "pass": self.built_by,
            "heights_mm": list(self.heights),
            "least_mm": self.least,
            "most_mm": self.most,
            "verdict": self.verdict,
            "layers": self.layers,
            "ink": self.ink,
            "layer_mm": layer,
        }

    def __str__(self) -> str:
        """One line with a number and a way."""
        span = _span_text(min(self.heights), max(self.heights))
        head = f"{self.sign}: dots of {span}{self._range_words()}"
        if self.verdict == MORE:
            return f"{head}: {counted_things(self.layers, 'layer')} more of {self.built_by}."
        if self.verdict == SCRAP:
            return f"{head}: scrap. No number of further layers brings all of them into the range."
        if self.verdict == UNKNOWN:
            return f"{head}: no standard of the job limits them."
        return f"{head}: fine."

    def shop_line(self) -> str:
        """The layer as a line for the shop file; empty where it is not known."""
        if self.layer is None:
            return ""
        nominal = self.layer.nominal * 1000
        off = max(self.layer.high - self.layer.nominal, self.layer.nominal - self.layer.low) * 1000
        dots = counted_things(len(self.heights), "dot")
        return (
            f'[inks.{self.ink}] layer = {{ is = "{nominal:.1f} um +- {off:.1f} um",'
            f' from = "{dots} of {self.sign}" }}'
        )

    def _range_words(self) -> str:
        if self.least is not None and self.most is not None:
            return f" where {_span_text(self.least, self.most)} is required"
        if self.least is not None:
            return f" where at least {number_text(self.least)} mm is required"
        if self.most is not None:
            return f" where at most {number_text(self.most)} mm is allowed"
        return ""


def _span_text(low: float, high: float) -> str:
    ends = dict.fromkeys((number_text(low), number_text(high)))
    return f"{' to '.join(ends)} mm"


def layer_shown(heights: Sequence[float], layers: int, on_top_mm: float) -> Interval | None:
    """The layer in mm that measured dots show; None where they are no higher than what is on top.

    `on_top_mm` is what other passes have laid on the dots since.
    """
    own = [height - on_top_mm for height in heights]
    if min(own) <= 0:
        return None
    return layer_from_dots(own, layers)
