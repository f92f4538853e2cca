"""Letters measured: by their text and font where the file holds text, else by their outlines.

Lengths in mm. What outlines do not tell (which letter it is, its case, that it is plain) stays
None. All of it is geometry, on the letters as they are drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, TypeVar

from attrs import evolve, frozen

from signrules.artwork.accents import plain_text
from signrules.artwork.altered_runs import (
    DrawnRun,
    alteration_of,
    lacking_of,
    line_start,
    lowest_of,
    measured_as_drawn,
    turned_over_letters,
    without_twins,
)
from signrules.artwork.beside_letters import (
    Speck,
    inked_by,
    shapes_beside,
    without_borders,
    without_ornaments,
    without_specks,
)
from signrules.artwork.drawing import Shape, TextRun
from signrules.artwork.fonts import style_of_font
from signrules.artwork.known_letters import (
    all_show_capitals,
    known_letters,
    not_told_by,
    strokes_of_line,
    style_of_known,
    widths_of_o,
)
from signrules.artwork.letter_counts import Miscount, miscount
from signrules.artwork.letter_gaps import SortedGaps, sorted_gaps
from signrules.artwork.letter_marks import Marks, wrong_marks
from signrules.artwork.letter_regions import letters_of, lines_of_shapes, with_whole_signs
from signrules.artwork.line_doubts import (
    gaps_not_told,
    heights_in_words,
    too_many_shapes,
    uneven_capitals,
)
from signrules.artwork.line_heights import height_of_line, height_of_unknown
from signrules.artwork.line_sizes import (
    LineSizes,
    PartSizes,
    lines_of_several_sizes,
    spread,
)
from signrules.artwork.lines_as_read import ReadLine, lines_as_read
from signrules.artwork.marks_aside import without_marks
from signrules.artwork.stray_shapes import touching_shapes
from signrules.artwork.strokes import stroke_of
from signrules.model.quantities import Interval
from signrules.model.sign import OUTLINES, UNLIKE_TEXT

SAME_BASELINE = 0.1
"""Runs whose baselines differ by less than this share of their em are of one line."""

Value = TypeVar("Value")

MOST_SHAPES = 5000
"""Of more outlines than these none is taken for a letter."""


@frozen
class LetterMeasures:
    """What is measured of the letters of a layer, each from the least to the most.

    `text` are its lines from the top down; `baseline` is the lowest baseline, `top` the highest
    top. `from_outlines` says that the file has no text for them. `not_measured` is what their
    outlines do not tell, in words; `specks` are shapes among them that are too small for a part of
    a letter. `guessed_gaps` are wide gaps of which no text tells
    whether they lie within a word: those of `word_spacing` that are taken for ends of words by
    their width alone, and those of `spacing` that might be ends of words. `lacking` says of which
    text the font does not tell a figure, and why, and what else bears on the verdict.
    `turned_over` is text that cannot be read from the front, in words, and `lost_letters` that
    fewer are drawn than the text has. `case_shown` says whether letters show that they are capitals
    where the text is in capitals. `drawn` says of outlines whether they could be the text, and
    `overlaps` that shapes lie on each other, of which some may be no part of a letter.
    `lines` are the sizes of each line, where their heights differ.
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
    turned_over: str | None = None
    lost_letters: str | None = None
    case_shown: bool = True
    drawn: str | None = None
    overlaps: bool = False
    lines: tuple[LineSizes, ...] = ()


def measured_letters(
    shapes: Sequence[Shape], texts: Sequence[TextRun], stated_text: Sequence[str] = ()
) -> LetterMeasures:
    """The letters of a layer: of its text where it has some, else of its outlines.

    `stated_text` are the lines that outlines say; they tell which gaps lie between words.
    """
    written = [run for run in texts if run.text.strip()]
    if written:
        _, specks = without_specks(shapes_beside(shapes, written), inked_by(written))
        return evolve(_measured_text(written), specks=tuple(specks))
    return _measured_outlines([shape for shape in shapes if shape.tint > 0], stated_text)


def _measured_text(written: Sequence[TextRun]) -> LetterMeasures:
    runs = without_twins(written)
    lines = _lines_of_runs(runs)
    plain = [run for run in runs if not run.altered]
    altered = [(run, measured_as_drawn(run)) for run in runs if run.altered]
    drawn = [found for _, found in altered]
    gaps = list(map(_gaps_of_run, [*plain, *(run for run, _ in altered)]))
    places = [line_start(line[0])[1] for line in lines]
    text = tuple(" ".join(run.text.strip() for run in line) for line in lines)
    tops = [y for run in runs for shape in run.shapes for _, y in shape.outline]
    parts = [*map(_plain_sizes, plain), *map(_drawn_sizes, drawn)]
    return LetterMeasures(
        text=text,
        height=spread([each for part in parts for each in part.heights]),
        stroke=spread([each for part in parts for each in part.strokes]),
        width=spread([each for part in parts for each in part.widths]),
        lines=lines_of_several_sizes(
            evolve(part, gaps=each.within).sizes for part, each in zip(parts, gaps, strict=True)
        ),
        spacing=spread([gap for each in gaps for gap in each.within]),
        word_spacing=spread([gap for each in gaps for gap in each.between]),
        line_spacing=spread([one - other for one, other in pairwise(places)]),
        case=case_of("".join(text)),
        style=_style_of([*map(_style_of_plain, plain), *(each.style for each in drawn)]),
        baseline=min(
            [run.baseline[1] for run in plain] + [lowest_of(run, each) for run, each in altered]
        ),
        top=max(tops, default=None),
        lacking=(
            *(words for run in plain for words in lacking_of(run)),
            *(alteration_of(run, each) for run, each in altered),
        ),
        turned_over=_turned_over(runs),
        lost_letters=_lost_letters(altered),
    )


def _turned_over(runs: Iterable[TextRun]) -> str | None:
    """The first text that cannot be read from the front, and how it is turned, in words."""
    for run in runs:
        if turned := turned_over_letters(run):
            x, y = run.baseline
            return f"the text {run.text.strip()!r} at {x:.1f}, {y:.1f} mm, which is {turned}"
    return None


def _lost_letters(altered: Iterable[tuple[TextRun, DrawnRun]]) -> str | None:
    """The first text of which fewer letters are drawn than it has, in words."""
    for run, drawn in altered:
        wrong = miscount([len(drawn.letters)], [run.text]) if drawn.letters else None
        if wrong is not None and wrong.fewer:
            return f"{run.text.strip()!r}: {wrong.words}"
    return None


def _known_ones(values: Iterable[Value | None]) -> list[Value]:
    return [value for value in values if value is not None]


def _style_of_plain(run: TextRun) -> str | None:
    return None if run.font is None else style_of_font(run.font)


def _plain_sizes(run: TextRun) -> PartSizes:
    """What the font of a run tells, and of its stroke what is drawn where the font is silent."""
    height = _of_em(run, 1.0)
    stroke = _of_em(run, None if run.font is None else run.font.stroke_share)
    width = _of_em(run, None if run.font is None else run.font.width_share)
    if not stroke and (run.font is None or not run.font.stroke_share):
        drawn = stroke_of(letters_of(run.shapes, -run.angle))
        stroke = [] if drawn is None else [drawn]
    return PartSizes(height, stroke, width)


def _drawn_sizes(drawn: DrawnRun) -> PartSizes:
    """What the outlines of a run tell: the numbers of its font are those of other letters."""
    return PartSizes(_known_ones([drawn.height]), drawn.strokes, drawn.widths)


def _of_em(run: TextRun, share: float | None) -> list[float]:
    """A share of the height of I in mm, as far as the font of a run tells them."""
    if run.font is None or not run.font.cap_height or not share:
        return []
    return [run.em * run.font.cap_height * share]


def _lines_of_runs(runs: Sequence[TextRun]) -> list[list[TextRun]]:
    """Runs in lines from the top down, each from left to right."""
    lines: list[list[TextRun]] = []
    for run in sorted(runs, key=lambda run: (-line_start(run)[1], line_start(run)[0])):
        above = lines[-1][0] if lines else None
        # Programs write a line in several runs, one for each change of font, colour or kerning.
        if above and abs(line_start(above)[1] - line_start(run)[1]) < SAME_BASELINE * run.em:
            lines[-1].append(run)
        else:
            lines.append([run])
    return [sorted(line, key=lambda run: line_start(run)[0]) for line in lines]


def _gaps_of_run(run: TextRun) -> SortedGaps:
    return sorted_gaps(letters_of(run.shapes, -run.angle), run.em, run.text)


def case_of(text: str) -> str | None:
    """Whether a text is in capitals, in small letters or mixed; None where it has no letters."""
    letters = [char for char in text if char.isalpha() and char.lower() != char.upper()]
    if not letters:
        return None
    if all(char == char.upper() for char in letters):
        return "upper"
    return "lower" if all(char == char.lower() for char in letters) else "mixed"


def _style_of(found: Iterable[str | None]) -> str | None:
    """The style that a sign is judged by: ornate and slanted letters count before plain ones.

    A style that is ruled out counts though others are not known.
    """
    styles = set(found)
    if None in styles:
        # One letter that is ornate breaks the clause, whatever the unknown ones are; one that is
        # plain says nothing of them.
        styles &= {"script", "decorative", "italic", "serif"}
    return next((style for style in STYLES_BY_RANK if style in styles), None)


STYLES_BY_RANK = ("script", "decorative", "italic", "serif", "sans-serif")


def _measured_outlines(shapes: Sequence[Shape], stated_text: Sequence[str]) -> LetterMeasures:
    if len(shapes) > MOST_SHAPES:
        return LetterMeasures(from_outlines=True)
    outlines, specks = without_specks(without_borders(shapes)[0])
    with_marks, ornaments = without_ornaments(outlines, stated_text)
    drawn, marks = without_marks(with_marks, stated_text)
    lines = lines_of_shapes(drawn)
    if not lines:
        return LetterMeasures(from_outlines=True)
    text = plain_text(stated_text)
    told: Sequence[str | None] = [None] * len(lines)
    if len(text) == len(lines):
        lines = [with_whole_signs(line, words) for line, words in zip(lines, text, strict=True)]
        # Otherwise nothing tells which line of the text is which of those drawn.
        told = stated_text
    read = lines_as_read(lines, told)
    in_order = stated_text if len(text) != len(lines) else [line.text or "" for line in read]
    wrong = miscount([len(line) for line in lines], plain_text(in_order))
    touching = touching_shapes(drawn, ornaments)
    if wrong is not None and wrong.more and len(text) != len(lines):
        return _beside_the_text(lines, wrong, specks, touching.words)
    measures = _measured_lines(read)
    # The marks of what is turned over lie on the other side of their letters.
    upright = [None if line.turn else line.text for line in read]
    unmarked = wrong_marks(lines, upright, Marks.of(marks, stated_text))
    lacking = [*measures.lacking, *touching.words, *unmarked]
    if wrong is not None:
        lacking.append(wrong.words)
    is_other = bool(unmarked) or (wrong is not None and wrong.more)
    # What lies on a letter may be no part of it; without a text nobody asks.
    is_other = is_other or (bool(text) and touching.overlaps)
    return evolve(
        measures,
        specks=tuple(specks),
        lost_letters=wrong.words if wrong is not None and wrong.fewer else None,
        lacking=tuple(lacking),
        drawn=UNLIKE_TEXT if is_other else measures.drawn,
        overlaps=touching.overlaps,
    )


def _measured_lines(read: Sequence[ReadLine]) -> LetterMeasures:
    """Lines of outlines, each with its text where it is known."""
    lines, told = [line.letters for line in read], [line.text for line in read]
    heights = [height_of_line(each.letters, each.text, fits=each.is_known) for each in read]
    gaps = [_gaps_as_read(each, height.low) for each, height in zip(read, heights, strict=True)]
    # Of shapes that are other letters than their text has, its letters tell nothing.
    known = [known_letters(each.letters, each.text) if each.is_known else [] for each in read]
    case_shown = all_show_capitals(known)
    strokes = [
        strokes_of_line(letters, each.fitting, height.high)
        for each, letters, height in zip(read, known, heights, strict=True)
    ]
    all_known = [letter for letters in known for letter in letters]
    # From foot to foot, since the outlines of a line hold no baseline.
    feet = sorted((height.foot for height in heights), reverse=True)
    odd_lines = [*uneven_capitals(lines, told)]
    misfits = list(dict.fromkeys(_known_ones(each.misfit for each in read)))
    misfits += too_many_shapes(lines, told)
    return LetterMeasures(
        lines=lines_of_several_sizes(
            PartSizes(
                [height.low, height.high], each_stroke, widths_of_o(letters), each.within
            ).sizes
            for height, each_stroke, letters, each in zip(
                heights, strokes, known, gaps, strict=True
            )
        ),
        height=spread([each for height in heights for each in (height.low, height.high)]),
        stroke=spread([each for line_strokes in strokes for each in line_strokes]),
        width=spread(widths_of_o(all_known)),
        spacing=spread([gap for each in gaps for gap in each.within]),
        word_spacing=spread([gap for each in gaps for gap in each.between]),
        line_spacing=spread([one - other for one, other in pairwise(feet)]),
        baseline=min(feet),
        top=max(letter.bounds[3] for line in lines for letter in line),
        style=style_of_known(all_known),
        from_outlines=True,
        not_measured=(*not_told_by(all_known, shows_case=case_shown), *gaps_not_told(read)),
        guessed_gaps=tuple(gap for each in gaps for gap in each.guessed),
        case_shown=case_shown,
        lacking=(*misfits, *odd_lines, *heights_in_words(heights, told)),
        drawn=UNLIKE_TEXT if misfits or odd_lines else OUTLINES,
    )


def _gaps_as_read(line: ReadLine, height: float) -> SortedGaps:
    """The gaps of a line; none where its shapes are other letters than those of its text, which
    does not tell then where words end.
    """
    if not line.is_known:
        return SortedGaps()
    plain = None if line.text is None else plain_text([line.text])[0]
    return sorted_gaps(line.letters, height, plain)


def _beside_the_text(
    lines: Sequence[Sequence[Any]],
    wrong: Miscount,
    specks: Sequence[Speck],
    touching: tuple[str, ...],
) -> LetterMeasures:
    """Outlines on more lines than the text has: of what is no letter, none counts."""
    words = f"{wrong.words}, so none of them is measured. Draw what is no letter elsewhere"
    return LetterMeasures(
        baseline=min(height_of_unknown(line).foot for line in lines),
        top=max(letter.bounds[3] for line in lines for letter in line),
        from_outlines=True,
        specks=tuple(specks),
        lacking=(words, *touching),
        case_shown=False,
        drawn=UNLIKE_TEXT,
    )
