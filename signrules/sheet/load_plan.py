"""The plan of a bed load: where each sheet lies and which sign is which, seen from above.

Words stand on free ground alone. A sign whose name does not fit is numbered, and a list beneath
the bed tells what the numbers mean.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from math import ceil

from attrs import frozen

from signrules.model.media import Media
from signrules.model.passes import Area
from signrules.physics.flatness import thickness_of
from signrules.physics.timeline import Timeline
from signrules.sheet.bed_drawing import bed_frame, drawn_bottom, put_origin, sheets_of, signs_on
from signrules.sheet.bed_rulers import (
    BRACKET_GAP,
    BRACKET_ROOM,
    put_rulers,
    put_thicknesses,
    thickness_bands,
)
from signrules.sheet.free_room import Box, FreeRoom
from signrules.sheet.hold_words import hold_words
from signrules.sheet.label_places import BASELINE, LINE, cut_words, words_width
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.sheet_words import clean_text, clipped_words
from signrules.sheet.svg import put_box, put_words, set_height, svg_picture, svg_text

WIDTH, HEIGHT = 640.0, 420.0
"""What a plan takes at most, in px: the room beside the number of a step on paper. Only a very long
list makes it higher.
"""

LEFT, TOP, RIGHT, BOTTOM = 40.0, 20.0, 12.0, 22.0
"""Room for the rulers around the bed, in px."""

LEAST_BED = 300.0
"""How high the bed may be drawn at least, however long the list is, in px."""

COLUMN_GAP, LIST_GAP = 14.0, 4.0
MOST_LETTERS, NAME_ROOM = 60, 250.0
"""How long a name may be, and how wide in px."""


@frozen
class _PlacedSign:
    """A sign with its rectangle on the bed in mm, and its number on the page."""

    name: str
    area: Area
    number: int


def load_plan(
    timeline: Timeline,
    load: str,
    name: str,
    language: Language = ENGLISH,
    *,
    back_up: Collection[str] | None = None,
) -> str:
    """The picture of a bed load as SVG; y upwards, the bed's origin at the lower left.

    `name` makes its ids unique on the page. `back_up` names the sheets that lie with their back
    up; left out, they lie as they are first loaded. What is printed does not show: the plan is
    what the operator lays down.
    """
    if back_up is None:
        back_up = timeline.machine.job.loaded_back_up
    room_y = HEIGHT - TOP - BOTTOM
    picture = _LoadPlan(timeline, load, name, language, back_up, room_y)
    if picture.height > HEIGHT:
        # The lists need room: the bed is drawn smaller.
        room_y = max(room_y - (picture.height - HEIGHT), LEAST_BED)
        picture = _LoadPlan(timeline, load, name, language, back_up, room_y)
    return svg_text(picture.svg)


class _LoadPlan:
    def __init__(
        self,
        timeline: Timeline,
        load: str,
        name: str,
        language: Language,
        back_up: Collection[str],
        room_y: float,
    ) -> None:
        self.job, self.layout = timeline.machine.job, timeline.machine.heights.layout
        self.load, self.language, self.back_up = load, language, back_up
        self.sheets = sheets_of(self.job, load)
        self.signs = tuple(self._placed_signs())
        self.bands = thickness_bands(self.sheets)
        right = RIGHT + (BRACKET_GAP + BRACKET_ROOM + 8 if self.bands else 0)
        room = Box(LEFT, TOP, WIDTH - LEFT - right, room_y)
        self.frame = bed_frame(self.job, load, room)
        title = language.say("Bed from above: load {load}", load=clean_text(load))
        self.svg = svg_picture(name, WIDTH, 0, title, self._description())
        self.svg.set("class", "load-plan")
        self.svg.set("data-scale", repr(self.frame.scale))
        self.bottom = drawn_bottom(self.frame, self.job, load)
        self.room = FreeRoom(WIDTH, self.bottom)
        self._boxes()
        listed = self._sign_names()
        letters = self._sheet_names()
        self.height = self._put_lists(letters, listed)
        set_height(self.svg, self.height)

    def _placed_signs(self) -> Iterator[_PlacedSign]:
        number = 0
        for sheet in self.sheets:
            for sign, area in signs_on(self.layout, sheet, self.back_up):
                number += 1
                yield _PlacedSign(_short(sign), area, number)

    def _description(self) -> str:
        language = self.language
        width, depth = self.job.printer.bed
        return language.say(
            "Bed of {width} by {depth} with the sheets of load {load}: {sheets}. Signs on the sides"
            " that lie up: {signs}.",
            width=language.figure(width),
            depth=language.mm(depth),
            load=clean_text(self.load),
            sheets="; ".join(map(self._sheet_words, self.sheets)),
            signs=", ".join(sign.name for sign in self.signs) or language.say("none"),
        )

    # --- what is drawn ----------------------------------------------------------------------------

    def _boxes(self) -> None:
        bed = self._put("bed", Area(0, 0, *self.job.printer.bed))
        for sheet in self.sheets:
            self._put("sheet", Area(*sheet.at, *sheet.size))
        for sign in self.signs:
            self._put("sign", sign.area)
        put_rulers(self.svg, self.frame, self.job.printer.bed, self.language)
        put_origin(self.svg, self.frame)
        self.room.take(Box(self.frame.left - 3, self.frame.bottom - 3, 6, 6))
        right = max([bed.right, *(self._box_of(sheet).right for sheet in self.sheets)])
        put_thicknesses(self.svg, self.frame, self.bands, right + BRACKET_GAP, self.language)

    def _put(self, kind: str, area: Area) -> Box:
        box = self._box(area)
        put_box(self.svg, kind, box.x, box.y, box.width, box.height)
        self.room.take_edges(box)
        return box

    def _box(self, area: Area) -> Box:
        return self.frame.box(area.x, area.y, area.width, area.height)

    def _box_of(self, sheet: Media) -> Box:
        return self.frame.box(*sheet.at, *sheet.size)

    # --- names ------------------------------------------------------------------------------------

    def _sign_names(self) -> list[str]:
        """Name the signs in or beside them where there is room, else number them; gives those to
        be listed.
        """
        listed = []
        boxes = [self._box(sign.area) for sign in self.signs]
        for sign, box in zip(self.signs, boxes, strict=True):
            if self._written(sign.name, box, box.middle):
                continue
            if self._written_beside(sign.name, box, boxes):
                continue
            number = str(sign.number)
            if self._written(number, box, box.middle) or self._written_beside(number, box, boxes):
                listed.append(f"{number} {sign.name}")
            else:
                listed.append(self._with_place(sign.name, sign.area.x, sign.area.y))
        return listed

    def _sheet_names(self) -> dict[str, str]:
        """Name the sheets with the places of their lower corners, as far as there is room; gives
        by sheet the letter that stands for its name.
        """
        letters: dict[str, str] = {}
        for sheet in self.sheets:
            inside = self._box_of(sheet)
            corner = (inside.x, inside.bottom)
            name, letter = _short(sheet.id), _letter_of(len(letters))
            if self._written(self._with_place(name, *sheet.at), inside, corner):
                continue
            if self._written(name, inside, corner):
                continue
            if self._written(letter, inside, corner):
                letters[sheet.id] = letter
        return letters

    def _with_place(self, name: str, x: float, y: float) -> str:
        language = self.language
        return language.say(
            "{name}: x {x}, y {y}", name=name, x=language.figure(x), y=language.figure(y)
        )

    def _written(self, text: str, inside: Box, near: tuple[float, float]) -> bool:
        """Write a text into a box near a point, if there is room."""
        return self._write(text, self.room.place(words_width(text), LINE, inside, near))

    def _written_beside(self, text: str, box: Box, others: Sequence[Box]) -> bool:
        """Write a text beside a box, if there is room."""
        return self._write(text, self.room.place_beside(words_width(text), LINE, box, others))

    def _write(self, text: str, place: Box | None) -> bool:
        if place is None:
            return False
        put_words(self.svg, "label", place.x, place.y + BASELINE, text)
        self.room.take(place)
        return True

    # --- lists ------------------------------------------------------------------------------------

    def _put_lists(self, letters: dict[str, str], signs: Sequence[str]) -> float:
        """What stands beneath the bed: every sheet, and the signs that are not named above.

        Gives where it ends.
        """
        y = max(self.bottom, self.frame.bottom) + BOTTOM
        sheets = []
        for sheet in self.sheets:
            letter = letters.get(sheet.id, "")
            sheets.append(f"{letter} {self._sheet_words(sheet)}".lstrip())
        y = self._columns(sheets, y)
        others = [*signs, *self._turned_away()]
        if others:
            y = self._columns(others, y + LIST_GAP)
        return y + 2

    def _columns(self, entries: Sequence[str], top: float) -> float:
        """Write entries in columns, from above; gives where they end."""
        texts = [cut_words(entry, WIDTH) for entry in entries]
        widest = max(map(words_width, texts)) + COLUMN_GAP
        columns = max(int((WIDTH + COLUMN_GAP) / widest), 1)
        rows = ceil(len(texts) / columns)
        for index, text in enumerate(texts):
            column, row = divmod(index, rows)
            put_words(self.svg, "label", column * widest, top + row * LINE + BASELINE, text)
        return top + rows * LINE

    def _sheet_words(self, sheet: Media) -> str:
        """A sheet: where its lower corner lies, how large and thick it is, how it is held."""
        language = self.language
        words = [
            self._with_place(_short(sheet.id), *sheet.at),
            language.unit(
                f"{language.figure(sheet.size[0])} \N{MULTIPLICATION SIGN}"
                f" {language.figure(sheet.size[1])}"
            ),
            language.say("{thickness} thick", thickness=language.mm(thickness_of(sheet).nominal)),
        ]
        if sheet.hold is not None:
            words.append(hold_words(language, sheet.hold))
        if sheet.id in self.back_up:
            words.append(language.say("its back up"))
        return ", ".join(words)

    def _turned_away(self) -> Iterator[str]:
        """Signs of these sheets without a rectangle on the side that lies up."""
        shown = {
            sign for sheet in self.sheets for sign, _ in signs_on(self.layout, sheet, self.back_up)
        }
        ids = {sheet.id for sheet in self.sheets}
        for sign in self.job.signs:
            if sign.id in shown or self.job.media_of(sign).id not in ids:
                continue
            name, sheet_name = _short(sign.id), self.job.media_of(sign).id
            up = "back" if sheet_name in self.back_up else "front"
            sheet_text = _short(sheet_name)
            if self.layout.faces[sign.id] != up:
                yield self.language.say(
                    "{sign}: on the other side of {media}", sign=name, media=sheet_text
                )
            else:
                yield self.language.say("{sign}: on {media}", sign=name, media=sheet_text)


def _short(name: str) -> str:
    """A name that leaves room for what is said of it."""
    return cut_words(clipped_words(name, MOST_LETTERS), NAME_ROOM)


def _letter_of(index: int) -> str:
    """A, B, and so on to Z, then AA, AB."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
