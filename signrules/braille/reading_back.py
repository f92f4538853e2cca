"""What English braille says when it is read, contracted or not: the way back from cells to text.

It reads more than a transcriber would write: a word that is contracted in part, or with capitals
where none are due. So it tells the right text in another style from another text. Source: as in
`signrules.braille.contractions`; symbols and indicators are those of The Rules of Unified English
Braille, second edition 2013, sections 3 and 5 to 8, from memory.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from itertools import product

from signrules.braille.cells import BLANK, CAPITAL, DIGITS, GRADE_1, LETTERS, TERMINATOR
from signrules.braille.contractions import (
    ALONE,
    ANYWHERE,
    BETWEEN,
    FINAL,
    FIRST,
    INITIAL,
    SHORTFORMS,
)
from signrules.model.sign import CONTRACTED

_LETTER_OF = {cells: letter for letter, cells in LETTERS.items()}
_DIGIT_OF = {cells: digit for digit, cells in DIGITS.items()}

_SYMBOLS = {
    "⠠⠤": "–",
    "⠐⠣": "(",
    "⠐⠜": ")",
    "⠸⠌": "/",
    "⠈⠯": "&",
    "⠸⠹": "#",
    "⠐⠖": "+",
    "⠐⠶": "=",
    "⠨⠴": "%",
    "⠈⠁": "@",
    "⠤": "-",
    "⠄": "'",
}
_CLOSING = {"⠂": ",", "⠆": ";", "⠒": ":", "⠲": ".", "⠖": "!", "⠦": "?", "⠴": '"'}
_OPENING = "⠦"
_NUMERIC_SIGNS = {**_DIGIT_OF, "⠲": ".", "⠂": ",", "⠌": "/"}

_DIGIT = f"[{''.join(_DIGIT_OF)}]"
_NUMBER = re.compile(f"⠼⠲?{_DIGIT}+(?:[⠲⠂⠌]{_DIGIT}+)*")
# Numbers come first: a decimal point in a number is the cell that else is a full stop.
_PARTS = re.compile(f"({_NUMBER.pattern}|{'|'.join(_SYMBOLS)})")
# After dot 6 or dots 56 the same cell is part of an indicator.
_POINT = re.compile("(?<=[^⠠⠰])⠲")
_INDICATORS = re.compile(r"(⠰{0,3})⠠{0,3}")

_BEFORE, _AFTER = ("", "-", "–", "("), ("", "-", "–", ")", "'")
"""Between one of each, letters stand alone (2.6), and may be a wordsign or a shortform.

"" is an end of the word.
"""

_PLAIN = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "—": "–", "\u2044": "/"})


def is_english(language: str) -> bool:
    """Whether a language tag is that of English, in whatever region."""
    return language.lower().partition("-")[0] == "en"


def readings_of_word(cells: str, grade: str) -> tuple[str, ...]:
    """What one word of cells can be read as, in small letters; none where it cannot be read.

    `cells` has no blank in it. Further readings come of shortforms within longer words.
    """
    # Capitals are not read back: which are due is judged by `spelling`, word by word.
    parts = [part for part in _PARTS.split(cells.replace(TERMINATOR, "")) if part]
    # Both ends of the word say nothing to their neighbours.
    said_parts = ["", *map(_said_to_neighbours, parts), ""]
    readings = [""]
    for part, before, after in zip(parts, said_parts, said_parts[2:], strict=False):
        readings_here = _readings_of_part(part, before, after, grade)
        readings = _followed_by(readings, readings_here)
    return tuple(dict.fromkeys(readings))


def _followed_by(texts: Iterable[str], further: Sequence[str]) -> list[str]:
    """Each of some texts followed by each of some others."""
    return [text + further_text for text, further_text in product(texts, further)]


def in_words(cells: str, grade: str) -> str | None:
    """What a line of cells says, in small letters; None where a word of it cannot be read."""
    words = [readings_of_word(word, grade) for word in cells.split(BLANK)]
    if not all(words):
        return None
    return " ".join(word[0] for word in words)


def as_read(word: str) -> str:
    """A word of a text as `readings` would give it."""
    fractions = "".join(_fraction_of(char) for char in word)
    return unicodedata.normalize("NFKC", fractions).casefold().translate(_PLAIN).strip()


def _fraction_of(char: str) -> str:
    """A fraction apart from the whole number before it."""
    if unicodedata.decomposition(char).startswith("<fraction>"):
        return f" {char}"
    return char


def _said_to_neighbours(part: str) -> str:
    """What a part is to its neighbours: its symbol, "0" for any number, "x" for any letters."""
    if part in _SYMBOLS:
        return _SYMBOLS[part]
    return "0" if _NUMBER.fullmatch(part) else "x"


def _readings_of_part(part: str, before: str, after: str, grade: str) -> list[str]:
    if part in _SYMBOLS:
        return [_SYMBOLS[part]]
    if _NUMBER.fullmatch(part):
        number = "".join(_NUMERIC_SIGNS[sign] for sign in part[1:])
        if before == "0":
            # 3½ is two numbers without a sign between, and its text is compared with a space there.
            number = f" {number}"
        return [number]
    return _readings_of_letters(part, before, after, grade)


def _readings_of_letters(part: str, before: str, after: str, grade: str) -> list[str]:
    """Readings of letters and their indicators, with the punctuation around them."""
    opening, cells, closing = _without_punctuation(part, before)
    # A full stop between letters: what stands beside one does not stand alone.
    cores = _POINT.split(cells)
    alone = before in _BEFORE and after in _AFTER and len(cores) == 1
    # After a number or an apostrophe a word goes on: groupsigns for its start mean others there.
    starts = before not in ("0", "'")
    readings = [""]
    for number, core in enumerate(cores):
        readings_here = _readings_of_core(core, grade, alone=alone, starts=starts)
        if number:
            readings_here = [f".{further}" for further in readings_here]
        readings = _followed_by(readings, readings_here)
    return [opening + text + closing for text in readings]


def _without_punctuation(cells: str, before: str) -> tuple[str, str, str]:
    """Opening punctuation as text, the cells between, closing punctuation as text."""
    opening = closing = ""
    opens = before in _BEFORE
    if opens and len(cells) > 1 and cells.startswith(_OPENING):
        opening, cells = '"', cells.removeprefix(_OPENING)
    # Where letters begin, one cell stays: it is a wordsign ("his", "be") and no punctuation.
    fewest = len(cells) - len(cells.lstrip(CAPITAL + GRADE_1)) + opens
    while len(cells) > fewest and cells[-1] in _CLOSING:
        closing, cells = _CLOSING[cells[-1]] + closing, cells[:-1]
    return opening, cells, closing


def _readings_of_core(core: str, grade: str, *, alone: bool, starts: bool) -> list[str]:
    indicators = _INDICATORS.match(core)
    assert indicators is not None  # It matches nothing too.
    grade_1 = len(indicators[1])
    letters = core[indicators.end() :]
    if not core:
        return [""]
    # Indicators alone say nothing of what they are for.
    if not letters:
        return []
    # Two grade 1 indicators spell a word, three a passage (5.3 and 5.4, from memory).
    if grade != CONTRACTED or grade_1 > 1:
        return _spelling_of(letters)
    if alone and not grade_1 and letters in ALONE:
        return [ALONE[letters]]
    readings = _in_groups(letters, starts)
    if not grade_1:
        readings += _with_shortforms(letters, starts)
    return readings


def _with_shortforms(letters: str, starts: bool) -> Iterator[str]:
    """Longer words with a shortform in them: friendly, afternoons, unnecessary."""
    for short, word in SHORTFORMS.items():
        start = letters.find(short)
        while start >= 0:
            head = _in_groups(letters[:start], starts)
            tail = _in_groups(letters[start + len(short) :], False)
            yield from _followed_by([first + word for first in head], tail)
            # From the next cell on, as a shortform may stand twice in a word.
            start = letters.find(short, start + 1)


def _spelling_of(letters: str) -> list[str]:
    plain = letters.replace(CAPITAL, "")
    if not all(cell in _LETTER_OF for cell in plain):
        return []
    return ["".join(_LETTER_OF[cell] for cell in plain)]


def _in_groups(letters: str, starts: bool) -> list[str]:
    """Letters and groupsigns from left to right; there is one reading at the most."""
    position, spelled = 0, ""
    while position < len(letters):
        letter, pair = letters[position], letters[position : position + 2]
        first, last = position == 0 and starts, position == len(letters) - 1
        # Two cells before one: what reads as a pair is not read cell by cell.
        if pair in INITIAL:
            spelled, position = spelled + INITIAL[pair], position + 2
        elif pair in FINAL and (position or not starts):
            spelled, position = spelled + FINAL[pair], position + 2
        elif first and not last and letter in FIRST:
            spelled, position = spelled + FIRST[letter], position + 1
        elif not first and not last and letter in BETWEEN:
            spelled, position = spelled + BETWEEN[letter], position + 1
        elif letter == CAPITAL and not last:
            position += 1
        elif letter in _LETTER_OF or letter in ANYWHERE:
            spelled, position = spelled + (_LETTER_OF.get(letter) or ANYWHERE[letter]), position + 1
        else:
            return []
    return [spelled]
