"""What text the braille of a sign stands for: lower case, but for the words that may keep their capitals.

Raised text is in capitals and its braille is not. Capitals are kept in names and acronyms that the sign lists, in
letters that stand alone, and at the start of a sentence (2010 ADA Standards, 703.3.1).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence

from signrules.braille.cells import BLANK, CAPITAL, DIGITS, LETTERS, NUMERIC, TERMINATOR

SENTENCE, NAME, LETTER, ACRONYM = "sentence", "name", "letter", "acronym"
REASONS = (SENTENCE, NAME, LETTER, ACRONYM)
"""Why a word may keep its capital: initials count as letters."""

_LONE = re.compile(r"(?<![^\W\d_])(?<![^\W\d_]['’])[^\W\d_](?![^\W\d_])")
_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)*")
_POINTS = {".": "\u2832", ",": "\u2802"}
_DIGIT = f"[{''.join(DIGITS.values())}]"
_NUMBER_CELLS = re.compile(f"{NUMERIC}({_DIGIT}+(?:[{''.join(_POINTS.values())}]{_DIGIT}+)*)(?:\u280c({_DIGIT}+))?")
_NOT_CAPITALS = "\u2804\u2824\u2826\u2834\u2836"
"""After dot 6 these make a terminator, a dash or a quotation mark."""


def words_of(text: Iterable[str]) -> list[str]:
    """The words of all lines."""
    return " ".join(text).split()


def joined(cells: str) -> str:
    """Cells as one line with single blank cells between words."""
    return BLANK.join(cells.replace(BLANK, " ").split())


def forms(text: Iterable[str], proper: Iterable[str] = ()) -> tuple[str, ...]:
    """The text in lower case with its names restored; and with capitals that may be kept but need not.

    Those are letters that stand alone, and the first letter of a sentence.
    """
    line = " ".join(words_of(text))
    plain = [each.lower() if len(each.lower()) == 1 else each for each in line]
    for start, name in _named(line, proper):
        plain[start : start + len(name)] = name
    alone = [match.start() for match in _LONE.finditer(line) if match[0].isupper()]
    first = [match.start(1) for match in re.finditer(r"(?:^|[.!?] )\W*(\w)", line)] if line[-1:] in tuple(".!?") else []
    found = []
    for kept in ((), alone, first, [*alone, *first]):
        chars = list(plain)
        for at in kept:
            chars[at] = line[at].upper()
        found.append("".join(chars))
    return tuple(dict.fromkeys(found))


def _named(line: str, proper: Iterable[str]) -> Iterator[tuple[int, str]]:
    for name in proper:
        for match in re.finditer(rf"(?<!\w){re.escape(name)}(?!\w)", line, re.IGNORECASE):
            # As long as the name: without regard to case, one character stands for one.
            yield match.start(), name


def expected(
    text: Sequence[str],
    translate: Callable[[str], str | None],
    *,
    proper: Iterable[str] = (),
    acronyms: Collection[str] = (),
) -> tuple[str, ...] | None:
    """The cells that may stand for a text, each as one line; None where nobody translates.

    Acronyms of two or more plain letters are spelled out here, so that no translator takes them for words: two capital
    indicators and the letters (The Rules of Unified English Braille, 2013, 8.4 and 10.1.3).
    """
    original = words_of(text)
    found = []
    for form in forms(text, proper):
        parts: list[str] = []
        run: list[str] = []
        for word, plain in [*zip(original, form.split(), strict=True), ("", "")]:
            letters = word in acronyms and len(word) > 1 and all(each in LETTERS for each in word.lower())
            if word and not letters:
                run.append(word if word in acronyms else plain)
                continue
            if run:
                cells = translate(" ".join(run))
                if cells is None:
                    return None
                parts.append(joined(cells))
                run = []
            if letters:
                parts.append(2 * CAPITAL + "".join(LETTERS[each] for each in word.lower()))
        found.append(BLANK.join(parts))
    return tuple(dict.fromkeys(found))


def reasons(text: Sequence[str], *, proper: Iterable[str] = (), acronyms: Collection[str] = ()) -> list[set[str]]:
    """For each word of a text, why it may keep a capital."""
    line = " ".join(words_of(text))
    names = [(start, start + len(name)) for start, name in _named(line, proper)]
    sentences = line[-1:] in tuple(".!?")
    found: list[set[str]] = []
    starts = sentences
    for match in re.finditer(r"\S+", line):
        word, why = match[0], set()
        if starts:
            why.add(SENTENCE)
        if any(start < match.end() and match.start() < end for start, end in names):
            why.add(NAME)
        if any(lone[0].isupper() for lone in _LONE.finditer(word)):
            why.add(LETTER)
        if word in acronyms or word.strip(".,:;!?()") in acronyms:
            why.add(ACRONYM)
        found.append(why)
        starts = sentences and word[-1] in ".!?"
    return found


def capital_words(cells: str) -> list[int]:
    """Which words of the cells, counted from 0, carry a capital indicator or stand in a passage in capitals."""
    found = []
    passage = False
    for number, word in enumerate(joined(cells).split(BLANK)):
        starts = 3 * CAPITAL in word
        here = re.search(f"{CAPITAL}(?![{_NOT_CAPITALS}])", word.replace(TERMINATOR, "")) is not None
        if here or passage or starts:
            found.append(number)
        passage = (passage or starts) and TERMINATOR not in word
    return found


def numbers_of(text: Iterable[str]) -> list[str]:
    """The numbers of a text in its order, as the letters a to j after a numeric indicator."""
    return [
        NUMERIC + "".join(_POINTS.get(each) or DIGITS[each] for each in number)
        for number in _NUMBER.findall(" ".join(text))
    ]


def numbers_in(cells: str) -> list[str]:
    """The numbers of cells in their order, the two parts of a fraction each by itself."""
    return [NUMERIC + part for match in _NUMBER_CELLS.finditer(cells) for part in match.groups() if part]
