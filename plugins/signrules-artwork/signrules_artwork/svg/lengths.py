"""Lengths and numbers of SVG, and the views that scale them (SVG 2 and CSS, from memory)."""

from __future__ import annotations

import math
import re

from attrs import frozen

from signrules_artwork.affine import Matrix

PIXELS = {
    "": 1.0,
    "px": 1.0,
    "in": 96.0,
    "mm": 96 / 25.4,
    "cm": 96 / 2.54,
    "q": 96 / 101.6,
    "pt": 96 / 72,
    "pc": 16.0,
}
"""User units by absolute unit: a CSS pixel is 1/96 in (CSS Values and Units 3, from memory)."""

PIXEL_MM = 25.4 / 96
DEFAULT_FONT_SIZE = 16.0

_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z]*|%)\s*")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


@frozen
class Viewport:
    """What percentages and ems count from, in user units."""

    width: float
    height: float
    font_size: float = DEFAULT_FONT_SIZE

    @property
    def diagonal(self) -> float:
        """What a percentage of neither width nor height counts from (SVG 2, 8.9, from memory)."""
        return math.hypot(self.width, self.height) / math.sqrt(2)


def length_of(text: str | None, viewport: Viewport, whole: float, otherwise: float) -> float:
    """A length in user units; `whole` is what a percentage counts from. `otherwise` for what is
    none.
    """
    match = _LENGTH.fullmatch(text or "")
    if match is None:
        return otherwise
    number, unit = float(match[1]), match[2].lower()
    if unit == "%":
        found = number / 100 * whole
    elif unit in {"em", "rem"}:
        found = number * viewport.font_size
    elif unit in {"ex", "ch"}:
        found = number * viewport.font_size / 2
    elif unit in PIXELS:
        found = number * PIXELS[unit]
    else:
        return otherwise
    return found if math.isfinite(found) else otherwise


def numbers_in(text: str | None) -> list[float]:
    """All numbers in a text."""
    found = [float(number) for number in _NUMBER.findall(text or "")]
    return [number if math.isfinite(number) else 0.0 for number in found]


def view_matrix(view: list[float], place: tuple[float, float, float, float], aspect: str) -> Matrix:
    """The map from a `viewBox` to where it is shown (x, y, width, height), as
    `preserveAspectRatio` says (SVG 2, 8.6, from memory).
    """
    left, top, wide, high = view
    x, y, width, height = place
    across, down = width / wide, height / high
    words = aspect.split()
    align = words[0] if words else "xMidYMid"
    if align == "none":
        return (across, 0.0, 0.0, down, x - left * across, y - top * down)
    scale = max(across, down) if "slice" in words[1:] else min(across, down)
    x += (width - wide * scale) * _share(align[1:4])
    y += (height - high * scale) * _share(align[5:8])
    return (scale, 0.0, 0.0, scale, x - left * scale, y - top * scale)


def _share(word: str) -> float:
    """How much of the free room lies before: none, half or all of it."""
    return {"Min": 0.0, "Max": 1.0}.get(word, 0.5)
