"""The room for the braille of a sign: in the areas that build it, and clear of all that
stands up.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.braille.dot_layout import area_distance
from signrules.model.passes import Area
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Sign
from signrules.physics.heights import Heights
from signrules.physics.upright import upright_area
from signrules.physics.zones import Cover, Zone
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, geometry, missing, stated_by_the_job
from signrules.rules.declaration import rule
from signrules.rules.dimensions import path_of
from signrules.rules.drawn_parts import Agreement, Drawn, cells_box, drawn_part, lacking_for_cells
from signrules.rules.judged_relief import dot_heights
from signrules.rules.settings import setting

TACTILE = ("braille", "raised")


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
    there can be. The cells are laid out as they are meant, as the areas are drawn: their tolerances
    are those of the print. Ink stands up where it rises over the face of the braille by more than a share of
    the height of the dots. The edge of the sheet is no raised border and is not looked at. Neither
    is the braille of other signs. A sign whose braille no pass builds is not judged.

    Why it matters: a line that is too long is cut off or crowds what stands beside it, and artwork
    shows neither.
    A job that breaks it: a bar of colour, 20 layers and so 0.2 mm high, 2 mm above the dots.
    One that meets it: 9 cells, 53.6 mm with their dots, in 60 mm, 10 mm below the raised text.
    """
    if item.braille is None:
        return
    for dots in drawn_part(item, heights.job, "braille"):
        yield from _laid_out_size(item, item.braille, dots, settings.rounding)
        yield from _clear_room_around(item, item.braille, heights, dots, settings)


def _laid_out_size(item: Sign, braille: Braille, dots: Drawn, rounding: float) -> Iterator[Draft]:
    what = "the {} of the cells with their dots"
    lacking = lacking_for_cells(braille, "nominal")
    if lacking is not None:
        yield missing(path_of(item, f"braille.{lacking}"), what.format("size"))
        return
    needed = cells_box(braille, "nominal")
    if needed is None:
        return
    box = dots.box
    sizes = (("width", needed.width, box.width), ("height", needed.height, box.height))
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
        yield missing(dots.unstated, what)
        return
    layout = heights.layout
    what = "the distance from the braille to the raised characters"
    sheet = layout.job.media_of(item).id
    for at in sorted(layout.passes_on[sheet, dots.side]):
        each = layout.job.passes[at]
        if not (each.builds or "").endswith(".raised"):
            continue
        if each.areas is None:
            yield missing(f"passes.{each.id}.areas", what)
            continue
        apart = _apart_on_side(item, dots, each.areas)
        yield _clear_space_check(item, space, what, apart, settings, (f"passes.{each.id}",))
    yield from _nearest_beside(item, heights, dots, space, settings)


def _clear_space_check(
    item: Sign,
    space: Interval,
    what: str,
    apart: float,
    settings: Fitting,
    others: tuple[str, ...],
) -> Draft:
    return check(
        what,
        measured=apart,
        least=space.low - settings.rounding,
        unit="mm",
        limit_text=f"must be at least {quantity_text(space.low, 'mm')}",
        source=stated_by_the_job(path_of(item, "braille.clear_space")),
        advice="Move the one or the other, or draw the areas closer around what is printed.",
        others=others,
    )


def _apart_on_side(item: Sign, dots: Drawn, areas: tuple[Area, ...]) -> float:
    others = [upright_area(area, item.top) for area in areas]
    return min(area_distance(one, other) for one in dots.areas for other in others)


def _nearest_beside(
    item: Sign, heights: Heights, dots: Drawn, space: Interval, settings: Fitting
) -> Iterator[Draft]:
    """The nearest ink that stands up and is neither braille nor raised text."""
    known = [height.low for _, height in dot_heights(item, heights)]
    if not known:
        return
    least = settings.standing * min(known)
    sheet = heights.job.media_of(item).id
    plain = frozenset(
        at for at in heights.layout.passes_on[sheet, dots.side] if _feature(heights, at) is None
    )
    if sum(heights.thickest(at) for at in plain) <= least:
        return
    found = _standing_zones(heights, heights.zones(sheet, dots.side), dots, plain, least)
    near = [(_apart_on_side(item, dots, _areas_of(zone)), zone.cover) for zone in found]
    if near:
        apart, cover = min(near)
        others = tuple(f"passes.{heights.job.passes[at].id}" for at in cover if at in plain)
        what = "the distance from the braille to what else stands up beside it"
        yield _clear_space_check(item, space, what, apart, settings, others)


def _standing_zones(
    heights: Heights,
    zones: tuple[Zone, ...],
    dots: Drawn,
    plain: frozenset[int],
    least: float,
) -> Iterator[Zone]:
    """The zones without braille and raised text whose ink rises over the face of the dots."""
    own = {heights.index[each.id] for each in dots.passes}
    faces = {_of(zone.cover, plain) for zone in zones if own & set(zone.cover)}
    for zone in zones:
        if plain.issuperset(zone.cover):
            rises = [_rise_over(heights, zone.cover, face) for face in faces]
            if max(rises, default=0.0) > least:
                yield zone


def _rise_over(heights: Heights, top: Cover, face: Cover) -> float:
    """How far one stack of ink stands above another as they are meant, in mm."""
    everything = range(len(heights.job.passes))
    over = heights.ink(top, everything) - heights.ink(face, everything)
    return over.interval().nominal


def _of(cover: Cover, members: frozenset[int]) -> Cover:
    return tuple(at for at in cover if at in members)


def _feature(heights: Heights, at: int) -> str | None:
    """The tactile feature that a pass builds."""
    feature = (heights.job.passes[at].builds or "").rpartition(".")[2]
    return feature if feature in TACTILE else None


def _areas_of(zone: Zone) -> tuple[Area, ...]:
    return tuple(
        Area(piece.x0, piece.y0, piece.x1 - piece.x0, piece.y1 - piece.y0) for piece in zone.pieces
    )
