"""Built files and damaged ones: every answer is artwork whose numbers are finite, or ArtworkError.

`SIGNRULES_LONG=1` tries a hundred times as many.
"""

from __future__ import annotations

import io
import math
import os

import numpy as np
import pikepdf
import tifffile
from drawn import add_layers, pdf_with, spot
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name
from signrules_artwork.image.png import read_png
from signrules_artwork.image.tiff import read_tiff
from signrules_artwork.pdf.reader import read_pdf
from signrules_artwork.svg.reader import read_svg

from signrules.errors import ArtworkError

EFFORT = 100 if os.environ.get("SIGNRULES_LONG") else 1

few = settings(
    max_examples=60 * EFFORT,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def assert_sound(read, data: bytes) -> None:
    """Reads; what comes back has finite corners and tints from 0 to 1."""
    try:
        artwork = read("fuzz", data)
    except ArtworkError:
        return
    for page in artwork.pages:
        assert math.isfinite(page.width * page.height)
        for layer in page.layers:
            for shape in layer.inked():
                assert 0 < shape.tint <= 1
                for ring in (shape.outline, *shape.holes):
                    assert len(ring) >= 3
                    assert all(math.isfinite(x) and math.isfinite(y) for x, y in ring)


numbers = st.one_of(
    st.integers(-50, 400),
    st.floats(-1e4, 1e4, allow_nan=False).map(lambda number: round(number, 3)),
    st.sampled_from([0, 1, -1, 1e9, -1e9, 0.00001]),
)
words = [
    "/L0",
    "/L1",
    "/S",
    "/F",
    "/X",
    "/I",
    "/G",
    "/Pattern",
    "/DeviceCMYK",
    "/OC",
    "(ab)",
    "[1 2]",
]
operators = [
    "q",
    "Q",
    "cm",
    "w",
    "J",
    "j",
    "M",
    "d",
    "gs",
    "m",
    "l",
    "c",
    "v",
    "y",
    "h",
    "re",
    "S",
    "s",
    "f",
    "f*",
    "B",
    "b*",
    "n",
    "W",
    "W*",
    "CS",
    "cs",
    "SC",
    "SCN",
    "sc",
    "scn",
    "G",
    "g",
    "RG",
    "rg",
    "K",
    "k",
    "BT",
    "ET",
    "Tc",
    "Tw",
    "Tz",
    "TL",
    "Ts",
    "Tr",
    "Tf",
    "Tm",
    "Td",
    "TD",
    "T*",
    "Tj",
    "TJ",
    "'",
    '"',
    "Do",
    "sh",
    "BDC",
    "BMC",
    "EMC",
    "d0",
    "d1",
    "BX",
    "EX",
]


@st.composite
def instructions(draw):
    """An operator with operands that often fit it."""
    operator = draw(st.sampled_from(operators))
    operands = draw(st.lists(st.one_of(numbers.map(str), st.sampled_from(words)), max_size=6))
    likely = {
        "c": 6, "cm": 6, "Tm": 6, "m": 2, "l": 2, "re": 4, "v": 4, "y": 4, "Td": 2, "w": 1, "g": 1,
        "k": 4, "scn": 1,
    }  # fmt: skip
    if operator in likely and draw(st.booleans()):
        operands = [str(draw(numbers)) for _ in range(likely[operator])]
    if operator in {"Do", "gs", "cs", "CS", "sh"}:
        operands = [draw(st.sampled_from(words[:9]))]
    if operator == "BDC":
        operands = ["/OC", draw(st.sampled_from(words[:2]))]
    if operator == "Tf":
        operands = ["/F", str(draw(numbers))]
    return " ".join([*operands, operator])


def built_pdf(content: str, turn: int = 0) -> bytes:
    """A page with layers, a spot colour, a form that draws itself, a picture and a drawn font."""
    pdf = pikepdf.new()
    groups = add_layers(pdf, ("One", "White"), ("Two",))
    picture = pdf.make_stream(bytes(range(64)))
    picture.stream_dict = Dictionary(
        Subtype=Name.Image, Width=8, Height=8, BitsPerComponent=8, ColorSpace=spot("Ink")
    )
    glyph = pdf.make_indirect(pdf.make_stream(b"700 0 0 0 700 700 d1 0 0 400 700 re f"))
    font = Dictionary(
        Type=Name.Font,
        Subtype=Name.Type3,
        FontMatrix=Array([0.001, 0, 0, 0.001, 0, 0]),
        FirstChar=97,
        Widths=Array([700, 700]),
        Encoding=Dictionary(Differences=Array([97, Name.a])),
        CharProcs=Dictionary(a=glyph),
    )
    form = pdf.make_stream(content.encode())
    form.stream_dict = Dictionary(Subtype=Name.Form, BBox=Array([0, 0, 200, 100]))
    resources = Dictionary(
        Properties=Dictionary(L0=groups[0], L1=groups[1]),
        ColorSpace=Dictionary(S=spot("Ink")),
        Font=Dictionary(F=font),
        XObject=Dictionary(X=pdf.make_indirect(form), I=pdf.make_indirect(picture)),
        ExtGState=Dictionary(G=Dictionary(ca=0.5, LW=3, D=Array([Array([3, 1]), 0]))),
    )
    form["/Resources"] = resources
    return pdf_with(pdf, content, resources, Rotate=turn)


@few
@given(st.lists(instructions(), max_size=40), st.sampled_from([0, 90, 180, 270]))
@example(["0 0 100 50 re f", "/X Do"], 90)
def test_pages_of_any_operators_are_read_or_refused(program, turn):
    assert_sound(read_pdf, built_pdf("\n".join(program), turn))


WHOLE_PDF = built_pdf("/OC /L0 BDC 0 g 10 10 50 30 re f EMC /S cs /I Do BT /F 9 Tf (ab) Tj ET")
WHOLE_SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="40mm" viewBox="0 0 90 40">'
    b"<style>.a{fill:none;stroke:#000}</style><defs><clipPath id='c'><rect width='9' height='9'/>"
    b"</clipPath></defs><g id='One' clip-path='url(#c)'><circle cx='5' cy='5' r='2' class='a'/>"
    b"<path d='M1 1h5v5a1 2 3 0 1 4 5q1 2 3 4z' transform='rotate(9)'/><use href='#t'/></g>"
    b"<text id='t' x='3' y='4'>ROOM</text></svg>"
)


def _tiff() -> bytes:
    kept = io.BytesIO()
    samples = (np.indices((12, 15)).sum(axis=0) % 3 * 100).astype(np.uint8)
    tifffile.imwrite(kept, samples, resolution=(300, 300), resolutionunit=2, compression="zlib")
    return kept.getvalue()


def _png() -> bytes:
    from PIL import Image

    kept = io.BytesIO()
    Image.fromarray((np.indices((12, 15)).sum(axis=0) % 3 * 100).astype(np.uint8)).save(
        kept, "PNG", dpi=(300, 300)
    )
    return kept.getvalue()


damage = st.lists(
    st.tuples(
        st.floats(0, 1, exclude_max=True),
        st.sampled_from(["set", "cut", "double", "drop"]),
        st.integers(0, 255),
    ),
    min_size=1,
    max_size=6,
)


def damaged(data: bytes, changes) -> bytes:
    for place, kind, value in changes:
        at = int(place * len(data))
        if kind == "set":
            data = data[:at] + bytes([value]) + data[at + 1 :]
        elif kind == "cut":
            data = data[: max(at, 1)]
        elif kind == "double":
            data = data[:at] + data[at : at + value] + data[at:]
        else:
            data = data[:at] + data[at + value % 16 :]
    return data


@few
@given(damage)
@example([(0.078125, "set", 128)])
def test_damaged_pdfs_are_read_or_refused(changes):
    assert_sound(read_pdf, damaged(WHOLE_PDF, changes))


@few
@given(damage)
def test_damaged_svgs_are_read_or_refused(changes):
    assert_sound(read_svg, damaged(WHOLE_SVG, changes))


@few
@given(damage)
def test_damaged_images_are_read_or_refused(changes):
    assert_sound(read_tiff, damaged(_tiff(), changes))
    assert_sound(read_png, damaged(_png(), changes))


tags = st.sampled_from(
    [
        "g",
        "svg",
        "rect",
        "circle",
        "ellipse",
        "line",
        "polygon",
        "path",
        "use",
        "text",
        "tspan",
        "clipPath",
        "symbol",
    ]
)
values = st.one_of(
    numbers.map(str),
    st.sampled_from(
        ["10mm", "50%", "url(#i1)", "#i2", "none", "red", "#fff", "M0 0h9v9z", "1 2 3 4"]
    ),
)
names = st.sampled_from(
    [
        "id",
        "x",
        "y",
        "width",
        "height",
        "r",
        "rx",
        "cx",
        "cy",
        "d",
        "points",
        "href",
        "transform",
        "fill",
        "stroke",
        "stroke-width",
        "clip-path",
        "viewBox",
        "style",
        "class",
        "opacity",
        "display",
        "stroke-dasharray",
        "preserveAspectRatio",
    ]
)
identities = st.sampled_from(["i1", "i2", "i3"])


@st.composite
def elements(draw, depth=0):
    tag = draw(tags)
    attributes = draw(st.dictionaries(names, values, max_size=6)) | {"id": draw(identities)}
    if "transform" in attributes:
        attributes["transform"] = f"scale({draw(numbers)}) rotate({draw(numbers)})"
    text = " ".join(f'{name}="{value}"' for name, value in attributes.items())
    count = draw(st.integers(0, 3)) if depth < 3 else 0
    return f"<{tag} {text}>{''.join(draw(elements(depth=depth + 1)) for _ in range(count))}</{tag}>"


@few
@given(st.lists(elements(), max_size=5))
def test_drawings_of_any_elements_are_read_or_refused(content):
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="40mm" viewBox="0 0 90 40">'
    assert_sound(read_svg, f"{head}{''.join(content)}</svg>".encode())
