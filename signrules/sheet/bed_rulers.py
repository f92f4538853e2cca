"""What stands beside the bed in the plan of a load: rulers, and the thicknesses along y."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from attrs import frozen

from signrules.model.media import Media
from signrules.model.quantities import GUARD_MM
from signrules.physics.flatness import thickness_of
from signrules.sheet.bed_drawing import BedFrame
from signrules.sheet.label_places import BASELINE, LINE, kept_apart, wrapped_lines
from signrules.sheet.language import Language
from signrules.sheet.scene import round_down
from signrules.sheet.svg import put_line, put_words

TICK = 4.0
LABEL_GAP = 6.0
LEAST_ACROSS, LEAST_UP = 60.0, 26.0
"""From one tick to the next at least, in px."""

BRACKET_GAP, BRACKET_ROOM = 6.0, 62.0
"""From the bed to the thicknesses beside it, and how wide their words may be, in px."""


def put_rulers(svg: Element, frame: BedFrame, bed: tuple[float, float], language: Language) -> None:
    """Rulers in mm at the lower and the left edge of the bed."""
    width, depth = bed
    for place in _ticks(width, LEAST_ACROSS / frame.scale):
        x = frame.left + place * frame.scale
        put_line(svg, "tick", x, frame.bottom, x, frame.bottom + TICK)
        y = frame.bottom + LABEL_GAP + BASELINE
        put_words(svg, "label mid", x, y, language.figure(place))
    for place in _ticks(depth, LEAST_UP / frame.scale):
        y = frame.bottom - place * frame.scale
        put_line(svg, "tick", frame.left - TICK, y, frame.left, y)
        put_words(svg, "label end", frame.left - LABEL_GAP, y + 4, language.figure(place))
    top = frame.bottom - depth * frame.scale
    put_words(svg, "label end", frame.left - LABEL_GAP, top - 9, "mm")
    corner = frame.bottom + LABEL_GAP + BASELINE
    put_words(svg, "label", 0, corner, language.say("origin 0, 0"))


def _ticks(length: float, least: float) -> list[float]:
    """Round places along a length in mm, at least so far apart; 0 is named at the corner."""
    # The next round number above is at most two and a half times the one below.
    step = round_down(least * 2.5, (1.0, 2.0, 5.0))
    return [step * number for number in range(1, int(length / step + GUARD_MM) + 1)]


@frozen
class ThicknessBand:
    """A stretch of y in which sheets lie beside or over each other without a break, and how thick
    they are, in mm.
    """

    low: float
    high: float
    thicknesses: tuple[float, ...]


def thickness_bands(sheets: Sequence[Media]) -> tuple[ThicknessBand, ...]:
    """The bands of a load from near to far; none where all sheets are equally thick."""
    if len({thickness_of(sheet).nominal for sheet in sheets}) < 2:
        return ()
    bands: list[ThicknessBand] = []
    for sheet in sorted(sheets, key=lambda sheet: sheet.at[1]):
        low, high = sheet.at[1], sheet.at[1] + sheet.size[1]
        thicknesses = {thickness_of(sheet).nominal}
        if bands and low < bands[-1].high - GUARD_MM:
            last = bands.pop()
            low, high = last.low, max(high, last.high)
            thicknesses |= set(last.thicknesses)
        bands.append(ThicknessBand(low, high, tuple(sorted(thicknesses))))
    return tuple(bands)


def put_thicknesses(
    svg: Element,
    frame: BedFrame,
    bands: Sequence[ThicknessBand],
    x: float,
    language: Language,
) -> None:
    """Brackets at the right of the bed, each with the thicknesses that lie in its stretch of y."""
    texts = [
        wrapped_lines(
            language.unit(language.listed(band.thicknesses, language.figure, most=3)), BRACKET_ROOM
        )
        for band in reversed(bands)
    ]
    spans = [
        (frame.bottom - band.high * frame.scale, frame.bottom - band.low * frame.scale)
        for band in reversed(bands)
    ]
    lengths = [len(lines) * LINE for lines in texts]
    middles = [(top + bottom) / 2 for top, bottom in spans]
    tops = kept_apart(middles, lengths, 0, max(frame.bottom, sum(lengths)))
    for lines, (top, bottom), text_top, length in zip(texts, spans, tops, lengths, strict=True):
        put_line(svg, "bracket", x, top, x, bottom)
        for end in (top, bottom):
            put_line(svg, "bracket", x - 3, end, x, end)
        put_line(svg, "leader", x, (top + bottom) / 2, x + 6, text_top + length / 2)
        for number, line in enumerate(lines):
            put_words(svg, "value", x + 8, text_top + number * LINE + BASELINE, line)
