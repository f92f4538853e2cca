"""What of lines of outlines does not fit their text, or is not certain, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from signrules.artwork.known_letters import differ_as_no_capitals, letters_by_text
from signrules.artwork.letter_counts import ONE_SHAPE_EACH
from signrules.artwork.line_heights import LineHeight, odd_letter
from signrules.artwork.lines_as_read import ReadLine
from signrules.artwork.stray_shapes import place_of, too_many_in_words
from signrules.model.wording import listed_names


def too_many_shapes(lines: Iterable[Sequence[Any]], told: Iterable[str | None]) -> Iterator[str]:
    """The lines of a text that have more shapes than letters, in words."""
    for line, text in zip(lines, told, strict=True):
        # Of a text with signs that are several shapes, as quotation marks are, counts prove
        # nothing.
        if text and ONE_SHAPE_EACH.issuperset("".join(text.split())):
            words = too_many_in_words(line, text)
            if words is not None:
                yield words


def uneven_capitals(lines: Iterable[Sequence[Any]], told: Iterable[str | None]) -> Iterator[str]:
    """The lines of a text in capitals whose letters differ in height as capitals do not."""
    for line, text in zip(lines, told, strict=True):
        letters = letters_by_text(line, text)
        if not differ_as_no_capitals(letters):
            continue
        words = f"the letters drawn for {text!r} differ in height, as capitals do not"
        odd_one = odd_letter(letters)
        if odd_one is None:
            yield words
        else:
            yield (
                f"{words}: the one {place_of(odd_one.region)}, which should be {odd_one.char!r}, is"
                " not as tall as the others. The height is theirs"
            )


def heights_in_words(heights: Iterable[LineHeight], told: Iterable[str | None]) -> Iterator[str]:
    """What of the heights of lines is not certain."""
    for height, text in zip(heights, told, strict=True):
        if height.round_alone:
            yield (
                f"no letter of {text!r} is flat at both ends, so its height, {height.low:.3f} mm,"
                " may hold the overshoot of round or pointed ones, up to 4 %"
            )
        if height.odd_one is not None and text is None:
            yield (
                f"one letter alone, {place_of(height.odd_one)}, is taller than the others of its"
                " line, with a mark on it or as the only capital: the height is either. State the"
                " text of each line"
            )


def gaps_not_told(lines: Iterable[ReadLine]) -> Iterator[str]:
    """The lines of which nothing tells which gaps lie between words, in words."""
    unknown = [line.text for line in lines if line.text is not None and not line.is_known]
    if unknown:
        yield f"the gaps of {listed_names(unknown)}, whose shapes do not fit the text"
