"""The plan view of a print step: the bed from above with its sheets, what is printed, and the band
of the head.

Words stand on free ground alone: a name that does not fit is a number, and a list tells what the
numbers mean.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from attrs import frozen

from signrules.model.media import Media
from signrules.model.passes import Area
from signrules.physics.upright import bounding_area
from signrules.sheet.bed_drawing import (
    bed_frame,
    drawn_bottom,
    put_origin,
    sheets_of,
    signs_on,
)
from signrules.sheet.free_room import Box, FreeRoom
from signrules.sheet.hold_words import hold_words
from signrules.sheet.label_places import BASELINE, LINE, words_width, wrapped_lines
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.scene import Scene
from signrules.sheet.sheet_words import clean_text, clipped_words
from signrules.sheet.svg import put_box, put_line, put_words, set_height, svg_picture, svg_text
from signrules.sheet.tall_sheets import too_high_beside

WIDTH = 150.0
EDGE = 4.0
ROOM_X, ROOM_Y = WIDTH - 2 * EDGE, 76.0
"""What the bed may take, in px."""

SWATCH = 14.0
"""What a swatch takes before the words that explain it, in px."""

MOST_AREAS = 100
"""Of more rectangles that a pass prints only the one around them is drawn."""

MOST_SIGNS = 400
"""Of more signs on a sheet none is outlined."""

MOST_LISTED = 6
MOST_LETTERS = 40


@frozen
class _Note:
    """A line beneath the bed, and the class of the swatch that it explains, if any."""

    text: str
    swatch: str = ""


def bed_plan(scene: Scene, name: str, language: Language = ENGLISH) -> str:
    """The picture as SVG: y upwards, so that the bed's lower corner is at the lower left.

    `name` makes its ids unique on the page.
    """
    return svg_text(_Plan(scene, name, language).svg)


class _Plan:
    def __init__(self, scene: Scene, name: str, language: Language) -> None:
        self.scene, self.job, self.language = scene, scene.job, language
        self.pass_index = scene.printing.pass_index
        self.item = self.job.passes[self.pass_index]
        self.own_sheet = scene.heights.layout.media[self.pass_index]
        self.sheets = tuple(
            [
                sheet
                for sheet in sheets_of(self.job, self.own_sheet.load)
                if sheet.id not in scene.absent
            ]
        )
        bed_depth = self.job.printer.bed[1]
        low, high = scene.band
        self.band = (min(max(low, 0.0), bed_depth), min(max(high, 0.0), bed_depth))
        self.frame = bed_frame(self.job, self.own_sheet.load, Box(EDGE, EDGE, ROOM_X, ROOM_Y))
        self.too_high = too_high_beside(scene)
        self.own_note: tuple[_Note, ...] = ()
        self.room = FreeRoom(WIDTH, ROOM_Y + 2 * EDGE)
        self.sheet_boxes = [self.frame.box(*sheet.at, *sheet.size) for sheet in self.sheets]
        title = language.say("Bed from above: printing {name}", name=clean_text(self.item.id))
        # How high the picture becomes is known once everything is written.
        self.svg = svg_picture(name, WIDTH, 0, title, self._description())
        self.svg.set("class", "plan")
        self.svg.set("data-scale", repr(self.frame.scale))
        self._bed()
        self._put_notes(self._sheet_names())

    def _description(self) -> str:
        language = self.language
        width, depth = self.job.printer.bed
        return language.say(
            "Bed of {width} by {depth}. The head passes over everything from y = {span}. Sheets in"
            " this band: {sheets}. The pass prints on {own}.",
            width=language.figure(width),
            depth=language.mm(depth),
            span=language.span(*self.band),
            sheets=", ".join(map(clean_text, self.scene.sheets)),
            own=clean_text(self.own_sheet.id),
        )

    # --- what is drawn ----------------------------------------------------------------------------

    def _bed(self) -> None:
        width, depth = self.job.printer.bed
        low, high = self.band
        bed = self.frame.box(0, 0, width, depth)
        band = self.frame.box(0, low, width, high - low)
        _put(self.svg, "bed", bed)
        _put(self.svg, "band", band)
        self.room.take_edges(bed)
        for sheet in self.sheets:
            self._sheet(sheet)
        self._printed()
        for y in (band.y, band.bottom):
            put_line(self.svg, "band-edge", bed.x, y, bed.right, y)
            self.room.take(Box(bed.x, y, bed.width, 0))
        put_origin(self.svg, self.frame)
        self.room.take(Box(self.frame.left - 3, self.frame.bottom - 3, 6, 6))

    def _sheet(self, sheet: Media) -> None:
        box = self.frame.box(*sheet.at, *sheet.size)
        kind = "sheet"
        if sheet.id in self.too_high:
            kind = "sheet away high"
            self.room.take(box)
        elif sheet.id not in self.scene.sheets:
            kind = "sheet away"
        _put(self.svg, kind, box)
        self.room.take_edges(box)
        signs = tuple(signs_on(self.scene.heights.layout, sheet, self.scene.turned))
        if len(signs) > MOST_SIGNS:
            return
        for _, area in signs:
            outline = self.frame.box(area.x, area.y, area.width, area.height)
            _put(self.svg, "sign", outline)
            self.room.take_edges(outline)

    def _printed(self) -> None:
        """What the pass prints; of very many rectangles the one around them."""
        areas: tuple[Area, ...] = self.job.areas_of(self.item)
        if len(areas) > MOST_AREAS:
            areas = (bounding_area(areas),)
        x, y = self.own_sheet.at
        for area in areas:
            box = self.frame.box(x + area.x, y + area.y, area.width, area.height)
            _put(self.svg, "ink now", box)
            self.room.take(box)

    # --- words ------------------------------------------------------------------------------------

    def _sheet_names(self) -> list[_Note]:
        """Name the sheets where their names fit, else number them; gives what is to be explained.

        What is too high is explained already.
        """
        meanings: list[_Note] = []
        unnamed = 0
        named_first = sorted(self.sheets, key=lambda sheet: sheet.id != self.own_sheet.id)
        for sheet in named_first:
            if sheet.id in self.too_high:
                continue
            name, number = self._short(sheet.id), str(len(meanings) + 1)
            if self._named(name, sheet):
                continue
            if sheet.id == self.own_sheet.id:
                text = self.language.say("printed on {media}", media=name)
                self.own_note = (_Note(text, "ink now"),)
            elif len(meanings) < MOST_LISTED and self._named(number, sheet):
                meanings.append(_Note(f"{number} {name}"))
            else:
                unnamed += 1
        if unnamed:
            meanings.append(_Note(self._and_more(unnamed)))
        return meanings

    def _named(self, text: str, sheet: Media) -> bool:
        """Write a name or number into a sheet, else beside it, if there is room."""
        width, inside = words_width(text), self.frame.box(*sheet.at, *sheet.size)
        place = self.room.place(width, LINE, inside, inside.middle)
        if place is None:
            place = self.room.place_beside(width, LINE, inside, self.sheet_boxes)
        if place is None:
            return False
        put_words(self.svg, "label", place.x, place.y + BASELINE, text)
        self.room.take(place)
        return True

    def _and_more(self, count: int) -> str:
        return self.language.say_count("and {count} more sheet", "and {count} more sheets", count)

    def _put_notes(self, meanings: list[_Note]) -> None:
        """What stands beneath the bed, line by line; makes the picture as high as they need."""
        language = self.language
        band = language.say("band: y {span}", span=language.span(*self.band))
        notes = [_Note(language.say("origin 0, 0")), _Note(band, "band"), *self.own_note]
        if self.too_high:
            names = language.listed(self.too_high, self._short, most=3)
            text = language.say("too high for the head: {media}", media=names)
            notes.append(_Note(text, "sheet away high"))
        notes += meanings
        notes += map(_Note, self._located_by())
        y = drawn_bottom(self.frame, self.job, self.own_sheet.load) + EDGE
        for note in notes:
            y = self._put_note(y, note)
        set_height(self.svg, y + 1)

    def _short(self, name: str) -> str:
        return clipped_words(name, MOST_LETTERS)

    def _put_note(self, y: float, note: _Note) -> float:
        """Write a note, with a swatch before it if it explains one; gives where the next begins."""
        x = EDGE
        if note.swatch:
            put_box(self.svg, f"{note.swatch} swatch-box", x, y + 2.5, SWATCH - 4, 8)
            x += SWATCH
        for line in wrapped_lines(note.text, WIDTH - x):
            put_words(self.svg, "label", x, y + BASELINE, line)
            y += LINE
        return y

    def _located_by(self) -> Iterator[str]:
        """By what sheets of the load are held or put back, where the job says so.

        It says nothing of where pins and stops stand, so they are named and not drawn.
        """
        language = self.language
        if any(sheet.hold == "pins" for sheet in self.sheets):
            yield hold_words(language, "pins")
        ids = {sheet.id for sheet in self.sheets}
        methods = {
            item.locates_by: None
            for item in self.job.handling
            if item.locates_by is not None
            and self.job.kind_of(item).moves
            and self.job.media_of(item).id in ids
        }
        for method in methods:
            yield language.say("put back by {method}", method=self._short(str(method)))


def _put(svg: Element, kind: str, box: Box) -> None:
    put_box(svg, kind, box.x, box.y, box.width, box.height)
