"""Rules on characters that are read by eye: size for the viewing distance, strokes, gaps, style,
place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from attrs import frozen

from signrules.model.quantities import GUARD_MM, Interval, clamped_interval
from signrules.model.sign import Sign, Visual
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, Outcome, check
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import (
    TABLES,
    joined_sentences,
    judge_length,
    judge_value,
    lacking_check,
    source_of,
)
from signrules.rules.exempt_characters import binding_tables, exempted_checks
from signrules.rules.line_spacing import judge_line_spacing
from signrules.standards.dimension_tables import Band, Row, Standard
from signrules.standards.written_numbers import LENGTHS, exact_text

Standards = tuple[Standard, ...]


@rule(
    "visual.height",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.visual.height": "16 mm"},
    meets={},
)
def visual_height(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How tall characters are for the distance from which, and the height above the floor at which,
    they are read.

    Why it matters: a character is legible only while it fills a large enough angle of the eye.
    A job that breaks it: characters of 16 mm, 1.5 m above the floor, read from 3 m; 1.105 in is
    asked for there.
    One that meets it: characters of 30 mm in the same place.
    """
    visual = item.visual
    if visual is None:
        return
    what = "the height of the visual characters"
    yield from exempted_checks(item, standards, "visual.height", what)
    for standard, row in rows_binding(
        item, binding_tables(item, standards, "visual.height"), "visual.height"
    ):
        if visual.height is None:
            yield lacking_check(item, standard, row, "visual.height", what)
        elif not row.bands:
            yield judge_value(
                item, standard, row, what, visual.height, "Set the characters in another size."
            )
        else:
            yield from _by_distance(item, visual, visual.height, standard, row, what)


@frozen
class _Needed:
    """The least height that bands ask for, in mm: `low` and `high` over all that is possible, and
    as it is meant.
    """

    low: float
    nominal: float
    high: float


def _by_distance(
    sign: Sign, visual: Visual, height: Interval, standard: Standard, row: Row, what: str
) -> Iterator[Draft]:
    needed = _needed_heights(row, visual.above_floor, visual.viewing_distance)
    unknown = [
        name for name in ("above_floor", "viewing_distance") if getattr(visual, name) is None
    ]
    if not unknown:
        yield _height_check(height, needed, standard, row, what)
        return
    # The least that any band asks for: what is smaller is too small wherever it hangs.
    anywhere = _Needed(needed.low, needed.low, needed.low)
    height_check = _height_check(
        height, anywhere, standard, row, f"{what}, wherever they hang and are read from,"
    )
    if height_check.outcome is not Outcome.MET:
        yield height_check
    # What is too small anywhere needs nothing further to be judged.
    if height.high >= needed.low - GUARD_MM:
        for name in unknown:
            yield lacking_check(sign, standard, row, f"visual.{name}", what)


def _height_check(
    height: Interval, needed: _Needed, standard: Standard, row: Row, what: str
) -> Draft:
    """Against one least height; where it is not known exactly, what is judged is by how much it is
    exceeded.
    """
    source, level = source_of(standard, row), Level(row.level)
    advice = joined_sentences(
        "Set larger characters, or hang them where they are read from nearer.", row.note
    )
    if needed.high - needed.low <= GUARD_MM:
        least_height = needed.high
        text = f"must be at least {_governing_height(least_height, standard)}"
        return check(
            what,
            measured=height,
            least=least_height,
            limit_text=text,
            advice=advice,
            source=source,
            level=level,
        )
    text = (
        f"must be at least 0; {exact_text(needed.low)} to {exact_text(needed.high)} mm are required"
        " for its viewing distance and height above the floor"
    )
    return check(
        f"{what} minus the height that is required",
        measured=clamped_interval(
            height.low - needed.high, height.nominal - needed.nominal, height.high - needed.low
        ),
        least=0.0,
        limit_text=text,
        advice=advice,
        source=source,
        level=level,
    )


def _governing_height(length: float, standard: Standard) -> str:
    if standard.unit == "mm":
        return f"{exact_text(length)} mm"
    return (
        f"{exact_text(length / float(LENGTHS[standard.unit]))} {standard.unit}"
        f" ({exact_text(length)} mm)"
    )


def _needed_heights(row: Row, above_floor: Interval | None, distance: Interval | None) -> _Needed:
    """The least heights over every band and distance that are possible; what is unknown may be
    anything.
    """
    bands, meant = row.bands, row.bands[0]
    if above_floor is not None:
        bands = _bands_at(row, above_floor.low, above_floor.high)
        meant = _bands_at(row, above_floor.nominal, above_floor.nominal)[0]
    nearest, middle, farthest = 0.0, 0.0, math.inf
    if distance is not None:
        nearest, middle, farthest = distance.low, distance.nominal, distance.high
    low = min(_least_height(band, nearest, row) for band in bands)
    high = max(_least_height(band, farthest, row) for band in bands)
    return _Needed(low, min(max(_least_height(meant, middle, row), low), high), high)


def _bands_at(row: Row, low: float, high: float) -> tuple[Band, ...]:
    """The bands that baselines from low to high above the floor (mm) lie in; the end of a band
    belongs to it.
    """
    ends = [math.inf if band.up_to is None else band.up_to.number for band in row.bands]
    starts = [-math.inf, *ends]
    within = [
        band
        for band, start, end in zip(row.bands, starts, ends, strict=False)
        if low <= end + GUARD_MM and high > start + GUARD_MM
    ]
    return tuple(within)


def _least_height(band: Band, distance: float, row: Row) -> float:
    assert row.per_foot is not None
    beyond = max(0.0, distance - band.distance.number)
    return band.base.number + row.per_foot.number * beyond / float(LENGTHS["ft"])


@rule(
    "visual.width",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.visual.width": "15 mm"},
    meets={},
)
def visual_width(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the capital O of visual characters is, as a share of their height.

    Why it matters: squeezed letters are hard to tell apart from a distance.
    A job that breaks it: an O of 8 mm in characters of 16 mm, 50 % where 55 % is the least.
    One that meets it: an O of 12 mm in characters of 16 mm, 75 %.
    """
    advice = "Take a wider or narrower cut of the typeface."
    yield from _judge_visual(
        item, standards, "visual.width", "the width of the visual characters", advice
    )


@rule(
    "visual.stroke",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.visual.stroke": "2 mm"},
    meets={},
)
def visual_stroke(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How thick the stroke of visual characters is, as a share of their height.

    Why it matters: thin strokes fade at a distance, thick ones fill the letter.
    A job that breaks it: strokes of 1 mm on characters of 16 mm, 6.25 % where 10 % is the least.
    One that meets it: strokes of 2.4 mm on characters of 16 mm, 15 %.
    """
    yield from _judge_visual(
        item,
        standards,
        "visual.stroke",
        "the stroke of the visual characters",
        "Take a lighter weight of the typeface.",
        too_little="Take a heavier weight of the typeface.",
    )


@rule(
    "visual.spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.visual.spacing": "2 mm"},
    meets={},
)
def visual_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the gap between neighbouring visual characters is, as a share of their height.

    Why it matters: letters set too tight run together at a distance, and too loose they are no
    word.
    A job that breaks it: gaps of 1 mm in characters of 16 mm, 6.25 % where 10 % is the least.
    One that meets it: gaps of 2.4 mm in characters of 16 mm, 15 %.
    """
    advice = "Change the tracking of the line."
    yield from _judge_visual(
        item, standards, "visual.spacing", "the gap between visual characters", advice
    )


@rule(
    "visual.line-spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={
        "signs.room-214.text": ["ROOM", "214"],
        "signs.room-214.visual.line_spacing": "36 mm",
    },
    meets={},
)
def visual_line_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How far apart the baselines of visual lines are, as a share of the height of the characters.

    A text of one line need not state it.

    Why it matters: the eye slips from line to line where they are close, and loses the message
    where they are not.
    A job that breaks it: lines 20 mm apart in characters of 16 mm, 125 % where 135 % is the least.
    One that meets it: lines 24 mm apart in characters of 16 mm, 150 %.
    """
    quantity, what = "visual.line_spacing", "the line spacing of the visual characters"
    yield from exempted_checks(item, standards, quantity, what)
    tables = binding_tables(item, standards, quantity)
    yield from judge_line_spacing(item, tables, "visual", what, "Change the leading.")


@rule(
    "visual.style",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.visual.style": "script"},
    meets={},
)
def visual_style(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether visual characters are in a style of typeface that the standard allows.

    Why it matters: unusual forms take longer to read, and some readers cannot make them out.
    A job that breaks it: visual characters in a script.
    One that meets it: visual characters in an upright typeface, with serifs or without.
    """
    yield from _judge_visual(
        item,
        standards,
        "visual.style",
        "the style of the visual characters",
        "Take another typeface.",
    )


@rule(
    "visual.above-floor",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.visual.above_floor": "1015 mm"},
    meets={},
)
def visual_above_floor(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How high above the floor visual characters stand.

    Why it matters: what hangs low is hidden by people and furniture.
    A job that breaks it: characters 1015 mm above the floor; that is a rounded figure, and 40 in is
    1016 mm.
    One that meets it: characters 1400 mm above the floor.
    """
    advice = "Hang the sign higher, or move the line up on it."
    yield from _judge_visual(
        item,
        standards,
        "visual.above_floor",
        "the height of the visual characters above the floor",
        advice,
    )


def _judge_visual(
    item: Sign,
    standards: Standards,
    quantity: str,
    what: str,
    advice: str,
    *,
    too_little: str = "",
) -> Iterator[Draft]:
    yield from exempted_checks(item, standards, quantity, what)
    tables = binding_tables(item, standards, quantity)
    yield from judge_length(item, tables, quantity, what, advice, too_little=too_little)


VISUAL = RuleSet(
    "visual",
    (
        visual_height,
        visual_width,
        visual_stroke,
        visual_spacing,
        visual_line_spacing,
        visual_style,
        visual_above_floor,
    ),
    "Characters read by eye: size, form and place.",
)
