"""The room for the braille of a sign: in the areas that build it, and clear of all that
stands up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from signrules.braille.dot_layout import area_distance
from signrules.model.built_areas import areas_building, unstated_place
from signrules.model.job import Job
from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Sign
from signrules.physics.heights import Heights
from signrules.physics.upright import upright_area
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import (
    Draft,
    Level,
    Source,
    check,
    geometry,
    missing,
    stated_by_the_job,
)
from signrules.rules.declaration import rule
from signrules.rules.dimensions import path_of
from signrules.rules.drawn_parts import Agreement, Drawn, cells_box, drawn_part, lacking_for_cells
from signrules.rules.settings import setting
from signrules.rules.standing_ink import ink_beside

Subjects = tuple[str, ...]


@frozen
class Fitting(Agreement):
    """What counts as the same length, and what as standing up."""

    standing: float = setting(
        0.1,
        doc="From which share of the height of the dots on ink stands up beside them; flat colour "
        "stays below it (common practice, no published source).",
    )


@rule(
    "braille.fit",
    each="sign",
    level=Level.REVIEW,
    source=geometry(
        "the cells laid out at the stated spacings; the areas of the passes beside them"
    ),
    settings=Fitting,
    breaks={
        "passes.ground.areas": [["30 mm", "52 mm", "60 mm", "3 mm"]],
        "passes.ground.layers": 20,
    },
    meets={},
)
def braille_fit(item: Sign, heights: Heights, settings: Fitting) -> Iterator[Draft]:
    """The cells go into the areas of the passes that build them, and these keep the sign's clear
    space to raised characters and to all other ink that stands up on that side of the sheet.

    Areas are rectangles around what is printed, so the clear space between them is the least that
    there can be. The cells are laid out at their nominal spacings, as the areas are drawn. Ink
    counts as standing up if it rises above the face of the braille by more than a share of the dot
    height. The edge of the sheet does not count as a raised border, and the braille of other signs
    is not compared. A sign whose braille no pass builds is not judged. Where dots were read from
    artwork, areas were made around them, and their cells are not laid out again; where characters
    were too, their distance was measured there, and is not compared again.

    Why it matters: a line that is too long is cut off or crowds what stands beside it, and artwork
    shows neither.
    A job that breaks it: a bar of colour, 20 layers and so 0.2 mm high, 2 mm above the dots.
    One that meets it: 9 cells, 53.6 mm with their dots, in 60 mm, 10 mm below the raised text.
    """
    if item.braille is None:
        return
    for dots in drawn_part(item, heights.job, "braille"):
        if not dots.read_from_artwork:
            yield from _laid_out_size(item, item.braille, dots, settings.rounding)
        yield from _clear_room_around(item, item.braille, heights, dots, settings)


def _laid_out_size(item: Sign, braille: Braille, dots: Drawn, rounding: float) -> Iterator[Draft]:
    what = "the {} of the cells with their dots"
    lacking = lacking_for_cells(braille, "nominal")
    if lacking is not None:
        path = path_of(item, f"braille.{lacking}")
        yield missing(path, what.format("size"), advice="State a length above 0.")
        return
    needed = cells_box(braille, "nominal")
    if needed is None:
        return
    box = dots.box
    sizes = (("width", needed.width, box.width), ("height", needed.height, box.height))
    # Width and height one by one: a message then says along which side to make room.
    for along, size, room in sizes:
        yield check(
            what.format(along),
            measured=size,
            most=room + rounding,
            unit="mm",
            limit_text=f"the areas leave {quantity_text(room, 'mm')}",
            advice="Break the line, or give the pass a larger area.",
        )


def _clear_room_around(
    item: Sign, braille: Braille, heights: Heights, dots: Drawn, settings: Fitting
) -> Iterator[Draft]:
    """The clear space around the braille that the passes on one side of a sheet leave."""
    space, what = braille.clear_space, "the room around the braille"
    if space is None:
        yield missing(path_of(item, "braille.clear_space"), what)
        return
    if dots.unstated is not None:
        yield missing(dots.unstated, what, advice="State a length above 0.")
        return
    layout = heights.layout
    what = "the distance from the braille to the raised characters"
    sheet = layout.job.media_of(item).id
    source = stated_by_the_job(path_of(item, "braille.clear_space"))
    for pass_index in sorted(layout.passes_on[sheet, dots.side]):
        builder = layout.job.passes[pass_index]
        # What was read from artwork was measured there, on the letters and not on rectangles.
        if builder.artwork and dots.read_from_artwork:
            continue
        # Of every sign on the sheet: letters of a neighbour crowd the dots as the own ones do.
        for areas, unstated in _raised_areas(layout.job, builder):
            if unstated is not None:
                yield missing(unstated, what)
                continue
            distance = apart_on_side(item, dots.areas, areas)
            subjects = (f"passes.{builder.id}",)
            yield clear_space_check(source, space, what, distance, settings.rounding, subjects)
    yield from _nearest_beside(item, heights, dots, space, settings)


def _raised_areas(job: Job, item: Pass) -> Iterator[tuple[tuple[Area, ...], str | None]]:
    """Where a pass builds raised characters, of each sign; or what would tell where."""
    for feature in item.builds:
        if not feature.endswith(".raised"):
            continue
        areas = areas_building(job, item, feature)
        if areas is None:
            yield (), unstated_place(job, item, feature)
        elif item.areas is None:
            yield (), f"passes.{item.id}.areas"
        elif areas:
            yield areas, None


def clear_space_check(
    source: Source, space: Interval, what: str, apart: float, rounding: float, others: Subjects
) -> Draft:
    """A distance between areas against the clear space that a sign states."""
    return check(
        what,
        measured=apart,
        least=space.low - rounding,
        unit="mm",
        limit_text=f"must be at least {quantity_text(space.low, 'mm')}",
        source=source,
        advice="Move one of them, or draw the areas closer around what is printed.",
        others=others,
    )


def apart_on_side(item: Sign, areas: Iterable[Area], others: Iterable[Area]) -> float:
    """The distance in mm between areas of a sign, upright, and others as they lie on the sheet."""
    # The sign's own areas are upright already; both must be turned alike to be compared.
    turned = [upright_area(area, item.top) for area in others]
    return min(area_distance(area, other) for area in areas for other in turned)


def _nearest_beside(
    item: Sign, heights: Heights, dots: Drawn, space: Interval, settings: Fitting
) -> Iterator[Draft]:
    """The nearest ink that stands up and is neither braille nor raised text."""
    beside = ink_beside(item, heights, dots, "braille", settings.standing)
    distances = [
        (apart_on_side(item, dots.areas, neighbour.areas), neighbour) for neighbour in beside
    ]
    if distances:
        # The nearest stands for all: what keeps clear of it keeps clear of the others.
        distance, nearest = min(distances, key=lambda pair: pair[0])
        what = "the distance from the braille to what else stands up beside it"
        source = stated_by_the_job(path_of(item, "braille.clear_space"))
        yield clear_space_check(source, space, what, distance, settings.rounding, nearest.paths)
