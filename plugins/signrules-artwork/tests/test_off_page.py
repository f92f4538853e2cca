"""What lies off the page is left out, and what is drawn otherwise is not followed: both are told
with their place in mm.
"""

from __future__ import annotations

from drawn import MM, add_layers, circle, drawn, only_layer, pdf_with
from pikepdf import Array, Dictionary, Name, new
from signrules_artwork.pdf.reader import read_pdf
from signrules_artwork.svg.reader import read_svg


def off_page(artwork):
    return [note for note in artwork.notes if "off the page" in note]


def dot(x, y):
    return f"0 g {circle(x * MM, y * MM, 2 * MM)} f "


def test_dots_beside_the_page_of_a_pdf_are_told_by_layer():
    pdf = new()
    groups = add_layers(pdf, ("Dots",), ("Guides",))
    names = Dictionary(L0=groups[0], L1=groups[1])
    content = (
        f"/OC /L0 BDC {dot(-5, 10)} {dot(20, 10)} {dot(110, 60)} EMC /OC /L1 BDC {dot(50, -9)} EMC"
    )
    artwork = read_pdf("a.pdf", pdf_with(pdf, content, Dictionary(Properties=names)))
    assert off_page(artwork) == [
        "page 1, layer 'Dots', off the page and left out: what lies between (-6.0, 9.0) and"
        " (-4.0, 11.0) mm; between (109.0, 59.0) and (111.0, 61.0) mm",
        "page 1, layer 'Guides', off the page and left out: what lies between (49.0, -10.0) and"
        " (51.0, -8.0) mm",
    ]


def test_what_reaches_over_the_edge_of_the_page_is_on_it():
    artwork = drawn(dot(0, 10))
    assert off_page(artwork) == []
    assert len(only_layer(artwork).shapes) == 1


def test_what_a_clip_hides_on_the_page_is_not_off_it():
    assert off_page(drawn(f"0 0 10 10 re W n {dot(50, 25)}")) == []


def test_many_are_counted():
    (told,) = off_page(drawn("".join(dot(-10 * at, 10) for at in range(1, 8))))
    assert told.count("between") == 3
    assert told.endswith("; and 4 more")


def test_shapes_beside_the_page_of_an_svg_are_told_by_group():
    group = '<g id="Dots"><circle cx="20" cy="10" r="1"/><circle cx="20" cy="-30" r="1"/></g>'
    size = 'width="100mm" height="50mm" viewBox="0 0 100 50"'
    data = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{group}</svg>'.encode()
    # By hand: 30 mm above the upper edge, which is at 50 mm.
    assert off_page(read_svg("a.svg", data)) == [
        "layer 'Dots', off the page and left out: what lies between (19.0, 79.0) and"
        " (21.0, 81.0) mm"
    ]


def shading():
    """From black to white, along x."""
    function = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0]), C1=Array([1]), N=1)
    return Dictionary(
        ShadingType=2,
        ColorSpace=Name.DeviceGray,
        Coords=Array([0, 0, 100 * MM, 0]),
        Function=function,
    )


def test_what_is_not_followed_is_told_with_its_place():
    """A dot filled with a shading, one under a soft mask, and one after both, which is neither."""
    pattern = Dictionary(PatternType=2, Shading=shading())
    group = Dictionary(Subtype=Name.Form, BBox=Array([0, 0, 1, 1]))
    mask = Dictionary(S=Name.Luminosity, G=group)
    resources = Dictionary(
        Pattern=Dictionary(P=pattern),
        ExtGState=Dictionary(M=Dictionary(SMask=mask), N=Dictionary(SMask=Name("/None"))),
    )
    content = (
        f"/Pattern cs /P scn {circle(20 * MM, 10 * MM, 2 * MM)} f"
        f" /M gs {dot(50, 25)} /N gs {dot(80, 40)}"
    )
    notes = drawn(content, resources).notes
    (solid,) = [note for note in notes if "taken as a solid" in note]
    assert solid.endswith("between (19.0, 9.0) and (21.0, 11.0) mm")
    (masked,) = [note for note in notes if "soft mask" in note]
    assert masked.endswith("between (49.0, 24.0) and (51.0, 26.0) mm")


def test_text_that_runs_downwards_is_told_with_its_place():
    inner = Dictionary(Type=Name.Font, Subtype=Name.CIDFontType2, BaseFont=Name.Tall, DW=1000)
    font = Dictionary(
        Type=Name.Font,
        Subtype=Name.Type0,
        BaseFont=Name.Tall,
        Encoding=Name("/Identity-V"),
        DescendantFonts=Array([inner]),
    )
    content = f"BT /F {10 * MM} Tf {20 * MM} {30 * MM} Td <00410042> Tj ET"
    (told,) = [
        note for note in drawn(content, Dictionary(Font=Dictionary(F=font))).notes if "down" in note
    ]
    # By hand: two letters of an em each, read as if they ran to the right from 20, 30 mm.
    assert told.endswith("between (20.0, 30.0) and (40.0, 30.0) mm")
