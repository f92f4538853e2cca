"""Letters measured: by their text and font where the file holds text, else by their outlines.

Lengths in mm. What outlines do not tell (which letter it is, its case, that it is plain) stays
None. All of it is geometry, on the letters as they are drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from statistics import median
from typing import Any

from attrs import evolve, frozen

from signrules.artwork.drawing import FontMeasures, Point, Shape, TextRun
from signrules.artwork.fonts import style_of_font
from signrules.artwork.geometry import joined_regions, region_of, turned
from signrules.artwork.known_letters import (
    known_letters,
    not_told_by,
    stemmed_letters,
    style_of_known,
    widths_of_o,
)
from signrules.artwork.letter_gaps import SortedGaps
from signrules.artwork.libraries import shapely_part
from signrules.artwork.strokes import stroke_of
from signrules.model.quantities import Interval

SAME_LETTER = 0.5
"""Parts that share this much of the width of the narrower one are one letter: i and its dot."""

SAME_LINE = 0.3
"""Parts that share this much of the height of the lower one are of one line."""

ROUND_OVERSHOOT = 0.04
"""Round letters reach over flat ones by no more than this share of their height. Common practice,
no published source.
"""

SAME_BASELINE = 0.1
"""Runs whose baselines differ by less than this share of their em are of one line."""

MOST_SHAPES = 5000
"""Of more outlines than these none is taken for a letter."""

AROUND_OTHERS = 0.8
"""A shape that reaches over this much of all others both ways is a border."""


SPECK_SHARE = 0.02
"""What is smaller both ways than this share of the tallest letter is no part of one. Common
practice, no published source.
"""


@frozen
class Speck:
    """A shape that is too small for a letter: its middle, and the longer side of its box, in mm."""

    at: Point
    size: float


@frozen
class LetterMeasures:
    """What is measured of the letters of a layer, each from the least to the most.

    `text` are its lines from the top down; `baseline` is the lowest baseline, `top` the highest
    top. `from_outlines` says that the file has no text for them. `not_measured` is what their
    outlines do not tell, in words; `specks` are shapes among them that are too small for a part of
    a letter. `guessed_gaps` are wide gaps of which no text tells
    whether they lie within a word: those of `word_spacing` that are taken for ends of words by
    their width alone, and those of `spacing` that might be ends of words. `lacking` says of which
    text the font does not tell a figure, and why.
    """

    text: tuple[str, ...] = ()
    height: Interval | None = None
    stroke: Interval | None = None
    width: Interval | None = None
    spacing: Interval | None = None
    word_spacing: Interval | None = None
    line_spacing: Interval | None = None
    case: str | None = None
    style: str | None = None
    baseline: float | None = None
    top: float | None = None
    from_outlines: bool = False
    not_measured: tuple[str, ...] = ()
    specks: tuple[Speck, ...] = ()
    guessed_gaps: tuple[float, ...] = ()
    lacking: tuple[str, ...] = ()


def measured_letters(
    shapes: Sequence[Shape], texts: Sequence[TextRun], stated_text: Sequence[str] = ()
) -> LetterMeasures:
    """The letters of a layer: of its text where it has some, else of its outlines.

    `stated_text` are the lines that outlines say; they tell which gaps lie between words.
    """
    written = [run for run in texts if run.text.strip()]
    if written:
        return _measured_text(written)
    return _measured_outlines([shape for shape in shapes if shape.tint > 0], stated_text)


def without_borders(shapes: Sequence[Shape]) -> tuple[list[Shape], list[Shape]]:
    """Shapes that may be letters, and those that lie around all others: borders.

    A border has a hole in which others lie, or reaches over nearly all that is drawn.
    """
    regions = [region_of(shape) for shape in shapes]
    kept: list[Shape] = []
    borders: list[Shape] = []
    shapely = shapely_part()
    everything = shapely.total_bounds(regions).tolist() if regions else []
    tree = shapely.STRtree([region.centroid for region in regions])
    for at, (shape, region) in enumerate(zip(shapes, regions, strict=True)):
        holes = [shapely.Polygon(ring) for ring in shape.holes if len(ring) > 2]
        inside = {int(each) for hole in holes for each in tree.query(hole, "contains")}
        around = inside - {at} and _reaches_over(region, everything)
        (borders if around else kept).append(shape)
    return kept, borders


def _reaches_over(region: Any, everything: Sequence[float]) -> bool:
    left, low, right, high = region.bounds
    all_left, all_low, all_right, all_high = everything
    across = (right - left) / (all_right - all_left)
    along = (high - low) / (all_high - all_low)
    return bool(min(across, along) > AROUND_OTHERS)


def _measured_text(runs: Sequence[TextRun]) -> LetterMeasures:
    lines = _lines_of_runs(runs)
    heights = [run.em * run.font.cap_height for run in runs if run.font and run.font.cap_height]
    gaps = _gaps_of_runs(runs)
    places = [_place(run)[1] for line in lines for run in line[:1]]
    text = tuple(" ".join(run.text.strip() for run in line) for line in lines)
    tops = [y for run in runs for shape in run.shapes for _, y in shape.outline]
    return LetterMeasures(
        text=text,
        height=_spread(heights),
        stroke=_spread([*_shares(runs, "stroke_share"), *_drawn_strokes(runs)]),
        width=_spread(_shares(runs, "width_share")),
        spacing=_spread(gaps.within),
        word_spacing=_spread(gaps.between),
        line_spacing=_spread([one - other for one, other in pairwise(places)]),
        case=case_of("".join(text)),
        style=_style_of([run.font for run in runs]),
        baseline=min(run.baseline[1] for run in runs),
        top=max(tops, default=None),
        lacking=tuple(_lacking_of(runs)),
    )


def _drawn_strokes(runs: Iterable[TextRun]) -> list[float]:
    """The strokes of the letters drawn, of runs whose fonts do not tell."""
    silent = [run for run in runs if run.font is None or not run.font.stroke_share]
    letters = [_letters_of(run.shapes, -run.angle) for run in silent]
    strokes = [stroke_of(each) for each in letters]
    return [stroke for stroke in strokes if stroke is not None]


def _lacking_of(runs: Iterable[TextRun]) -> Iterator[str]:
    """What the embedded fonts of runs do not tell, in words."""
    for run in runs:
        if run.font is None:
            continue
        for share, letters, figure in (
            ("cap_height", "I or another flat capital", "the height"),
            ("stroke_share", "I, L or T", "the stroke"),
            ("width_share", "O", "the width of O"),
        ):
            if not getattr(run.font, share):
                text = run.text.strip()
                yield f"{text!r} does not tell {figure}: its font is in the file without {letters}"


def _shares(runs: Iterable[TextRun], name: str) -> list[float]:
    """A share of the height of I, in mm, for each run whose font tells it."""
    found = []
    for run in runs:
        share = getattr(run.font, name, None)
        if run.font is not None and run.font.cap_height and share:
            found.append(run.em * run.font.cap_height * share)
    return found


def _place(run: TextRun) -> tuple[float, float]:
    """Where a run starts in coordinates in which it runs along x."""
    return turned(run.baseline, -run.angle)


def _lines_of_runs(runs: Sequence[TextRun]) -> list[list[TextRun]]:
    """Runs in lines from the top down, each from left to right."""
    lines: list[list[TextRun]] = []
    for run in sorted(runs, key=lambda run: (-_place(run)[1], _place(run)[0])):
        above = lines[-1][0] if lines else None
        if above and abs(_place(above)[1] - _place(run)[1]) < SAME_BASELINE * run.em:
            lines[-1].append(run)
        else:
            lines.append([run])
    return [sorted(line, key=lambda run: _place(run)[0]) for line in lines]


def _gaps_of_runs(runs: Iterable[TextRun]) -> SortedGaps:
    found = SortedGaps()
    for run in runs:
        found.sort(_letters_of(run.shapes, -run.angle), run.em, run.text)
    return found


def _letters_of(shapes: Iterable[Shape], degrees: float = 0.0) -> list[Any]:
    """Letters from left to right: shapes that stand one above the other are one."""
    return _grouped([region_of(_turned_shape(shape, degrees)) for shape in shapes])


def _turned_shape(shape: Shape, degrees: float) -> Shape:
    if not degrees:
        return shape
    outline = tuple(turned(point, degrees) for point in shape.outline)
    holes = tuple(tuple(turned(point, degrees) for point in ring) for ring in shape.holes)
    return evolve(shape, outline=outline, holes=holes)


def _share_width(group: Sequence[Any], region: Any) -> bool:
    left, right = min(g.bounds[0] for g in group), max(g.bounds[2] for g in group)
    shared = min(right, region.bounds[2]) - max(left, region.bounds[0])
    narrower = min(right - left, region.bounds[2] - region.bounds[0])
    return bool(shared > SAME_LETTER * narrower)


def case_of(text: str) -> str | None:
    """Whether a text is in capitals, in small letters or mixed; None where it has no letters."""
    letters = [char for char in text if char.isalpha() and char.lower() != char.upper()]
    if not letters:
        return None
    if all(char == char.upper() for char in letters):
        return "upper"
    return "lower" if all(char == char.lower() for char in letters) else "mixed"


def _style_of(fonts: Sequence[FontMeasures | None]) -> str | None:
    """The style that a sign is judged by: ornate and slanted fonts count before plain ones."""
    styles = {None if font is None else style_of_font(font) for font in fonts}
    if None in styles:
        return None
    return next(style for style in STYLES_BY_RANK if style in styles)


STYLES_BY_RANK = ("script", "decorative", "italic", "serif", "sans-serif")


def _measured_outlines(shapes: Sequence[Shape], stated_text: Sequence[str]) -> LetterMeasures:
    if len(shapes) > MOST_SHAPES:
        return LetterMeasures(from_outlines=True)
    drawn, specks = _without_specks(without_borders(shapes)[0])
    lines = _lines_of_shapes(drawn)
    if not lines:
        return LetterMeasures(from_outlines=True)
    heights = [_height_of_line(line) for line in lines]
    told: Sequence[str | None] = [None] * len(lines)
    if len(stated_text) == len(lines):
        told = stated_text
    gaps = SortedGaps()
    for line, height, text in zip(lines, heights, told, strict=True):
        gaps.sort(line, height, text)
    known = [known_letters(line, text) for line, text in zip(lines, told, strict=True)]
    strokes = [
        stroke_of(stemmed_letters(known_ones) or line)
        for line, known_ones in zip(lines, known, strict=True)
    ]
    all_known = [letter for known_ones in known for letter in known_ones]
    feet = sorted(
        (_foot_of_line(line, height) for line, height in zip(lines, heights, strict=True)),
        reverse=True,
    )
    return LetterMeasures(
        height=_spread(heights),
        stroke=_spread([stroke for stroke in strokes if stroke is not None]),
        width=_spread(widths_of_o(all_known)),
        spacing=_spread(gaps.within),
        word_spacing=_spread(gaps.between),
        line_spacing=_spread([one - other for one, other in pairwise(feet)]),
        baseline=min(feet),
        top=max(letter.bounds[3] for line in lines for letter in line),
        style=style_of_known(all_known),
        from_outlines=True,
        not_measured=tuple(not_told_by(all_known)),
        specks=tuple(specks),
        guessed_gaps=tuple(gaps.guessed),
    )


def _without_specks(shapes: Sequence[Shape]) -> tuple[list[Shape], list[Speck]]:
    """Shapes that may be letters or parts of them, and those that are too small."""
    boxes = [region_of(shape).bounds for shape in shapes]
    heights = [high - low for _, low, _, high in boxes]
    least = SPECK_SHARE * max((height for height in heights if height > 0), default=0.0)
    kept: list[Shape] = []
    specks: list[Speck] = []
    for shape, (left, low, right, high) in zip(shapes, boxes, strict=True):
        size = max(right - left, high - low)
        if size < least:
            specks.append(Speck(((left + right) / 2, (low + high) / 2), size))
        else:
            kept.append(shape)
    return kept, specks


def _height_of_line(letters: Sequence[Any]) -> float:
    """The height of letters with flat ends: the least of those that are about the tallest."""
    heights: list[float] = [letter.bounds[3] - letter.bounds[1] for letter in letters]
    return min(each for each in heights if each >= (1 - ROUND_OVERSHOOT) * max(heights))


def _foot_of_line(letters: Sequence[Any], height: float) -> float:
    """Where letters with flat ends stand: the highest foot of those that stand about alike."""
    feet: list[float] = [letter.bounds[1] for letter in letters]
    usual = median(feet)
    return max(foot for foot in feet if foot - usual <= ROUND_OVERSHOOT * height)


def _lines_of_shapes(shapes: Sequence[Shape]) -> list[list[Any]]:
    """Letters in lines from the top down, each from left to right."""
    regions = sorted(
        (region for shape in shapes if (region := region_of(shape)).area > 0),
        key=_tallest_first,
    )
    lines: list[tuple[float, float, list[Any]]] = []
    for region in regions:
        low, high = region.bounds[1], region.bounds[3]
        for line_low, line_high, members in lines:
            if min(high, line_high) - max(low, line_low) > SAME_LINE * (high - low):
                members.append(region)
                break
        else:
            lines.append((low, high, [region]))
    ordered = sorted(lines, key=lambda line: -line[1])
    return [_grouped(members) for _, _, members in ordered]


def _tallest_first(region: Any) -> tuple[float, float, float]:
    """The order in which regions start lines, whatever the order in which they are drawn."""
    left, low, _, high = region.bounds
    return low - high, -high, left


def _grouped(regions: Sequence[Any]) -> list[Any]:
    return [joined_regions(group) for group in _region_groups(regions)]


def _region_groups(regions: Sequence[Any]) -> list[list[Any]]:
    """Regions by the letter that they are parts of, from left to right."""
    groups: list[list[Any]] = []
    solid = [region for region in regions if region.area > 0]
    for region in sorted(solid, key=lambda each: each.bounds[0]):
        if groups and _share_width(groups[-1], region):
            groups[-1].append(region)
        else:
            groups.append([region])
    return groups


def shapes_by_letter(run: TextRun) -> list[list[Shape]]:
    """The shapes of a run by the letter that they draw, in the order of its text."""
    regions = [region_of(_turned_shape(shape, -run.angle)) for shape in run.shapes]
    drawn_by = {id(region): shape for region, shape in zip(regions, run.shapes, strict=True)}
    return [[drawn_by[id(region)] for region in group] for group in _region_groups(regions)]


def _spread(values: Sequence[float]) -> Interval | None:
    """The least and the most of some lengths; None without any."""
    known = [value for value in values if math.isfinite(value)]
    if not known:
        return None
    return Interval(min(known), median(known), max(known))
