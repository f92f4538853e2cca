"""Files that are damaged, encrypted, huge or made to do harm: an error that says so, or an answer
that is bounded, in time that grows no faster than the file.
"""

from __future__ import annotations

import io
import zlib

import pikepdf
import pytest
from drawn import BAR_OPERATORS, add_layers, circle, drawn, only_layer, pdf_with, saved, spot
from pikepdf import Array, Dictionary, Name
from signrules_artwork import faults
from signrules_artwork.faults import MOST_STEPS, Reading
from signrules_artwork.pdf.reader import read_pdf
from signrules_artwork.svg.reader import read_svg

from signrules.errors import ArtworkError


@pytest.fixture
def lower_limits(monkeypatch):
    """A hundredth of the limits: what goes beyond the real ones takes many seconds to get there."""
    for name in ("MOST_STEPS", "MOST_POINTS"):
        monkeypatch.setattr(faults, name, getattr(faults, name) // 100)


def form(pdf, content: str, **entries):
    stream = pdf.make_stream(content.encode())
    stream.stream_dict = Dictionary(Subtype=Name.Form, BBox=Array([0, 0, 500, 500]), **entries)
    return pdf.make_indirect(stream)


def test_an_encrypted_file_is_refused():
    pdf = pikepdf.new()
    pdf_with(pdf, BAR_OPERATORS)
    kept = io.BytesIO()
    pdf.save(kept, encryption=pikepdf.Encryption(user="secret", owner="secret"))
    with pytest.raises(ArtworkError, match="password"):
        read_pdf("a.pdf", kept.getvalue())


def test_a_file_that_opens_without_a_password_is_read():
    pdf = pikepdf.new()
    pdf_with(pdf, BAR_OPERATORS)
    kept = io.BytesIO()
    pdf.save(kept, encryption=pikepdf.Encryption(user="", owner="secret"))
    assert len(only_layer(read_pdf("a.pdf", kept.getvalue())).shapes) == 1


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9])
def test_a_file_that_is_cut_off_is_refused(share):
    data = pdf_with(pikepdf.new(), BAR_OPERATORS * 50)
    with pytest.raises(ArtworkError):
        read_pdf("a.pdf", data[: int(len(data) * share)])


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7", b"no pdf at all", bytes(1000)])
def test_what_is_no_file_of_its_kind_is_refused(data):
    with pytest.raises(ArtworkError, match="PDF"):
        read_pdf("a.pdf", data)
    with pytest.raises(ArtworkError):
        read_svg("a.svg", data)


def test_damaged_drawing_operators_are_an_error_or_told():
    artwork = drawn(f"{BAR_OPERATORS} (unended 1 2 3 re f")
    assert len(only_layer(artwork).shapes) == 1
    artwork = drawn(f"1 2 re f /X Do 1 w 0 0 m (a) (b) l S what 9 J {BAR_OPERATORS} Q Q Q EMC")
    assert len(only_layer(artwork).shapes) == 1
    assert sum("left out" in note for note in artwork.notes) >= 4


def test_forms_that_draw_themselves_are_left_out_and_told():
    pdf = pikepdf.new()
    inner = form(pdf, "/Me Do 0 g 10 10 20 20 re f")
    inner["/Resources"] = Dictionary(XObject=Dictionary(Me=inner))
    data = pdf_with(pdf, "/F Do", Dictionary(XObject=Dictionary(F=inner)))
    artwork = read_pdf("a.pdf", data)
    assert len(only_layer(artwork).shapes) == 1
    assert any("draws itself" in note for note in artwork.notes)


def test_forms_that_multiply_are_bounded(lower_limits):
    """Nine forms that each draw the next ten times would be a thousand million."""
    pdf = pikepdf.new()
    inner = form(pdf, "0 g 10 10 20 20 re f")
    for _ in range(9):
        inner = form(pdf, "/N Do " * 10, Resources=Dictionary(XObject=Dictionary(N=inner)))
    data = pdf_with(pdf, "/N Do", Dictionary(XObject=Dictionary(N=inner)))
    with pytest.raises(ArtworkError, match="drawing steps"):
        read_pdf("a.pdf", data)


def test_a_stream_that_swells_is_refused_before_it_is_unpacked():
    pdf = pikepdf.new()
    pdf_with(pdf, "")
    bomb = zlib.compress(b" " * 200_000_000)
    stream = pikepdf.Stream(pdf, bomb)
    stream["/Filter"] = Name.FlateDecode
    pdf.pages[0].Contents = pdf.make_indirect(stream)
    kept = io.BytesIO()
    pdf.save(kept, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False)
    with pytest.raises(ArtworkError, match="unpacks to more"):
        read_pdf("a.pdf", kept.getvalue())


def test_an_image_that_claims_to_be_huge_is_refused():
    pdf = pikepdf.new()
    image = pdf.make_stream(b"\0")
    image.stream_dict = Dictionary(
        Subtype=Name.Image, Width=10**6, Height=10**6, ImageMask=True, BitsPerComponent=1
    )
    resources = Dictionary(XObject=Dictionary(I=pdf.make_indirect(image)))
    with pytest.raises(ArtworkError, match="1,000,000 by 1,000,000 pixels"):
        read_pdf("a.pdf", pdf_with(pdf, "/I Do", resources))


def test_very_many_dots_are_an_error_that_says_what_to_do(lower_limits):
    content = circle(50, 50, 1) + "f "
    with pytest.raises(ArtworkError, match="corners"):
        drawn("0 g " + content * 3000)


def test_a_path_that_crosses_itself_all_over_is_refused():
    lines = " ".join(f"{at * 7919 % 250} {at * 104729 % 130} l" for at in range(20_000))
    with pytest.raises(ArtworkError, match="cross"):
        drawn(f"0 g 0 0 m {lines} f")


def test_many_layers_are_read_and_not_all_are_rendered():
    pdf = pikepdf.new()
    groups = add_layers(pdf, *((f"Layer {at}",) for at in range(300)))
    properties = Dictionary({f"/L{at}": group for at, group in enumerate(groups)})
    content = " ".join(
        f"/OC /L{at} BDC 0 g {at % 20 * 10} {at // 20 * 5} 4 4 re f EMC" for at in range(300)
    )
    artwork = read_pdf("a.pdf", pdf_with(pdf, content, Dictionary(Properties=properties)))
    assert len(artwork.pages[0].layers) == 300
    assert any("are not compared with a rendering" in note for note in artwork.notes)


@pytest.mark.parametrize("box", [[0, 0, 0, 0], [0, 0, 10**7, 5], [5, 5, 5, 400]])
def test_a_page_without_a_usable_size_is_refused(box):
    with pytest.raises(ArtworkError, match="page 1"):
        drawn(BAR_OPERATORS, MediaBox=Array(box))


def test_resources_of_the_wrong_kind_are_told():
    broken = Dictionary(
        ColorSpace=Dictionary(S=Array([]), N=Array([Name.DeviceN, 5])),
        Font=Dictionary(F=Array([])),
        XObject=Dictionary(X=5),
        ExtGState=Dictionary(G=Name.No),
        Properties=Dictionary(P=Array([])),
    )
    content = f"/S cs 1 scn /N cs /F 5 Tf (a) Tj /X Do /G gs /OC /P BDC {BAR_OPERATORS} EMC"
    assert len(only_layer(drawn(content, broken)).shapes) == 1


def test_nested_colour_spaces_end():
    space = spot("White")
    indexed = Array([Name.Indexed, space, 1, pikepdf.String(b"\0\xff")])
    for _ in range(60):
        indexed = Array([Name.Indexed, indexed, 1, pikepdf.String(b"\0\xff")])
    artwork = drawn(f"/S cs {BAR_OPERATORS}", Dictionary(ColorSpace=Dictionary(S=indexed)))
    assert artwork.pages[0].number == 1
    assert any("nest" in note for note in artwork.notes)


def test_an_empty_page_has_no_layers():
    assert drawn("").pages[0].layers == ()
    pdf = pikepdf.new()
    assert read_pdf("none.pdf", saved(pdf)).pages == ()


SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">'


def test_entities_are_not_expanded():
    text = (
        f"<!DOCTYPE svg [<!ENTITY a 'ha'>]>{SVG}<rect width='9' height='9'/><text>&a;</text></svg>"
    )
    artwork = read_svg("a.svg", text.encode())
    assert len(only_layer(artwork).shapes) == 1
    assert only_layer(artwork).texts == ()
    assert any("entities" in note for note in artwork.notes)


def test_entities_that_multiply_are_refused():
    laughs = '<!ENTITY a "ha">' + "".join(
        f'<!ENTITY {chr(98 + at)} "{f"&{chr(97 + at)};" * 10}">' for at in range(9)
    )
    for use in ("<text>&j;</text>", "<text id='&j;'>a</text>"):
        text = f"<!DOCTYPE svg [{laughs}]>{SVG}{use}</svg>"
        with pytest.raises(ArtworkError, match="XML"):
            read_svg("a.svg", text.encode())


def test_nothing_outside_the_file_is_opened(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("a secret")
    outside = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "{secret.as_uri()}">]>'
    text = f"{outside}{SVG}<text>&x;</text><rect width='9' height='9'/></svg>"
    artwork = read_svg("a.svg", text.encode())
    assert "secret" not in repr(artwork)


def test_uses_that_use_themselves_or_multiply_are_bounded(lower_limits):
    loop = (
        '<g id="a"><use href="#b"/><rect width="9" height="9"/></g><g id="b"><use href="#a"/></g>'
    )
    artwork = read_svg("a.svg", f"{SVG}{loop}</svg>".encode())
    assert any("uses itself" in note for note in artwork.notes)
    nested = '<rect id="u0" width="1" height="1"/>'
    for at in range(1, 10):
        nested += f'<g id="u{at}">' + f'<use href="#u{at - 1}"/>' * 10 + "</g>"
    with pytest.raises(ArtworkError, match="drawing steps"):
        read_svg("a.svg", f"{SVG}<defs>{nested}</defs><use href='#u9'/></svg>".encode())


def test_deep_nesting_is_bounded():
    artwork = read_svg("a.svg", (SVG + "<g>" * 240 + "<rect/>" + "</g>" * 240 + "</svg>").encode())
    assert any("too deeply" in note for note in artwork.notes)
    deep = SVG + "<g>" * 5000 + "</g>" * 5000 + "</svg>"
    with pytest.raises(ArtworkError):
        read_svg("a.svg", deep.encode())


@pytest.mark.parametrize(
    "content",
    [
        '<path d="M 0 0 L nonsense"/>',
        '<path d="M0 0 L1e999 5 9 9z"/>',
        '<rect width="nan" height="5"/>',
        '<rect width="-5" height="5"/>',
        '<circle r="0"/>',
        '<g transform="rotate(" ><rect width="5" height="5"/></g>',
        '<rect width="5" height="5" transform="scale(0)"/>',
        '<polygon points="1 2 3"/>',
        '<use href="#missing"/>',
        '<rect width="5" height="5" clip-path="url(#missing)"/>',
        '<image href="data:image/png;base64,AAAA" width="5" height="5"/>',
        "<style>@import url(http://example.invalid/a.css); rect {{{ </style><rect width='1'/>",
        '<rect width="5" height="5" style="fill:;stroke-width:x;opacity:y"/>',
        "<switch/><foreignObject/><unknown/><text/>",
    ],
)
def test_damaged_elements_leave_the_rest(content):
    text = f'{SVG}{content}<rect x="50" width="5" height="5" fill="#123456"/></svg>'
    artwork = read_svg("a.svg", text.encode())
    (layer,) = [layer for layer in artwork.pages[0].layers if layer.name == "#123456"]
    assert len(layer.shapes) == 1


def test_the_limits_are_errors_that_name_the_place():
    reading = Reading("page 7")
    with pytest.raises(ArtworkError, match="page 7"):
        reading.spend_steps(MOST_STEPS + 1)
    with pytest.raises(ArtworkError, match="page 7"):
        reading.spend_points(10**9)
    for at in range(200):
        reading.note(f"note {at}")
    assert len(reading.told()) == 50
