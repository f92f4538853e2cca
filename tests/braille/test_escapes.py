"""What stands in the place of a translation and is none."""

from __future__ import annotations

import pytest

from signrules.braille.escapes import is_translation, named_characters, unknown_characters

STAR = "⠄⠸⠡⠭⠼⠃⠋⠚⠑⠄"
"""U+2605 as x2605 in letters and digits, between apostrophes, after a backslash."""


@pytest.mark.parametrize(
    ("cells", "line", "sound"),
    [
        ("⠍⠁⠔", "main", True),
        ("", "★", True),
        (STAR, "★", False),
        # The same cells are right where the text has them in so many letters.
        (STAR, r"'\x2605'", True),
        # Dot 7, dot 8, both.
        ("⡁", "a", False),
        ("⢁", "a", False),
        ("⠍⣿", "ma", False),
    ],
)
def test_cells_of_six_dots_without_numbers_of_characters(cells, line, sound):
    assert is_translation(cells, line) is sound


def test_the_characters_that_a_translator_does_not_know():
    known = {"★": STAR, "a": "⠁", "♿": "⡳"}
    assert unknown_characters("a ★ ♿ ★ z", known.get) == ("★", "♿")
    assert unknown_characters("a z", known.get) == ()
    assert named_characters(("★", "♿")) == "'★' (U+2605), '♿' (U+267F)"
