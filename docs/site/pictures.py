"""Draws the pictures of docs/artwork.md: `python docs/site/pictures.py docs/pictures`.

They show what signrules reads in the example drawing: its own shapes, the areas of the job and the
dots with their cells. They are kept, and a test holds them to what is read now.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from xml.sax.saxutils import escape

import signrules
from signrules.artwork.braille_blocks import BrailleBlock
from signrules.artwork.braille_reading import read_braille
from signrules.braille.cells import dots_of
from signrules.model.passes import Area
from signrules.model.wording import counted_things

EXAMPLE = Path(__file__).parents[1] / "examples" / "artwork"
INKS = {"Ground": "#dde5ee", "Raised letters": "#5b6b7d", "Dots": "#5b6b7d"}
AREA, CELL, WORDS = "#b3261e", "#0b57d0", "#1b1b1b"

Window = tuple[float, float, float, float]
"""What a picture shows of the sheet: left, low, width, height in mm."""


def pictures() -> dict[str, str]:
    """Each picture by the name of its file."""
    plugins = signrules.load_plugins(files=[str(EXAMPLE / "shapes.py")])
    shop = signrules.read_shop(str(EXAMPLE / "signrules.toml"))
    artwork = signrules.read_artwork(EXAMPLE / "exit.svg", plugins=plugins)
    job = signrules.job_from_artwork(artwork, shop, signrules.ArtworkChoices(text=("EXIT",)))
    layers = {layer.name: layer for layer in artwork.pages[0].layers}
    [block] = read_braille(layers["Dots"].shapes).blocks
    return {
        "exit-areas.svg": _areas_picture(job, layers),
        "exit-dots.svg": _dots_picture(job, layers, block),
    }


def _areas_picture(job: signrules.Job, layers: dict[str, signrules.ArtworkLayer]) -> str:
    """The sign, its letters and dots, and the areas of what builds them."""
    window = (36.0, 36.0, 128.0, 128.0)
    parts = list(_ink(layers, window))
    edge = job.signs[0].area
    assert edge is not None
    parts.append(_rectangle(edge, window, stroke=WORDS, dash="2 1"))
    for item in job.passes:
        if item.builds:
            areas = item.areas or ()
            parts += [_rectangle(area, window, stroke=AREA) for area in areas]
            top = max(area.y + area.height for area in areas)
            share = f"{100 * item.coverage:.0f} % ink"
            words = f"{item.id}: {counted_things(len(areas), 'area')}, {share}"
            parts.append(_words(words, (areas[0].x, top + 2), window, AREA, 3.6))
    alt = "Four raised letters with braille below them, each within the rectangles of its pass"
    return _picture("The areas of an invented sign", alt, window, parts)


def _dots_picture(
    job: signrules.Job, layers: dict[str, signrules.ArtworkLayer], block: BrailleBlock
) -> str:
    """The dots, each in its cell, with the distances that were measured."""
    braille = job.signs[0].braille
    assert braille is not None
    assert braille.cell_spacing is not None
    assert braille.dot_spacing is not None
    step, cell = braille.dot_spacing.nominal, braille.cell_spacing.nominal
    x, y = block.starts[0]
    window = (x - 4.0, y - 9.0, 4 * cell + 4.0, 12.5)
    parts = list(_ink(layers, window))
    for at, pattern in enumerate(block.lines[0]):
        around = Area(x + at * cell - 1.3, y - 2 * step - 1.3, step + 2.6, 2 * step + 2.6)
        parts.append(_rectangle(around, window, stroke=CELL, width=0.12))
        numbers = " ".join(str(dot) for dot in sorted(dots_of(pattern)))
        parts.append(_words(numbers, (around.x, y + 1.8), window, CELL, 1.0))
    level = y - 2 * step - 2.0
    for text, left, length in (
        (f"{step:.2f} mm", x, step),
        (f"{cell:.2f} mm", x + cell, cell),
    ):
        parts.append(_line((left, level), (left + length, level), window))
        parts.append(_words(text, (left, level - 1.3), window, WORDS, 1.0))
    alt = f"Four cells of braille, {cell:.2f} mm apart, their dots {step:.2f} mm apart"
    return _picture("The cells of an invented sign", alt, window, parts)


def _ink(layers: dict[str, signrules.ArtworkLayer], window: Window) -> Iterator[str]:
    for name, colour in INKS.items():
        for shape in layers[name].shapes:
            places = " ".join(_place(corner, window) for corner in shape.outline)
            yield f'<polygon points="{places}" fill="{colour}"/>'


def _rectangle(
    area: Area, window: Window, *, stroke: str, width: float = 0.4, dash: str = ""
) -> str:
    x, y = _place((area.x, area.y + area.height), window).split(",")
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<rect x="{x}" y="{y}" width="{area.width:.3f}" height="{area.height:.3f}" fill="none"'
        f' stroke="{stroke}" stroke-width="{width}"{dashes}/>'
    )


def _line(start: tuple[float, float], end: tuple[float, float], window: Window) -> str:
    path = f"M{_place(start, window)} L{_place(end, window)}"
    return f'<path d="{path}" stroke="{WORDS}" stroke-width="0.15"/>'


def _words(text: str, place: tuple[float, float], window: Window, colour: str, size: float) -> str:
    x, y = _place(place, window).split(",")
    return f'<text x="{x}" y="{y}" font-size="{size}" fill="{colour}">{escape(text)}</text>'


def _place(corner: tuple[float, float], window: Window) -> str:
    """A corner as SVG has it: y down, from the upper left of the window."""
    left, low, _, height = window
    return f"{corner[0] - left:.3f},{low + height - corner[1]:.3f}"


def _picture(title: str, alt: str, window: Window, parts: list[str]) -> str:
    _, _, width, height = window
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.3f} {height:.3f}"'
        ' width="560" role="img" font-family="sans-serif" style="background:#fff">'
    )
    named = f"<title>{escape(title)}</title><desc>{escape(alt)}</desc>"
    return "\n".join([head, named, *parts, "</svg>", ""])


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python docs/site/pictures.py FOLDER")
    for name, text in pictures().items():
        (Path(sys.argv[1]) / name).write_text(text, encoding="utf-8")
