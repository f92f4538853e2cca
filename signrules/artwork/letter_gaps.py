"""Which gaps of a line lie between letters of a word, and which between words. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from attrs import field, frozen

WORD_GAP = 0.25
"""No gap between words is narrower than this share of the height. Common practice, no published
source.
"""

TIMES_AS_WIDE = 2.0
"""Where no text tells, the narrowest gap between words is at least so many times as wide as the
widest one between letters. Common practice, no published source.
"""


@frozen
class SortedGaps:
    """Gaps between letters of a word, gaps between words, and those that could be either."""

    within: list[float] = field(factory=list)
    between: list[float] = field(factory=list)
    guessed: list[float] = field(factory=list)


def sorted_gaps(letters: Sequence[Any], height: float, text: str | None) -> SortedGaps:
    """The gaps of a line; `text` is what it says, None where nobody knows."""
    gaps = _gaps(letters)
    ends = _wide_gaps(gaps, height) if text is None else _told_ends(gaps, text)
    return SortedGaps(
        [gap for at, gap in enumerate(gaps) if at not in ends],
        [gaps[at] for at in sorted(ends)],
        [] if text is not None else [gap for gap in gaps if gap > WORD_GAP * height],
    )


def _told_ends(gaps: Sequence[float], text: str) -> set[int]:
    """After which letters a word ends, by what a line says.

    Where letters touch or consist of several parts, as many of the widest gaps as it has ends.
    """
    ends = _ends_of_words(text)
    if len(gaps) + 1 == len("".join(text.split())):
        return ends
    # Letters cannot be counted off then, and ends of words are still its widest gaps.
    widest = sorted(range(len(gaps)), key=lambda at: -gaps[at])
    return set(widest[: len(ends)])


def _ends_of_words(text: str) -> set[int]:
    """After which letters a word ends, spaces not counted."""
    ends, seen = set(), 0
    for word in text.split()[:-1]:
        seen += len(word)
        ends.add(seen - 1)
    return ends


def _wide_gaps(gaps: Sequence[float], height: float) -> set[int]:
    """After which letters a word may end, by the widths of gaps alone.

    They fall into two groups, clearly apart; where they do not, no gap is one between words.
    """
    # The first jump in width parts letters from words, and all that is wider is one between words.
    for narrow, wide in pairwise(sorted(gaps)):
        if wide > WORD_GAP * height and wide > TIMES_AS_WIDE * narrow:
            return {at for at, gap in enumerate(gaps) if gap >= wide}
    return set()


def _gaps(letters: Sequence[Any]) -> list[float]:
    """Distances of neighbours at their nearest points (2010 ADA Standards, 703.2.7)."""
    return [float(one.distance(other)) for one, other in pairwise(letters)]
