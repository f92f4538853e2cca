"""The plan view of a print step: the bed from above with its sheets, what is printed, and the band
of the head.
"""

from __future__ import annotations

from signrules.model.passes import Area
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.scene import Scene
from signrules.sheet.sheet_words import (
    clean_text,
    clipped_words,
    count_text,
    figure_text,
    mm_text,
    span_text,
)
from signrules.sheet.svg import put_box, put_line, put_words, svg_picture, svg_text

ROOM_X, ROOM_Y = 206.0, 150.0
EDGE = 6.0
FOOT = 16.0
LETTER = 6.2
MOST_AREAS = 400
"""Above so many rectangles only the one around them is drawn."""


def bed_plan(scene: Scene, name: str, language: Language = ENGLISH) -> str:
    """The picture as SVG: y upwards, so that the bed's lower corner is at the lower left."""
    job, layout, pass_index = scene.job, scene.heights.layout, scene.printing.pass_index
    item, own_sheet = job.passes[pass_index], layout.media[pass_index]
    bed_width, bed_depth = job.printer.bed
    scale = min(ROOM_X / bed_width, ROOM_Y / bed_depth)
    low, high = (min(max(y, 0.0), bed_depth) for y in scene.band)
    title = f"Bed from above: printing {clean_text(item.id)}"
    areas = job.areas_of(item)
    description = (
        f"Bed of {figure_text(bed_width)} by {mm_text(bed_depth)}. The head passes over everything"
        f" from y = {figure_text(low)} to {mm_text(high)}. Sheets in this band:"
        f" {', '.join(clean_text(media) for media in scene.sheets)}. The pass prints"
        f" {count_text(len(areas), 'area')} on {clean_text(own_sheet.id)}."
    )
    height = bed_depth * scale + EDGE + FOOT
    svg = svg_picture(name, ROOM_X + 2 * EDGE, height, title, description)
    svg.set("class", "plan")
    svg.set("data-scale", repr(scale))
    left_edge = EDGE + (ROOM_X - bed_width * scale) / 2

    def place(kind: str, x: float, y: float, width: float, length: float) -> None:
        top = EDGE + (bed_depth - y - length) * scale
        put_box(svg, kind, left_edge + x * scale, top, width * scale, length * scale)

    place("bed", 0, 0, bed_width, bed_depth)
    for sheet in job.media:
        if sheet.load == own_sheet.load:
            kind = "sheet" if sheet.id in scene.sheets else "sheet away"
            place(kind, *sheet.at, *sheet.size)
    place("band", 0, low, bed_width, high - low)
    for area in _drawn_areas(areas):
        place(
            "ink now", own_sheet.at[0] + area.x, own_sheet.at[1] + area.y, area.width, area.height
        )
    for edge in (low, high):
        y = EDGE + (bed_depth - edge) * scale
        put_line(svg, "band-edge", left_edge, y, left_edge + bed_width * scale, y)
    for sheet in job.media:
        letters = int(sheet.size[0] * scale / LETTER)
        if sheet.load == own_sheet.load and letters >= 3:
            middle = left_edge + (sheet.at[0] + sheet.size[0] / 2) * scale
            top = EDGE + (bed_depth - sheet.at[1] - sheet.size[1]) * scale
            y = top - 3 if top > EDGE + 12 else top + 12
            put_words(svg, "label mid halo", middle, y, clipped_words(sheet.id, letters))
    put_words(svg, "label", left_edge, height - 4, f"band: y {span_text(low, high)}")
    return svg_text(svg)


def _drawn_areas(areas: tuple[Area, ...]) -> tuple[Area, ...]:
    """The areas; of very many the rectangle around them."""
    if len(areas) <= MOST_AREAS:
        return areas
    x, y = min(area.x for area in areas), min(area.y for area in areas)
    right = max(area.x + area.width for area in areas)
    top = max(area.y + area.height for area in areas)
    return (Area(x, y, right - x, top - y),)
