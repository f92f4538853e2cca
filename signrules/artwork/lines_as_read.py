"""Lines of outlines as they are read: what each should say, whether its shapes can be that, and
whether the drawing is turned over. Geometry.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from attrs import frozen

from signrules.artwork.letter_shapes import can_be, misfit_of, without_misfits
from signrules.artwork.libraries import shapely_part


@frozen
class Turn:
    """How a drawing may be turned over: along x and along y, 1 or -1 where it is, and in words."""

    across: int
    along: int
    words: str


TURNS = (
    Turn(-1, 1, "mirrored"),
    Turn(1, -1, "turned top to bottom"),
    Turn(-1, -1, "on its head"),
)


@frozen
class ReadLine:
    """The letters of a line in the order of its text, which is None where nobody knows it.

    Of a line that is turned over they are turned back. `misfit` says where its shapes do not fit
    the text, in words; `fitting` are the shapes that do.
    """

    text: str | None
    letters: Sequence[Any]
    misfit: str | None = None
    turn: Turn | None = None
    fitting: Sequence[Any] = ()

    @property
    def is_known(self) -> bool:
        """Whether its shapes can be its text, if need be turned back."""
        return self.misfit is None or self.turn is not None


def lines_as_read(lines: Sequence[Sequence[Any]], told: Sequence[str | None]) -> list[ReadLine]:
    """Lines from the top down, with their text where it is known."""
    read = [_as_drawn(line, text) for line, text in zip(lines, told, strict=True)]
    text = [each for each in told if each is not None]
    if len(text) < len(told) or all(map(_is_text, lines, text)):
        return read
    for turn in TURNS:
        # What is turned top to bottom has its first line last.
        turned = text[:: turn.along]
        letters = [_turned_back(line, turn) for line in lines]
        if all(map(can_be, turned, letters)):
            words = f"the drawing for {' / '.join(text)!r} may be {turn.words}"
            return _all_turned(turned, letters, turn, words)
    return [each if each.misfit is None else _line_turned(each) for each in read]


def _is_text(line: Sequence[Any], text: str) -> bool:
    return can_be(text, line)


def _as_drawn(line: Sequence[Any], text: str | None) -> ReadLine:
    misfit = misfit_of(text or "", line)
    fitting = line if misfit is None else without_misfits(text or "", line)
    return ReadLine(text, line, misfit, fitting=fitting)


def _all_turned(
    text: Sequence[str], letters: Sequence[Sequence[Any]], turn: Turn, words: str
) -> list[ReadLine]:
    misfit = f"{words}: so turned its shapes fit the text"
    return [
        ReadLine(each, line, misfit, turn, fitting=line)
        for each, line in zip(text, letters, strict=True)
    ]


def _line_turned(line: ReadLine) -> ReadLine:
    """A line whose shapes do not fit, turned back if they fit then."""
    for turn in TURNS:
        letters = _turned_back(line.letters, turn)
        if line.text is not None and can_be(line.text, letters):
            words = f"the line drawn for {line.text!r} may be {turn.words}"
            return _all_turned([line.text], [letters], turn, words)[0]
    return line


def _turned_back(line: Sequence[Any], turn: Turn) -> list[Any]:
    """The shapes of a line turned over about its middle, from left to right."""
    shapely = shapely_part()
    left, low, right, high = shapely.total_bounds(line).tolist()
    x, y = (left + right) * (turn.across < 0), (low + high) * (turn.along < 0)

    def turned(places: Any) -> Any:
        return places * (turn.across, turn.along) + (x, y)

    return [shapely.transform(region, turned) for region in line[:: turn.across]]
