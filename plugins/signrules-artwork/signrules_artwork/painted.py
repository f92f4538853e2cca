"""What a walk through a page leaves: regions as they are painted, and text that is written."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from attrs import frozen

from signrules.artwork.drawing import FontMeasures, Point


@frozen
class Ink:
    """What is painted with: tints by colorant, each above 0.

    None of them is the white of the paper, which inks nothing and takes away what lies under it.
    """

    tints: Mapping[str, float]

    @property
    def tint(self) -> float:
        """The largest tint: the share of a region that gets ink, at least."""
        return max(self.tints.values(), default=0.0)


@frozen
class Writing:
    """One string of text as it is shown; what `TextRun` says.

    `end` is where the next letter would stand, `layers` and `ink` are those of its letters,
    `altered` says how they are drawn otherwise than their font has them.
    """

    text: str
    baseline: Point
    end: Point
    em: float
    angle: float
    font: FontMeasures | None
    layers: tuple[tuple[str, ...], ...] = ((),)
    ink: Ink | None = None
    place: str = ""
    altered: tuple[str, ...] = ()


@frozen
class Painted:
    """One painted region, in mm of the page, on the layers whose keys are in `layer`, outermost
    first. `writing` is the number of the string that it belongs to.
    """

    region: Any
    ink: Ink
    place: str
    layer: tuple[str, ...] = ()
    writing: int | None = None
