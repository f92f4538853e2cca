"""Whether cells say the right text in another style, or another text.

Styles of one text: contracted, in part or not at all; capitals in other places; grade 1 indicators that are not needed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from signrules.braille.cells import BLANK, HYPHEN, joined
from signrules.braille.reading import as_read, is_english, readings
from signrules.braille.spelling import expected, words_of
from signrules.model.sign import CONTRACTED, GRADES, Braille

Translates = Callable[[str, str], str | None]
"""From a grade and a line of text to cells; None where nobody translates."""


def expected_cells(
    braille: Braille, text: Sequence[str], translate: Callable[[str], str | None], grade: str
) -> tuple[str, ...] | None:
    """The cells that may stand for the text of a sign in a grade; see `signrules.braille.spelling.expected`."""
    return expected(text, translate, grade=grade, proper=braille.proper, acronyms=braille.acronyms)


def says_the_text(braille: Braille, text: Sequence[str], translate: Translates) -> bool:
    """Whether cells say a text in any style: read in one grade from end to end, each of its words is there.

    English is read (`signrules.braille.reading`). Where a word cannot be read, the cells are compared with what the
    translator makes of the text in both grades, in small letters, in capitals and with initial capitals. A word may be
    divided by a hyphen at the end of a line.
    """
    wanted, cells = words_of(text), braille.cells or ""
    english = is_english(braille.language)
    undivided = cells.replace(f"{HYPHEN}\n", "")
    ways = [joined(way).split(BLANK) for way in dict.fromkeys((cells, undivided))]
    ways = [found for found in ways if len(found) == len(wanted)]
    readable = english and all(readings(word, CONTRACTED) for found in ways for word in found)
    known = [set[str]() for _ in wanted] if readable else _translated_words(braille, text, translate)

    def is_said(word: str, at: int, grade: str) -> bool:
        read = readings(word, grade) if english else ()
        return as_read(wanted[at]) in read if read else word in known[at]

    return any(all(is_said(word, at, grade) for at, word in enumerate(found)) for found in ways for grade in GRADES)


def _translated_words(braille: Braille, text: Sequence[str], translate: Translates) -> list[set[str]]:
    """For each word of a text the cells that the translator may give it."""
    words: list[set[str]] = [set() for _ in words_of(text)]
    for line in _translated_lines(braille, text, translate):
        pieces = line.split(BLANK)
        if len(pieces) == len(words):
            for known, piece in zip(words, pieces, strict=True):
                known.add(piece)
    return words


def _translated_lines(braille: Braille, text: Sequence[str], translate: Translates) -> Iterator[str]:
    line = " ".join(words_of(text))
    for grade in GRADES:
        in_grade = partial(translate, grade)
        yield from expected_cells(braille, text, in_grade, grade) or ()
        for form in (line.upper(), line.title(), line.capitalize()):
            cells = in_grade(form)
            if cells is not None:
                yield joined(cells)
