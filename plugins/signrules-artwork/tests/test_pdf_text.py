"""Text with embedded fonts: what it reads as, where it stands, and the shapes of its letters.

The fonts are those of Debian; where they are not installed these tests are skipped. The shapes are
held to the outlines that fontTools gives for the same letters, put in place by hand.
"""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest
import shapely
from drawn import MM, by_name, circle, drawn, inked, only_layer, pdf_with, polygon
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Name
from reportlab.pdfbase import pdfmetrics, ttfonts
from reportlab.pdfgen import canvas
from signrules_artwork.pdf.reader import read_pdf

FONTS = Path("/usr/share/fonts/truetype")
SANS = FONTS / "liberation" / "LiberationSans-Regular.ttf"

pytestmark = pytest.mark.skipif(not SANS.exists(), reason="no Liberation Sans on this machine")


def bounds_in_ems(letter: str):
    font = TTFont(SANS)
    pen = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[ord(letter)]].draw(pen)
    return [side / font["head"].unitsPerEm for side in pen.bounds]


def written(draw) -> bytes:
    """A page of 200 by 100 mm that `draw` writes on, in Liberation Sans."""
    pdfmetrics.registerFont(ttfonts.TTFont("Sans", str(SANS)))
    kept = io.BytesIO()
    paper = canvas.Canvas(kept, pagesize=(200 * MM, 100 * MM), initialFontName="Sans")
    draw(paper)
    paper.save()
    return kept.getvalue()


def test_letters_have_the_size_and_place_of_their_font():
    em = 20.0

    def draw(paper):
        paper.setFont("Sans", em * MM)
        paper.drawString(30 * MM, 40 * MM, "IO")

    layer = only_layer(read_pdf("text", written(draw)))
    (run,) = layer.texts
    assert (run.text, run.em, run.angle) == ("IO", pytest.approx(em), 0)
    assert run.baseline == pytest.approx((30, 40), abs=0.001)
    stem, ring = sorted((polygon(shape) for shape in run.shapes), key=lambda each: each.bounds)
    left, bottom, right, top = bounds_in_ems("I")
    expected = (30 + left * em, 40 + bottom * em, 30 + right * em, 40 + top * em)
    assert stem.bounds == pytest.approx(expected, abs=0.002)
    _, bottom, _, top = bounds_in_ems("O")
    assert ring.bounds[1::2] == pytest.approx((40 + bottom * em, 40 + top * em), abs=0.002)
    assert len(ring.interiors) == 1
    assert layer.disagreements == ()
    assert layer.shapes == ()


def test_the_font_says_what_it_measures():
    """Liberation Sans: the stroke of I is 13.6 % of its height, O is 99.2 % as wide as I is high
    (fontTools on the font itself).
    """

    def draw(paper):
        paper.setFont("Sans", 60)
        paper.drawString(30 * MM, 40 * MM, "IOx")

    (run,) = only_layer(read_pdf("text", written(draw))).texts
    assert run.font is not None
    assert run.font.cap_height == pytest.approx(bounds_in_ems("I")[3], abs=1e-4)
    assert run.font.stroke_share == pytest.approx(0.136, abs=0.001)
    assert run.font.width_share == pytest.approx(0.992, abs=0.001)


def test_turned_text_runs_the_way_it_is_turned():
    def draw(paper):
        paper.setFont("Sans", 30)
        paper.translate(50 * MM, 20 * MM)
        paper.rotate(30)
        paper.drawString(0, 0, "UP")

    (run,) = only_layer(read_pdf("text", written(draw))).texts
    assert run.angle == pytest.approx(30, abs=0.001)
    assert run.baseline == pytest.approx((50, 20), abs=0.001)
    assert run.em == pytest.approx(30 / MM, abs=1e-4)


def test_strings_of_one_line_are_one_line_of_text():
    def draw(paper):
        paper.setFont("Sans", 20)
        text = paper.beginText(20 * MM, 50 * MM)
        text.textOut("MEN")
        text.textOut("'S ")
        text.textOut("ROOM")
        text.setTextOrigin(20 * MM, 30 * MM)
        text.textOut("2")
        paper.drawText(text)

    runs = only_layer(read_pdf("text", written(draw))).texts
    assert [run.text for run in runs] == ["MEN'S ROOM", "2"]


@pytest.mark.parametrize("tracking", [0, 2, 4, 6])
@pytest.mark.parametrize("words", ["ROOM 214", "MEN", "STAFF ONLY"])
def test_letters_that_are_shown_one_by_one_are_words_however_far_they_are_spread(tracking, words):
    """Each letter is a string with its own place, as browsers print them; capitals of 15 mm."""
    points = 21 * MM

    def draw(paper):
        paper.setFont("Sans", points)
        x = 5 * MM
        for letter in words:
            if letter != " ":
                paper.drawString(x, 20 * MM, letter)
            x += paper.stringWidth(letter, "Sans", points) + tracking * MM

    runs = only_layer(read_pdf("text", written(draw))).texts
    assert [run.text for run in runs] == [words]


def test_a_gap_of_a_word_between_two_letters_is_one():
    def draw(paper):
        paper.setFont("Sans", 20)
        paper.drawString(20 * MM, 20 * MM, "A")
        paper.drawString(20 * MM + 13.3 + 5.6, 20 * MM, "B")

    runs = only_layer(read_pdf("text", written(draw))).texts
    assert [run.text for run in runs] == ["A B"]


def test_space_between_letters_and_words_and_the_width_of_letters_move_them():
    def draw(paper):
        paper.setFont("Sans", 10 * MM)
        text = paper.beginText(20 * MM, 50 * MM)
        text.setCharSpace(2 * MM)
        text.setHorizScale(50)
        text.setRise(3 * MM)
        text.textOut("II")
        paper.drawText(text)

    first, second = only_layer(read_pdf("text", written(draw))).texts[0].shapes
    step = polygon(second).bounds[0] - polygon(first).bounds[0]
    advance = TTFont(SANS)["hmtx"]["I"][0] / 2048
    assert step == pytest.approx((advance * 10 + 2) / 2, abs=0.002)
    assert polygon(first).bounds[1] == pytest.approx(53, abs=0.002)


def test_outlined_letters_are_ink_around_their_edge():
    def draw(paper):
        paper.setLineWidth(1 * MM)
        text = paper.beginText(20 * MM, 50 * MM)
        text.setFont("Sans", 20 * MM)
        text.setTextRenderMode(1)
        text.textOut("I")
        paper.drawText(text)

    layer = only_layer(read_pdf("text", written(draw)))
    left, bottom, right, top = bounds_in_ems("I")
    expected = (19.5 + left * 20, 49.5 + bottom * 20, 20.5 + right * 20, 50.5 + top * 20)
    assert inked(layer).bounds == pytest.approx(expected, abs=0.002)
    assert layer.disagreements == ()


def test_invisible_text_inks_nothing_and_text_may_clip():
    def draw(paper):
        text = paper.beginText(20 * MM, 50 * MM)
        text.setFont("Sans", 20 * MM)
        text.setTextRenderMode(3)
        text.textOut("HIDDEN")
        paper.drawText(text)
        text = paper.beginText(20 * MM, 20 * MM)
        text.setFont("Sans", 20 * MM)
        text.setTextRenderMode(7)
        text.textOut("I")
        paper.drawText(text)
        paper.rect(0, 0, 200 * MM, 30 * MM, stroke=0, fill=1)

    artwork = read_pdf("text", written(draw))
    layer = only_layer(artwork)
    left, _, right, _ = bounds_in_ems("I")
    expected = (20 + left * 20, 20, 20 + right * 20, 30)
    assert inked(layer).bounds == pytest.approx(expected, abs=0.002)
    assert layer.texts == ()
    assert any("invisible" in note for note in artwork.notes)


def test_a_font_that_is_not_in_the_file_is_told():
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
    resources = Dictionary(Font=Dictionary(F=font))
    artwork = drawn(f"BT /F 20 Tf {20 * MM} {20 * MM} Td (EXIT) Tj ET", resources)
    (run,) = only_layer(artwork).texts
    assert (run.text, run.shapes) == ("EXIT", ())
    assert any("'Helvetica' is not in the file" in note for note in artwork.notes)
    assert any("was not found" in told for told in only_layer(artwork).disagreements)


def font_stream(pdf, data, **entries):
    return pdf.make_indirect(pdf.make_stream(data, **entries))


def composite(pdf, data: bytes, key: str, **entries):
    """A font of two bytes a code whose codes are numbers of glyphs."""
    descriptor = Dictionary({key: font_stream(pdf, data, **entries), "/Type": Name.FontDescriptor})
    truetype = key == "/FontFile2"
    inner = Dictionary(
        Type=Name.Font,
        Subtype=Name.CIDFontType2 if truetype else Name.CIDFontType0,
        FontDescriptor=descriptor,
        DW=700,
    )
    return Dictionary(
        Type=Name.Font,
        Subtype=Name.Type0,
        BaseFont=Name.Sans,
        Encoding=Name("/Identity-H"),
        DescendantFonts=Array([inner]),
    )


def test_composite_fonts_draw_glyphs_by_number_and_read_by_their_own_map():
    font = TTFont(SANS)
    numbers = [font.getGlyphID(name) for name in ("R", "u", "n")]
    codes = "".join(f"{number:04X}" for number in numbers)
    pdf = pikepdf.new()
    resources = Dictionary(Font=Dictionary(F=composite(pdf, SANS.read_bytes(), "/FontFile2")))
    content = f"BT /F {10 * MM} Tf {20 * MM} {20 * MM} Td <{codes}> Tj ET"
    layer = only_layer(read_pdf("text", pdf_with(pdf, content, resources)))
    (run,) = layer.texts
    assert run.text == "Run"
    left, bottom, right, top = bounds_in_ems("n")
    last = polygon(run.shapes[-1]).bounds
    expected = (34 + left * 10, 20 + bottom * 10, 34 + right * 10, 20 + top * 10)
    assert last == pytest.approx(expected, abs=0.002)
    assert layer.disagreements == ()


def cff_font() -> bytes:
    """A bare CFF font with I (100 to 300 by 0 to 700) and O, made by fontTools."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.t2CharStringPen import T2CharStringPen

    charstrings = {}
    boxes = {".notdef": None, "I": (100, 0, 300, 700), "O": (50, 0, 650, 700)}
    for name, box in boxes.items():
        pen = T2CharStringPen(700, None)
        if box:
            x0, y0, x1, y1 = box
            pen.moveTo((x0, y0))
            for corner in ((x1, y0), (x1, y1), (x0, y1)):
                pen.lineTo(corner)
            pen.closePath()
        charstrings[name] = pen.getCharString()
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder(list(boxes))
    builder.setupCharacterMap({73: "I", 79: "O"})
    builder.setupCFF("Made", {}, charstrings, {})
    builder.setupHorizontalMetrics(dict.fromkeys(boxes, (700, 0)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupPost()
    data = io.BytesIO()
    builder.font["CFF "].cff.compile(data, builder.font)
    return data.getvalue()


def test_bare_cff_fonts_are_read_by_name():
    pdf = pikepdf.new()
    stream = font_stream(pdf, cff_font(), Subtype=Name.Type1C)
    font = Dictionary(
        Type=Name.Font,
        Subtype=Name.Type1,
        BaseFont=Name.Made,
        FirstChar=1,
        LastChar=2,
        Widths=Array([700, 700]),
        Encoding=Dictionary(Differences=Array([1, Name.I, Name.O])),
        FontDescriptor=Dictionary(Type=Name.FontDescriptor, FontFile3=stream, Flags=4),
    )
    content = f"BT /F {10 * MM} Tf {20 * MM} {20 * MM} Td <0102> Tj ET"
    layer = only_layer(read_pdf("cff", pdf_with(pdf, content, Dictionary(Font=Dictionary(F=font)))))
    (run,) = layer.texts
    assert run.text == "IO"
    found = [polygon(shape).bounds for shape in run.shapes]
    assert found == [
        pytest.approx((21, 20, 23, 27), abs=0.002),
        pytest.approx((27.5, 20, 33.5, 27), abs=0.002),
    ]
    assert run.font is not None
    assert run.font.stroke_share == pytest.approx(200 / 700, abs=1e-3)
    assert run.font.width_share == pytest.approx(600 / 700, abs=1e-3)
    assert layer.disagreements == ()


def test_fonts_whose_letters_are_drawings_are_followed():
    pdf = pikepdf.new()
    plain = pdf.make_indirect(pdf.make_stream(b"700 0 0 0 700 700 d1 0 0 400 700 re f"))
    coloured = pdf.make_indirect(pdf.make_stream(b"700 0 d0 0 1 0 0 k 0 0 400 700 re f"))
    font = Dictionary(
        Type=Name.Font,
        Subtype=Name.Type3,
        FontMatrix=Array([0.001, 0, 0, 0.001, 0, 0]),
        FontBBox=Array([0, 0, 700, 700]),
        FirstChar=65,
        LastChar=66,
        Widths=Array([700, 700]),
        Encoding=Dictionary(Differences=Array([65, Name.A, Name.B])),
        CharProcs=Dictionary(A=plain, B=coloured),
        Resources=Dictionary(),
    )
    content = f"0 g BT /F {10 * MM} Tf {20 * MM} {20 * MM} Td (AB) Tj ET"
    artwork = read_pdf("t3", pdf_with(pdf, content, Dictionary(Font=Dictionary(F=font))))
    found = by_name(artwork)
    assert inked(found["Black"]).bounds == pytest.approx((20, 20, 24, 27), abs=0.002)
    assert inked(found["Magenta"]).bounds == pytest.approx((27, 20, 31, 27), abs=0.002)
    assert found["Black"].texts[0].text == "AB"


def test_a_damaged_font_is_told_and_nothing_else_is_lost():
    pdf = pikepdf.new()
    resources = Dictionary(Font=Dictionary(F=composite(pdf, b"\0\1\0\0junk", "/FontFile2")))
    content = f"BT /F 20 Tf 50 50 Td <0001> Tj ET 0 g {circle(50, 50, 5)} f"
    artwork = read_pdf("damaged", pdf_with(pdf, content, resources))
    assert len(only_layer(artwork).shapes) == 1
    assert any("is damaged" in note for note in artwork.notes)


def test_letters_that_overlap_are_a_union():
    """Two strings, one on the other, ink what one of them does."""

    def draw(paper):
        paper.setFont("Sans", 40)
        paper.drawString(30 * MM, 40 * MM, "I")
        paper.drawString(30 * MM, 40 * MM, "I")

    layer = only_layer(read_pdf("text", written(draw)))
    regions = [polygon(shape) for shape in layer.inked()]
    assert len(regions) == 2
    assert shapely.union_all(regions).area == pytest.approx(regions[0].area, rel=1e-9)
