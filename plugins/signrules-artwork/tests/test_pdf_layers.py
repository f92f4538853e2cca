"""Layers, membership dictionaries, processing steps, and the rendering of each layer."""

from __future__ import annotations

import pikepdf
import pytest
from drawn import MM, add_layers, by_name, circle, inked, pdf_with, spot
from pikepdf import Array, Dictionary, Name
from signrules_artwork.layering import OUTSIDE_LAYERS
from signrules_artwork.pdf.reader import read_pdf


def on(name: str, content: str) -> str:
    return f"/OC /{name} BDC {content} EMC "


def dot(x: float, y: float = 10) -> str:
    return f"0 g {circle(x * MM, y * MM, 2 * MM)} f "


def read_layered(content, layers, properties=None, default=None, extra=None):
    """A page whose layers are named L0, L1 and so on in its properties."""
    pdf = pikepdf.new()
    groups = add_layers(pdf, *layers, **(default(pdf) if default else {}))
    listed = Dictionary({f"/L{at}": group for at, group in enumerate(groups)})
    for key, value in (properties(groups) if properties else {}).items():
        listed["/" + key] = value
    resources = Dictionary(Properties=listed)
    for key, value in (extra(pdf, groups) if extra else {}).items():
        resources["/" + key] = value
    return read_pdf("layered", pdf_with(pdf, content, resources))


def middles(layer):
    """Where the dots of a layer lie, across."""
    return sorted(
        round(each.centroid.x, 2) for each in getattr(inked(layer), "geoms", [inked(layer)])
    )


def test_layers_have_their_names_steps_and_colorants():
    steps = [("Cut", "Structural", "Cutting"), ("Base", "White"), ("Dots", "Braille"), ("Art",)]
    content = "".join(
        on(f"L{at}", f"/S cs {circle(20 * (at + 1) * MM, 10 * MM, 2 * MM)} f") for at in range(4)
    )
    artwork = read_layered(
        content, steps, extra=lambda pdf, groups: {"ColorSpace": Dictionary(S=spot("Ink"))}
    )
    told = [(layer.name, layer.step, layer.step_type) for layer in artwork.pages[0].layers]
    assert told == [
        ("Cut", "Structural", "Cutting"),
        ("Base", "White", None),
        ("Dots", "Braille", None),
        ("Art", None, None),
    ]
    for at, layer in enumerate(artwork.pages[0].layers):
        assert middles(layer) == [20 * (at + 1)]
        assert (layer.colorants, layer.hidden, layer.disagreements) == (("Ink",), False, ())


def test_the_innermost_layer_has_what_lies_on_several():
    content = on("L0", dot(10) + on("L1", dot(20)) + dot(30)) + dot(40)
    found = by_name(read_layered(content, [("Outer", "White"), ("Inner",)]))
    assert {name: middles(layer) for name, layer in found.items()} == {
        "Outer": [10, 30],
        "Inner": [20],
        OUTSIDE_LAYERS: [40],
    }
    assert found["Inner"].step == "White"
    assert all(layer.disagreements == () for layer in found.values())


def test_other_marks_between_layers_change_nothing():
    content = on("L0", "/Span << /Lang (en) >> BDC " + dot(10) + "EMC /Art BMC EMC " + dot(20))
    found = by_name(read_layered(content, [("One",)]))
    assert middles(found["One"]) == [10, 20]


@pytest.mark.parametrize(
    ("policy", "expected"),
    [
        ("AnyOn", {"One": [10], "Two": [10]}),
        ("AllOn", {"Two": [10]}),
        ("AnyOff", {"without One": [10], "without Two": [10]}),
    ],
)
def test_a_membership_dictionary_stands_for_its_groups(policy, expected):
    def properties(groups):
        member = Dictionary(Type=Name.OCMD, OCGs=Array(groups), P=Name("/" + policy))
        return {"M": member}

    artwork = read_layered(on("M", dot(10)), [("One",), ("Two",)], properties)
    found = by_name(artwork)
    assert {name: middles(layer) for name, layer in found.items()} == expected
    assert all(layer.disagreements == () for layer in found.values())


def test_forms_and_images_say_their_own_layer():
    def extra(pdf, groups):
        form = pdf.make_stream(dot(20).encode())
        form.stream_dict = Dictionary(Subtype=Name.Form, BBox=Array([0, 0, 500, 500]), OC=groups[1])
        image = pdf.make_stream(b"\x00")
        image.stream_dict = Dictionary(
            Subtype=Name.Image, Width=1, Height=1, ImageMask=True, BitsPerComponent=1, OC=groups[0]
        )
        return {"XObject": Dictionary(F=pdf.make_indirect(form), I=pdf.make_indirect(image))}

    content = f"/F Do q {MM} 0 0 {MM} {39.5 * MM} 0 cm /I Do Q"
    found = by_name(read_layered(content, [("Picture",), ("Form",)], extra=extra))
    assert {name: middles(layer) for name, layer in found.items()} == {
        "Picture": [40],
        "Form": [20],
    }


def test_hidden_layers_are_read_and_marked():
    pdf = pikepdf.new()
    groups = add_layers(pdf, ("Shown",), ("Hidden",))
    pdf.Root.OCProperties.D["/OFF"] = Array([groups[1]])
    resources = Dictionary(Properties=Dictionary(L0=groups[0], L1=groups[1]))
    data = pdf_with(pdf, on("L0", dot(10)) + on("L1", dot(20)), resources)
    found = by_name(read_pdf("hidden", data))
    assert {name: layer.hidden for name, layer in found.items()} == {
        "Shown": False,
        "Hidden": True,
    }
    assert all(layer.disagreements == () for layer in found.values())


def test_white_takes_away_what_lies_on_its_own_layer_alone():
    square = f"0 g {10 * MM} {10 * MM} {10 * MM} {10 * MM} re f "
    half = f"1 g {10 * MM} {10 * MM} {5 * MM} {10 * MM} re f "
    found = by_name(read_layered(on("L0", square) + on("L1", square + half), [("One",), ("Two",)]))
    assert inked(found["One"]).area == pytest.approx(100, rel=1e-6)
    assert inked(found["Two"]).area == pytest.approx(50, rel=1e-6)


def test_a_layer_in_the_white_of_paper_is_told():
    white = f"0 0 0 0 k {10 * MM} {10 * MM} {10 * MM} {10 * MM} re f "
    artwork = read_layered(on("L0", white) + on("L1", dot(40)), [("Base", "White"), ("Art",)])
    assert by_name(artwork)["Base"].shapes == ()
    assert any("layer 'Base' is drawn in the white of paper" in note for note in artwork.notes)


def test_white_ink_that_looks_white_is_compared_too():
    """A white ink is often shown as white: the rendering sees it all the same."""
    white = spot("White")
    white[3]["/C1"] = Array([1])
    artwork = read_layered(
        on("L0", f"/W cs {circle(20 * MM, 20 * MM, 9 * MM)} f"),
        [("Base",)],
        extra=lambda pdf, groups: {"ColorSpace": Dictionary(W=white)},
    )
    assert by_name(artwork)["Base"].disagreements == ()
    assert len(by_name(artwork)["Base"].shapes) == 1


def hiding_mask(pdf, groups):
    """Resources with a graphics state that hides all that is drawn in it."""
    group = pdf.make_stream(b"0 g 0 0 500 500 re f")
    group.stream_dict = Dictionary(
        Subtype=Name.Form,
        BBox=Array([0, 0, 500, 500]),
        Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray),
    )
    mask = Dictionary(S=Name.Luminosity, G=pdf.make_indirect(group))
    return {"ExtGState": Dictionary(Hidden=Dictionary(SMask=mask))}


def test_where_a_rendering_differs_is_told_with_its_place():
    """A soft mask that hides all is not followed by the walk, and PDFium sees it."""
    content = on("L0", f"{dot(50, 30)} /Hidden gs {dot(20)}")
    artwork = read_layered(content, [("One",)], extra=hiding_mask)
    (told,) = by_name(artwork)["One"].disagreements
    numbers = told.replace("(", " ").replace(")", " ").replace(",", " ").split()
    x0, y0, x1, y1 = (float(each) for each in numbers if each[0].isdigit())
    assert 19 <= x0 < x1 <= 21
    assert 9 <= y0 < y1 <= 11
    assert "does not show" in told


@pytest.mark.parametrize("points", [0.05, 0.1, 0.25, 0.5, 1, 3])
def test_thin_lines_agree_with_a_rendering(points):
    """A frame whose sides are thinner than a pixel of the rendering, and a ring; all is found."""
    frame = f"{points} w {10 * MM} {10 * MM} {80 * MM} {30 * MM} re S"
    ring = f"{points} w {circle(50 * MM, 25 * MM, 8 * MM)} S"
    layer = by_name(read_layered(on("L0", f"{frame} {ring}"), [("Frame",)]))["Frame"]
    assert layer.disagreements == ()
    assert len(layer.shapes) == 2


@pytest.mark.parametrize("points", [0.05, 0.5, 3])
def test_thin_slits_agree_with_a_rendering(points):
    """Two rectangles one in the other, filled by the even-odd rule, and a third in the slit."""
    inner = 20 * MM + points
    hole = f"{20 * MM} {20 * MM} {40 * MM} {10 * MM} re"
    outer = f"{10 * MM} {10 * MM} {80 * MM} {30 * MM} re {hole} f*"
    filled = f"{inner} {inner} {40 * MM - 2 * points} {10 * MM - 2 * points} re f"
    layer = by_name(read_layered(on("L0", f"{outer} {filled}"), [("Panel",)]))["Panel"]
    assert layer.disagreements == ()


def test_a_frame_that_a_rendering_does_not_show_is_told():
    """The frame is as wide as four pixels of the rendering, and hidden by a soft mask."""
    content = on("L0", f"{dot(50, 25)} /Hidden gs 3 w {10 * MM} {10 * MM} {80 * MM} {30 * MM} re S")
    layer = by_name(read_layered(content, [("One",)], extra=hiding_mask))["One"]
    assert any("does not show" in told for told in layer.disagreements)


def test_a_shown_layer_that_is_not_printed_is_told():
    pdf = pikepdf.new()
    (group,) = add_layers(pdf, ("Guides",))
    group["/Usage"] = Dictionary(Print=Dictionary(PrintState=Name.OFF))
    data = pdf_with(pdf, on("L0", dot(10)), Dictionary(Properties=Dictionary(L0=group)))
    assert any("Guides" in note for note in read_pdf("a", data).notes)


def test_layers_on_which_nothing_is_drawn_are_there_and_empty():
    """One without operators, and one whose only dot lies beside the page of 100 by 50 mm."""
    content = on("L0", dot(10)) + on("L2", dot(300))
    found = by_name(read_layered(content, [("Dots",), ("White", "White"), ("Far",)]))
    assert list(map(len, (found["Dots"].shapes, found["White"].shapes, found["Far"].shapes))) == [
        1,
        0,
        0,
    ]
    assert found["White"].step == "White"
