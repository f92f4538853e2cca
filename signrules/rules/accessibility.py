"""What published standards ask of a finished sign, as rule sets.

Each rule reads the tables of the standards that the job names and makes one check for each of their rows, so a job
sold under several standards is judged under each, and one that names none is not judged at all. A section that a sign
does not have is not judged; a field that a section does not state comes out UNASSESSED. Visual characters are judged
as the sign states them: raised characters are not held against rules on visual ones.
"""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.rules.braille import BRAILLE
from signrules.rules.checks import Draft, Level
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, judge, judge_value, lacking, rows
from signrules.rules.raised import RAISED
from signrules.rules.visual import VISUAL
from signrules.standards.tables import CONTRAST, Standard

Standards = tuple[Standard, ...]


@rule("mounting.lowest", each="sign", source=TABLES, level=Level.STOP)
def lowest(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How high above the floor the baseline of the lowest tactile character is, braille included.

    Why it matters: a standing reader cannot run a hand along a line at the height of the hip.
    A job that breaks it: a lowest baseline at 1200 mm, where at least 48 in (1219.2 mm) is asked for.
    One that meets it: a lowest baseline at 1300 mm.
    """
    what = "the lowest tactile baseline above the floor"
    yield from judge(item, standards, "mounting.lowest_tactile", what, "Hang the sign higher.")


@rule("mounting.highest", each="sign", source=TABLES, level=Level.STOP)
def highest(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How high above the floor the baseline of the highest tactile character is.

    Why it matters: a reader who is small, or sits, does not reach it.
    A job that breaks it: a highest baseline at 1525 mm; that is a rounded figure, and 60 in is 1524 mm.
    One that meets it: a highest baseline at 1390 mm.
    """
    what = "the highest tactile baseline above the floor"
    yield from judge(item, standards, "mounting.highest_tactile", what, "Hang the sign lower.")


@rule("pictogram.field-height", each="sign", source=TABLES, level=Level.STOP)
def field_height(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How tall the field is on which a pictogram stands; the figure itself is not measured.

    Why it matters: a pictogram needs clear ground around it to be told from what is beside it.
    A job that breaks it: a field of 150 mm, where at least 6 in (152.4 mm) is asked for.
    One that meets it: a field of 160 mm.
    """
    advice = "Make the field taller; the figure may stay as it is."
    yield from judge(item, standards, "pictogram.field_height", "the height of the pictogram's field", advice)


@rule("finish.glare", each="sign", source=TABLES, level=Level.STOP)
def glare(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether the finish of characters and background is free of glare.

    Why it matters: the image of a lamp in the surface hides what is printed there.
    A job that breaks it: a sign under a gloss coat.
    One that meets it: a sign with a matte finish.
    """
    advice = "Print or coat it matte; glossy ink over a matte face glares too."
    yield from judge(item, standards, "surface.finish", "the finish", advice)


@rule("contrast.reflectance", each="sign", source=TABLES, level=Level.REVIEW)
def reflectance(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How much characters and background differ in light reflectance: lighter less darker, over the lighter.

    Why it matters: people with low vision tell a character from its ground by lightness, not by colour.
    A job that breaks it: reflectance values of 50 and 20, a contrast of 60 % where an advisory asks for 70 %.
    One that meets it: reflectance values of 82 and 8, a contrast of 90 %.
    """
    surface = item.surface
    if surface is None:
        return
    what = "the contrast of characters and background"
    a, b = surface.character_lrv, surface.background_lrv
    for standard, row in rows(standards, CONTRAST):
        for name, value in (("character_lrv", a), ("background_lrv", b)):
            if value is None:
                yield lacking(item, standard, row, f"surface.{name}", what)
        if a is not None and b is not None:
            advice = "Make the lighter one lighter or the darker one darker; measure both on the print."
            yield judge_value(item, standard, row, what, Interval.exact(_contrast(a, b)), advice)


def _contrast(a: float, b: float) -> float:
    """Lighter less darker over lighter, in %; two blacks have none."""
    lighter, darker = max(a, b), min(a, b)
    return 100.0 * (lighter - darker) / lighter if lighter > 0 else 0.0


ACCESSIBILITY: tuple[RuleSet, ...] = (
    BRAILLE,
    RAISED,
    RuleSet("mounting", (lowest, highest), "How high above the floor tactile characters are."),
    VISUAL,
    RuleSet("pictogram", (field_height,), "The field of a pictogram."),
    RuleSet("finish", (glare,), "Freedom from glare."),
    RuleSet("contrast", (reflectance,), "Characters against their background."),
)
"""The rule sets on finished signs."""
