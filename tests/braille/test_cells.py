"""Cells against the names that the Unicode Standard gives them."""

from __future__ import annotations

import unicodedata

import pytest

from signrules.braille.cells import (
    BLANK,
    DIGITS,
    LETTERS,
    NUMERIC,
    cell_of_dots,
    dots_of,
    from_dots,
    name_of,
    to_dots,
    wide_gaps,
)

PATTERNS = [chr(code) for code in range(0x2800, 0x2900)]


@pytest.mark.parametrize("pattern", PATTERNS)
def test_dots_are_those_of_the_unicode_name(pattern):
    head, _, numbers = unicodedata.name(pattern).rpartition("-")
    if pattern == BLANK:
        assert unicodedata.name(pattern) == "BRAILLE PATTERN BLANK"
        head, numbers = "BRAILLE PATTERN DOTS", ""
    assert head == "BRAILLE PATTERN DOTS"
    assert dots_of(pattern) == tuple(map(int, numbers))
    assert cell_of_dots(dots_of(pattern)) == pattern
    assert from_dots(to_dots(pattern)) == pattern


def test_names():
    assert [name_of(each) for each in "⠀⠠⠕ "] == ["blank", "dot 6", "dots 135", "blank"]


def test_dots_in_numbers():
    assert to_dots("⠌⠕⠏⠀⠼⠁") == "34-135-1234-0-3456-1"
    assert from_dots("34-135-1234-0-3456-1") == "⠌⠕⠏⠀⠼⠁"
    assert from_dots("") == to_dots("") == ""


def test_digits_are_the_letters_a_to_j():
    assert [DIGITS[digit] for digit in "1234567890"] == [LETTERS[letter] for letter in "abcdefghij"]
    assert dots_of(NUMERIC) == (3, 4, 5, 6)
    # From the third row on the letters repeat the first ten with dot 3, then with 3 and 6; w is the
    # stranger.
    for first, second, third in zip("abcdefghij", "klmnopqrst", "uvxyz", strict=False):
        assert {*dots_of(LETTERS[first]), 3} == {*dots_of(LETTERS[second])}
        assert {*dots_of(LETTERS[first]), 3, 6} == {*dots_of(LETTERS[third])}
    assert dots_of(LETTERS["w"]) == (2, 4, 5, 6)


@pytest.mark.parametrize("dots", [(0,), (9,), (1, 12), ("1",)])
def test_no_such_dot(dots):
    with pytest.raises(ValueError, match="dots from 1 to 8"):
        cell_of_dots(dots)


@pytest.mark.parametrize("pattern", ["a", "", "⠁⠁", "\u2900", "\u27ff", "\n"])
def test_no_such_pattern(pattern):
    with pytest.raises(ValueError, match="braille pattern"):
        dots_of(pattern)


@pytest.mark.parametrize("numbers", ["1-", "x", "1 2", "²"])
def test_no_such_numbers(numbers):
    with pytest.raises(ValueError, match="numbers of dots"):
        from_dots(numbers)


@pytest.mark.parametrize(
    ("cells", "after"),
    [
        ("⠁⠀⠃", []),
        ("⠁⠀⠀⠃", [1]),
        ("⠁  ⠃ ⠉⠀ ⠙", [1, 3]),
        ("⠀⠀⠁⠀⠀", []),
        ("⠁⠀⠃⠀⠀\n⠀⠀\n⠀⠀⠉⠀⠀⠀⠙", [3]),
        ("", []),
    ],
)
def test_wide_gaps_between_words(cells, after):
    assert wide_gaps(cells) == after
