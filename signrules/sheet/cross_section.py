"""The cross-section of a print step: bed, sheets, ink, head plane, clearance and throw, seen along
y, to scale.

What is drawn is nominal. Elements carry their class and the scale stands on the picture as `data-`
attributes, so that every height can be read back: height = data-cut + (data-base - y) / data-up.
"""

from __future__ import annotations

from signrules.model.quantities import GUARD_MM
from signrules.physics.flatness import thickness_of
from signrules.physics.machine import clears_head
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.scene import Column, Scale, Scene, ink_height, sheet_columns
from signrules.sheet.sheet_words import (
    clean_text,
    clipped_words,
    figure_text,
    interval_text,
    mm_text,
    span_text,
)
from signrules.sheet.svg import (
    put_box,
    put_element,
    put_line,
    put_words,
    px_text,
    svg_picture,
    svg_text,
)

WIDTH = 540.0
LEFT, TOP, BED = 28.0, 20.0, 7.0
CLEARANCE_X, THROW_X = 274.0, 396.0
TEXT = 12.5
"""From one line of text to the next, in px."""
LETTER = 5.6
"""The mean width of a letter in px, for what must fit."""


def cross_section(scene: Scene, scale: Scale, name: str, language: Language = ENGLISH) -> str:
    """The picture as SVG."""
    return svg_text(_Section(scene, scale, name).svg)


class _Section:
    def __init__(self, scene: Scene, scale: Scale, name: str) -> None:
        self.scene, self.scale, self.job = scene, scale, scene.job
        self.base = TOP + (scale.top - scale.cut) * scale.up
        self.height = self.base + BED + TEXT + 4
        self.right = LEFT + (scale.right - scale.left) * scale.across
        item = self.job.passes[scene.printing.pass_index]
        self.svg = svg_picture(
            name,
            WIDTH,
            self.height,
            f"Cross-section: printing {clean_text(item.id)}",
            self._description(),
        )
        scaled = {
            "base": self.base,
            "cut": scale.cut,
            "up": scale.up,
            "across": scale.across,
            "left": scale.left,
        }
        for key, value in scaled.items():
            self.svg.set(f"data-{key}", repr(value))
        self.svg.set("class", "section")
        self._written: list[tuple[str, float, float, str]] = []
        self._ruler()
        self._free()
        highest = max(self._sheet(media) for media in scene.sheets)
        self._own(self.job.media_of(item).id)
        self._bed()
        self._head()
        self._clearance(*highest[1:])
        self._throw()
        for text in self._written:
            put_words(self.svg, *text)

    def x(self, value: float) -> float:
        """Where a place along x on the bed is drawn."""
        return LEFT + (value - self.scale.left) * self.scale.across

    def y(self, height: float) -> float:
        """Where a height above the bed is drawn."""
        return self.base - (height - self.scale.cut) * self.scale.up

    def _description(self) -> str:
        printing = self.scene.printing
        return (
            f"Head plane {mm_text(self.scene.plane)} above the bed. Clearance"
            f" {interval_text(printing.clearance)}, throw {span_text(*printing.throw.span)}."
            f" Highest surface of the pass {mm_text(printing.before.nominal)} before and"
            f" {mm_text(printing.after.nominal)} after it. In the band:"
            f" {', '.join(map(clean_text, self.scene.sheets))}. Heights are drawn"
            f" {figure_text(self.scale.factor)} times larger than widths."
        )

    def _ruler(self) -> None:
        step = next(
            step
            for step in (0.5, 1, 2, 5, 10, 20, 50, 100, 1e3, 1e4, 1e6)
            if step * self.scale.up >= TEXT
        )
        first = int(self.scale.cut / step) + 1
        put_line(self.svg, "axis", LEFT, self.base, LEFT, self.y(self.scale.top))
        put_words(self.svg, "tick", 1, self.base + BED + TEXT, "mm")
        for tick in range(first, int(self.scale.top / step) + 1):
            y = self.y(tick * step)
            put_line(self.svg, "axis", LEFT - 3, y, LEFT, y)
            put_words(self.svg, "tick end", LEFT - 5, y + 3, figure_text(tick * step))

    def _free(self) -> None:
        """What must stay free under the head."""
        least_clearance = self.job.printer.min_clearance
        top, bottom = (
            self.y(self.scene.plane),
            min(self.y(self.scene.plane - least_clearance), self.base),
        )
        if bottom > top:
            put_box(self.svg, "free", LEFT, top, self.right - LEFT, bottom - top)

    def _sheet(self, media: str) -> tuple[float, float, float]:
        """Draw a sheet with its ink; gives the highest surface in mm and from where to where it
        goes, in px.
        """
        sheet = self.job.media_named(media)
        thickness = thickness_of(sheet).nominal
        x0, x1 = self.x(sheet.at[0]), self.x(sheet.at[0] + sheet.size[0])
        top = self.y(thickness)
        put_box(
            self.svg, "sheet", x0, top, x1 - x0, self.base - top, data_thickness=repr(thickness)
        )
        if self.scale.cut:
            self._break(x0, x1)
        letters = int((x1 - x0) / LETTER)
        label = f"{clean_text(sheet.id)}, {mm_text(thickness)}"
        if letters >= 4:
            if len(label) > letters:
                label = clipped_words(sheet.id, letters)
            put_words(self.svg, "label mid", (x0 + x1) / 2, self.base + BED + TEXT, label)
        boxes = [(thickness, x0, x1)]
        for column in sheet_columns(self.scene, media, px_mm=1 / self.scale.across):
            boxes.append((self._ink(column, thickness), self.x(column.x0), self.x(column.x1)))
        return max(boxes)

    def _ink(self, column: Column, ground: float) -> float:
        x0, x1 = self.x(column.x0), self.x(column.x1)
        height = ground
        for pass_index in column.stack:
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
            top = ground + ink_height(self.job, column.stack)
            x0, x1, y = self.x(column.x0), self.x(column.x1), self.y(top)
            put_box(
                self.svg,
                "own",
                x0,
                y,
                x1 - x0,
                self.y(top - ink_height(self.job, (pass_index,))) - y,
            )

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

    def _bed(self) -> None:
        put_box(self.svg, "bed", LEFT, self.base, self.right - LEFT, BED)

    def _head(self) -> None:
        y = self.y(self.scene.plane)
        put_box(self.svg, "head", self.right - 46, y - 15, 42, 15)
        put_words(self.svg, "label mid halo", self.right - 25, y - 4, "head")
        put_line(self.svg, "head-plane", LEFT, y, THROW_X + 12, y)
        text_shift = TEXT - 1 if self.scene.printing.clearance.low <= 0 else -5
        self._write(
            "label halo", LEFT + 4, y + text_shift, f"head plane at {mm_text(self.scene.plane)}"
        )

    def _clearance(self, x0: float, x1: float) -> None:
        printing, plane = self.scene.printing, self.scene.plane
        worst = self.y(plane - printing.clearance.low)
        if printing.clearance.low < printing.clearance.nominal:
            put_line(self.svg, "worst", LEFT, worst, self.right, worst)
        y = self.y(plane - printing.clearance.nominal)
        put_line(self.svg, "reach", x1, y, CLEARANCE_X + 4, y)
        if printing.clearance.low <= 0:
            put_box(self.svg, "strike", x0, worst, x1 - x0, self.y(plane) - worst)
        self._arrow("clearance", CLEARANCE_X, self.y(plane), y)
        text = [f"clearance{self._danger()}", interval_text(printing.clearance)]
        self._beside(CLEARANCE_X + 7, (y + self.y(plane)) / 2, text)

    def _danger(self) -> str:
        low = self.scene.printing.clearance.low
        if clears_head(low, self.job.printer.min_clearance):
            return ""
        return ", STRIKE" if low <= GUARD_MM else ", TOO NEAR"

    def _throw(self) -> None:
        throw, plane = self.scene.printing.throw, self.scene.plane
        highest, lowest = (
            self.y(plane - throw.to_highest.nominal),
            self.y(plane - throw.to_lowest.nominal),
        )
        start = max(self.x(self._extent()), LEFT)
        put_line(self.svg, "reach", start, lowest, THROW_X + 4, lowest)
        self._arrow("throw lowest", THROW_X, self.y(plane), lowest)
        to_lowest, to_highest = (
            span_text(throw.to_lowest.low, throw.to_lowest.high),
            span_text(throw.to_highest.low, throw.to_highest.high),
        )
        text = ["throw", to_lowest]
        if throw.to_highest != throw.to_lowest:
            put_line(self.svg, "reach", start, highest, THROW_X + 12, highest)
            self._arrow("throw highest", THROW_X + 8, self.y(plane), highest)
            text = ["throw, highest", to_highest, "throw, lowest", to_lowest]
        self._beside(THROW_X + 15, (lowest + self.y(plane)) / 2, text)

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

    def _beside(self, x: float, middle: float, lines: list[str]) -> None:
        """Lines of text about a height, kept under the head plane and within the picture.

        Labels and values take turns.
        """
        text_height = TEXT * len(lines)
        top = max(middle - text_height / 2, self.y(self.scene.plane) + 1)
        y = min(top, self.height - text_height - 2) + TEXT - 3
        for number, text in enumerate(lines):
            kind = "value halo" if number % 2 else "label halo"
            self._write(kind, x, y + number * TEXT, text)

    def _write(self, kind: str, x: float, y: float, text: str) -> None:
        """Words that are written last, over every line."""
        self._written.append((kind, x, y, text))
