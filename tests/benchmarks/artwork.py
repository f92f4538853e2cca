"""What reading artwork takes, beside PDFium's own time to render the same page, in one run.

    python tests/benchmarks/artwork.py

Needs the plugin signrules-artwork; without it nothing is measured, and that is said.
"""

from __future__ import annotations

import importlib.util
import io
import math
import sys
import tracemalloc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.reporting import Report, ratio, run_parts, shown, timed

import signrules
from signrules.model.wording import counted_things
from signrules.shop_file import shop_from_dict

POINTS = 72 / 25.4
"""In a millimetre: 1 in = 72 pt = 25.4 mm."""

DPI = 100
SIGN_MM = 100
COLUMNS = 10
CELLS = ("⠗⠕⠕⠍⠀⠼⠃⠁⠙", "⠎⠞⠁⠋⠋⠀⠕⠝⠇⠽", "⠏⠇⠑⠁⠎⠑⠀⠗⠊⠝⠛")
LETTERS = 18
ROUND = 0.5522847498
"""Where the controls of four curves for a circle lie, as a share of the radius. Geometry."""

LAYERS = {"Ground": (), "Letters": (), "Dots": ("Braille",), "Cut": ("Structural", "Cutting")}

MOST_SECONDS = {1: 1, 60: 5}
"""What was to be reached, by how many signs a PDF has."""

SHOP: dict[str, Any] = {
    "signrules": 1,
    "printers": {"flatbed": signrules.sample_job()["printer"] | {"bed": ["2 m", "2 m"]}},
    "inks": {
        "blue": {"role": "colour", "layer": "10 um"},
        "clear": {"role": "clear", "layer": "33 um"},
    },
    "sheets": {"acrylic": {"thickness": "3 mm"}},
    "layers": [
        {"name": "Ground", "ink": "blue"},
        {"name": "Letters", "ink": "clear", "layers": 26, "builds": "raised"},
        {"step": "Braille", "ink": "clear", "layers": 24, "builds": "braille"},
    ],
}
"""An invented shop."""


def reading_artwork(report: Report, quick: bool) -> None:
    """One sign, and a sheet of signs, as a PDF with layers: read, made into a job, rendered."""
    title = "Artwork"
    if importlib.util.find_spec("signrules_artwork") is None:
        report.say("", f"### {title}", "", "Not measured: signrules-artwork is not installed.")
        return
    sizes = (1, 10) if quick else (1, 10, 60)
    found = [(signs, *_times_of(signs)) for signs in sizes]
    dots = sum(1 for _ in _dots(0.0, 0.0))
    report.table(
        title,
        f"A PDF with four layers, each sign with {dots} dots, {LETTERS} letters as outlines and a"
        " cut edge: read by signrules-artwork, made into a job, and rendered by PDFium at"
        f" {DPI} dpi, all layers at once. Processor time.",
        ("signs", "read", "to a job", "both", "PDFium", "both : PDFium"),
        [
            (signs, *map(shown, (read, made, read + made, drawn)), ratio(read + made, drawn))
            for signs, read, made, drawn in found
        ],
    )
    for signs, read, made, _ in found:
        if signs in MOST_SECONDS:
            what = counted_things(signs, "sign")
            most = MOST_SECONDS[signs]
            report.aim(f"A PDF of {what} is read in {most} s", shown(read), read <= most)
            both = read + made
            report.aim(f"From a PDF of {what} to a job in {most} s", shown(both), both <= most)


def _times_of(signs: int) -> tuple[float, float, float]:
    """Reading, making a job, and rendering, in seconds."""
    import pypdfium2

    plugins = signrules.load_plugins(entry_points=True)
    data = _sheet_pdf(signs)
    repeats = 3 if signs < 20 else 1
    read, artwork = timed(lambda: plugins.readers[".pdf"].read("signs.pdf", data), repeats)
    shop = shop_from_dict(SHOP)
    made, job = timed(lambda: signrules.job_from_artwork(artwork, shop), repeats)
    lines = {sign.braille.cells for sign in job.signs if sign.braille is not None}
    assert (len(job.signs), lines) == (signs, {"\n".join(CELLS)})

    def render() -> Any:
        page = pypdfium2.PdfDocument(data)[0]
        return page.render(scale=DPI / 72)

    drawn, _ = timed(render, 5)
    return read, made, drawn


def _sheet_pdf(signs: int) -> bytes:
    """A page of signs, in rows."""
    import pikepdf

    name, dictionary, array = pikepdf.Name, pikepdf.Dictionary, pikepdf.Array
    pdf = pikepdf.new()
    groups = {}
    for layer, step in LAYERS.items():
        group = dictionary(Type=name.OCG, Name=pikepdf.String(layer))
        if step:
            group.GTS_Metadata = dictionary(GTS_ProcStepsGroup=name(f"/{step[0]}"))
        if len(step) > 1:
            group.GTS_Metadata.GTS_ProcStepsType = name(f"/{step[1]}")
        groups[layer] = pdf.make_indirect(group)
    listed = array(list(groups.values()))
    pdf.Root.OCProperties = dictionary(OCGs=listed, D=dictionary(Order=listed, ON=listed))
    places = [(at % COLUMNS * SIGN_MM, at // COLUMNS * SIGN_MM) for at in range(signs)]
    width = SIGN_MM * min(signs, COLUMNS) * POINTS
    height = SIGN_MM * math.ceil(signs / COLUMNS) * POINTS
    page = dictionary(
        Type=name.Page,
        MediaBox=array([0, 0, round(width, 4), round(height, 4)]),
        Resources=dictionary(Properties=dictionary(**groups)),
        Contents=pdf.make_stream("\n".join(_operators(places)).encode()),
    )
    pdf.pages.append(pikepdf.Page(page))
    kept = io.BytesIO()
    pdf.save(kept)
    return kept.getvalue()


def _operators(places: list[tuple[int, int]]) -> Iterator[str]:
    draw = {"Ground": _ground, "Letters": _letters, "Dots": _dots, "Cut": _cut}
    yield f"{POINTS} 0 0 {POINTS} 0 0 cm 0 g"
    for layer, parts in draw.items():
        yield f"/OC /{layer} BDC"
        for x, y in places:
            yield from parts(x, y)
        yield "EMC"


def _ground(x: float, y: float) -> Iterator[str]:
    yield f"{x + 2} {y + 2} {SIGN_MM - 4} {SIGN_MM - 4} re f"


def _cut(x: float, y: float) -> Iterator[str]:
    yield f"{x + 1} {y + 1} {SIGN_MM - 2} {SIGN_MM - 2} re f"


def _letters(x: float, y: float) -> Iterator[str]:
    """Three lines of the letter E, as outlines."""
    for at in range(LETTERS):
        left, low = x + 8 + 14 * (at % 6), y + 48 + 16 * (at // 6)
        corners = ((0, 0), (8, 0), (8, 1.6), (1.6, 1.6), (1.6, 4), (6, 4), (6, 5.6), (1.6, 5.6))
        corners += ((1.6, 8.4), (8, 8.4), (8, 10), (0, 10))
        places = [f"{left + across:.3f} {low + up:.3f}" for across, up in corners]
        yield f"{places[0]} m " + " l ".join(places[1:]) + " l f"


def _dots(x: float, y: float) -> Iterator[str]:
    """The cells in lines, each dot four curves."""
    for row, line in enumerate(CELLS):
        for at, cell in enumerate(line):
            for dot in range(6):
                if (ord(cell) - 0x2800) >> dot & 1:
                    left = x + 12 + 6.2 * at + 2.34 * (dot // 3)
                    yield _circle(left, y + 36 - 10.1 * row - 2.34 * (dot % 3), 0.775)


def _circle(x: float, y: float, radius: float) -> str:
    side = radius * ROUND
    curves = (
        (x + radius, y + side, x + side, y + radius, x, y + radius),
        (x - side, y + radius, x - radius, y + side, x - radius, y),
        (x - radius, y - side, x - side, y - radius, x, y - radius),
        (x + side, y - radius, x + radius, y - side, x + radius, y),
    )
    drawn = [" ".join(f"{each:.4f}" for each in curve) + " c" for curve in curves]
    return " ".join([f"{x + radius:.4f} {y:.4f} m", *drawn, "f"])


def large_images(report: Report, quick: bool) -> None:
    """TIFFs of one bit and of greys: what their reading takes of memory, by pixel."""
    title = "Images"
    if importlib.util.find_spec("signrules_artwork") is None:
        report.say("", f"### {title}", "", "Not measured: signrules-artwork is not installed.")
        return
    sides = (2000,) if quick else (2000, 8000)
    rows = [(mode, side, *_image_costs(mode, side)) for mode in ("1", "L") for side in sides]
    kinds = {"1": "one bit", "L": "greys"}
    report.table(
        title,
        "A square TIFF of discs at 600 dpi, packed by Deflate, read by signrules-artwork: processor"
        " time, and the most memory of Python and numpy at one time beside the file.",
        ("kind", "pixels", "read", "memory", "bytes : pixel"),
        [
            (kinds[mode], f"{side**2:,}", shown(took), f"{most / 1e6:.0f} MB", ratio(most, side**2))
            for mode, side, took, most in rows
        ],
    )
    largest = max(most / side**2 for mode, side, _, most in rows if mode == "1")
    aim = f"An image of one bit takes at most {MOST_BYTES_A_PIXEL} bytes a pixel"
    report.aim(aim, f"{largest:.1f}", largest <= MOST_BYTES_A_PIXEL)


MOST_BYTES_A_PIXEL = 5


def _image_costs(mode: str, side: int) -> tuple[float, float]:
    """Seconds to read a TIFF, and the most bytes that this takes."""
    from PIL import Image, ImageDraw

    picture = Image.new(mode, (side, side), 1 if mode == "1" else 255)
    pen = ImageDraw.Draw(picture)
    for at in range(400):
        x, y = (at % 20 + 0.5) * side / 20, (at // 20 + 0.5) * side / 20
        pen.ellipse((x - 18, y - 18, x + 18, y + 18), fill=0 if mode == "1" else 90)
    kept = io.BytesIO()
    picture.save(kept, "TIFF", dpi=(600, 600), compression="tiff_adobe_deflate")
    data = kept.getvalue()
    reader = signrules.load_plugins(entry_points=True).readers[".tif"]
    took, artwork = timed(lambda: reader.read("discs.tif", data), 1)
    assert len(artwork.pages[0].layers[0].shapes) == 400
    tracemalloc.start()
    try:
        reader.read("discs.tif", data)
        return took, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


PARTS = (reading_artwork, large_images)

if __name__ == "__main__":
    run_parts(PARTS)
