"""Whether text is told that is drawn otherwise than its font has it.

Liberation Sans of Debian; where it is not installed these tests are skipped.
"""

from __future__ import annotations

import io
import math
from pathlib import Path

import pytest
import shapely
from drawn import MM, only_layer, polygon
from reportlab.lib.colors import white
from reportlab.pdfbase import pdfmetrics, ttfonts
from reportlab.pdfgen import canvas
from signrules_artwork.pdf.reader import read_pdf
from signrules_artwork.svg.reader import read_svg

SANS = Path("/usr/share/fonts/truetype/liberation/LiberationSans-Regular.ttf")

pytestmark = pytest.mark.skipif(not SANS.exists(), reason="no Liberation Sans on this machine")


def run_written(set_up=None, *, matrix=(1, 0, 0, 1), behind=None, after=None):
    """The run IOL, 20 mm to the em, on a page of 200 by 100 mm."""
    pdfmetrics.registerFont(ttfonts.TTFont("Sans", str(SANS)))
    kept = io.BytesIO()
    paper = canvas.Canvas(kept, pagesize=(200 * MM, 100 * MM), initialFontName="Sans")
    if behind is not None:
        behind(paper)
    text = paper.beginText()
    text.setTextTransform(*matrix, 80 * MM, 40 * MM)
    text.setFont("Sans", 20 * MM)
    if set_up is not None:
        set_up(paper, text)
    text.textOut("IOL")
    paper.drawText(text)
    if after is not None:
        after(paper)
    paper.save()
    (run,) = only_layer(read_pdf("text", kept.getvalue())).texts
    return run


@pytest.mark.parametrize(
    "matrix", [(1, 0, 0, 1), (0.5, 0, 0, 0.5), (0, 1, -1, 0), (0.8, 0.6, -0.6, 0.8)]
)
def test_sized_and_turned_text_is_as_its_font_has_it(matrix):
    assert run_written(matrix=matrix).altered == ()


@pytest.mark.parametrize(
    ("matrix", "told"),
    [
        ((0.6, 0, 0, 1), "set to 60.0 % of its width"),
        ((1, 0, 0, 0.8), "set to 125.0 % of its width"),
        ((1, 0, math.tan(math.radians(12)), 1), "slanted by 12.0 degrees"),
        ((-1, 0, 0, 1), "mirrored"),
        ((1, 0, 0, -1), "mirrored"),
    ],
)
def test_text_that_its_matrix_changes_is_told(matrix, told):
    assert run_written(matrix=matrix).altered == (told,)


def test_a_horizontal_scale_is_told():
    run = run_written(lambda paper, text: text.setHorizScale(50))
    assert run.altered == ("set to 50.0 % of its width",)


@pytest.mark.parametrize(
    ("mode", "told"),
    [(2, "filled and drawn with lines of 1.200 mm"), (1, "drawn with lines of 1.200 mm")],
)
def test_strokes_around_letters_are_told_and_drawn(mode, told):
    def fat(paper, text):
        text.setTextRenderMode(mode)
        paper.setLineWidth(1.2 * MM)

    run = run_written(fat)
    assert run.altered == (told,)
    # I is the narrowest of its letters, and grows by half of the line on each side.
    assert narrowest(run) == pytest.approx(narrowest(run_written()) + 1.2, abs=0.003)


def narrowest(run):
    letters = shapely.get_parts(shapely.union_all([polygon(shape) for shape in run.shapes]))
    return min(right - left for left, _, right, _ in shapely.bounds(letters))


def test_a_clip_through_letters_is_told_and_one_around_them_is_not():
    def clip(low):
        def narrow(paper):
            path = paper.beginPath()
            path.rect(10 * MM, low * MM, 150 * MM, 50 * MM)
            paper.clipPath(path, stroke=0, fill=0)

        return narrow

    assert run_written(behind=clip(46)).altered == ("partly clipped away",)
    assert run_written(behind=clip(20)).altered == ()


def test_white_over_letters_is_told_and_white_beside_them_is_not():
    def box(x):
        def cover(paper):
            paper.setFillColor(white)
            paper.rect(x * MM, 35 * MM, 8 * MM, 40 * MM, stroke=0, fill=1)

        return cover

    assert run_written(after=box(78)).altered == ("partly covered by white",)
    assert run_written(after=box(150)).altered == ()


@pytest.mark.parametrize(
    ("transform", "told"),
    [
        ("rotate(10)", ()),
        ("scale(-1 1)", ("mirrored",)),
        ("skewX(-12)", ("slanted by 12.0 degrees",)),
        ("scale(0.5 1)", ("set to 50.0 % of its width",)),
    ],
)
def test_text_of_an_svg_tells_how_its_transform_changes_it(transform, told):
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm"'
        f' viewBox="0 0 200 100"><g transform="translate(80 50) {transform}">'
        '<text x="0" y="0" font-size="10">IOL</text></g></svg>'
    )
    (run,) = only_layer(read_svg("text.svg", drawing.encode())).texts
    assert run.altered == told
