"""One sign, drawn by several programs that know nothing of the readers, comes out the same.

The sign is invented: a plate of 80 by 40 mm with a line of dots, a bar and a ring. reportlab, cairo
and Chromium's print to PDF draw it, and numpy draws it as a TIFF.
"""

from __future__ import annotations

import io
import math
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import shapely
import tifffile
from drawn import MM, by_name, inked, only_layer, polygon
from reportlab.pdfgen import canvas
from signrules_artwork.image.tiff import read_tiff
from signrules_artwork.pdf.reader import read_pdf
from signrules_artwork.svg.reader import read_svg

WIDTH, HEIGHT = 80.0, 40.0
DOTS = [(10 + 2.34 * column, 8 + 2.34 * row) for column in range(20) for row in range(3)]
DOT = 1.55
BAR = (10.0, 25.0, 37.5, 4.0)
RING = (62.0, 27.0, 16.0, 2.0)
"""Middle, diameter of the middle of the line, width of the line."""

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
SVG = "http://www.w3.org/2000/svg"


def true_region():
    """The sign by shapely alone, its circles as polygons of 1024 corners."""
    dots = [shapely.Point(x, y).buffer(DOT / 2, quad_segs=256) for x, y in DOTS]
    x, y, width, height = BAR
    ring = shapely.Point(RING[0], RING[1])
    outer = ring.buffer(RING[2] / 2 + RING[3] / 2, quad_segs=256)
    inner = ring.buffer(RING[2] / 2 - RING[3] / 2, quad_segs=256)
    bar = shapely.box(x, y, x + width, y + height)
    return shapely.union_all([*dots, bar, outer.difference(inner)])


def by_reportlab() -> bytes:
    kept = io.BytesIO()
    paper = canvas.Canvas(kept, pagesize=(WIDTH * MM, HEIGHT * MM))
    for x, y in DOTS:
        paper.circle(x * MM, y * MM, DOT / 2 * MM, stroke=0, fill=1)
    paper.rect(*(side * MM for side in BAR), stroke=0, fill=1)
    paper.setLineWidth(RING[3] * MM)
    paper.circle(RING[0] * MM, RING[1] * MM, RING[2] / 2 * MM, stroke=1, fill=0)
    paper.save()
    return kept.getvalue()


def by_cairo(kind: str) -> bytes:
    cairocffi = pytest.importorskip("cairocffi", exc_type=(ImportError, OSError))
    kept = io.BytesIO()
    maker = {"pdf": cairocffi.PDFSurface, "svg": cairocffi.SVGSurface}[kind]
    surface = maker(kept, WIDTH * MM, HEIGHT * MM)
    pen = cairocffi.Context(surface)
    pen.scale(MM, MM)
    pen.set_tolerance(0.0001)  # else it draws small circles 15 µm off.
    for x, y in DOTS:
        pen.arc(x, HEIGHT - y, DOT / 2, 0, math.tau)
        pen.fill()
    x, y, width, height = BAR
    pen.rectangle(x, HEIGHT - y - height, width, height)
    pen.fill()
    pen.set_line_width(RING[3])
    pen.arc(RING[0], HEIGHT - RING[1], RING[2] / 2, 0, math.tau)
    pen.stroke()
    surface.finish()
    return kept.getvalue()


def svg_by_hand() -> bytes:
    dots = "".join(f'<circle cx="{x}" cy="{HEIGHT - y}" r="{DOT / 2}"/>' for x, y in DOTS)
    x, y, width, height = BAR
    ring = f'cx="{RING[0]}" cy="{HEIGHT - RING[1]}" r="{RING[2] / 2}"'
    return (
        f'<svg xmlns="{SVG}" width="{WIDTH}mm" height="{HEIGHT}mm" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}">{dots}'
        f'<rect x="{x}" y="{HEIGHT - y - height}" width="{width}" height="{height}"/>'
        f'<circle {ring} fill="none" stroke="#000" stroke-width="{RING[3]}"/></svg>'
    ).encode()


def by_browser(folder: Path) -> bytes:
    page = folder / "sign.html"
    size = f"{WIDTH}mm {HEIGHT}mm"
    body = svg_by_hand().decode().replace("<svg ", '<svg style="display:block" ')
    style = f"@page {{ size: {size}; margin: 0 }} body {{ margin: 0 }}"
    page.write_text(f"<!doctype html><style>{style}</style>{body}", "utf-8")
    kept = folder / "sign.pdf"
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command = [str(BROWSER), *options, f"--user-data-dir={folder / 'profile'}"]
    command += [f"--print-to-pdf={kept}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return kept.read_bytes()


def assert_same(layer, *, within: float):
    """The same shapes as the sign has, none of their edges off by more than `within` mm."""
    found = sorted((polygon(shape) for shape in layer.inked()), key=lambda each: each.bounds)
    true = sorted(shapely.get_parts(true_region()), key=lambda each: each.bounds)
    assert len(found) == len(true) == len(DOTS) + 2
    for one, other in zip(_matched(found, true), true, strict=True):
        assert one.bounds == pytest.approx(other.bounds, abs=within)
        assert len(one.interiors) == len(other.interiors)
        for ring, pair in zip(_rings(one), _rings(other), strict=True):
            assert shapely.hausdorff_distance(ring, pair) < within


def _matched(found, true):
    """The found shape whose middle is nearest to that of each true one."""
    tree = shapely.STRtree([each.centroid for each in found])
    return [found[tree.nearest(each.centroid)] for each in true]


def _rings(shape):
    return [shape.exterior, *shape.interiors]


def test_reportlab_drew_the_sign():
    """Its circles are four curves, 0.03 % off at most: 0.3 µm on a dot, 2.4 µm on the ring."""
    layer = only_layer(read_pdf("sign.pdf", by_reportlab()))
    assert layer.disagreements == ()
    assert_same(layer, within=0.003)


def test_cairo_drew_the_sign_as_pdf():
    """It writes points to some 2e-6 in of its own (seen in its files)."""
    layer = only_layer(read_pdf("sign.pdf", by_cairo("pdf")))
    assert layer.disagreements == ()
    assert_same(layer, within=0.003)


def test_cairo_drew_the_sign_as_svg():
    assert_same(only_layer(read_svg("sign.svg", by_cairo("svg"))), within=0.003)


def test_an_svg_by_hand_is_the_sign():
    assert_same(only_layer(read_svg("sign.svg", svg_by_hand())), within=0.002)


@pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
def test_a_browser_printed_the_sign(tmp_path):
    """It rounds its page to whole points, so that the sign lies up to half a point off in y; its
    lengths are what they were.
    """
    artwork = read_pdf("sign.pdf", by_browser(tmp_path))
    (page,) = artwork.pages
    layer = only_layer(artwork)
    assert layer.disagreements == ()
    shift = page.height - HEIGHT
    assert abs(shift) < 0.5 / MM
    moved = sorted((polygon(shape) for shape in layer.inked()), key=lambda each: each.bounds)
    moved = [shapely.transform(each, lambda points: points - [0, shift]) for each in moved]
    true = list(shapely.get_parts(true_region()))
    assert len(moved) == len(true)
    for one, other in zip(_matched(moved, true), true, strict=True):
        # It draws circles as parabolas of its own: the ring lies up to 2.3 µm off.
        within = 0.003 if other.interiors else 0.002
        assert one.bounds == pytest.approx(other.bounds, abs=within)


def test_pixels_are_the_sign_to_half_a_pixel():
    pixel = 25.4 / 600
    columns, rows = round(WIDTH / pixel), round(HEIGHT / pixel)
    x = (np.arange(columns) + 0.5) * pixel
    y = HEIGHT - (np.arange(rows) + 0.5) * pixel
    ink = shapely.contains_xy(true_region(), *np.meshgrid(x, y))
    kept = io.BytesIO()
    options = {"photometric": "miniswhite", "resolution": (600, 600), "resolutionunit": 2}
    tifffile.imwrite(kept, ink, **options)
    layer = only_layer(read_tiff("sign.tif", kept.getvalue()))
    found = [polygon(shape) for shape in layer.inked()]
    shift = rows * pixel - HEIGHT
    true = list(shapely.get_parts(true_region()))
    assert len(found) == len(true)
    for one, other in zip(_matched(found, true), true, strict=True):
        far = shapely.hausdorff_distance(one.exterior, other.exterior)
        assert far < pixel / 2 * math.sqrt(2) + abs(shift) + 1e-6


def test_the_same_sign_has_the_same_area_whatever_it_was_read_from():
    area = true_region().area
    for read, data in ((read_pdf, by_reportlab()), (read_svg, svg_by_hand())):
        assert inked(only_layer(read("sign", data))).area == pytest.approx(area, rel=1e-3)


def test_cairo_wrote_text_with_its_font():
    cairocffi = pytest.importorskip("cairocffi", exc_type=(ImportError, OSError))
    kept = io.BytesIO()
    surface = cairocffi.PDFSurface(kept, WIDTH * MM, HEIGHT * MM)
    pen = cairocffi.Context(surface)
    pen.select_font_face("DejaVu Sans")
    pen.set_font_size(12 * MM)
    pen.move_to(10 * MM, 30 * MM)
    pen.show_text("IO 2")
    surface.finish()
    layer = only_layer(read_pdf("text.pdf", kept.getvalue()))
    (run,) = layer.texts
    assert run.text == "IO 2"
    assert run.em == pytest.approx(12, abs=0.002)
    assert run.baseline == pytest.approx((10, 10), abs=0.002)
    assert layer.disagreements == ()


def test_the_layers_of_cairo_are_groups_without_names():
    """A group around all, as cairo writes it, is no layer: colours are."""
    assert list(by_name(read_svg("sign.svg", by_cairo("svg")))) != []
