"""Rules of the set `drawing` on the clear space around braille and raised characters, as drawn.

What is printed lies somewhere within its areas. The distance between areas is the least clear space
that there can be; where all of it lies as far away as the areas let it, the clear space is the most
that there can be. A standard is certainly broken where even the most is too little.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator

from attrs import evolve

from signrules.braille.dot_layout import area_distance
from signrules.model.passes import Area
from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.physics.upright import upright_area
from signrules.rules.binding_rows import rows_binding
from signrules.rules.braille_room import Fitting, apart_on_side, clear_space_check
from signrules.rules.checks import Draft, Level, check, missing, stated_by_the_job
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, limit_text, path_of, source_of
from signrules.rules.drawn_parts import (
    Drawn,
    areas_holding_text,
    cells_box,
    drawn_part,
    gap_above,
    gap_below,
    lacking_for_cells,
    letters_width,
    text_height,
)
from signrules.rules.standing_ink import TACTILE, ink_beside
from signrules.standards.dimension_tables import Standard

Found = tuple[str, float, tuple[str, ...]]
"""What lies apart, how far in mm, and the subjects that it concerns."""

_NAMES = {"braille": "the braille", "raised": "the raised characters"}
_ADVICE = "Move the one or the other; what the sign states does not change what is printed."


@rule(
    "drawing.clear-space",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    settings=Fitting,
    breaks={"passes.dots.areas": [["30 mm", "50 mm", "60 mm", "8 mm"]]},
    meets={},
)
def drawing_clear_space(
    item: Sign, heights: Heights, standards: tuple[Standard, ...], settings: Fitting
) -> Iterator[Draft]:
    """The areas can leave the clear space that a standard asks for around braille and raised
    characters.

    It is judged at the most that they can leave: between braille and text with the text, as tall as
    stated, at the end of its areas and the dots, as laid out, at the other end of theirs; between
    either and other ink that stands up with the one as far from the other as its areas let it.
    Braille and text are taken to lie one below the other where their areas overlap sideways, and
    are not compared elsewhere. Whatever the sign states of its clear space counts beside it, and
    does not take its place. That raised characters have less of it beside other ink that stands up
    than the sign states is REVIEW, at the least that the areas leave.

    Why it matters: the drawing is what is printed, and a finger finds no number on it.
    A job that breaks it: dots up to 58 mm, and letters from 60 mm on, 2 mm where 3/8 in (9.525 mm)
    is asked for.
    One that meets it: dots up to 50 mm.
    """
    for feature in TACTILE:
        rows = [
            (standard, row)
            for standard, row in rows_binding(item, standards, f"{feature}.clear_space")
            if row.of is None and row.least is not None
        ]
        spaces = _most_spaces(item, heights, feature, settings.standing) if rows else ()
        for what, most_space, others in spaces:
            for standard, row in rows:
                assert row.least is not None
                yield check(
                    f"the most clear space that the areas leave between {what}",
                    measured=most_space,
                    least=row.least.number - settings.rounding,
                    unit="mm",
                    limit_text=limit_text(row),
                    advice=_ADVICE,
                    others=others,
                    source=source_of(standard, row),
                    level=Level(row.level),
                )
    yield from _room_for_raised(item, heights, settings)


def _most_spaces(item: Sign, heights: Heights, feature: str, share: float) -> Iterator[Found]:
    """The most clear space that the areas leave around a feature, to each thing beside it."""
    for drawn in drawn_part(item, heights.job, feature):
        if drawn.unstated is not None:
            continue
        if feature == "braille":
            yield from _to_the_text(item, heights, drawn)
        beside = [
            neighbour
            for neighbour in ink_beside(item, heights, drawn, feature, share)
            if neighbour.filled
        ]
        if not beside:
            continue
        most_space, nearest = min(
            (
                (_most_apart(item, drawn, feature, neighbour.areas), neighbour)
                for neighbour in beside
            ),
            key=lambda found: found[0],
        )
        yield f"{_NAMES[feature]} and what else stands up", most_space, drawn.paths + nearest.paths


def _to_the_text(item: Sign, heights: Heights, dots: Drawn) -> Iterator[Found]:
    for text in drawn_part(item, heights.job, "raised"):
        if text.side != dots.side or text.unstated is not None or not _overlap_sideways(text, dots):
            continue
        most_space = max(gap_below(item, text, dots).high, gap_above(item, text, dots).high, 0.0)
        yield "the braille and the raised characters", most_space, dots.paths + text.paths


def _overlap_sideways(one: Drawn, other: Drawn) -> bool:
    left_edge = max(one.box.x, other.box.x)
    right = min(one.box.x + one.box.width, other.box.x + other.box.width)
    return left_edge < right


def _most_apart(item: Sign, drawn: Drawn, feature: str, others: Iterable[Area]) -> float:
    """The farthest that a feature can lie within its areas from areas that are full of ink, in mm.

    The distance of two rectangles is convex in the place of one of them, so it is greatest with
    that one in a corner.
    """
    turned = [upright_area(area, item.top) for area in others]
    places = [_corners_within(area, *size) for area, size in _least_sizes(item, drawn, feature)]
    farthest = []
    for corners, other in itertools.product(places, turned):
        farthest.append(max(area_distance(place, other) for place in corners))
    return min(farthest)


def _least_sizes(
    item: Sign, drawn: Drawn, feature: str
) -> Iterator[tuple[Area, tuple[float, float]]]:
    """The areas that hold some of a feature, each with the least width and height of it there."""
    if feature == "raised":
        areas = areas_holding_text(item, drawn)
        width = letters_width(item) or 0.0
        # Of several areas nobody knows which line each holds, so no size is certain in any of them.
        size = (width, text_height(item)) if len(areas) == 1 else (0.0, 0.0)
        yield from ((area, size) for area in areas)
        return
    braille = item.braille
    has_cell_sizes = braille is not None and lacking_for_cells(braille, "low") is None
    box = cells_box(braille, "low") if braille is not None and has_cell_sizes else None
    yield drawn.box, (0.0, 0.0) if box is None else (box.width, box.height)


def _corners_within(area: Area, width: float, height: float) -> tuple[Area, ...]:
    """A rectangle at each corner of an area; one that is larger is cut to it."""
    # What does not fit is for `drawing.raised-height` to say; here it fills its area.
    width, height = min(width, area.width), min(height, area.height)
    across = (area.x, area.x + area.width - width)
    along = (area.y, area.y + area.height - height)
    return tuple(Area(x, y, width, height) for x, y in itertools.product(across, along))


def _room_for_raised(item: Sign, heights: Heights, settings: Fitting) -> Iterator[Draft]:
    """The clear space that the sign states around its raised characters, as `braille.fit` has it
    for braille.
    """
    space = None if item.raised is None else item.raised.clear_space
    what = "the distance from the raised characters to what else stands up beside them"
    for drawn in drawn_part(item, heights.job, "raised"):
        beside = list(ink_beside(item, heights, drawn, "raised", settings.standing))
        if not beside or drawn.unstated is not None:
            continue
        if space is None:
            yield missing(path_of(item, "raised.clear_space"), what, level=Level.REVIEW)
            continue
        areas = areas_holding_text(item, drawn)
        distance, nearest = min(
            ((apart_on_side(item, areas, neighbour.areas), neighbour) for neighbour in beside),
            key=lambda found: found[0],
        )
        source = stated_by_the_job(path_of(item, "raised.clear_space"))
        others = drawn.paths + nearest.paths
        draft = clear_space_check(source, space, what, distance, settings.rounding, others)
        yield evolve(draft, level=Level.REVIEW)
