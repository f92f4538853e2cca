"""Letters measured: by their text and font where the file holds text, else by their outlines.

Lengths in mm. What outlines alone do not tell (which letter it is, its case, its style) stays
None. All of it is geometry, on the letters as they are drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from statistics import median
from typing import Any

from attrs import evolve, frozen

from signrules.artwork.drawing import FontMeasures, Shape, TextRun
from signrules.artwork.fonts import style_of_font
from signrules.artwork.geometry import region_of, turned
from signrules.artwork.libraries import shapely_part
from signrules.artwork.strokes import stroke_of
from signrules.model.quantities import Interval

SAME_LETTER = 0.5
"""Parts that share this much of the width of the narrower one are one letter: i and its dot."""

SAME_LINE = 0.3
"""Parts that share this much of the height of the lower one are of one line."""

WORD_GAP = 0.25
"""A gap wider than this share of the height is one between words, where no text tells."""

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


@frozen
class LetterMeasures:
    """What is measured of the letters of a layer, each from the least to the most.

    `text` are its lines from the top down; `baseline` is the lowest baseline, `top` the highest
    top. `from_outlines` says that no text told.
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


@frozen
class _Letter:
    """One letter: its region, turned so that its line runs along x."""

    region: Any

    @property
    def box(self) -> tuple[float, float, float, float]:
        bounds: tuple[float, float, float, float] = self.region.bounds
        return bounds


def measured_letters(shapes: Sequence[Shape], texts: Sequence[TextRun]) -> LetterMeasures:
    """The letters of a layer: of its text where it has some, else of its outlines."""
    written = [run for run in texts if run.text.strip()]
    if written:
        return _measured_text(written)
    return _measured_outlines([shape for shape in shapes if shape.tint > 0])


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
    spacing, words = _gaps_of_runs(runs)
    places = [_place(run)[1] for line in lines for run in line[:1]]
    text = tuple(" ".join(run.text.strip() for run in line) for line in lines)
    tops = [y for run in runs for shape in run.shapes for _, y in shape.outline]
    return LetterMeasures(
        text=text,
        height=_spread(heights),
        stroke=_spread(_shares(runs, "stroke_share")),
        width=_spread(_shares(runs, "width_share")),
        spacing=_spread(spacing),
        word_spacing=_spread(words),
        line_spacing=_spread([one - other for one, other in pairwise(places)]),
        case=case_of("".join(text)),
        style=_style_of([run.font for run in runs]),
        baseline=min(run.baseline[1] for run in runs),
        top=max(tops, default=None),
    )


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


def _gaps_of_runs(runs: Iterable[TextRun]) -> tuple[list[float], list[float]]:
    """Gaps between letters of words, and between words."""
    within, between = [], []
    for run in runs:
        letters = _letters_of(run.shapes, -run.angle)
        written = [char for char in run.text if not char.isspace()]
        gaps = _gaps(letters)
        if len(letters) == len(written):
            ends = _ends_of_words(run.text)
        else:
            ends = _wide_gaps(gaps, run.em)
        within += [gap for at, gap in enumerate(gaps) if at not in ends]
        between += [gap for at, gap in enumerate(gaps) if at in ends]
    return within, between


def _ends_of_words(text: str) -> set[int]:
    """After which letters a word ends, spaces not counted."""
    ends, seen = set(), 0
    for word in text.split()[:-1]:
        seen += len(word)
        ends.add(seen - 1)
    return ends


def _wide_gaps(gaps: Sequence[float], height: float) -> set[int]:
    return {at for at, gap in enumerate(gaps) if gap > WORD_GAP * height}


def _letters_of(shapes: Iterable[Shape], degrees: float = 0.0) -> list[_Letter]:
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


def _gaps(letters: Sequence[_Letter]) -> list[float]:
    """Distances of neighbours at their nearest points (2010 ADA Standards, 703.2.7)."""
    return [float(one.region.distance(other.region)) for one, other in pairwise(letters)]


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


def _measured_outlines(shapes: Sequence[Shape]) -> LetterMeasures:
    if len(shapes) > MOST_SHAPES:
        return LetterMeasures(from_outlines=True)
    lines = _lines_of_shapes(without_borders(shapes)[0])
    if not lines:
        return LetterMeasures(from_outlines=True)
    heights = [_height_of_line(line) for line in lines]
    within, between = [], []
    for line, height in zip(lines, heights, strict=True):
        gaps = _gaps(line)
        ends = _wide_gaps(gaps, height)
        within += [gap for at, gap in enumerate(gaps) if at not in ends]
        between += [gap for at, gap in enumerate(gaps) if at in ends]
    strokes = [stroke_of([letter.region for letter in line]) for line in lines]
    feet = sorted((median(letter.box[1] for letter in line) for line in lines), reverse=True)
    return LetterMeasures(
        height=_spread(heights),
        stroke=_spread([stroke for stroke in strokes if stroke is not None]),
        spacing=_spread(within),
        word_spacing=_spread(between),
        line_spacing=_spread([one - other for one, other in pairwise(feet)]),
        baseline=min(feet),
        top=max(letter.box[3] for line in lines for letter in line),
        from_outlines=True,
    )


def _height_of_line(letters: Sequence[_Letter]) -> float:
    """The height of letters with flat ends: the least of those that are about the tallest."""
    heights = [letter.box[3] - letter.box[1] for letter in letters]
    return min(each for each in heights if each >= (1 - ROUND_OVERSHOOT) * max(heights))


def _lines_of_shapes(shapes: Sequence[Shape]) -> list[list[_Letter]]:
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


def _grouped(regions: Sequence[Any]) -> list[_Letter]:
    groups: list[list[Any]] = []
    solid = [region for region in regions if region.area > 0]
    for region in sorted(solid, key=lambda each: each.bounds[0]):
        if groups and _share_width(groups[-1], region):
            groups[-1].append(region)
        else:
            groups.append([region])
    return [_Letter(shapely_part().union_all(group)) for group in groups]


def _spread(values: Sequence[float]) -> Interval | None:
    """The least and the most of some lengths; None without any."""
    known = [value for value in values if math.isfinite(value)]
    if not known:
        return None
    return Interval(min(known), median(known), max(known))
