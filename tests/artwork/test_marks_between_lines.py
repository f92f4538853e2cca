"""A mark between two lines is of the letter whose text asks for one there, however near others
stand.
"""

from __future__ import annotations

import pytest
from font_outlines import UPRIGHT, moved, outlines

from signrules.artwork.letters import measured_letters

CLOSE = 0.5
"""How far the upper line stands over the marks of the lower one, in mm: nearer than any of them to
its own letter.
"""


def two_lines(font, upper, lower):
    """The shapes of two lines, the upper one so near that its foot all but meets the marks."""
    below = outlines(font, lower)
    above = outlines(font, upper)
    top = max(y for shape in below for _, y in shape.outline)
    foot = min(y for shape in outlines(font, "H") for _, y in shape.outline)
    return [*(moved(shape, 1, 1, top - foot + CLOSE) for shape in above), *below]


def told_of_marks(found):
    return [words for words in found.lacking if "mark" in words]


@pytest.mark.parametrize("font", UPRIGHT)
@pytest.mark.parametrize("text", [("DAMES", "ÉLÈVES"), ("SZATNIA", "POKÓJ 6"), ("TITEL", "ÉTÄGE")])
def test_a_mark_is_of_the_letter_that_asks_for_it(font, text):
    found = measured_letters(two_lines(font, *text), (), text)
    assert told_of_marks(found) == []


@pytest.mark.parametrize("font", UPRIGHT)
def test_a_cedilla_takes_no_accent_of_the_next_line(font):
    text = ("LEÇON", "ÉTÉ")
    shapes = [moved(shape, 1, 1, 33) for shape in outlines(font, "LEÇON")]
    found = measured_letters([*shapes, *outlines(font, "ÉTÉ")], (), text)
    assert told_of_marks(found) == []


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        (("DAMES", "ELÈVES"), "for 'É' of 'ÉLÈVES' has no mark on it"),
        (("DAMES", "ÉLÈVÉS"), "for 'E' of 'ÉLÈVES' has a mark on it"),
        (("DAMES", "ÜLÈVES"), "for 'É' of 'ÉLÈVES' has another mark on it"),
    ],
)
def test_a_wrong_mark_is_told_between_near_lines_too(drawn, words):
    text = ("DAMES", "ÉLÈVES")
    upper, lower = drawn
    shapes = [moved(shape, 1, 1, 33) for shape in outlines(UPRIGHT[0], upper)]
    found = measured_letters([*shapes, *outlines(UPRIGHT[0], lower)], (), text)
    assert any(words in each for each in found.lacking)
