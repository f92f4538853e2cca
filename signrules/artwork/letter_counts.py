"""Whether so many letters are drawn as a text has."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_letters, digits

from attrs import frozen

from signrules.model.wording import counted_things

ONE_SHAPE_EACH = frozenset(ascii_letters + digits) - {"i", "j"}
"""Characters that are one shape in plain typefaces."""


@frozen
class Miscount:
    """How many letters are drawn beside those of a text, in words.

    `fewer` says that letters are missing or touch, whatever the typeface. `more` says that
    something else than the text is drawn among them. Neither is certain of a text with signs that
    are several shapes, as accents and quotation marks are.
    """

    words: str
    fewer: bool
    more: bool


def miscount(drawn: Sequence[int], text: Sequence[str]) -> Miscount | None:
    """What of lines of letters, counted from the top down, differs from a text; None if nothing
    does.
    """
    lines = ["".join(line.split()) for line in text]
    said = [len(line) for line in lines]
    if not text or list(drawn) == said:
        return None
    # An i is two shapes where its dot is not joined to it, and a quotation mark as many as it has
    # strokes: counts of such texts prove nothing.
    certain = ONE_SHAPE_EACH.issuperset("".join(lines))
    by_line = list(zip(drawn, said, strict=False))
    more = len(drawn) > len(said) or any(there > line for there, line in by_line)
    fewer = len(drawn) < len(said) or any(there < line for there, line in by_line)
    return Miscount(
        f"{_lines_in_words(drawn)} drawn, and the text has {_lines_in_words(said)}",
        certain and fewer and not more,
        certain and more,
    )


def _lines_in_words(counts: Sequence[int]) -> str:
    lines = counted_things(len(counts), "line")
    letters = ", ".join(str(count) for count in counts)
    return f"{lines} of {letters} letters"
