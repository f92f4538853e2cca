"""Rules of the set `drawing` that hold what a sign states against itself and its sheet.

Only what is certain is judged, as in the rest of the set: what cannot be so however it is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from signrules.model.passes import Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.model.wording import joined_names
from signrules.physics.heights import Heights
from signrules.rules.binding_rows import rows_binding
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, common_practice, geometry, missing, one_of
from signrules.rules.declaration import rule
from signrules.rules.drawn_parts import (
    Agreement,
    Drawn,
    cells_box,
    cells_height,
    drawn_part,
    foot_of_cells,
    gap_below,
    ground_of,
    lacking_for_cells,
    letter_height,
    line_steps,
    lines_height,
    stated_against_drawn,
    text_and_braille,
    text_height,
    usual_width,
)
from signrules.rules.settings import setting
from signrules.standards.dimension_tables import Standard

ONE_SIDE = geometry("a hand and an eye read one side of a sheet")
STATED = geometry("what a sign states, against itself and the areas of its passes")


@rule(
    "drawing.side",
    each="sign",
    source=ONE_SIDE,
    level=Level.STOP,
    breaks={"passes.dots.side": "back", "passes.ink-on-dots.side": "back"},
    meets={},
)
def drawing_side(item: Sign, heights: Heights) -> Iterator[Draft]:
    """The braille is printed on a side of the sheet that has the text of its sign too.

    It is held against the raised text that passes build. Where none do, it is held against the
    visual characters, or against all other print of the sheet, and then it is REVIEW: what lies on
    the back of a clear sheet is read through it. A sign with text and braille on both sides is in
    order.

    Why it matters: braille on the back of a sign is against the wall, and nobody finds it.
    A job that breaks it: raised text on the front, and the pass that builds the braille on the
    back.
    One that meets it: both on the front.
    """
    dots = drawn_part(item, heights.job, "braille")
    text, what = _text_passes(item, heights)
    if not dots or not text:
        return
    raised = any(f"{item.id}.raised" in builder.builds for builder in text)
    advice = "" if raised else " What is read through a clear sheet may lie behind it."
    sides = tuple(dict.fromkeys(builder.side for builder in text))
    others = tuple(f"passes.{builder.id}" for builder in text)
    for dots_pass in dots:
        draft = one_of(
            "the side of the sheet with the braille",
            found=dots_pass.side,
            allowed=sides,
            advice=f"Print both on the same side.{advice}",
            level=Level.STOP if raised else Level.REVIEW,
            others=dots_pass.paths + others,
        )
        yield evolve(draft, limit_text=f"and {what} is on the {' and the '.join(sides)}")


def _text_passes(item: Sign, heights: Heights) -> tuple[tuple[Pass, ...], str]:
    """The passes that tell on which side a sign is read, and what they print in words."""
    job = heights.job
    for feature in ("raised", "visual"):
        text_passes = tuple(
            job_pass for job_pass in job.passes if f"{item.id}.{feature}" in job_pass.builds
        )
        if text_passes:
            return text_passes, "its text"
    sheet = job.media_of(item).id
    dots = {job_pass.id for job_pass in job.passes if job_pass.builds_any("braille")}
    remaining = (
        job_pass
        for job_pass in job.passes
        if job.media_of(job_pass).id == sheet
        and job_pass.id not in dots
        # Colour that lands on the dots goes where they are, and tells nothing of the text.
        and not dots & {*job_pass.over}
    )
    return tuple(remaining), "the other print of the sheet"


@frozen
class Hanging(Agreement):
    """How far heights above a floor and a drawing may lie apart."""

    rounding: float = setting(
        1.0,
        unit="mm",
        doc=(
            "By how much the difference of two heights above the floor may differ from the drawing;"
            " a tape measure is read to a millimetre (common practice, no published source)."
        ),
    )


@rule(
    "drawing.baselines",
    each="sign",
    source=STATED,
    level=Level.REVIEW,
    settings=Hanging,
    breaks={"signs.room-214.mounting.highest_tactile": "1500 mm"},
    meets={},
)
def drawing_baselines(item: Sign, heights: Heights, settings: Hanging) -> Iterator[Draft]:
    """The heights of the lowest and the highest baseline differ by what the drawing allows.

    It is judged where braille is drawn below raised text, on one side of the sheet: from the
    baseline of the last line of braille up to that of the first line of text. Where they are not
    drawn so, and the sign states that the braille lies below, the difference is at least what the
    braille and its gap take. The baseline of a cell is taken to lie between the foot and the centre
    of its lowest row of dots. Braille that states no cells or spacings is not judged.

    Why it matters: these heights are what the standard limits, and a sign is hung by them.
    A job that breaks it: baselines 118 mm apart, drawn 16 to 18 mm apart.
    One that meets it: baselines 18 mm apart.
    """
    stated_span = _stated_span(item)
    if stated_span is None or item.braille is None or lacking_for_cells(item.braille, "high"):
        return
    parts = tuple(text_and_braille(item, heights.job))
    for text, dots in parts:
        unstated = text.unstated or dots.unstated
        if unstated is not None:
            yield missing(unstated, _SPAN)
        elif gap_below(item, text, dots).low >= 0:
            span = _drawn_span(item, text, dots)
            yield _spanned_height(
                stated_span, span.low, span.high, settings, text.paths + dots.paths
            )
    if not parts and _lies_below(item):
        gap = 0.0 if item.braille.below_text is None else item.braille.below_text.low
        yield _spanned_height(stated_span, gap + _rows_height(item), None, settings, ())


_SPAN = "the distance from the lowest tactile baseline up to the highest"


def _spanned_height(
    apart: Interval, least: float, most: float | None, settings: Hanging, others: tuple[str, ...]
) -> Draft:
    if most is None:
        shown = f"at least {quantity_text(least, 'mm')}"
    else:
        shown = quantity_text(Interval.between(least, most), "mm")
    return stated_against_drawn(
        _SPAN,
        apart,
        least,
        most,
        rounding=settings.rounding,
        limit_text=f"text and braille take {shown}",
        advice="Correct the height that is wrong, or the drawing.",
        others=others,
    )


def _stated_span(item: Sign) -> Interval | None:
    hung = item.mounting
    if hung is None or hung.lowest_tactile is None or hung.highest_tactile is None:
        return None
    return hung.highest_tactile + hung.lowest_tactile.scaled(-1)


def _drawn_span(item: Sign, text: Drawn, dots: Drawn) -> Interval:
    """From the lowest baseline of the braille up to the highest of the text, as the areas allow."""
    assert item.braille is not None
    letter = letter_height(item, item.raised)
    highest = text.box.y + text.box.height
    if letter is not None:
        highest -= letter.low
    lowest_text = text.box.y + line_steps(item, item.raised)
    foot_height = foot_of_cells(item.braille)
    top = dots.box.y + dots.box.height - _rows_height(item)
    # The least: the text as low and the cells as high as their areas let them; the most is the
    # reverse.
    low, high = lowest_text - top, highest - (dots.box.y - foot_height)
    return Interval.between(min(low, high), max(low, high))


def _rows_height(item: Sign) -> float:
    """From the highest possible baseline of the last cells up to the head of the highest dots."""
    braille = item.braille
    assert braille is not None
    assert braille.dot_diameter is not None
    return max(cells_height(braille) - braille.dot_diameter.high / 2, 0.0)


def _lies_below(item: Sign) -> bool:
    braille = item.braille
    if braille is None or item.raised is None:
        return False
    return braille.position == "below" or (
        braille.position is None and braille.below_text is not None
    )


@rule(
    "drawing.raised-width",
    each="sign",
    source=common_practice("letters are no narrower beside their O than in narrow typefaces"),
    level=Level.REVIEW,
    settings=Agreement,
    breaks={"passes.letters.areas": [["30 mm", "60 mm", "50 mm", "25 mm"]]},
    meets={},
)
def drawing_raised_width(item: Sign, heights: Heights, settings: Agreement) -> Iterator[Draft]:
    """The longest line of raised characters goes into the areas of the passes that build it.

    A capital O is as wide as stated, the other letters take at least the share of it that they have
    in the narrowest of common typefaces, and between them lie the stated gaps; a word space takes
    no less than a gap. Where no O is stated, a letter takes its stroke. Where a sign has
    visual characters too, nobody knows which lines are raised, and the shortest is taken.

    Why it matters: letters that are squeezed to fit are not the ones that were checked.
    A job that breaks it: ROOM 214 in an area of 50 mm, with two O of 20 mm and gaps of 4 mm.
    One that meets it: the same line in an area of 180 mm.
    """
    needed = usual_width(item)
    for drawn in drawn_part(item, heights.job, "raised"):
        if needed is not None:
            yield check(
                "the least width of a line of raised characters",
                measured=needed,
                most=drawn.box.width + settings.rounding,
                unit="mm",
                limit_text=f"the areas leave {quantity_text(drawn.box.width, 'mm')}",
                advice="Give the pass a wider area, break the line, or state smaller characters.",
                others=drawn.paths,
            )


@rule(
    "drawing.sheet",
    each="sign",
    source=geometry("nothing on a sign is larger than the sign"),
    level=Level.REVIEW,
    settings=Agreement,
    breaks={"signs.room-214.pictogram.field_height": "330 mm"},
    meets={},
)
def drawing_sheet(
    item: Sign, heights: Heights, standards: tuple[Standard, ...], settings: Agreement
) -> Iterator[Draft]:
    """What a sign states of its parts goes onto the sign, whether or not a pass builds them.

    The sign is its stated area, else its sheet. Looked at are the field of the pictogram, the
    height and the least width of raised characters, and the braille as it is laid out; the one that
    has the least room stands for all. Raised text with the braille that it states below it counts
    as one, and the field of a pictogram that a table of the job limits with both: its descriptor
    stands below it (2010 ADA Standards, 703.6.3).

    Why it matters: an impossible figure is a mistake, and was judged like any other.
    A job that breaks it: a pictogram field of 330 mm on a sheet 320 mm high.
    One that meets it: a field of 160 mm.
    """
    layout = heights.layout
    ground, ground_name = ground_of(item, layout, layout.faces[item.id])
    rooms = {"width": ground.width, "height": ground.height}
    sizes = [*_stated_sizes(item), *_stacked_heights(item, standards)]
    if not sizes:
        return
    what, along, size = max(
        sizes, key=lambda size_of_part: size_of_part[2] - rooms[size_of_part[1]]
    )
    yield check(
        what,
        measured=size,
        most=rooms[along] + settings.rounding,
        unit="mm",
        limit_text=f"the {along} of the {ground_name} is {quantity_text(rooms[along], 'mm')}",
        advice="Correct the one that is wrong.",
    )


def _stated_sizes(item: Sign) -> Iterator[tuple[str, str, float]]:
    """What parts of a sign take at the least, in mm, and in which direction."""
    field = item.pictogram
    if field is not None and field.field_width is not None:
        yield "the width of the pictogram's field", "width", field.field_width.low
    if field is not None and field.field_height is not None:
        yield "the height of the pictogram's field", "height", field.field_height.low
    lines_tall = lines_height(item, item.raised) or letter_height(item, item.raised)
    if lines_tall is not None:
        yield "the height of the raised characters", "height", lines_tall.low
    usual = usual_width(item)
    if usual is not None:
        yield "the least width of a line of raised characters", "width", usual
    braille = item.braille
    if braille is None or lacking_for_cells(braille, "low") is not None:
        return
    cells = cells_box(braille, "low")
    if cells is not None:
        yield "the width of the cells with their dots", "width", cells.width
        yield "the height of the cells with their dots", "height", cells.height


def _stacked_heights(
    item: Sign, standards: tuple[Standard, ...]
) -> Iterator[tuple[str, str, float]]:
    """What parts take that stand one below the other."""
    parts = {}
    if text := text_height(item):
        parts["its raised text"] = text
    if _lies_below(item) and (cells := cells_height(item.braille)):
        if item.braille is not None and item.braille.below_text is not None:
            cells += item.braille.below_text.low
        parts["its braille"] = cells
    field = item.pictogram
    designates = any(True for _ in rows_binding(item, standards, "pictogram.field_height"))
    if field is not None and field.field_height is not None and designates:
        parts["the field of its pictogram"] = field.field_height.low
    if len(parts) > 1:
        yield f"the height of {joined_names(list(parts))} together", "height", sum(parts.values())


AGREEING = (drawing_side, drawing_baselines, drawing_raised_width, drawing_sheet)
"""The rules of this module, which belong to the set `drawing`."""
