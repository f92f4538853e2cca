"""Rules on how high above the floor a sign hangs, and its raised characters and braille with it.

Standards measure to different things: to baselines, to the edges of all that is tactile, to the
braille, to the centre of the sign. Each is a quantity of its own, and a row is held to no other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.rules.checks import Draft, Level
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, judge_length
from signrules.rules.sections import is_tactile
from signrules.standards.dimension_tables import Standard

Standards = tuple[Standard, ...]

Passes = Mapping[str, Pass]

HIGHER, LOWER = "Hang the sign higher.", "Hang the sign lower."


def judge_tactile_height(
    sign: Sign, standards: Standards, passes: Passes, name: str, what: str, advice: str
) -> Iterator[Draft]:
    """A check of a height of what is tactile; a sign that has no such part need not state it."""
    stated = sign.mounting is not None and getattr(sign.mounting, name) is not None
    # What is stated is judged though the sign need not be tactile: it is there, and somebody
    # reaches for it.
    if not stated:
        standards = tuple(standard for standard in standards if is_tactile(sign, passes, standard))
    # Of tables that are left out above nothing is missing: they ask for no tactile part.
    yield from judge_length(sign, standards, f"mounting.{name}", what, advice)


@rule(
    "mounting.lowest",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.mounting.lowest_tactile": "1200 mm"},
    meets={},
)
def mounting_lowest(item: Sign, standards: Standards, passes: Passes) -> Iterator[Draft]:
    """How high above the floor the baseline of the lowest tactile character is, braille included.

    Why it matters: a standing reader cannot run a hand along a line at the height of the hip.
    A job that breaks it: a lowest baseline at 1200 mm, where at least 48 in (1219.2 mm) is asked
    for.
    One that meets it: a lowest baseline at 1300 mm.
    """
    what = "the lowest tactile baseline above the floor"
    yield from judge_tactile_height(item, standards, passes, "lowest_tactile", what, HIGHER)


@rule(
    "mounting.highest",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.mounting.highest_tactile": "1525 mm"},
    meets={},
)
def mounting_highest(item: Sign, standards: Standards, passes: Passes) -> Iterator[Draft]:
    """How high above the floor the baseline of the highest tactile character is.

    Why it matters: a short or seated reader cannot reach it.
    A job that breaks it: a highest baseline at 1525 mm; that is a rounded figure, and 60 in is 1524
    mm.
    One that meets it: a highest baseline at 1390 mm.
    """
    what = "the highest tactile baseline above the floor"
    yield from judge_tactile_height(item, standards, passes, "highest_tactile", what, LOWER)


@rule(
    "mounting.centre",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["no-signs"], "signs.room-214.mounting.centre": "1400 mm"},
    meets={"standards": ["no-signs"]},
)
def mounting_centre(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How high above the floor the centre of the sign is.

    Why it matters: readers search for a sign where signs in the building usually are.
    A job that breaks it: a centre at 1400 mm, where 1500 mm is required.
    One that meets it: a centre at 1500 mm.
    """
    what = "the centre of the sign above the floor"
    advice = "Hang the sign at the required height."
    yield from judge_length(item, standards, "mounting.centre", what, advice)


@rule(
    "mounting.lowest-part",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["au-ncc-s15"], "signs.room-214.mounting.lowest_part": "1150 mm"},
    meets={"standards": ["au-ncc-s15"]},
)
def mounting_lowest_part(item: Sign, standards: Standards, passes: Passes) -> Iterator[Draft]:
    """How high above the floor the lower edge of all raised characters and braille together is.

    Why it matters: what hangs lower is read bent over, or not found.
    A job that breaks it: a lower edge at 1150 mm, where at least 1200 mm is required.
    One that meets it: a lower edge at 1375 mm.
    """
    what = "the lower edge of the tactile parts above the floor"
    yield from judge_tactile_height(item, standards, passes, "lowest_part", what, HIGHER)


@rule(
    "mounting.highest-part",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["au-ncc-s15"], "signs.room-214.mounting.highest_part": "1650 mm"},
    meets={"standards": ["au-ncc-s15"]},
)
def mounting_highest_part(item: Sign, standards: Standards, passes: Passes) -> Iterator[Draft]:
    """How high above the floor the upper edge of all raised characters and braille together is.

    Why it matters: what hangs higher is out of reach of a short or seated reader.
    A job that breaks it: an upper edge at 1650 mm, where at most 1600 mm is allowed.
    One that meets it: an upper edge at 1425 mm.
    """
    what = "the upper edge of the tactile parts above the floor"
    yield from judge_tactile_height(item, standards, passes, "highest_part", what, LOWER)


@rule(
    "mounting.highest-braille",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["dk-tibs"], "signs.room-214.mounting.highest_braille": "1650 mm"},
    meets={"standards": ["dk-tibs"]},
)
def mounting_highest_braille(item: Sign, standards: Standards, passes: Passes) -> Iterator[Draft]:
    """How high above the floor the upper edge of the braille is.

    Why it matters: a finger that reads braille above the shoulder tires and slips off the line.
    A job that breaks it: braille up to 1650 mm, where at most 1600 mm is allowed.
    One that meets it: braille up to 1390 mm.
    """
    what = "the upper edge of the braille above the floor"
    yield from judge_tactile_height(item, standards, passes, "highest_braille", what, LOWER)


MOUNTING = RuleSet(
    "mounting",
    (
        mounting_lowest,
        mounting_highest,
        mounting_centre,
        mounting_lowest_part,
        mounting_highest_part,
        mounting_highest_braille,
    ),
    "How high above the floor the sign and its tactile characters are.",
)
