"""Changes of what the braille of a sign says: its cells, its lists of names and
acronyms, its text.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from attrs import evolve

from signrules.braille.cells import BLANK, CAPITAL, GRADE_1, in_lines, joined_cells
from signrules.braille.contractions import ALONE
from signrules.braille.reading_back import as_read, in_words, is_english, readings_of_word
from signrules.braille.sign_words import is_ordinary_word
from signrules.braille.spelling import capital_reasons, capital_words, words_of
from signrules.braille.styles import says_the_text
from signrules.model.sign import CONTRACTED, GRADES, Braille, Sign
from signrules.model.wording import joined_names, nearest_name
from signrules.remedies.candidates import (
    CELLS_RULE,
    Change,
    Judged,
    of_item,
    of_section,
    worded_change,
)
from signrules.remedies.sign_changes import sign_of
from signrules.rules.checks import Check


def changed_capitals(check: Check, judged: Judged) -> Iterator[Change]:
    """The words that the cells have in capitals listed as what they would be, and other cells.

    A word all in capitals is most often one that was translated as it is raised, so the cells come
    first; one with a single capital is most often a name, and then they come last.
    """
    translated = translated_cells(check, judged)
    sign = sign_of(check, judged)
    braille = None if sign is None else sign.braille
    if sign is None or braille is None or not is_english(braille.language):
        yield from translated
        return
    names, acronyms = _unlisted_words(sign, braille)
    listed = _listed_words(sign.id, braille, names, acronyms)
    if acronyms:
        yield from translated
        yield from listed
    else:
        yield from listed
        yield from translated


def _listed_words(
    id: str, braille: Braille, names: list[str], acronyms: list[str]
) -> Iterator[Change]:
    """Words among the names and acronyms of a sign; a person must know."""
    lists = ((names, "names"), (acronyms, "acronyms"))
    parts = [f"{joined_names(words)} among the {list_name}" for words, list_name in lists if words]
    if parts:
        edit = of_section(
            id,
            "braille",
            proper=(*braille.proper, *names),
            acronyms=(*braille.acronyms, *acronyms),
        )
        text = f"List {joined_names(parts)} of {id}, if that is what it is."
        yield evolve(worded_change(text, edit), asks=True)


def _unlisted_words(sign: Sign, braille: Braille) -> tuple[list[str], list[str]]:
    """Names and acronyms that the words in capitals would be; none where it is not one for one, or
    where one of them is an ordinary word.
    """
    cells, words = joined_cells(braille.cells or "").split(BLANK), words_of(sign.text)
    # Words and cells cannot be paired, so nothing says which word a capital stands before.
    if len(cells) != len(words):
        return [], []
    reasons = capital_reasons(sign.text, proper=braille.proper, acronyms=braille.acronyms)
    names, acronyms = [], []
    for number in capital_words(braille.cells or ""):
        if reasons[number]:
            continue
        if not _is_by_itself(cells[number], words[number]):
            return [], []
        if 2 * CAPITAL in cells[number]:
            if is_ordinary_word(words[number]):
                return [], []
            acronyms.append(words[number])
        else:
            names.append(words[number].capitalize())
    return list(dict.fromkeys(names)), list(dict.fromkeys(acronyms))


def _is_by_itself(cells: str, word: str) -> bool:
    """Whether cells are a word of letters, with indicators of its own and not of a passage.

    A wordsign is no acronym, which is spelled.
    """
    is_readable = any(as_read(word) in readings_of_word(cells, grade) for grade in GRADES)
    if not (is_readable and word.isalpha()) or 3 * CAPITAL in cells:
        return False
    return 2 * CAPITAL not in cells or not _is_wordsign(cells, word)


def _is_wordsign(cells: str, word: str) -> bool:
    core = cells.lstrip(CAPITAL + GRADE_1)
    return core in ALONE and len(core) < len(word)


def translated_cells(check: Check, judged: Judged) -> Iterator[Change]:
    """The cells that the translator gives for the text; none where none has judged them.

    Cells that read as another text are changed by a person alone, who knows which of them is right.
    Where it is a few letters off, the text that the cells say is the other choice.
    """
    sign = sign_of(check, judged)
    if sign is None or sign.braille is None or sign.braille.cells is None:
        return
    braille, subject = sign.braille, check.subjects[0]
    cell_checks = [
        check
        for check in judged.checks
        if check.rule == CELLS_RULE and check.subjects[0] == subject
    ]
    other_text = _said_otherwise(sign, braille)
    for wanted in dict.fromkeys(check.allowed[0] for check in cell_checks if check.allowed):
        if _makes_a_wordsign(braille.cells or "", wanted):
            continue
        to_cells = _with_cells(sign, wanted)
        if other_text is None:
            yield to_cells
            continue
        to_cells = evolve(to_cells, asks=True)
        to_text = _with_text(sign, other_text)
        if to_text is None:
            yield to_cells
            continue
        yield from _both_ways(sign, to_cells, to_text)


def _both_ways(sign: Sign, to_cells: Change, to_text: Change) -> Iterator[Change]:
    """Other cells and another text, each as the far end of the other.

    The cells come first where every word of the text is an ordinary one, and so hardly a slip.
    """
    both_changes = (evolve(to_cells, far_end=to_text), evolve(to_text, far_end=to_cells))
    meant = all(is_ordinary_word(word) for word in words_of(sign.text) if word.isalpha())
    yield from both_changes if meant else reversed(both_changes)


def _with_cells(sign: Sign, wanted: str) -> Change:
    """Other cells, in lines as the text has them where there are as many, or else as they were."""
    like = ""
    if sign.braille is not None:
        like = sign.braille.cells or ""
    # Lines of cells then stand for lines of text, so words stay on their lines.
    if len(like.splitlines()) == len(sign.text):
        like = "\n".join(sign.text)
    lines = in_lines(wanted, like=like)
    shown = lines.replace("\n", " ")
    text = f"Set the cells of {sign.id} to {shown}, as the translator has them"
    edit = of_section(sign.id, "braille", cells=lines)
    return worded_change(f"{text}, and have a reader proof them.", edit)


def _said_otherwise(sign: Sign, braille: Braille) -> str | None:
    """What English cells say, where that is not the text; None where they cannot be read."""
    cells = joined_cells(braille.cells or "")
    if not is_english(braille.language) or not cells:
        return None
    # Without a translator: this asks whether the cells read as the text in any style at all.
    if says_the_text(braille, sign.text, lambda grade, line: None):
        return None
    return in_words(cells, braille.grade or CONTRACTED)


def _with_text(sign: Sign, other_text: str) -> Change | None:
    """The text as the cells say it; None unless each word is the same or a few letters off."""
    read_words, words = other_text.split(), words_of(sign.text)
    if len(read_words) != len(words):
        return None
    pairs = list(zip(read_words, words, strict=True))
    # Farther off it is another text and no slip, and to offer it would put words into a sign.
    if not all(_is_near(word, other) for word, other in pairs):
        return None
    cased = iter(_in_the_case_of(word, other) for word, other in pairs)
    lines = tuple(" ".join(islice(cased, len(line.split()))) for line in sign.text)
    text = f"Correct the text of {sign.id} to {' '.join(lines)!r}, if the cells are right"
    edit = of_item("signs", sign.id, text=lines)
    return evolve(worded_change(f"{text}, and what is raised or printed with it.", edit), asks=True)


def _is_near(read: str, word: str) -> bool:
    plain = as_read(word)
    both_letters = read.isalpha() and plain.isalpha()
    return read == plain or (both_letters and nearest_name(read, (plain,)) is not None)


def _in_the_case_of(read: str, word: str) -> str:
    """A word that was read, with the capitals of the word in the text."""
    if read == as_read(word):
        return word
    if word.isupper():
        return read.upper()
    return read.capitalize() if word[0].isupper() else read


def _makes_a_wordsign(cells: str, wanted: str) -> bool:
    """Whether a word that is spelled in capitals would be written as a wordsign or a shortform.

    IT in letters is no "it": whoever spelled it in capitals may have meant an acronym.
    """
    before, after = joined_cells(cells).split(BLANK), wanted.split(BLANK)
    return len(before) == len(after) and any(map(_becomes_a_wordsign, before, after))


def _becomes_a_wordsign(before: str, after: str) -> bool:
    core = after.lstrip(CAPITAL + GRADE_1)
    return 2 * CAPITAL in before and core in ALONE and core != before.lstrip(CAPITAL + GRADE_1)
