"""What text the braille of a sign stands for: lower case, but for words that keep capitals.

Raised text is in capitals and its braille is not. Capitals are kept in names and acronyms that the
sign lists, in letters that stand alone, and at the start of a sentence (2010 ADA Standards,
703.3.1).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import chain

from signrules.braille.acronyms import (
    acronyms_in,
    has_acronym,
    translated_around,
    ways_to_spell,
    with_capitals,
    without_stand_ins,
)
from signrules.braille.cells import BLANK, CAPITAL, DIGITS, NUMERIC, TERMINATOR, joined_cells
from signrules.model.sign import CONTRACTED

SENTENCE, NAME, LETTER, ACRONYM = "sentence", "name", "letter", "acronym"
REASONS = (SENTENCE, NAME, LETTER, ACRONYM)
"""Why a word may keep its capital: initials count as letters."""

# The s of "men's" is no letter that stands alone.
_LONE = re.compile(r"(?<![^\W\d_])(?<![^\W\d_]['’])[^\W\d_](?![^\W\d_])")
_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)*")
_POINTS = {".": "\u2832", ",": "\u2802"}
_DIGIT = f"[{''.join(DIGITS.values())}]"
_DIGITS = f"({_DIGIT}+(?:[{''.join(_POINTS.values())}]{_DIGIT}+)*)"
_NUMBER_CELLS = re.compile(f"{NUMERIC}{_POINTS['.']}?{_DIGITS}(?:\u280c({_DIGIT}+))?")
_SET_APART = ("<fraction>", "<super>", "<sub>")
"""Digits of one character that are no part of the number before them: those of 3½ and of 5²."""

_NOT_CAPITALS = "\u2804\u2824\u2826\u2834\u2836"
"""After dot 6 these make a terminator, a dash or a quotation mark."""


def words_of(text: Iterable[str]) -> list[str]:
    """The words of all lines."""
    return " ".join(text).split()


def forms_of_text(text: Iterable[str], proper: Iterable[str] = ()) -> tuple[str, ...]:
    """The text in lower case with its names restored, and with capitals that are optional.

    Those are letters that stand alone, and the first letter of a sentence.
    """
    line = " ".join(words_of(text))
    plain = [_as_long(char, char.lower()) for char in line]
    for start, name in _names_restored(line, proper):
        plain[start : start + len(name)] = name
    alone = [match.start() for match in _LONE.finditer(line) if match[0].isupper()]
    first: list[int] = []
    # Most signs say no sentence: a text without a stop at its end is taken for none.
    if line[-1:] in tuple(".!?"):
        first = [match.start(1) for match in re.finditer(r"(?:^|[.!?] )\W*(\w)", line)]
    forms = []
    # Either is optional by itself, so each may be there without the other.
    for kept in ((), alone, first, [*alone, *first]):
        chars = list(plain)
        for position in kept:
            chars[position] = _as_long(chars[position], line[position].upper())
        forms.append("".join(chars))
    return tuple(dict.fromkeys(forms))


def _as_long(char: str, other: str) -> str:
    """The other one in place of a character, if that is one too.

    Each form is as long as the text: characters whose capitals are two, such as ß, stay.
    """
    if len(other) != 1:
        return char
    return other


def _names_restored(line: str, proper: Iterable[str]) -> Iterator[tuple[int, str]]:
    for name in proper:
        for match in re.finditer(rf"(?<!\w){re.escape(name)}(?!\w)", line, re.IGNORECASE):
            # As long as the name: without regard to case, one character stands for one.
            yield match.start(), name


def cells_of_text(
    text: Sequence[str],
    translate: Callable[[str], str | None],
    *,
    grade: str = CONTRACTED,
    proper: Iterable[str] = (),
    acronyms: Collection[str] = (),
) -> tuple[str, ...] | None:
    """The cells that may stand for a text in a grade, each as one line.

    None where nobody translates. Acronyms of two or more plain letters are spelled out here, so
    that no translator takes them for words; see `signrules.braille.acronyms`. In contracted braille
    they may also have groupsigns.
    """
    line = " ".join(words_of(text))
    listed = acronyms_in(line, acronyms)
    cells = []
    for form in forms_of_text(text, proper):
        around = translated_around(with_capitals(form, line, acronyms), listed, translate)
        if around is None:
            return None
        for spell in ways_to_spell(grade):
            cells.append(without_stand_ins(*around, spell=spell, grade=grade))
    return tuple(dict.fromkeys(cells))


def capital_reasons(
    text: Sequence[str], *, proper: Iterable[str] = (), acronyms: Collection[str] = ()
) -> list[set[str]]:
    """For each word of a text, why it may keep a capital."""
    line = " ".join(words_of(text))
    names = [(start, start + len(name)) for start, name in _names_restored(line, proper)]
    sentences = line[-1:] in tuple(".!?")
    reasons: list[set[str]] = []
    starts = sentences
    for match in re.finditer(r"\S+", line):
        word, why = match[0], set()
        if starts:
            why.add(SENTENCE)
        if any(start < match.end() and match.start() < end for start, end in names):
            why.add(NAME)
        if any(lone[0].isupper() for lone in _LONE.finditer(word)):
            why.add(LETTER)
        if has_acronym(word, acronyms):
            why.add(ACRONYM)
        reasons.append(why)
        starts = sentences and word[-1] in ".!?"
    return reasons


def capital_words(cells: str) -> list[int]:
    """The words of the cells, counted from 0, with a capital indicator or in a passage."""
    numbers = []
    passage = False
    for number, word in enumerate(joined_cells(cells).split(BLANK)):
        # Three capital indicators begin a passage, and a terminator ends it.
        starts = 3 * CAPITAL in word
        plain = word.replace(TERMINATOR, "")
        is_capital = re.search(f"{CAPITAL}(?![{_NOT_CAPITALS}])", plain) is not None
        if is_capital or passage or starts:
            numbers.append(number)
        passage = (passage or starts) and TERMINATOR not in word
    return numbers


def numbers_of(text: Iterable[str]) -> list[str]:
    """The numbers of a text in its order, as the letters a to j after a numeric indicator.

    A point before the first digit is left out. 3½ is three numbers: 3, 1 and 2.
    """
    plain = "".join(_plain_digits(char) for char in " ".join(text))
    return [_number_in_cells(number) for number in _NUMBER.findall(plain)]


def _number_in_cells(number: str) -> str:
    return NUMERIC + "".join(_POINTS.get(char) or DIGITS[char] for char in number)


def digits_of(number: str) -> str:
    """A number in cells, as `numbers_of` has it, in digits and points."""
    signs = {**DIGITS, **_POINTS}
    plain = {cell: char for char, cell in signs.items()}
    return "".join(plain[cell] for cell in number.removeprefix(NUMERIC))


def _plain_digits(char: str) -> str:
    is_set_apart = unicodedata.decomposition(char).startswith(_SET_APART)
    if not is_set_apart:
        return char
    return f" {unicodedata.normalize('NFKC', char)} "


def numbers_in(cells: str) -> list[str]:
    """The numbers of cells in their order, the two parts of a fraction each by itself."""
    parts = chain.from_iterable(match.groups() for match in _NUMBER_CELLS.finditer(cells))
    return [NUMERIC + part for part in parts if part]
