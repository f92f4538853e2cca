"""Text of an SVG: what it says and where. No font is in the file, so its letters have no shapes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from signrules.artwork.drawing import FontMeasures
from signrules_artwork.affine import moved_point
from signrules_artwork.letter_setting import settings_of
from signrules_artwork.painted import Writing
from signrules_artwork.svg.cascade import paint_of
from signrules_artwork.svg.lengths import length_of, numbers_in
from signrules_artwork.svg.names import kind_of
from signrules_artwork.svg.walk import Context, SvgWalk

MOST_PARTS = 10_000

UNKNOWN = (math.inf, math.inf)
"""Where a text ends that no one has measured."""


def write_text(walk: SvgWalk, element: Any, here: Context) -> None:
    """Keeps the lines of a text; each part with a place of its own starts one."""
    if here.style["visibility"] != "visible":
        return
    walk.reading.note(
        "text without outlines has no shapes: turn it to outlines to have it measured"
    )
    lines: list[tuple[float, float, list[str]]] = []
    for x, y, text in _parts(element, here, depth=0):
        walk.reading.spend_steps()
        if x is not None or y is not None or not lines:
            before = lines[-1] if lines else (0.0, 0.0, [])
            lines.append((before[0] if x is None else x, before[1] if y is None else y, []))
        lines[-1][2].append(text)
    for x, y, texts in lines:
        _write_line(walk, element, here, x, y, " ".join("".join(texts).split()))


def _write_line(walk: SvgWalk, element: Any, here: Context, x: float, y: float, text: str) -> None:
    ink = paint_of(here.style, "fill", walk.reading)
    if not text or ink is None:
        return
    a, b, c, d, _, _ = here.matrix
    em = here.viewport.font_size * math.hypot(c, d)
    family = here.style["font-family"].split(",")[0].strip("'\" ")
    baseline = moved_point(here.matrix, x, y)
    if here.style["text-anchor"] != "start":
        walk.reading.note("text that is not set from its start lies elsewhere than is said here")
    walk.writings.append(
        Writing(
            text,
            baseline,
            UNKNOWN,
            em,
            math.degrees(math.atan2(b, a)),
            FontMeasures(family) if family else None,
            (here.layer,),
            ink,
            walk.place_of(element),
            tuple(settings_of((a, b, -c, -d, 0.0, 0.0))),
        )
    )


def _parts(
    element: Any, here: Context, depth: int
) -> Iterator[tuple[float | None, float | None, str]]:
    """Pieces of text in their order, each with the place that it is given, if any."""
    x, y = (_first_length(element, key, here) for key in ("x", "y"))
    yield x, y, element.text or ""
    for child in list(element)[:MOST_PARTS] if depth < 20 else ():
        if kind_of(child) in {"tspan", "textPath", "a"}:
            yield from _parts(child, here, depth + 1)
        yield None, None, child.tail or ""


def _first_length(element: Any, key: str, here: Context) -> float | None:
    """The first of the lengths of an attribute."""
    given = (element.get(key) or "").replace(",", " ").split()
    if not given or not numbers_in(given[0]):
        return None
    whole = here.viewport.width if key == "x" else here.viewport.height
    return length_of(given[0], here.viewport, whole, 0.0)
