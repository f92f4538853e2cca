"""Rules that hold what is stated of a sign against the areas that the passes print.

An area is a rectangle around what is printed and may be larger than it. So only what is certain is
judged: what cannot be so wherever in its areas the print lies.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from signrules.model.job import Job
from signrules.model.passes import SIDES
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import POSITIONS, Raised, Sign, Visual
from signrules.model.wording import counted_things
from signrules.physics.heights import Heights
from signrules.physics.upright import tallest_stretch
from signrules.rules.binding_rows import rows_binding
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, geometry, missing, one_of
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, joined_sentences, path_of, source_of
from signrules.rules.drawing_itself import AGREEING
from signrules.rules.drawn_clear_space import drawing_clear_space
from signrules.rules.drawn_parts import (
    Agreement,
    Drawn,
    count_lines,
    drawn_part,
    gap_above,
    gap_below,
    letter_height,
    lines_height,
    stated_against_drawn,
    text_and_braille,
)
from signrules.rules.drawn_places import next_sign, on_the_sign
from signrules.standards.dimension_tables import Standard

AREAS = geometry("what is printed lies within the areas of the passes that print it")
HANGING_SHARE = 0.3
"""Tails of Q and J, and cedillas, hang under the baseline by no more than this share of the height
of a capital. Common practice, no published source.
"""

_TURNED = "Where the sign lies turned on the bed, state its top."


@rule(
    "drawing.braille-below",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"passes.dots.areas": [["30 mm", "100 mm", "60 mm", "8 mm"]]},
    meets={},
)
def drawing_braille_below(
    item: Sign, heights: Heights, standards: tuple[Standard, ...]
) -> Iterator[Draft]:
    """The braille is drawn below the whole raised text, where a standard wants it there alone.

    It is judged where passes build both on one side of the sheet. Where their areas overlap
    upright, and the sizes that the sign states do not settle it, the drawing does not tell: a sign
    that states the place of its braille is then believed, and `braille.position` judges what it
    states. Each area that is tall enough for the stated letters is taken to hold some. Whether the
    braille lies further left or right than the text is not looked at.

    Why it matters: a hand that has read the last line looks for the braille beneath it.
    A job that breaks it: letters from 60 to 85 mm up the sheet, and dots from 100 to 108 mm.
    One that meets it: the same letters, and dots from 42 to 50 mm.
    """
    for standard, row in rows_binding(item, standards, "braille.position"):
        # Where a table allows other places too, no drawing is certain to break it.
        if row.words != ("below",):
            continue
        for text, dots in text_and_braille(item, heights.job):
            draft = _below_in_drawing(item, text, dots, row.note)
            unsettled = draft.measured is None and _stated_place(item)
            level = Level.REVIEW if unsettled else Level(row.level)
            yield evolve(draft, source=source_of(standard, row), level=level)


def _below_in_drawing(item: Sign, text: Drawn, dots: Drawn, note: str) -> Draft:
    what = "how far below the raised text the braille is drawn"
    unstated = text.unstated or dots.unstated
    if unstated is not None:
        return missing(unstated, what)
    gap = gap_below(item, text, dots)
    # The areas overlap upright, so the braille may lie below and may not.
    if gap.low < -GUARD_MM and gap.high >= -GUARD_MM:
        names = ", ".join(text.paths + dots.paths)
        lacking = f"areas of {names} that do not overlap upright"
        why = f"it needs {lacking}, or {path_of(item, 'braille.position')}"
        told = f"it needs {lacking}; the place that the sign states is believed"
        draft = evolve(missing(path_of(item, "braille.position"), what), advice=why)
        return evolve(draft, told=told) if _stated_place(item) else draft
    advice = joined_sentences("Move the braille below the last line of text.", _TURNED, note)
    others = text.paths + dots.paths
    draft = check(what, measured=gap, least=0.0, advice=advice, others=others)
    above = quantity_text(-gap.high, "mm")
    finding = f"the head of the braille is drawn {above} above the foot of the raised text"
    return evolve(draft, told=finding)


def _stated_place(item: Sign) -> bool:
    braille = item.braille
    return braille is not None and (braille.position is not None or braille.below_text is not None)


@rule(
    "drawing.position",
    each="sign",
    source=AREAS,
    level=Level.REVIEW,
    breaks={"signs.room-214.braille.position": "beside"},
    meets={},
)
def drawing_position(item: Sign, heights: Heights) -> Iterator[Draft]:
    """The braille is drawn where the sign says: below, above or beside its raised text.

    Where areas overlap upright, several places are possible, and each of them agrees. A sign that
    states no place is not judged.

    Why it matters: either the drawing or the statement is wrong, and the sign is judged by both.
    A job that breaks it: braille stated to lie beside the text, and drawn 10 mm below it.
    One that meets it: the same drawing, and braille stated to lie below.
    """
    braille = item.braille
    if braille is None or braille.position is None:
        return
    what = "the stated place of the braille, seen from its text,"
    for text, dots in text_and_braille(item, heights.job):
        unstated = text.unstated or dots.unstated
        if unstated is not None:
            yield missing(unstated, what)
            continue
        below, above = gap_below(item, text, dots), gap_above(item, text, dots)
        advice = f"{_drawn_gap(below, above)} Correct the one that is wrong. {_TURNED}"
        allowed = _possible_places(below, above)
        others = text.paths + dots.paths
        draft = one_of(what, found=braille.position, allowed=allowed, advice=advice, others=others)
        yield evolve(draft, limit_text=f"and it is drawn {' or '.join(allowed)}")


def _possible_places(below: Interval, above: Interval) -> tuple[str, ...]:
    """The places that the drawing allows."""
    fits = {
        "below": below.high >= -GUARD_MM,
        "above": above.high >= -GUARD_MM,
        # Beside takes an overlap; below and above are possible where the most room allows them.
        "beside": below.low < -GUARD_MM and above.low < -GUARD_MM,
    }
    return tuple(place for place in POSITIONS if fits[place])


def _drawn_gap(below: Interval, above: Interval) -> str:
    if below.low >= -GUARD_MM:
        return f"The areas have it {quantity_text(below, 'mm')} below the text."
    if above.low >= -GUARD_MM:
        return f"The areas have it {quantity_text(above, 'mm')} above the text."
    return "The areas have it at the height of the text."


@rule(
    "drawing.text-gap",
    each="sign",
    source=AREAS,
    level=Level.REVIEW,
    settings=Agreement,
    breaks={"signs.room-214.braille.below_text": "14 mm"},
    meets={},
)
def drawing_text_gap(item: Sign, heights: Heights, settings: Agreement) -> Iterator[Draft]:
    """The stated gap from the raised text down to the braille is one that the areas can leave.

    Text and dots lie within their areas, so the gap is at least that between the areas. At most it
    is what remains with the text, as tall as stated, at the very top of its areas, and the dots,
    laid out as stated, at the very bottom of theirs. A stated gap within both agrees, or one whose
    tolerance reaches there. Where artwork tells the areas, they hold tails that hang under the
    baseline, from which the gap counts. A sign that states no gap, or of which no pass builds the
    text or the braille, is not judged.

    Why it matters: the stated gap is compared with the standard, but the drawn one is printed.
    A job that breaks it: a stated gap of 14 mm, and areas that leave 10 to 11.65 mm.
    One that meets it: a stated gap of 10 mm, and the same areas.
    """
    stated = None if item.braille is None else item.braille.below_text
    if stated is None:
        return
    what = "the stated gap from the raised text down to the braille"
    for text, dots in text_and_braille(item, heights.job):
        unstated = text.unstated or dots.unstated
        if unstated is not None:
            yield missing(unstated, what)
            continue
        gap = gap_below(item, text, dots)
        yield stated_against_drawn(
            what,
            stated,
            gap.low,
            gap.high + _hanging_letters(item, text),
            rounding=settings.rounding,
            limit_text=f"the areas leave {quantity_text(gap, 'mm')}",
            advice=f"Correct the one that is wrong. {_TURNED}",
            others=text.paths + dots.paths,
        )


def _hanging_letters(item: Sign, text: Drawn) -> float:
    """How far letters may hang under their baseline, in areas that were made around them."""
    height = None if item.raised is None else item.raised.height
    if height is None or not text.read_from_artwork:
        return 0.0
    return HANGING_SHARE * height.high


@rule(
    "drawing.raised-height",
    each="sign",
    source=AREAS,
    level=Level.REVIEW,
    settings=Agreement,
    breaks={"signs.room-214.raised.height": "26 mm"},
    meets={},
)
def drawing_raised_height(item: Sign, heights: Heights, settings: Agreement) -> Iterator[Draft]:
    """Raised characters of the stated height, and all their lines, go into the areas of the passes
    that build them.

    A character may be shorter than its area and never taller. Lines are counted by the sign's text
    and take their stated spacing; where the sign has visual characters too, nobody knows which
    lines are raised, and none are counted. Text without capitals and digits may be lower than
    stated, and is not judged. The areas are drawn as it is meant: a height whose tolerance reaches
    what they leave agrees.

    Why it matters: letters that are scaled down to fit are smaller than the ones that were checked.
    A job that breaks it: characters of 26 mm for an area 25 mm high.
    One that meets it: characters of 25 mm for the same area.
    """
    yield from _drawn_height(item, heights.job, "raised", settings.rounding)


@rule(
    "drawing.visual-height",
    each="sign",
    source=AREAS,
    level=Level.REVIEW,
    settings=Agreement,
    breaks={"passes.ink-on-dots.builds": "room-214.visual"},
    meets={"passes.ground.builds": "room-214.visual"},
)
def drawing_visual_height(item: Sign, heights: Heights, settings: Agreement) -> Iterator[Draft]:
    """Visual characters of the stated height, and all their lines, go into the areas of the passes
    that build them.

    It is judged as `drawing.raised-height` is.

    Why it matters: the height of visual characters is what decides from how far they can be read.
    A job that breaks it: characters of 30 mm for an area 8 mm high.
    One that meets it: characters of 30 mm left open in a ground of 320 mm.
    """
    yield from _drawn_height(item, heights.job, "visual", settings.rounding)


def _drawn_height(item: Sign, job: Job, feature: str, rounding: float) -> Iterator[Draft]:
    """One character against the tallest piece of the areas, and all lines against all of them."""
    part: Raised | Visual | None = getattr(item, feature)
    line_height, total_height = letter_height(item, part), lines_height(item, part)
    for drawn in drawn_part(item, job, feature):
        if line_height is not None:
            what = f"the stated height of the {feature} characters"
            yield _fitting_statement(
                what, line_height, tallest_stretch(drawn.areas), rounding, drawn
            )
        if total_height is not None:
            lines = counted_things(count_lines(item), "line")
            what = f"the stated height of {lines} of {feature} characters"
            yield _fitting_statement(what, total_height, drawn.box.height, rounding, drawn)


def _fitting_statement(
    what: str, tall: Interval, room: float, rounding: float, drawn: Drawn
) -> Draft:
    return stated_against_drawn(
        what,
        tall,
        0.0,
        room,
        rounding=rounding,
        limit_text=f"the areas leave {quantity_text(room, 'mm')}",
        advice="Give the pass a taller area, or state the characters as they are drawn.",
        others=drawn.paths,
    )


@rule(
    "drawing.place",
    each="sign",
    source=geometry("signs are rectangles that lie beside each other on their sheet"),
    level=Level.REVIEW,
    settings=Agreement,
    breaks={"signs.room-214.area": ["0 mm", "45 mm", "240 mm", "200 mm"]},
    meets={},
)
def drawing_place(item: Sign, heights: Heights, settings: Agreement) -> Iterator[Draft]:
    """What passes build of a sign lies on that sign, and not among what they build of another.

    A sign that states its area has all its parts within it; those on the other side of the sheet
    are not compared. Of several signs on a sheet each has a rectangle: its stated area, or that
    around all areas of the passes that build it. These do not overlap. A sign that states no area
    and has its sheet to itself is not judged. Braille or raised text that lies on another sign is
    STOP: in the area that this one states, or there and nearer to its text or braille than to the
    own.

    Why it matters: dots that are printed beside the wrong text name the wrong room.
    A job that breaks it: a sign that begins 45 mm up its sheet, and dots from 42 mm on.
    One that meets it: a sign that takes the whole sheet.
    """
    if item.area is not None:
        yield from on_the_sign(item, heights.layout, settings.rounding)
    for side in SIDES:
        yield from next_sign(item, heights.layout, side, settings.rounding)


DRAWING = RuleSet(
    "drawing",
    (
        drawing_braille_below,
        drawing_position,
        drawing_text_gap,
        drawing_raised_height,
        drawing_visual_height,
        drawing_place,
        drawing_clear_space,
        *AGREEING,
    ),
    "What is stated of a sign against the areas that the passes print.",
)
