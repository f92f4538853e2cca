"""The cross-section of a print step: bed, sheets, ink, head plane, clearance and throw, seen along
y, to scale.

What is drawn is nominal. Elements carry their class and the scale stands on the picture as `data-`
attributes, so that every height can be read back: height = data-cut + (data-base - y) / data-up.
Words stand in columns of their own beside the drawing: no line runs through them.
"""

from __future__ import annotations

from attrs import frozen

from signrules.physics.flatness import thickness_of
from signrules.sheet.label_places import LINE
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.scene import (
    ROOM_X,
    ROOM_Y,
    Column,
    Scale,
    Scene,
    drawn_stretch,
    ink_height,
    sheet_columns,
)
from signrules.sheet.section_words import (
    LEFT,
    WIDTH,
    Anchor,
    Label,
    described,
    labels_of,
    put_heights,
    put_labels,
    put_sheet_names,
)
from signrules.sheet.sheet_words import clean_text
from signrules.sheet.svg import (
    put_box,
    put_element,
    put_line,
    put_words,
    px_text,
    svg_picture,
    svg_text,
)

TOP, BED = 14.0, 4.0
"""Where the drawing begins, from above, and how thick the bed is, in px."""

FOOT = 16.0
"""The room under the bed, for the scale bar's length and the names of sheets."""

RIGHT = LEFT + ROOM_X
THROW_X, HIGHEST_X, CLEARANCE_X = RIGHT + 4, RIGHT + 10, RIGHT + 16
"""Where the arrows stand: throw to the lowest and to the highest surface, clearance."""

BAR_X = 2.0


@frozen
class _Highest:
    """The highest surface of a picture in mm above the bed, and from where to where it goes, in
    px.
    """

    height: float
    x0: float
    x1: float


def cross_section(scene: Scene, scale: Scale, name: str, language: Language = ENGLISH) -> str:
    """The picture as SVG; `name` makes its ids unique on the page."""
    return svg_text(_Section(scene, scale, name, language).svg)


class _Section:
    def __init__(self, scene: Scene, scale: Scale, name: str, language: Language) -> None:
        self.scene, self.scale, self.job = scene, scale, scene.job
        self.language = language
        self.left_mm = drawn_stretch(scene)[0]
        labels = labels_of(scene, language)
        # The drawing stands on the same line in each picture, unless words need more room.
        lines = sum(len(label.lines) for label in labels)
        self.base = max(TOP + ROOM_Y, lines * LINE - BED)
        item = self.job.passes[scene.printing.pass_index]
        self.svg = svg_picture(
            name,
            WIDTH,
            self.base + BED + FOOT,
            language.say("Cross-section: printing {name}", name=clean_text(item.id)),
            described(scene, scale, language),
        )
        scaled = {
            "base": self.base,
            "cut": scale.cut,
            "up": scale.up,
            "across": scale.across,
            "left": self.left_mm,
        }
        for key, value in scaled.items():
            self.svg.set(f"data-{key}", repr(value))
        self.svg.set("class", "section")
        self._free()
        surfaces = [self._sheet(media) for media in scene.sheets]
        highest = max(surfaces, key=lambda surface: surface.height)
        self._own(self.job.media_of(item).id)
        put_box(self.svg, "bed", LEFT, self.base, ROOM_X, BED)
        self._head()
        self._clearance(highest)
        self._throw()
        self._scale_bar()
        self._words(labels)

    def x(self, value: float) -> float:
        """Where a place along x on the bed is drawn."""
        return LEFT + (value - self.left_mm) * self.scale.across

    def y(self, height: float) -> float:
        """Where a height above the bed is drawn."""
        return self.base - (height - self.scale.cut) * self.scale.up

    # --- what lies under the head -----------------------------------------------------------------

    def _free(self) -> None:
        """What must stay free under the head."""
        least_clearance = self.job.printer.min_clearance
        top = self.y(self.scene.plane)
        bottom = min(self.y(self.scene.plane - least_clearance), self.base)
        if bottom > top:
            put_box(self.svg, "free", LEFT, top, ROOM_X, bottom - top)

    def _sheet(self, media: str) -> _Highest:
        """Draw a sheet with its ink; gives its highest surface."""
        sheet = self.job.media_named(media)
        thickness = thickness_of(sheet).nominal
        x0, x1 = self.x(sheet.at[0]), self.x(sheet.at[0] + sheet.size[0])
        top = self.y(thickness)
        put_box(
            self.svg, "sheet", x0, top, x1 - x0, self.base - top, data_thickness=repr(thickness)
        )
        if self.scale.cut:
            self._break(x0, x1)
        surfaces = [_Highest(thickness, x0, x1)]
        for column in sheet_columns(self.scene, media, px_mm=1 / self.scale.across):
            height = self._ink(column, thickness)
            surfaces.append(_Highest(height, self.x(column.x0), self.x(column.x1)))
        return max(surfaces, key=lambda surface: surface.height)

    def _ink(self, column: Column, ground: float) -> float:
        x0, x1 = self.x(column.x0), self.x(column.x1)
        height = ground
        for pass_index in column.cover:
            item = self.job.passes[pass_index]
            higher = height + ink_height(self.job, (pass_index,))
            kind = "ink now" if pass_index == self.scene.printing.pass_index else "ink"
            if item.coverage < 1:
                kind += " part"
            y = self.y(higher)
            put_box(self.svg, kind, x0, y, x1 - x0, self.y(height) - y, data_pass=str(pass_index))
            height = higher
        return height

    def _own(self, media: str) -> None:
        """Outline the ink of the pass, which may lie behind something higher in the band."""
        pass_index = self.scene.printing.pass_index
        if self.job.passes[pass_index].side != self.scene.printing.side_up:
            return
        ground = thickness_of(self.job.media_named(media)).nominal
        for column in sheet_columns(self.scene, media, px_mm=1 / self.scale.across, own=True):
            top = ground + ink_height(self.job, column.cover)
            bottom = top - ink_height(self.job, (pass_index,))
            x0, x1, y = self.x(column.x0), self.x(column.x1), self.y(top)
            put_box(self.svg, "own", x0, y, x1 - x0, self.y(bottom) - y)

    def _break(self, x0: float, x1: float) -> None:
        """The zigzag at which the lower part of a sheet is left out."""
        count = max(int((x1 - x0) / 8), 1)
        step = (x1 - x0) / count
        ends = []
        for number in range(count + 1):
            y = self.base - 7
            if number % 2:
                y = self.base - 4
            ends.append((x0 + number * step, y))
        there = " ".join(f"{px_text(x)},{px_text(y)}" for x, y in ends)
        back = " ".join(f"{px_text(x)},{px_text(y + 3)}" for x, y in reversed(ends))
        put_element(self.svg, "polygon", "break", points=f"{there} {back}")
        put_element(self.svg, "polyline", "zigzag", points=there)
        put_element(self.svg, "polyline", "zigzag", points=back)

    # --- the head and what is measured from it ----------------------------------------------------

    def _head(self) -> None:
        y = self.y(self.scene.plane)
        put_box(self.svg, "head", RIGHT - 26, y - 11, 24, 11)
        put_line(self.svg, "head-plane", LEFT, y, CLEARANCE_X + 3, y)

    def _clearance(self, highest: _Highest) -> None:
        clearance, plane = self.scene.printing.clearance, self.scene.plane
        worst = self.y(plane - clearance.low)
        if clearance.low < clearance.nominal:
            put_line(self.svg, "worst", LEFT, worst, RIGHT, worst)
        y = self.y(plane - clearance.nominal)
        put_line(self.svg, "reach", highest.x1, y, CLEARANCE_X + 3, y)
        if clearance.low <= 0:
            width = highest.x1 - highest.x0
            put_box(self.svg, "strike", highest.x0, worst, width, self.y(plane) - worst)
        self._arrow("clearance", CLEARANCE_X, self.y(plane), y)

    def _throw(self) -> None:
        throw, plane = self.scene.printing.throw, self.scene.plane
        highest = self.y(plane - throw.to_highest.nominal)
        lowest = self.y(plane - throw.to_lowest.nominal)
        start = self.x(self._extent())
        put_line(self.svg, "reach", start, lowest, THROW_X + 3, lowest)
        self._arrow("throw lowest", THROW_X, self.y(plane), lowest)
        if throw.to_highest != throw.to_lowest:
            put_line(self.svg, "reach", start, highest, HIGHEST_X + 3, highest)
            self._arrow("throw highest", HIGHEST_X, self.y(plane), highest)

    def _extent(self) -> float:
        """The right end of what the pass prints, in mm along x on the bed."""
        item = self.job.passes[self.scene.printing.pass_index]
        return self.job.media_of(item).at[0] + max(
            area.x + area.width for area in self.job.areas_of(item)
        )

    def _arrow(self, kind: str, x: float, y1: float, y2: float) -> None:
        group = put_element(self.svg, "g", f"dimension {kind}")
        put_line(group, "shaft", x, y1, x, y2)
        size = min(4.0, abs(y2 - y1) / 2)
        if y2 <= y1:
            # Where the head would strike, the arrow points the other way.
            size = -size
        for tip, base in ((y1, y1 + size), (y2, y2 - size)):
            corners = ((x, tip), (x - 2.2, base), (x + 2.2, base))
            points = " ".join(
                f"{px_text(corner_x)},{px_text(corner_y)}" for corner_x, corner_y in corners
            )
            put_element(group, "polygon", "tip", points=points)

    # --- scale and words --------------------------------------------------------------------------

    def _scale_bar(self) -> None:
        """A bar of a round number of mm."""
        length = self.scale.bar
        y = self.base - length * self.scale.up
        put_line(self.svg, "bar", BAR_X, self.base, BAR_X, y, data_length=repr(length))
        for end in (self.base, y):
            put_line(self.svg, "bar", BAR_X - 2, end, BAR_X + 2, end)
        bottom = self.base + BED + FOOT - 3
        put_words(self.svg, "label", 0, bottom, self.language.mm(length))

    def _words(self, labels: tuple[Label, ...]) -> None:
        printing, plane = self.scene.printing, self.scene.plane
        clearance, throw = printing.clearance, printing.throw
        surface, landing = plane - clearance.nominal, plane - throw.to_lowest.nominal
        heights = [plane, surface, landing]
        if clearance.low < clearance.nominal:
            heights.append(plane - clearance.low)
        put_heights(self.svg, [(each, self.y(each)) for each in heights], self.base, self.language)
        anchors = {
            "clearance": Anchor(CLEARANCE_X, (self.y(plane) + self.y(surface)) / 2),
            "throw": Anchor(THROW_X + 3, self.y(landing)),
        }
        put_labels(self.svg, labels, anchors, self.base + BED)
        middles = {}
        for media in self.scene.sheets:
            sheet = self.job.media_named(media)
            middles[media] = self.x(sheet.at[0] + sheet.size[0] / 2)
        put_sheet_names(self.svg, middles, self.base + BED, self.language)
