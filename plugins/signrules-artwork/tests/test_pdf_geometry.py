"""Where things lie and how large they are: paths, strokes, clips, forms, boxes.

Expected lengths are the numbers that the file was drawn with; 2 µm is what the readers promise.
"""

from __future__ import annotations

import itertools
import math

import pikepdf
import pytest
import shapely
from drawn import MM, by_name, circle, drawn, inked, only_layer, pdf_with, polygon
from pikepdf import Array, Dictionary, Name
from signrules_artwork.chords import CHORD_TOLERANCE_MM
from signrules_artwork.pdf.reader import read_pdf

TWO_MICRONS = 0.002


def bounds_of(layer):
    return pytest.approx(inked(layer).bounds, abs=TWO_MICRONS)


def test_a_dot_has_its_diameter_and_its_place():
    layer = only_layer(drawn(f"0 g {circle(20 * MM, 30 * MM, 1.55 * MM)} f"))
    (dot,) = layer.shapes
    assert bounds_of(layer) == (19.225, 29.225, 20.775, 30.775)
    area = math.pi * 1.55**2 / 4
    assert math.sqrt(polygon(dot).area / area) * 1.55 == pytest.approx(1.55, abs=TWO_MICRONS)
    radii = [math.hypot(x - 20, y - 30) for x, y in dot.outline]
    assert max(radii) - min(radii) < 0.00028 * 0.775 + CHORD_TOLERANCE_MM


@pytest.mark.parametrize("diameter", [0.5, 20, 400])
def test_no_chord_lies_farther_from_its_curve_than_is_promised(diameter):
    """The middle of a chord is where it lies farthest from a circle (geometry)."""
    box = Array([0, 0, 1000 * MM, 1000 * MM])
    artwork = drawn(f"0 g {circle(500 * MM, 500 * MM, diameter * MM)} f", MediaBox=box)
    (dot,) = only_layer(artwork).shapes
    ring = [*dot.outline, dot.outline[0]]
    gaps = [
        math.hypot((x0 + x1) / 2 - 500, (y0 + y1) / 2 - 500) - diameter / 2
        for (x0, y0), (x1, y1) in itertools.pairwise(ring)
    ]
    bulge = 0.00028 * diameter / 2  # of the four curves themselves
    assert artwork.chord_tolerance == CHORD_TOLERANCE_MM
    assert min(gaps) > -CHORD_TOLERANCE_MM - 1e-6
    assert max(gaps) < bulge


def test_the_three_curve_operators_draw_the_same_curve():
    """`v` repeats the start and `y` the end as a handle (ISO 32000-1, table 59, from memory)."""
    spelled = [
        "10 10 m 10 10 60 90 90 10 c f",
        "10 10 m 60 90 90 10 v f",
        "10 10 m 10 10 60 90 90 10 c h f",
    ]
    first, *others = [inked(only_layer(drawn("0 g " + each))) for each in spelled]
    assert all(other.equals_exact(first, 1e-9) for other in others)
    left = inked(only_layer(drawn("0 g 10 10 m 40 90 90 10 y f")))
    right = inked(only_layer(drawn("0 g 10 10 m 40 90 90 10 90 10 c f")))
    assert left.equals_exact(right, 1e-9)


STAR = "50 90 m 26 20 l 90 64 l 10 64 l 74 20 l h "


@pytest.mark.parametrize(("operator", "holes"), [("f", 0), ("f*", 1)])
def test_a_star_is_filled_by_the_rule_of_its_operator(operator, holes):
    """The middle of a star of five lines has the winding number 2: full, or empty (geometry)."""
    region = inked(only_layer(drawn("0 g " + STAR + operator)))
    middle = shapely.Point(50 / MM, 54 / MM)
    assert region.contains(middle) == (holes == 0)
    assert region.contains(shapely.Point(50 / MM, 85 / MM))


def test_a_ring_drawn_the_other_way_is_a_hole():
    outer, inner = "10 10 100 100 re ", "20 20 m 20 50 l 50 50 l 50 20 l h "
    (shape,) = only_layer(drawn(f"0 g {outer}{inner} f")).shapes
    assert polygon(shape).area == pytest.approx((100 * 100 - 30 * 30) / MM**2, rel=1e-6)
    assert len(shape.holes) == 1
    same_way = "20 20 m 50 20 l 50 50 l 20 50 l h "
    (shape,) = only_layer(drawn(f"0 g {outer}{same_way} f")).shapes
    assert polygon(shape).area == pytest.approx(100 * 100 / MM**2, rel=1e-6)


def test_shapes_that_overlap_are_inked_as_shapely_says():
    squares = [(x * 7.0, y * 5.0, 9.0) for x in range(6) for y in range(5)]
    content = " ".join(f"{x} {y} {side} {side} re" for x, y, side in squares)
    region = inked(only_layer(drawn(f"0 g {content} f")))
    union = shapely.union_all([shapely.box(x, y, x + side, y + side) for x, y, side in squares])
    assert region.area * MM**2 == pytest.approx(union.area, rel=1e-6)


@pytest.mark.parametrize(
    ("style", "bounds"),
    [
        ("0 J", (20, 19, 40, 21)),
        ("1 J", (19, 19, 41, 21)),
        ("2 J", (19, 19, 41, 21)),
    ],
)
def test_a_line_has_its_width_and_its_caps(style, bounds):
    content = f"{2 * MM} w {style} {20 * MM} {20 * MM} m {40 * MM} {20 * MM} l S"
    layer = only_layer(drawn(content))
    assert bounds_of(layer) == bounds
    ends = {"0 J": 0, "1 J": math.pi, "2 J": 4}[style]  # of half circles or squares of 1 mm
    assert inked(layer).area == pytest.approx(40 + ends, abs=0.005)


@pytest.mark.parametrize(("style", "corner"), [("0 j", 1.0), ("1 j", math.pi / 4), ("2 j", 0.5)])
def test_a_corner_is_joined_as_it_says(style, corner):
    """Beyond the two arms: a square, a quarter of a circle, or half a square of 1 mm (geometry)."""
    points = [(20, 20), (40, 20), (40, 40)]
    path = " ".join(f"{x * MM} {y * MM} {op}" for (x, y), op in zip(points, "mll", strict=True))
    layer = only_layer(drawn(f"{2 * MM} w {style} {path} S"))
    assert inked(layer).area == pytest.approx(40 + 40 - 1 + corner, abs=0.003)


def test_a_stroked_circle_is_a_ring():
    layer = only_layer(drawn(f"{4 * MM} w {circle(30 * MM, 25 * MM, 5 * MM)} S"))
    (ring,) = layer.shapes
    assert bounds_of(layer) == (25.5, 20.5, 34.5, 29.5)
    (hole,) = ring.holes
    assert shapely.Polygon(hole).bounds == pytest.approx((29.5, 24.5, 30.5, 25.5), abs=TWO_MICRONS)


def test_dashes_without_length_and_round_caps_are_dots():
    """A common way to draw a row of dots."""
    content = f"{1.6 * MM} w 1 J [0 {2.5 * MM}] 0 d {10 * MM} {20 * MM} m {30 * MM} {20 * MM} l S"
    dots = only_layer(drawn(content)).shapes
    middles = sorted(polygon(dot).centroid.x for dot in dots)
    assert middles == pytest.approx([10 + 2.5 * at for at in range(9)], abs=TWO_MICRONS)
    areas = [polygon(dot).area for dot in dots]
    assert areas == pytest.approx([math.pi * 0.64] * 9, rel=0.002)


def test_dashes_start_at_their_phase():
    content = f"{MM} w [{4 * MM} {2 * MM}] {3 * MM} d {10 * MM} {20 * MM} m {30 * MM} {20 * MM} l S"
    found = sorted(polygon(dash).bounds[::2] for dash in only_layer(drawn(content)).shapes)
    expected = [(10, 11), (13, 17), (19, 23), (25, 29)]
    assert found == [pytest.approx(pair, abs=1e-6) for pair in expected]


def test_a_line_stretched_one_way_is_thicker_one_way():
    content = f"3 0 0 1 0 0 cm {2 * MM} w {10 * MM} {10 * MM} m {10 * MM} {30 * MM} l S"
    assert bounds_of(only_layer(drawn(content))) == (27, 10, 33, 30)


def test_a_line_without_width_is_told():
    artwork = drawn(f"0 w {10 * MM} {10 * MM} m {30 * MM} {10 * MM} l S")
    assert inked(only_layer(artwork)).bounds == pytest.approx((10, 9.99, 30, 10.01), abs=1e-6)
    assert any("without a width" in note for note in artwork.notes)


def test_clips_meet_and_end_with_their_state():
    square = f"{10 * MM} {10 * MM} {20 * MM} {20 * MM} re"
    content = (
        f"q {square} W n {circle(30 * MM, 20 * MM, 20 * MM)} W n 0 g 0 0 500 500 re f Q "
        f"0 g {50 * MM} {10 * MM} {5 * MM} {5 * MM} re f"
    )
    half, whole = only_layer(drawn(content)).shapes
    assert polygon(half).bounds == pytest.approx((20, 10, 30, 30), abs=TWO_MICRONS)
    assert polygon(half).area == pytest.approx(math.pi * 50, rel=0.001)
    assert polygon(whole).area == pytest.approx(25)


def test_forms_nest_with_their_matrices_and_boxes():
    pdf = pikepdf.new()
    inner = pdf.make_stream(b"0 g 0 0 10 10 re f")
    inner.stream_dict = Dictionary(
        Subtype=Name.Form, BBox=Array([0, 0, 10, 4]), Matrix=Array([2, 0, 0, 2, 5, 0])
    )
    outer = pdf.make_stream(b"q 1 0 0 1 20 30 cm /In Do Q")
    outer.stream_dict = Dictionary(
        Subtype=Name.Form,
        BBox=Array([0, 0, 500, 500]),
        Resources=Dictionary(XObject=Dictionary(In=pdf.make_indirect(inner))),
    )
    resources = Dictionary(XObject=Dictionary(Out=pdf.make_indirect(outer)))
    artwork = read_pdf("a", pdf_with(pdf, f"{MM} 0 0 {MM} 0 0 cm /Out Do", resources))
    assert bounds_of(only_layer(artwork)) == (25, 30, 45, 38)


BAR = f"0 g {10 * MM} {20 * MM} {30 * MM} {5 * MM} re f"
"""A bar from (10, 20) to (40, 25) mm on a page of 100 by 50 mm."""


@pytest.mark.parametrize(
    ("turn", "bounds"),
    [
        (0, (10, 20, 40, 25)),
        (90, (20, 60, 25, 90)),
        (180, (60, 25, 90, 30)),
        (270, (25, 10, 30, 40)),
        (-90, (25, 10, 30, 40)),
    ],
)
def test_a_page_is_read_as_it_is_seen(turn, bounds):
    """`Rotate` turns clockwise (ISO 32000-1, table 30, from memory); bounds turned by hand."""
    artwork = drawn(BAR, Rotate=turn)
    page = artwork.pages[0]
    assert bounds_of(only_layer(artwork)) == bounds
    size = (50, 100) if turn % 180 else (100, 50)
    assert (page.width, page.height) == pytest.approx(size)
    assert only_layer(artwork).disagreements == ()


def test_the_unit_of_a_page_scales_it():
    artwork = drawn(BAR, UserUnit=2)
    assert bounds_of(only_layer(artwork)) == (20, 40, 80, 50)
    assert artwork.pages[0].width == pytest.approx(200)


@pytest.mark.parametrize(
    ("boxes", "bounds", "name"),
    [
        ({}, (10, 20, 40, 25), "MediaBox"),
        ({"CropBox": (5, 10, 90, 40)}, (5, 10, 35, 15), "CropBox"),
        ({"CropBox": (1, 1, 99, 49), "TrimBox": (8, 4, 60, 45)}, (2, 16, 32, 21), "TrimBox"),
    ],
)
def test_the_origin_is_the_corner_of_the_trimmed_page(boxes, bounds, name):
    given = {key: Array([side * MM for side in box]) for key, box in boxes.items()}
    artwork = drawn(BAR, **given)
    assert bounds_of(only_layer(artwork)) == bounds
    assert any(note.endswith(name) for note in artwork.notes)


def test_what_lies_beside_the_page_is_left_out():
    artwork = drawn(f"{BAR} -1e9 -1e9 10 10 re f 1e7 0 10 10 re f")
    assert len(only_layer(artwork).shapes) == 1


def test_a_shape_without_size_is_left_out_and_told():
    artwork = drawn(f"{BAR} {circle(50, 50, 0)} f 10 10 0 50 re f")
    assert len(only_layer(artwork).shapes) == 1
    assert any("no size" in note for note in artwork.notes)


def test_each_page_is_read_by_itself():
    pdf = pikepdf.new()
    pdf_with(pdf, BAR)
    data = pdf_with(pdf, f"0 g 0 0 {MM} {MM} re f", MediaBox=Array([0, 0, 10 * MM, 10 * MM]))
    artwork = read_pdf("two", data)
    assert [page.number for page in artwork.pages] == [1, 2]
    assert artwork.pages[1].height == pytest.approx(10)
    assert inked(by_name(artwork, 1)["Black"]).area == pytest.approx(1)
