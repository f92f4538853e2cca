"""Whether cells say the right text in another style, or another text.

Styles of one text: contracted, in part or not at all; capitals in other places; grade 1 indicators
that are not needed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import product

from signrules.braille.cells import BLANK, HYPHEN, joined_cells
from signrules.braille.reading_back import as_read, is_english, readings_of_word
from signrules.braille.spelling import cells_of_text, words_of
from signrules.model.sign import CONTRACTED, GRADES, Braille

Translates = Callable[[str, str], str | None]
"""From a grade and a line of text to cells; None where nobody translates."""


def expected_cells(
    braille: Braille, text: Sequence[str], translate: Callable[[str], str | None], grade: str
) -> tuple[str, ...] | None:
    """The cells that may stand for a sign's text; see `spelling.cells_of_text`."""
    return cells_of_text(
        text, translate, grade=grade, proper=braille.proper, acronyms=braille.acronyms
    )


def grade_of_cells(braille: Braille, text: Sequence[str], translate: Translates) -> str | None:
    """The grade in which cells stand for a text, word for word.

    None where they stand for it in neither grade, or in both alike, and where nobody translates.
    """
    found_cells = joined_cells(braille.cells or "")
    grades = [
        grade
        for grade in GRADES
        if found_cells in (expected_cells(braille, text, partial(translate, grade), grade) or ())
    ]
    return grades[0] if found_cells and len(grades) == 1 else None


def says_the_text(braille: Braille, text: Sequence[str], translate: Translates) -> bool:
    """Whether cells say a text in any style: each of its words, in one grade from end to end.

    English is read (`signrules.braille.reading_back`). A word that cannot be read is compared with
    what the translator makes of the text in both grades, in small letters, in capitals and with
    initial capitals. A word may be divided by a hyphen at the end of a line, and a hyphen stand for
    a dash.
    """
    wanted, cells = words_of(text), braille.cells or ""
    undivided = cells.replace(f"{HYPHEN}\n", "")
    readings = [joined_cells(reading).split(BLANK) for reading in dict.fromkeys((cells, undivided))]
    readings = [words for words in readings if len(words) == len(wanted)]
    english = is_english(braille.language)
    translated: Sequence[set[str]] = [set() for _ in wanted]
    if not (english and all(_can_be_read(words) for words in readings)):
        translated = _translated_words(braille, text, translate)
    # What is not English is not read, and nothing depends on the grade.
    grades = GRADES if english else (None,)
    return any(
        _says_in_grade(words, wanted, translated, grade)
        for words, grade in product(readings, grades)
    )


def _can_be_read(words: Iterable[str]) -> bool:
    return all(readings_of_word(word, CONTRACTED) for word in words)


def _says_in_grade(
    words: Sequence[str],
    wanted: Sequence[str],
    translated: Sequence[set[str]],
    grade: str | None,
) -> bool:
    """Whether words of cells say those of a text, read in a grade, or else as they are known."""
    for cells, word, translations in zip(words, wanted, translated, strict=True):
        readings: tuple[str, ...] = ()
        if grade is not None:
            readings = readings_of_word(cells, grade)
        if not readings and cells not in translations:
            return False
        meant = [_with_hyphens(reading) for reading in readings]
        if readings and _with_hyphens(as_read(word)) not in meant:
            return False
    return True


def _with_hyphens(word: str) -> str:
    """A word with hyphens for its dashes."""
    return word.replace("–", "-")


def _translated_words(
    braille: Braille,
    text: Sequence[str],
    translate: Translates,
) -> Sequence[set[str]]:
    """For each word of a text the cells that the translator may give it."""
    words: Sequence[set[str]] = [set() for _ in words_of(text)]
    for line in _translated_lines(braille, text, translate):
        pieces = line.split(BLANK)
        if len(pieces) == len(words):
            for of_word, piece in zip(words, pieces, strict=True):
                of_word.add(piece)
    return words


def _translated_lines(
    braille: Braille,
    text: Sequence[str],
    translate: Translates,
) -> Iterator[str]:
    line = " ".join(words_of(text))
    for grade in GRADES:
        in_grade = partial(translate, grade)
        yield from expected_cells(braille, text, in_grade, grade) or ()
        for form in (line.upper(), line.title(), line.capitalize()):
            cells = in_grade(form)
            if cells is not None:
                yield joined_cells(cells)
