"""Whether cells say the right text in another style, or another text.

Styles of one text: contracted, in part or not at all; capitals in other places; grade 1 indicators that are not needed.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence

from signrules.braille.cells import BLANK, joined
from signrules.braille.reading import as_read, readings
from signrules.braille.spelling import expected, words_of
from signrules.model.sign import GRADES

Translates = Callable[[str, str], str | None]
"""From a line of text and a grade to cells; None where nobody translates."""


def says_the_text(
    cells: str,
    text: Sequence[str],
    translate: Translates,
    *,
    english: bool,
    proper: Sequence[str] = (),
    acronyms: Collection[str] = (),
) -> bool:
    """Whether cells say a text in any style: read in one grade from end to end, each of its words is there.

    English is read (`signrules.braille.reading`). What cannot be read is compared with what the translator makes of
    the text in both grades, in small letters, in capitals and with initial capitals.
    """
    found, wanted = joined(cells).split(BLANK), words_of(text)
    if len(found) != len(wanted):
        return False
    spelled = _translated_words(text, translate, proper=proper, acronyms=acronyms)

    def is_said(at: int, grade: str) -> bool:
        read = readings(found[at], grade) if english else ()
        return as_read(wanted[at]) in read if read else found[at] in spelled[at]

    return any(all(is_said(at, grade) for at in range(len(wanted))) for grade in GRADES)


def _translated_words(
    text: Sequence[str], translate: Translates, *, proper: Sequence[str], acronyms: Collection[str]
) -> list[set[str]]:
    """For each word of a text the cells that the translator may give it."""
    words: list[set[str]] = [set() for _ in words_of(text)]
    for line in _translated_lines(text, translate, proper=proper, acronyms=acronyms):
        pieces = line.split(BLANK)
        if len(pieces) == len(words):
            for known, piece in zip(words, pieces, strict=True):
                known.add(piece)
    return words


def _translated_lines(
    text: Sequence[str], translate: Translates, *, proper: Sequence[str], acronyms: Collection[str]
) -> Iterator[str]:
    line = " ".join(words_of(text))
    for grade in GRADES:

        def translated(form: str, grade: str = grade) -> str | None:
            return translate(form, grade)

        yield from expected(text, translated, grade=grade, proper=proper, acronyms=acronyms) or ()
        for form in (line.upper(), line.title(), line.capitalize()):
            cells = translated(form)
            if cells is not None:
                yield joined(cells)
