"""What published standards ask of a finished sign, as rule sets.

Each rule reads the tables of the standards that the job names and makes one check for each of their
rows, so a job sold under several standards is judged under each. A job that names none, a section
that every sign of the kind has and that is left out, and a field that a section does not state come
out UNASSESSED. Visual characters are judged as the sign states them: raised characters are not held
against rules on visual ones.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.model.sign import Sign
from signrules.rules.braille import BRAILLE
from signrules.rules.checks import Draft, Level, check, common_practice
from signrules.rules.contrast import CONTRAST_RULES
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, judge_length
from signrules.rules.drawing_areas import DRAWING
from signrules.rules.mounting import MOUNTING
from signrules.rules.raised import RAISED
from signrules.rules.scope import SCOPE_RULES
from signrules.rules.settings import setting
from signrules.rules.visual import VISUAL
from signrules.standards.dimension_tables import Standard

Standards = tuple[Standard, ...]


@rule(
    "pictogram.field-height",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.pictogram.field_height": "150 mm"},
    meets={},
)
def pictogram_field_height(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How tall the field is on which a pictogram stands; the figure itself is not measured.

    Why it matters: a pictogram needs clear ground around it to be told from what is beside it.
    A job that breaks it: a field of 150 mm, where at least 6 in (152.4 mm) is asked for.
    One that meets it: a field of 160 mm.
    """
    advice = "Make the field taller; the figure may stay as it is."
    yield from judge_length(
        item, standards, "pictogram.field_height", "the height of the pictogram's field", advice
    )


@rule(
    "pictogram.field-width",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["no-signs"], "signs.room-214.pictogram.field_width": "140 mm"},
    meets={"standards": ["no-signs"]},
)
def pictogram_field_width(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the field is on which a pictogram stands; the figure itself is not measured.

    Why it matters: a pictogram needs clear ground on both sides to be told from what is beside it.
    A job that breaks it: a field 140 mm wide, where at least 150 mm is required.
    One that meets it: a field 160 mm wide.
    """
    advice = "Make the field wider; the figure may stay as it is."
    yield from judge_length(
        item, standards, "pictogram.field_width", "the width of the pictogram's field", advice
    )


@rule(
    "finish.glare",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.surface.finish": "gloss"},
    meets={},
)
def finish_glare(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether the finish of characters and background is free of glare.

    Why it matters: the image of a lamp in the surface hides what is printed there.
    A job that breaks it: a sign under a gloss coat.
    One that meets it: a sign with a matte finish.
    """
    advice = "Print or coat it matte; glossy ink over a matte face glares too."
    yield from judge_length(item, standards, "surface.finish", "the finish", advice)


@rule(
    "finish.gloss",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["dk-tibs"], "signs.room-214.surface.gloss": 60},
    meets={"standards": ["dk-tibs"]},
)
def finish_gloss(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How glossy the surface is, in gloss units, where the standard gives a number.

    Why it matters: "matte" means different things to different makers; a gloss meter does not.
    A job that breaks it: a gloss of 60 GU, where at most 40 is allowed.
    One that meets it: a gloss of 25 GU.
    """
    yield from judge_length(
        item, standards, "surface.gloss", "the gloss", "Print or coat it matte, and measure again."
    )


@frozen
class Finish:
    """What a word for a finish may mean in gloss units."""

    high_gloss: float = setting(
        70.0,
        unit="GU",
        doc="Above it, read at 60 degrees, no surface is matte or eggshell; ISO 2813 reads what is "
        "above it as high gloss, at 20 degrees (from memory; common practice for the words).",
    )


@rule(
    "finish.word",
    each="sign",
    source=common_practice("high gloss begins at 70 gloss units, read at 60 degrees"),
    level=Level.REVIEW,
    settings=Finish,
    breaks={"signs.room-214.surface.gloss": 90},
    meets={},
)
def finish_word(item: Sign, settings: Finish) -> Iterator[Draft]:
    """A finish that is called matte or eggshell is not measured as high gloss.

    Why it matters: one of the two is wrong, and most standards judge the word alone.
    A job that breaks it: a matte finish of 90 GU.
    One that meets it: a matte finish of 25 GU.
    """
    surface = item.surface
    # Which of the standards ask for a gloss at all is for `finish.gloss`; here one word
    # contradicts.
    if surface is None or surface.gloss is None or surface.finish not in ("matte", "eggshell"):
        return
    yield check(
        f"the gloss of a finish that is stated to be {surface.finish}",
        measured=surface.gloss,
        most=settings.high_gloss,
        unit="GU",
        advice="Correct the one that is wrong; measure the print.",
    )


ACCESSIBILITY: tuple[RuleSet, ...] = (
    BRAILLE,
    RAISED,
    MOUNTING,
    VISUAL,
    RuleSet(
        "pictogram", (pictogram_field_height, pictogram_field_width), "The field of a pictogram."
    ),
    RuleSet("finish", (finish_glare, finish_gloss, finish_word), "Freedom from glare."),
    CONTRAST_RULES,
    SCOPE_RULES,
    DRAWING,
)
"""The rule sets on finished signs."""
