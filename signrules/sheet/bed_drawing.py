"""What plans of the bed have in common: the scale, the sheets of a load, their signs."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from xml.etree.ElementTree import Element, SubElement

from attrs import frozen

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Area
from signrules.physics.bed_layout import Layout
from signrules.physics.upright import bounding_area
from signrules.sheet.free_room import Box
from signrules.sheet.svg import px_text

ORIGIN_RADIUS = 2.5


@frozen
class BedFrame:
    """From mm on the bed, y upwards, to px, y downwards.

    `left` and `bottom` are where the bed's origin is drawn, in px; `scale` is px per mm.
    """

    left: float
    bottom: float
    scale: float

    def box(self, x: float, y: float, width: float, depth: float) -> Box:
        """A rectangle of the bed, from its lower left corner, as it is drawn."""
        return Box(
            self.left + x * self.scale,
            self.bottom - (y + depth) * self.scale,
            width * self.scale,
            depth * self.scale,
        )


def sheets_of(job: Job, load: str) -> tuple[Media, ...]:
    """The sheets of a bed load."""
    return tuple([sheet for sheet in job.media if sheet.load == load])


def bed_frame(job: Job, load: str, room: Box) -> BedFrame:
    """The largest scale at which the bed and what reaches over its edges fit into some room."""
    width, depth = job.printer.bed
    areas = [Area(0, 0, width, depth)]
    areas += [Area(*sheet.at, *sheet.size) for sheet in sheets_of(job, load)]
    whole = bounding_area(areas)
    scale = min(room.width / whole.width, room.height / whole.height)
    return BedFrame(room.x - whole.x * scale, room.y + (whole.y + whole.height) * scale, scale)


def drawn_bottom(frame: BedFrame, job: Job, load: str) -> float:
    """The lowest y in px of the bed and its sheets."""
    lowest = min(0.0, *(sheet.at[1] for sheet in sheets_of(job, load)))
    return frame.bottom - lowest * frame.scale


def signs_on(layout: Layout, sheet: Media, back_up: Collection[str]) -> Iterator[tuple[str, Area]]:
    """The signs on the side of a sheet that lies up, each with its rectangle on the bed in mm.

    A sign of which no job says where it lies on the sheet is left out.
    """
    side = "back" if sheet.id in back_up else "front"
    x, y = sheet.at
    for sign, area in layout.signs.get((sheet.id, side), {}).items():
        yield sign, Area(x + area.x, y + area.y, area.width, area.height)


def put_origin(svg: Element, frame: BedFrame) -> None:
    """Mark the corner of the bed from which places are counted."""
    corner = {"cx": px_text(frame.left), "cy": px_text(frame.bottom)}
    SubElement(svg, "circle", {"class": "origin", "r": px_text(ORIGIN_RADIUS)} | corner)
