"""The contractions of Unified English Braille: what cells mean besides letters, digits and signs.

Source: The Rules of Unified English Braille, second edition 2013, sections 10.1 to 10.9 and
appendix 1, from memory. The tests of the plugin for liblouis hold them against that library.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from signrules.braille.cells import LETTERS


def _letters_by_cells(pairs: str) -> Mapping[str, str]:
    """Letters by their cells, from pairs of letters and cells."""
    words = pairs.split()
    # Strict: a pair with a cell too few would shift all that follow.
    return MappingProxyType(dict(zip(words[1::2], words[::2], strict=True)))


WORDS_OR_GROUPS = _letters_by_cells("and ⠯ for ⠿ of ⠷ the ⠮ with ⠾")
"""Strong contractions: words by themselves, and parts of words (10.3)."""

GROUPS = _letters_by_cells("""
    ch ⠡ gh ⠣ sh ⠩ th ⠹ wh ⠱ ed ⠫ er ⠻ ou ⠳ ow ⠪ st ⠌ ing ⠬ ar ⠜
    en ⠢ in ⠔
""")
"""Groupsigns that stand anywhere in a word: the strong ones (10.4), and two lower ones (10.6.8)."""

ANYWHERE: Mapping[str, str] = MappingProxyType({**WORDS_OR_GROUPS, **GROUPS})
"""What one cell stands for in any place of a word, besides its letter."""

FIRST = _letters_by_cells("be ⠆ con ⠒ dis ⠲")
"""Lower groupsigns at the start of a word, with more after them (10.6.1)."""

BETWEEN = _letters_by_cells("ea ⠂ bb ⠆ cc ⠒ ff ⠖ gg ⠶")
"""Lower groupsigns between letters of a word (10.6.5)."""

INITIAL = _letters_by_cells("""
    day ⠐⠙ ever ⠐⠑ father ⠐⠋ here ⠐⠓ know ⠐⠅ lord ⠐⠇ mother ⠐⠍ name ⠐⠝ one ⠐⠕ part ⠐⠏
    question ⠐⠟ right ⠐⠗ some ⠐⠎ time ⠐⠞ under ⠐⠥ young ⠐⠽ there ⠐⠮ character ⠐⠡ through ⠐⠹
    where ⠐⠱ ought ⠐⠳ work ⠐⠺
    upon ⠘⠥ word ⠘⠺ these ⠘⠮ those ⠘⠹ whose ⠘⠱
    cannot ⠸⠉ had ⠸⠓ many ⠸⠍ spirit ⠸⠎ world ⠸⠺ their ⠸⠮
""")
"""Initial-letter contractions, anywhere in a word (10.7)."""

FINAL = _letters_by_cells("""
    ound ⠨⠙ ance ⠨⠑ sion ⠨⠝ less ⠨⠎ ount ⠨⠞
    ence ⠰⠑ ong ⠰⠛ ful ⠰⠇ tion ⠰⠝ ness ⠰⠎ ment ⠰⠞ ity ⠰⠽
""")
"""Final-letter groupsigns, after a letter of the word (10.8)."""

WORDSIGNS = _letters_by_cells("""
    but ⠃ can ⠉ do ⠙ every ⠑ from ⠋ go ⠛ have ⠓ just ⠚ knowledge ⠅ like ⠇ more ⠍ not ⠝ people ⠏
    quite ⠟ rather ⠗ so ⠎ that ⠞ us ⠥ very ⠧ will ⠺ it ⠭ you ⠽ as ⠵
    child ⠡ shall ⠩ this ⠹ which ⠱ out ⠳ still ⠌
    be ⠆ enough ⠢ were ⠶ his ⠦ in ⠔ was ⠴
""")
"""Words of one cell that stands alone (10.1, 10.2, 10.5)."""

SHORTFORMS = _letters_by_cells("""
    about ⠁⠃ above ⠁⠃⠧ according ⠁⠉ across ⠁⠉⠗ after ⠁⠋ afternoon ⠁⠋⠝ afterward ⠁⠋⠺ again ⠁⠛
    against ⠁⠛⠌ almost ⠁⠇⠍ already ⠁⠇⠗ also ⠁⠇ although ⠁⠇⠹ altogether ⠁⠇⠞ always ⠁⠇⠺
    because ⠆⠉ before ⠆⠋ behind ⠆⠓ below ⠆⠇ beneath ⠆⠝ beside ⠆⠎ between ⠆⠞ beyond ⠆⠽
    blind ⠃⠇ braille ⠃⠗⠇ children ⠡⠝ conceive ⠒⠉⠧ conceiving ⠒⠉⠧⠛ could ⠉⠙
    deceive ⠙⠉⠧ deceiving ⠙⠉⠧⠛ declare ⠙⠉⠇ declaring ⠙⠉⠇⠛ either ⠑⠊ first ⠋⠌ friend ⠋⠗
    good ⠛⠙ great ⠛⠗⠞ herself ⠓⠻⠋ him ⠓⠍ himself ⠓⠍⠋ immediate ⠊⠍⠍ its ⠭⠎ itself ⠭⠋
    letter ⠇⠗ little ⠇⠇ much ⠍⠡ must ⠍⠌ myself ⠍⠽⠋ necessary ⠝⠑⠉ neither ⠝⠑⠊
    oneself ⠐⠕⠋ ourselves ⠳⠗⠧⠎ paid ⠏⠙ perceive ⠏⠻⠉⠧ perceiving ⠏⠻⠉⠧⠛ perhaps ⠏⠻⠓
    quick ⠟⠅ receive ⠗⠉⠧ receiving ⠗⠉⠧⠛ rejoice ⠗⠚⠉ rejoicing ⠗⠚⠉⠛ said ⠎⠙ should ⠩⠙
    such ⠎⠡ themselves ⠮⠍⠧⠎ thyself ⠹⠽⠋ today ⠞⠙ together ⠞⠛⠗ tomorrow ⠞⠍ tonight ⠞⠝
    would ⠺⠙ your ⠽⠗ yourself ⠽⠗⠋ yourselves ⠽⠗⠧⠎
""")
"""Shortforms: words that are cut down to some of their letters (10.9, appendix 1)."""

ALONE: Mapping[str, str] = MappingProxyType({**WORDS_OR_GROUPS, **WORDSIGNS, **SHORTFORMS})
"""What cells that stand alone are read as, if not by their letters: words."""


def spelled_cells(letters: str) -> str:
    """The cells of letters of the English alphabet, one for each."""
    return "".join(LETTERS[letter] for letter in letters.lower())


def groupsign_cells(letters: str) -> str:
    """The cells of letters with groupsigns that stand anywhere, those of most letters first."""
    # The rules prefer what saves more space (10.10.2, from memory).
    signs = sorted(ANYWHERE.items(), key=lambda groupsign: -len(groupsign[1]))
    letters_left, cells = letters.lower(), ""
    while letters_left:
        single = LETTERS[letters_left[0]], letters_left[0]
        # "ing" is not for the start of a word (10.4.3).
        fitting = (
            groupsign
            for groupsign in signs
            if letters_left.startswith(groupsign[1]) and (cells or groupsign[1] != "ing")
        )
        cell, meant = next(fitting, single)
        cells += cell
        letters_left = letters_left[len(meant) :]
    return cells
