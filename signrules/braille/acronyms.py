"""Acronyms in braille: spelled out letter by letter, so that no translator takes IT for a word."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import groupby

from attrs import frozen

from signrules.braille.cells import BLANK, CAPITAL, GRADE_1, LETTERS, joined_cells
from signrules.braille.contractions import ALONE, SHORTFORMS, groupsign_cells, spelled_cells
from signrules.model.sign import CONTRACTED

STAND_IN = "xqx"
"""What a translator hears for an acronym with punctuation beside it: no word, never contracted."""

_STAND_IN_CELLS = spelled_cells(STAND_IN)
# Space or dash ends the symbols sequence of rule 2.6; opening punctuation may stand between.
_BEFORE = re.compile(r"(?:^|[\s\-–—])[(\[{\"'“‘]*\Z")
_AFTER = re.compile(r"(?:['’]\w{1,2})?[)\]}\"'”’.,;:!?]*(?:\Z|[\s\-–—])")


@frozen
class Acronym:
    """An acronym in a line of text, from `start` to `end`.

    `alone` says whether its letters stand alone, with no more than punctuation beside them (The
    Rules of Unified English Braille, 2013, 2.6), `whole` whether it is a word by itself.
    """

    start: int
    end: int
    letters: str
    alone: bool
    whole: bool

    def cells(self, spell: Callable[[str], str], grade: str) -> str:
        """Two capital indicators and the letters: as `spell` writes them, if that is no word.

        In contracted braille letters that would read as a shortform have a grade 1 indicator first.
        Source: the same rules, 8.4 and 10.1.3; 5.7 and 10.9 from memory.
        """
        letters, plain = spell(self.letters), spelled_cells(self.letters)
        # Letters whose groupsigns make a word of their own would be read as that word.
        if self.alone and letters in ALONE and letters != plain:
            letters = plain
        reads_as_word = grade == CONTRACTED and self.alone and letters in SHORTFORMS
        indicators = 2 * CAPITAL
        if reads_as_word:
            indicators = GRADE_1 + indicators
        return indicators + letters


def ways_to_spell(grade: str) -> tuple[Callable[[str], str], ...]:
    """How the letters of acronyms may be written, the plainest way first.

    In contracted braille that is with groupsigns too.
    """
    if grade == CONTRACTED:
        return (spelled_cells, groupsign_cells)
    return (spelled_cells,)


def acronyms_in(line: str, acronyms: Collection[str]) -> tuple[Acronym, ...]:
    """The acronyms of a line that have two or more plain letters and nothing else."""
    found = []
    for match in _acronyms_in(line, acronyms):
        letters = match[0]
        # One letter has a single indicator and a rule of its own; digits and accents are a
        # translator's.
        if len(letters) > 1 and all(char in LETTERS for char in letters.lower()):
            before, after = line[: match.start()], line[match.end() :]
            alone = bool(_BEFORE.search(before)) and bool(_AFTER.match(after))
            is_whole = before[-1:] in ("", " ") and after[:1] in ("", " ")
            found.append(Acronym(match.start(), match.end(), letters, alone, is_whole))
    return tuple(found)


def with_capitals(form: str, line: str, acronyms: Collection[str]) -> str:
    """A line in small letters, its acronyms as they stand in the text, which is as long."""
    chars = list(form)
    for match in _acronyms_in(line, acronyms):
        # The match is on the text, and `form` has a character for each of its characters.
        chars[match.start() : match.end()] = match[0]
    return "".join(chars)


def has_acronym(word: str, acronyms: Collection[str]) -> bool:
    """Whether a word is an acronym or has one in it, set off by punctuation."""
    return next(_acronyms_in(word, acronyms), None) is not None


def translated_around(
    form: str, acronyms: Sequence[Acronym], translate: Callable[[str], str | None]
) -> tuple[str, Sequence[Acronym]] | None:
    """The cells of a line with stand-ins for its acronyms, and which of them have one.

    None where nobody translates. Acronyms that are whole words cut the line; a translator hears
    the rest. Where it makes something else of a stand-in, it is given the acronyms beside
    punctuation as they stand.
    """
    cells = _in_runs(_with_stand_ins(form, acronyms), translate)
    if cells is None:
        return None
    # Every stand-in has come through as it went in.
    if cells.count(_STAND_IN_CELLS) == len(acronyms):
        return cells, acronyms
    whole_acronyms = [acronym for acronym in acronyms if acronym.whole]
    cells = _in_runs(_with_stand_ins(form, whole_acronyms), translate)
    if cells is None:
        return None
    return cells, whole_acronyms


def without_stand_ins(
    cells: str,
    acronyms: Sequence[Acronym],
    *,
    spell: Callable[[str], str],
    grade: str,
) -> str:
    """The cells with those of the acronyms in place of the stand-ins."""
    spellings = iter([acronym.cells(spell, grade) for acronym in acronyms])
    # Stand-ins come in the order of the text, and so do the acronyms.
    return re.sub(_STAND_IN_CELLS, lambda match: next(spellings, match[0]), cells)


def _acronyms_in(line: str, acronyms: Collection[str]) -> Iterator[re.Match[str]]:
    # The longest first, so that a part of an acronym is not taken for another one.
    names = "|".join(
        re.escape(acronym) for acronym in sorted(acronyms, key=len, reverse=True) if acronym
    )
    if not names:
        return iter(())
    # Neither letter nor digit beside it; an underscore is, to a pattern, part of a word.
    return re.finditer(rf"(?<![^\W_])(?:{names})(?![^\W_])", line)


def _with_stand_ins(form: str, acronyms: Iterable[Acronym]) -> str:
    parts, copied_to = [], 0
    for acronym in acronyms:
        parts += [form[copied_to : acronym.start], STAND_IN]
        copied_to = acronym.end
    return "".join([*parts, form[copied_to:]])


def _in_runs(line: str, translate: Callable[[str], str | None]) -> str | None:
    """The cells of a line; its words that are stand-ins and no more are not translated."""
    runs: list[str] = []
    for alone, words in groupby(line.split(), key=lambda word: word == STAND_IN):
        if alone:
            runs += [_STAND_IN_CELLS for _ in words]
            continue
        cells = translate(" ".join(words))
        if cells is None:
            return None
        runs.append(joined_cells(cells))
    return BLANK.join(runs)
