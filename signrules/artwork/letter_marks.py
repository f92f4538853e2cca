"""Whether the letters of a text have the marks that it has on them, as É and Ç. Geometry.

A mark between two lines may be under a letter of the one or over one of the other. The text
decides: it is of a letter that asks for one there, and of none that has its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from attrs import evolve, field, frozen

from signrules.artwork.accents import (
    DOTTED,
    MARK_HEIGHT,
    MarkedLetter,
    Sides,
    is_mark_of,
    letters_with_marks,
    marks_in,
    shapes_asked_by,
)
from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import region_of
from signrules.artwork.libraries import shapely_part
from signrules.artwork.line_heights import LineHeight, height_of_line
from signrules.artwork.mark_owners import owners_of
from signrules.artwork.stray_shapes import place_of

LEAST_REACH = 0.06
"""A mark that touches its letter makes it taller by at least this share of the line, over it or
under it. Common practice, no published source.
"""

BESIDE_LETTER = frozenset("DLTdlt")
"""Letters whose caron stands beside them, not over them, in some typefaces."""


@frozen
class Marks:
    """The boxes of shapes that are marks, and of how many the text consists at most."""

    boxes: tuple[Any, ...]
    most: int

    @classmethod
    def of(cls, shapes: Iterable[Shape], text: Iterable[str]) -> Marks:
        """The marks that were found of a text."""
        return cls(tuple(region_of(shape).bounds for shape in shapes), marks_in(text))


@frozen
class _DrawnLetter:
    """A drawn letter, what the text has there, and how many more marks it asks for on each side.

    `letter` is None where nobody knows it. A mark that its outline holds is none it asks for; it
    reaches out of its line then.
    """

    region: Any
    letter: MarkedLetter | None = None
    text: str = ""
    asked: Sides = field(factory=Sides)
    reaches_out: bool = False


def wrong_marks(
    lines: Sequence[Sequence[Any]], told: Sequence[str | None], marks: Marks
) -> list[str]:
    """The letters that lack a mark of the text, or have one that it does not have, in words."""
    if not marks.most:
        return []
    # Of all lines together, since a mark between two of them may be of either.
    drawn = [
        letter
        for line, text in zip(lines, told, strict=True)
        for letter in _drawn_letters(line, text or "")
    ]
    given, left = _shared_out(marks.boxes, drawn)
    reaching = [each for each in drawn if each.reaches_out]
    found = (
        _wrong_on(letter, given.count(at), left.count(at), reaching)
        for at, letter in enumerate(drawn)
    )
    return [words for words in found if words is not None]


def _drawn_letters(line: Sequence[Any], text: str) -> Iterator[_DrawnLetter]:
    letters = letters_with_marks(text)
    if len(letters) != len(line):
        yield from map(_DrawnLetter, line)
        return
    height = height_of_line(line, text)
    for letter, region in zip(letters, line, strict=True):
        yield _in_its_line(_DrawnLetter(region, letter, text), letter, height)


def _in_its_line(drawn: _DrawnLetter, letter: MarkedLetter, height: LineHeight) -> _DrawnLetter:
    """A letter with how many marks it asks for, on the sides where its outline holds none."""
    asked, reach = shapes_asked_by(letter), LEAST_REACH * height.high
    _, low, _, high = drawn.region.bounds
    over = high > height.foot + height.high + reach
    under = low < height.foot - reach
    still = Sides(0 if over else asked.above, 0 if under else asked.below)
    return evolve(drawn, asked=still, reaches_out=over or under)


def _shared_out(boxes: Sequence[Any], drawn: Sequence[_DrawnLetter]) -> tuple[list[int], list[int]]:
    """The letters that get a mark they ask for, by their numbers, and those that get one beside
    that: each as often as it does.
    """
    places = [(at, above) for at, each in enumerate(drawn) for above in _places_asked(each.asked)]
    owners = owners_of([_own_places(box, places, drawn) for box in boxes])
    given = [places[place][0] for place in owners.values()]
    rest = [box for number, box in enumerate(boxes) if number not in owners]
    left = [at for box in rest if (at := _nearest_letter(box, drawn)) is not None]
    return given, left


def _own_places(
    box: Sequence[float], places: Sequence[tuple[int, bool]], drawn: Sequence[_DrawnLetter]
) -> list[int]:
    """The places, by their numbers, of letters whose mark a box may be, the nearest first."""
    possible = []
    for place, (at, above) in enumerate(places):
        letter = drawn[at]
        if _may_be_of(box, letter) and _is_over(box, letter) == above:
            possible.append((_apart(box, letter), place))
    return [place for _, place in sorted(possible)]


def _places_asked(asked: Sides) -> list[bool]:
    """A place for each mark that is asked for; True for one above the letter."""
    return [True] * asked.above + [False] * asked.below


def _nearest_letter(box: Sequence[float], drawn: Sequence[_DrawnLetter]) -> int | None:
    """The letter a mark beside those of the text is on; None where it may be of a letter that
    nobody knows.
    """
    possible = [at for at, letter in enumerate(drawn) if _may_be_of(box, letter)]
    if not possible or any(drawn[at].letter is None for at in possible):
        return None
    return min(possible, key=lambda at: _apart(box, drawn[at]))


def _may_be_of(box: Sequence[float], letter: _DrawnLetter) -> bool:
    return is_mark_of(box, letter.region.bounds)


def _is_over(box: Sequence[float], letter: _DrawnLetter) -> bool:
    _, low, _, high = letter.region.bounds
    return bool(box[1] + box[3] > low + high)


def _apart(box: Sequence[float], letter: _DrawnLetter) -> tuple[float, float]:
    """How far a mark lies over a letter or under it, and how far from its middle."""
    left, low, right, high = letter.region.bounds
    upright = max(box[1] - high, low - box[3], 0.0)
    aside = abs((box[0] + box[2]) / 2 - (left + right) / 2)
    return upright, aside


def _wrong_on(
    drawn: _DrawnLetter, given: int, left: int, reaching: Sequence[_DrawnLetter]
) -> str | None:
    """What is wrong on a letter with some of the marks it asks for and some beside, in words."""
    letter, asked = drawn.letter, drawn.asked.total
    if letter is None:
        return None
    where = f"the letter drawn {place_of(drawn.region)} for {letter.whole!r} of {drawn.text!r} has"
    if left and letter.marks:
        return f"{where} another mark on it"
    if left and letter.char not in DOTTED:
        return f"{where} a mark on it"
    if given < asked and letter.char not in BESIDE_LETTER and not _is_met(drawn, reaching):
        lacking = f"{given} of the {asked} marks" if given else "no mark"
        return f"{where} {lacking} on it"
    return None


def _is_met(drawn: _DrawnLetter, reaching: Iterable[_DrawnLetter]) -> bool:
    """Whether a letter of another line reaches into the room for the marks of one: a cedilla may
    run into the accent below it, so that both are one shape.
    """
    left, low, right, high = drawn.region.bounds
    room = MARK_HEIGHT * (high - low)
    marks = shapely_part().box(left, low - room, right, high + room)
    others = (each.region for each in reaching if each is not drawn)
    return any(bool(marks.intersects(region)) for region in others)
