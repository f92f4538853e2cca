"""Rules on what the cells of a sign say."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from itertools import zip_longest

from attrs import evolve

from signrules.braille.cells import BLANK, joined_cells, name_of, wide_gaps
from signrules.braille.escapes import named_characters, unknown_characters
from signrules.braille.reading_back import in_words, is_english
from signrules.braille.sign_words import is_ordinary_word
from signrules.braille.spelling import (
    capital_reasons,
    capital_words,
    digits_of,
    numbers_in,
    numbers_of,
    words_of,
)
from signrules.braille.styles import expected_cells, says_the_text
from signrules.model.sign import Braille, Sign
from signrules.model.wording import joined_names, listed_names, shown_value
from signrules.rules.binding_rows import rows_binding
from signrules.rules.braille_room import braille_fit
from signrules.rules.checks import (
    Draft,
    Level,
    Outcome,
    check,
    missing,
    one_of,
    published,
)
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, joined_sentences, path_of, rows_limiting, source_of
from signrules.rules.translating import Translate, translated_line
from signrules.standards.dimension_tables import Row, Standard

Standards = tuple[Standard, ...]

TRANSLATOR = (
    "a plugin that translates {language!r} to {grade} braille, such as signrules-liblouis for"
    " English"
)


@rule(
    "braille.text",
    each="sign",
    level=Level.STOP,
    source=published(
        "the rules of the braille code, as the translator that is installed applies them"
    ),
    breaks={"signs.room-214.text": ["ROOM 215"]},
    meets={},
)
def braille_text(item: Sign, standards: Standards, translate: Translate) -> Iterator[Draft]:
    """The cells say what the text of the sign says, in the grade that the sign states or its
    standards ask for.

    The text is taken in lower case, except for names and acronyms that the sign lists; letters that
    stand alone and the first letter of a sentence may be capitals or not. Cells that say another
    text are STOP. Cells that say the right text in another style (the other grade, a word that is
    contracted in part, capitals in other places, a hyphen for a dash, two blank cells between
    words) are REVIEW: a translator is no proofreader. A missing translator is REVIEW too: it is no
    fault of the job. A character of the text that the translator does not know leaves the cells
    unassessed.

    Why it matters: whoever makes the sign seldom reads braille, and whoever reads it cannot ask.
    A job that breaks it: MEN as ⠑⠭⠊⠞, which says "exit"; STAIR as ⠎⠞⠁⠊⠗, spelled out, is REVIEW.
    One that meets it: STAIR as ⠌⠁⠊⠗, where contracted braille is required.
    """
    braille = item.braille
    if braille is None:
        return
    stated = (braille.grade,) if braille.grade else ()
    wanted = (word for _, row in rows_limiting(standards, "braille.grade") for word in row.words)
    # What the sign states goes before what tables ask: `braille.grade` judges whether it may.
    for grade in dict.fromkeys(stated or wanted):
        what = f"the {grade} braille"
        if braille.cells is None:
            yield missing(path_of(item, "braille.cells"), what)
            continue
        # Of a sign without words nothing can be translated, whatever its cells say.
        if not words_of(item.text):
            yield missing(path_of(item, "text"), what)
            continue
        yield _compared_cells(item, braille, braille.cells, grade, translate)


def _compared_cells(
    item: Sign, braille: Braille, cells: str, grade: str, translate: Translate
) -> Draft:
    """The cells of a sign against those that its text may have in a grade."""
    translated = partial(translated_line, translate, braille)
    what = f"the {grade} braille"
    allowed = expected_cells(braille, item.text, partial(translated, grade), grade)
    if allowed is None:
        return _why_untranslated(
            item, braille, grade, lambda line: translate(line, grade, braille.language)
        )
    found_cells = joined_cells(cells)
    if not found_cells:
        return one_of(what, found="none", allowed=allowed, advice="There are no cells with dots.")
    draft = one_of(what, found=found_cells, allowed=allowed)
    # The words are right; what is left to look at is the room between them.
    if draft.outcome is Outcome.MET:
        return _evenly_spaced(draft, cells)
    difference = _cell_difference(found_cells, allowed[0])
    # This decides between STOP and REVIEW: cells that say another text must never hang.
    if says_the_text(braille, item.text, translated):
        advice = f"It is the right text in another style. {difference} Have a proofreader decide."
        return evolve(draft, level=Level.REVIEW, advice=advice)
    says = in_words(found_cells, grade) if is_english(braille.language) else None
    reading = "It says something else" if says is None else f"It says {says!r}"
    why = f"{reading}, and the text is {' '.join(words_of(item.text))!r}."
    advice = f"{why} {difference} Correct the cells or the text, and have a proofreader read them."
    return evolve(draft, advice=advice)


def _why_untranslated(
    item: Sign, braille: Braille, grade: str, translate: Callable[[str], str | None]
) -> Draft:
    """Why nobody can tell: there is no translator, or it does not know a character of the text.

    A missing translator is no fault of the job; an unknown character can be changed in its text.
    """
    what, line = f"the {grade} braille", " ".join(words_of(item.text))
    # Asked before: a translator that is there and does not know a character gives nothing either.
    unknown = named_characters(unknown_characters(line, translate))
    if unknown or translate(line.lower()) is not None:
        unknown = unknown or "a character of the text"
        advice = (
            f"the translator does not know {unknown}; write it in words, or leave out of "
            f"{path_of(item, 'text')} what is not read"
        )
        return Draft(what, missing=f"the braille of {unknown}", advice=advice)
    absent = TRANSLATOR.format(language=braille.language, grade=grade)
    advice = f"there is no {absent.removeprefix('a ')}; install one"
    return Draft(what, missing=absent, advice=advice, level=Level.REVIEW)


def _evenly_spaced(draft: Draft, cells: str) -> Draft:
    """Cells that say their text, which are for review where several blank cells part two words.

    One blank cell is what parts words: common practice, and in print as a single space. Blank cells
    at the ends of a line are layout.
    """
    gaps = wide_gaps(cells)
    if not gaps:
        return draft
    after = ", ".join(map(str, gaps))
    advice = f"More than one blank cell follows word {after}: leave one between words of a line."
    as_it_is = cells.strip().replace("\n", BLANK).replace(" ", BLANK)
    even_check = one_of(draft.what, found=as_it_is, allowed=draft.allowed, advice=advice)
    return evolve(even_check, level=Level.REVIEW)


def _cell_difference(found_cells: str, wanted: str) -> str:
    pairs = list(zip_longest(found_cells, wanted))
    # There is one: cells that are all alike have been met before.
    position = next(position for position, (cell, other) in enumerate(pairs) if cell != other)
    first, second = ("the end" if cell is None else name_of(cell) for cell in pairs[position])
    return f"The first difference is at cell {position + 1}: {first}, not {second}."


@rule(
    "braille.capitals",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.cells": "⠠⠠⠗⠕⠕⠍⠀⠼⠃⠁⠙"},
    meets={},
)
def braille_capitals(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Capital indicators stand only where the standard allows them: names, acronyms, single
    letters, sentences.

    It looks at the words of the cells that carry dot 6, or dots 6, 6 or 6, 6, 6, and at the same
    words of the text. The sign lists its names and acronyms, as nobody else can know them; an
    ordinary word of signs among the acronyms, such as EXIT, is REVIEW. The level is otherwise that
    of the standard's row. It needs no translator. Languages other than English are
    not assessed.

    Why it matters: raised text is in capitals, and a translator that is fed with it marks every
    word.
    A job that breaks it: EXIT as ⠠⠠⠑⠭⠊⠞.
    One that meets it: EXIT as ⠑⠭⠊⠞, or ROOM 12B as ⠗⠕⠕⠍⠀⠼⠁⠃⠠⠃.
    """
    braille = item.braille
    if braille is None:
        return
    unread = _why_unread(item, braille, "whether capitals stand only where they are allowed")
    cells = braille.cells or ""
    capitals, words = capital_words(cells), joined_cells(cells).split("\u2800")
    because = capital_reasons(item.text, proper=braille.proper, acronyms=braille.acronyms)
    for standard, row in rows_binding(item, standards, "braille.capitals"):
        level = Level(row.level)
        if unread is not None:
            yield evolve(unread, source=source_of(standard, row), level=level)
            continue
        allowed = [bool(why & set(row.words)) for why in because]
        if len(allowed) == len(words):
            wrong = [number for number in capitals if not allowed[number]]
        else:
            # The words cannot be paired; as many as have a reason are let pass, from the left.
            wrong = capitals[sum(allowed) :]
        yield _capitals_check(wrong, words, standard, row)
        yield from _ordinary_acronyms(braille, standard, row)


def _capitals_check(wrong: list[int], words: list[str], standard: Standard, row: Row) -> Draft:
    where = ""
    if wrong:
        where = joined_names(
            [f"word {word_index + 1} ({words[word_index]})" for word_index in wrong]
        )
    draft = check(
        "the number of words with capitals that nothing in the text gives a reason for",
        measured=len(wrong),
        most=0,
        unit="",
        advice=joined_sentences(
            "Leave the indicator out, or list the name or acronym with the sign.", row.note
        ),
        source=source_of(standard, row),
        level=Level(row.level),
    )
    has = "has a capital indicator" if len(wrong) == 1 else "have capital indicators"
    finding = f"{where} {has} that nothing in the text gives a reason for"
    return evolve(draft, told=finding)


def _ordinary_acronyms(braille: Braille, standard: Standard, row: Row) -> Iterator[Draft]:
    """Words that the sign lists among its acronyms and that are ordinary ones of signs."""
    # People list words here that a report calls wrong, and so silence it.
    wrong = [word for word in braille.acronyms if is_ordinary_word(word)]
    if not wrong or "acronym" not in row.words:
        return
    draft = check(
        "the number of ordinary words among the acronyms",
        measured=len(wrong),
        most=0,
        unit="",
        advice="In capitals only an acronym is spelled so: take the word out of the list, and set "
        "its cells in small letters.",
        source=source_of(standard, row),
        level=Level.REVIEW,
    )
    what = "is an ordinary word" if len(wrong) == 1 else "are ordinary words"
    finding = f"{listed_names(wrong)} {what}, listed among the acronyms of the sign"
    yield evolve(draft, told=finding)


@rule(
    "braille.numbers",
    each="sign",
    level=Level.STOP,
    source=published("The Rules of Unified English Braille, second edition 2013, section 6"),
    breaks={"signs.room-214.braille.cells": "⠗⠕⠕⠍⠀⠃⠁⠙"},
    meets={},
)
def braille_numbers(item: Sign, standards: Standards) -> Iterator[Draft]:
    """The numbers of the text stand in the cells: a numeric indicator, dots 3456, and the letters a
    to j as digits.

    It is judged where text or cells have a number, whatever the standards say; where one has a row
    of its own on it, source and level are those of the row. Languages other than English, whose
    braille may write numbers in another way, are not assessed; that is for review, as a sign in
    them can be in order.

    Why it matters: a sign with the number of another room is worse than none.
    A job that breaks it: 101 as ⠁⠚⠁, which says "aja"; or as ⠼⠁⠁⠚, which is 110.
    One that meets it: 101 as ⠼⠁⠚⠁.
    """
    braille = item.braille
    if braille is None:
        return
    wanted, written_numbers = numbers_of(item.text), numbers_in(braille.cells or "")
    # Numbers in cells without any in the text are as wrong as the other way round.
    if wanted or written_numbers:
        what = "the number that the cells write"
        draft = _why_unread(item, braille, what) or _compared_numbers(what, written_numbers, wanted)
        english = is_english(braille.language)
        stated = list(rows_binding(item, standards, "braille.numbers"))
        if not stated and english:
            yield draft
        elif not stated:
            yield evolve(draft, level=Level.REVIEW)
        for standard, row in stated:
            level = Level(row.level) if english else Level.REVIEW
            yield evolve(draft, source=source_of(standard, row), level=level)


def _compared_numbers(what: str, written_numbers: list[str], wanted: list[str]) -> Draft:
    """The numbers of cells against those of the text, in digits."""
    written, text = (
        " and ".join(map(digits_of, numbers)) or "none" for numbers in (written_numbers, wanted)
    )
    draft = one_of(
        what,
        found=written,
        allowed=(text,),
        advice="Check each digit, and the indicator before the first one.",
    )
    return evolve(draft, limit_text=f"where the text has {text}")


def _why_unread(item: Sign, braille: Braille, what: str) -> Draft | None:
    """Why numbers and capitals cannot be told: cells or text are not stated, or the language has a
    code of its own.
    """
    if not is_english(braille.language):
        why = (
            "numbers and capitals are known in English braille ('en') alone, and the language of"
            f" the sign is {shown_value(braille.language)}"
        )
        if braille.language.casefold().startswith("en"):
            why = f"{why}; if that is English, write 'en'"
        return evolve(missing(path_of(item, "braille.language"), what), told=why)
    if braille.cells is None:
        return missing(path_of(item, "braille.cells"), what)
    if words_of(item.text):
        return None
    return missing(path_of(item, "text"), what, advice="State a text that has words.")


TEXT_RULES = (braille_text, braille_capitals, braille_numbers, braille_fit)
"""The rules on what cells say and on the room for them, which belong to the set `braille`."""
