"""Which colorant inks how much, on a file without layers."""

from __future__ import annotations

import io

import pikepdf
import pytest
from drawn import MM, by_name, drawn, inked, only_layer, pdf_with, spot
from pikepdf import Array, Dictionary, Name
from signrules_artwork.pdf.reader import read_pdf

SQUARE = "10 10 100 100 re f "
AREA = (100 * 25.4 / 72) ** 2


def resources(**spaces):
    return Dictionary(ColorSpace=Dictionary(**spaces))


def drawn_bytes(content, given):
    """A page whose parts stand in the file as they were typed."""
    pdf = pikepdf.new()
    pdf_with(pdf, content, given)
    kept = io.BytesIO()
    pdf.save(kept, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return kept.getvalue()


def device_n(*names):
    names = Array([Name("/" + name) for name in names])
    transform = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([1]), C1=Array([0]), N=1)
    return Array([Name.DeviceN, names, Name.DeviceGray, transform])


def test_a_spot_colour_is_a_layer_with_its_tint():
    artwork = drawn(f"/S cs 0.25 scn {SQUARE}", resources(S=spot("White")))
    layer = only_layer(artwork)
    assert (layer.name, layer.colorants) == ("White", ("White",))
    assert layer.shapes[0].tint == pytest.approx(0.25)


def test_a_spot_colour_starts_in_full():
    """ISO 32000-1, 8.6.6.4 (from memory)."""
    layer = only_layer(drawn(f"/S cs {SQUARE}", resources(S=spot("Varnish"))))
    assert layer.shapes[0].tint == 1


@pytest.mark.parametrize(
    ("colour", "tint"),
    [("0.8 1 1 rg", 1.0), ("0.99 1 1 rg", 0.01), ("0 0.2 0 0 k", 0.2), ("0.8 g", 0.2)],
)
def test_a_pale_colour_of_a_screen_is_solid_and_a_pale_process_colour_is_not(colour, tint):
    [layer] = drawn(f"{colour} {SQUARE}").pages[0].layers
    assert [shape.tint for shape in layer.shapes] == [pytest.approx(tint)]


def test_names_of_older_programs_are_read():
    """0xDF is the German sharp s in Windows' code page for western Europe."""
    data = drawn_bytes(f"/S cs {SQUARE}", resources(S=spot("WeiXX"))).replace(b"WeiXX", b"Wei#DF")
    layer = only_layer(read_pdf("old.pdf", data))
    assert layer.name == "Weiß"


def test_each_colorant_of_several_is_a_layer():
    content = f"/N cs 1 0.5 0 scn {SQUARE}"
    found = by_name(drawn(content, resources(N=device_n("White", "Varnish", "Cyan"))))
    assert {name: layer.shapes[0].tint for name, layer in found.items()} == {
        "White": 1,
        "Varnish": pytest.approx(0.5),
    }


def test_process_colours_are_separated():
    found = by_name(drawn(f"0.1 0 0.3 1 k {SQUARE} 0.5 g {SQUARE}"))
    tints = {name: [shape.tint for shape in layer.shapes] for name, layer in found.items()}
    assert tints == {"Cyan": [0.1], "Yellow": [0.3], "Black": [1, 0.5]}
    assert all(layer.colorants == () for layer in found.values())


def test_the_colorant_all_lies_on_every_layer():
    content = f"/A cs 1 scn {SQUARE} /S cs 1 scn 200 10 50 50 re f"
    artwork = drawn(content, resources(A=spot("All"), S=spot("White")))
    assert len(only_layer(artwork).shapes) == 2
    assert only_layer(artwork).name == "White"


def test_the_colorant_none_leaves_no_mark_at_all():
    content = f"0 g {SQUARE} /N cs 1 scn {SQUARE}"
    artwork = drawn(content, resources(N=spot("None")))
    assert inked(only_layer(artwork)).area == pytest.approx(AREA, rel=1e-6)


@pytest.mark.parametrize("white", ["1 g", "1 1 1 rg", "0 0 0 0 k", "/S cs 0 scn"])
def test_white_takes_away_what_lies_under_it_and_nothing_else(white):
    later = "20 20 5 5 re f"
    content = f"0 g {SQUARE} {white} 10 10 50 100 re f 0 g {later}"
    artwork = drawn(content, resources(S=spot("White")))
    layer = by_name(artwork)["Black"]
    expected = AREA / 2 + (5 * 25.4 / 72) ** 2
    assert inked(layer).area == pytest.approx(expected, rel=1e-6)
    assert any("takes it away" in note for note in artwork.notes)
    assert layer.disagreements == ()


def test_white_that_overprints_or_shows_what_is_under_it_takes_nothing():
    states = Dictionary(
        Over=Dictionary(OP=True, op=True),
        Half=Dictionary(ca=0.5),
        Dark=Dictionary(BM=Name.Multiply),
    )
    for name in ("Over", "Half", "Dark"):
        content = f"0 g {SQUARE} /{name} gs 0 0 0 0 k 10 10 50 100 re f"
        layer = by_name(drawn(content, Dictionary(ExtGState=states)))["Black"]
        assert inked(layer).area == pytest.approx(AREA, rel=1e-6), name


def test_what_is_seen_through_is_a_tint_and_what_is_invisible_is_nothing():
    states = Dictionary(Half=Dictionary(ca=0.5), Gone=Dictionary(ca=0))
    content = f"0 g /Half gs {SQUARE} /Gone gs 200 10 50 50 re f"
    (shape,) = only_layer(drawn(content, Dictionary(ExtGState=states))).shapes
    assert shape.tint == pytest.approx(0.5)


def test_a_layer_drawn_in_white_alone_is_told():
    artwork = drawn(f"1 g {SQUARE}")
    assert artwork.pages[0].layers == ()
    content = f"/S cs 0 scn {SQUARE} 0 g 200 10 50 50 re f"
    assert list(by_name(drawn(content, resources(S=spot("White"))))) == ["Black"]


def test_colours_by_number_and_by_profile():
    pdf = pikepdf.new()
    profile = pdf.make_stream(b"", N=4)
    table = pikepdf.String(b"\x00\x80\xff")
    indexed = Array([Name.Indexed, spot("White"), 2, table])
    spaces = resources(P=Array([Name.ICCBased, pdf.make_indirect(profile)]), I=indexed)
    data = pdf_with(pdf, f"/P cs 0 0 0 0.5 sc {SQUARE} /I cs 1 sc {SQUARE}", spaces)
    found = by_name(read_pdf("a", data))
    assert found["Black"].shapes[0].tint == pytest.approx(0.5)
    assert found["White"].shapes[0].tint == pytest.approx(128 / 255)


def test_patterns_count_as_solid_and_are_told():
    shading = Dictionary(ShadingType=2, ColorSpace=spot("White"), Coords=Array([0, 0, 1, 1]))
    pattern = Dictionary(PatternType=2, Shading=shading)
    content = f"/Pattern cs /P scn {SQUARE}"
    artwork = drawn(content, Dictionary(Pattern=Dictionary(P=pattern)))
    assert inked(only_layer(artwork)).area == pytest.approx(AREA, rel=1e-6)
    assert only_layer(artwork).name == "White"
    assert any("taken as a solid" in note for note in artwork.notes)


def test_a_form_may_use_a_colour_space_that_only_its_page_has():
    pdf = pikepdf.new()
    form = pdf.make_stream(
        f"/Dots cs 1 scn 0 0 {10 * MM} {10 * MM} re f".encode(),
        Type=Name.XObject,
        Subtype=Name.Form,
        BBox=Array([0, 0, 100 * MM, 50 * MM]),
        Resources=Dictionary(),
    )
    of_page = Dictionary(
        ColorSpace=Dictionary(Dots=spot("Clear dots")), XObject=Dictionary(Form=form)
    )
    art = read_pdf("form.pdf", pdf_with(pdf, "/Form Do", of_page))
    (layer,) = art.pages[0].layers
    assert layer.colorants == ("Clear dots",)
    # A square of 10 mm.
    assert inked(layer).area == pytest.approx(100, abs=0.01)
    assert any("colour space that only its page has" in note for note in art.notes)
