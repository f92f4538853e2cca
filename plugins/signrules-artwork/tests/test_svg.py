"""What an SVG inks: units, views, transforms, styles, clips, layers.

Expected lengths are the numbers that the file was drawn with, turned to y up by hand; 2 µm is what
the readers promise.
"""

from __future__ import annotations

import base64
import io
import math

import numpy as np
import pytest
import shapely
from drawn import by_name, inked, only_layer, polygon
from PIL import Image
from signrules_artwork.layering import OUTSIDE_LAYERS
from signrules_artwork.svg.reader import read_svg

NAMESPACES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:ed="http://editor.invalid/ns"'
)


def svg(
    content: str, attributes: str = 'width="100mm" height="50mm" viewBox="0 0 100 50"'
) -> bytes:
    return f"<svg {NAMESPACES} {attributes}>{content}</svg>".encode()


def drawn(content: str, *attributes: str):
    return read_svg("drawn.svg", svg(content, *attributes))


def bounds_of(artwork):
    return pytest.approx(inked(only_layer(artwork)).bounds, abs=0.002)


def test_a_dot_has_its_diameter_and_y_runs_up():
    layer = only_layer(drawn('<circle cx="20" cy="10" r="0.8"/>'))
    (dot,) = layer.shapes
    assert inked(layer).bounds == pytest.approx((19.2, 39.2, 20.8, 40.8), abs=0.002)
    assert math.sqrt(4 * polygon(dot).area / math.pi) == pytest.approx(1.6, abs=0.001)


def test_large_circles_are_as_round_as_small_ones():
    artwork = drawn(
        '<circle cx="500" cy="500" r="400"/>',
        'width="1000mm" height="1000mm" viewBox="0 0 1000 1000"',
    )
    (dot,) = only_layer(artwork).shapes
    radii = [math.hypot(x - 500, y - 500) for x, y in dot.outline]
    assert min(radii) > 400 - 0.001
    assert max(radii) < 400 + 0.001


@pytest.mark.parametrize(
    ("attributes", "size", "stated"),
    [
        ('width="96" height="48"', (25.4, 12.7), True),
        ('width="72pt" height="6pc"', (25.4, 25.4), True),
        ('width="2in" height="3cm"', (50.8, 30), True),
        ('viewBox="0 0 96 192"', (25.4, 50.8), False),
        ('width="100%" height="100%" viewBox="0 0 96 192"', (25.4, 50.8), False),
    ],
)
def test_a_page_has_the_size_of_its_units(attributes, size, stated):
    """An inch is 96 px, 72 pt, 6 pc (CSS Values and Units 3, from memory)."""
    artwork = drawn('<rect width="100%" height="100%"/>', attributes)
    page = artwork.pages[0]
    assert (page.width, page.height) == pytest.approx(size)
    assert bounds_of(artwork) == (0, 0, *size)
    assert any("1/96 in" in note for note in artwork.notes) != stated


@pytest.mark.parametrize(
    ("aspect", "bounds"),
    [
        ("", (25, 0, 75, 50)),
        ("xMinYMid", (0, 0, 50, 50)),
        ("xMaxYMid meet", (50, 0, 100, 50)),
        ("none", (0, 0, 100, 50)),
        ("xMidYMin slice", (0, 0, 100, 50)),
    ],
)
def test_a_view_fits_as_it_says(aspect, bounds):
    given = f'width="100mm" height="50mm" viewBox="10 10 20 20" preserveAspectRatio="{aspect}"'
    artwork = drawn('<rect x="10" y="10" width="20" height="20"/>', given)
    assert bounds_of(artwork) == bounds


def test_transforms_nest():
    content = (
        '<g transform="translate(10 5)"><g transform="scale(2)">'
        '<rect x="5" y="5" width="10" height="2.5" transform="rotate(90 5 5)"/></g></g>'
    )
    # Turned about (5, 5) the bar reaches from (2.5, 5) to (5, 15); twice that, moved, turned up.
    assert bounds_of(drawn(content)) == (15, 50 - 35, 20, 50 - 15)


def test_a_matrix_and_a_skew():
    content = '<rect width="10" height="10" transform="matrix(1 0 0.5 1 20 10) skewX(0)"/>'
    region = inked(only_layer(drawn(content)))
    assert region.area == pytest.approx(100)
    assert region.bounds == pytest.approx((20, 30, 35, 40))


PATHS = {
    "M10 10h20v10h-20z": (10, 30, 30, 40),
    "m10,10 20,0 0,10 -20,0z": (10, 30, 30, 40),
    "M10 10L30 10 30 20 10 20": (10, 30, 30, 40),
    "M10 20A10 10 0 0 1 30 20z": (10, 30, 30, 40),
    "M10 20a10,10,0,0,1,20,0z": (10, 30, 30, 40),
    "M10 20a10 10 0 0120 0z": (10, 30, 30, 40),
    "M10 20Q20 0 30 20z": (10, 30, 30, 40),
    "M10 20q5-10 10-10t10 10z": (10, 30, 30, 40),
}


@pytest.mark.parametrize(("data", "bounds"), PATHS.items())
def test_paths_are_where_they_say(data, bounds):
    """Half a circle of 10 mm; parabolas that are half as high as their handle (geometry)."""
    assert bounds_of(drawn(f'<path d="{data}"/>')) == bounds


def test_arcs_are_round():
    """An ellipse of 20 by 10 mm in two arcs has the area of an ellipse (geometry)."""
    data = "M10 20 a20 10 0 1 1 40 0 a20 10 0 1 1 -40 0z"
    region = inked(only_layer(drawn(f'<path d="{data}"/>')))
    assert region.area == pytest.approx(math.pi * 200, rel=1e-4)


def test_every_basic_shape_is_drawn():
    shapes = {
        '<rect x="10" y="10" width="20" height="10" rx="5"/>': 100 + 25 * math.pi,
        '<ellipse cx="50" cy="20" rx="20" ry="10"/>': 200 * math.pi,
        '<polygon points="10,10 30,10 30 20 10 20"/>': 200,
        '<polyline points="10,10 30,10 30 20 10 20"/>': 200,
        '<line x1="10" y1="10" x2="30" y2="10" stroke="#000" stroke-width="2"/>': 40,
    }
    for content, area in shapes.items():
        found = inked(only_layer(drawn(content))).area
        assert found == pytest.approx(area, rel=2e-4), content


def test_strokes_have_their_width_caps_and_joins():
    style = "fill:none;stroke:black;stroke-width:2;stroke-linecap:round;stroke-linejoin:round"
    artwork = drawn(f'<path style="{style}" d="M20 20H40V30"/>')
    assert bounds_of(artwork) == (19, 19, 41, 31)
    area = inked(only_layer(artwork)).area
    assert area == pytest.approx(20 * 2 + 10 * 2 - 1 + math.pi / 4 + math.pi, abs=0.005)


@pytest.mark.parametrize(("rule", "full"), [("nonzero", True), ("evenodd", False)])
def test_a_star_is_filled_by_its_rule(rule, full):
    star = "M50 5 L62 43 L30 20 L70 20 L38 43z"
    region = inked(only_layer(drawn(f'<path fill-rule="{rule}" d="{star}"/>')))
    assert region.contains(shapely.Point(50, 25)) == full


def test_uses_and_symbols_are_drawn_where_they_are_used():
    content = (
        '<defs><circle id="d" r="1"/><symbol id="s" viewBox="0 0 10 10">'
        '<rect width="20" height="10"/></symbol></defs>'
        '<use href="#d" x="10" y="10"/><use xlink:href="#d" transform="translate(20,10) scale(2)"/>'
        '<use href="#s" x="40" y="10" width="20" height="20"/>'
    )
    shapes = sorted(polygon(shape).bounds for shape in only_layer(drawn(content)).shapes)
    assert shapes == [
        pytest.approx((9, 39, 11, 41), abs=0.002),
        pytest.approx((18, 38, 22, 42), abs=0.002),
        pytest.approx((40, 20, 60, 40), abs=0.002),
    ]


def test_clips_hide_what_lies_beside_them():
    content = (
        '<clipPath id="c"><circle cx="20" cy="20" r="10"/>'
        '<use href="#b"/></clipPath><clipPath id="half" clipPathUnits="objectBoundingBox">'
        '<rect width="0.5" height="1"/></clipPath>'
        '<defs><rect id="b" x="60" y="10" width="5" height="5"/></defs>'
        '<g clip-path="url(#c)"><rect width="100" height="20"/></g>'
        '<rect x="70" y="30" width="20" height="10" clip-path="url(\'#half\')"/>'
    )
    layer = only_layer(drawn(content))
    bounds = sorted(polygon(shape).bounds for shape in layer.shapes)
    assert bounds == [
        pytest.approx((10, 30, 30, 40), abs=0.002),
        pytest.approx((60, 35, 65, 40), abs=0.002),
        pytest.approx((70, 10, 80, 20), abs=0.002),
    ]
    assert inked(layer).area == pytest.approx(50 * math.pi + 25 + 100, rel=1e-3)


@pytest.mark.parametrize(
    "hidden",
    [
        'display="none"',
        'style="display:none"',
        'visibility="hidden"',
        'style="visibility: collapse"',
        'opacity="0"',
        'fill="none"',
        'fill="transparent"',
        'fill-opacity="0%"',
        'fill="rgba(0,0,0,0)"',
        'class="gone"',
        'id="gone"',
    ],
)
def test_what_is_hidden_inks_nothing(hidden):
    content = (
        "<style>.gone { display: none } #gone { fill: none !important }</style>"
        f'<rect width="9" height="9" {hidden}/><rect x="50" width="1" height="1"/>'
    )
    assert bounds_of(drawn(content)) == (50, 49, 51, 50)


def test_styles_cascade():
    content = (
        "<style><![CDATA[ @charset 'x'; g > rect { stroke-width: 4 } .a { stroke: #f00 } "
        ".b { stroke-width: 2 !important } ]]></style>"
        '<g fill="none" stroke="black"><rect class="a b" style="stroke-width:6" x="10" y="10" '
        'width="10" height="10"/></g>'
    )
    artwork = drawn(content)
    layer = only_layer(artwork)
    assert layer.name == "#ff0000"
    assert inked(layer).bounds == pytest.approx((9, 29, 21, 41))


def test_what_is_seen_through_is_a_tint():
    (shape,) = only_layer(
        drawn('<g opacity="0.5"><rect width="9" height="9" fill-opacity="0.5"/></g>')
    ).shapes
    assert shape.tint == pytest.approx(0.25)


def test_white_takes_away_what_lies_under_it():
    content = '<rect width="10" height="10"/><rect width="5" height="10" fill="#FFF"/>'
    artwork = drawn(content)
    assert inked(only_layer(artwork)).area == pytest.approx(50)
    assert any("takes it away" in note for note in artwork.notes)


RECT = '<rect x="{}" width="5" height="5"/>'


def test_named_groups_are_layers():
    content = (
        f'<g id="base">{RECT.format(0)}</g><g id="x" ed:label="Raised text">{RECT.format(10)}'
        f'<g id="inner">{RECT.format(20)}</g></g><g id="Layer_x0020_3" style="display:none">'
        f"{RECT.format(30)}</g>{RECT.format(40)}"
    )
    found = by_name(drawn(content))
    assert {name: inked(layer).bounds[0] for name, layer in found.items()} == {
        "base": 0,
        "Raised text": 10,
        "Layer 3": 30,
        OUTSIDE_LAYERS: 40,
    }
    assert len(found["Raised text"].shapes) == 2
    assert [name for name, layer in found.items() if layer.hidden] == ["Layer 3"]


def test_a_group_around_all_is_looked_into_and_marked_layers_count_at_any_depth():
    wrapped = (
        f'<g transform="scale(1)"><g id="a">{RECT.format(0)}</g><g id="b">{RECT.format(9)}</g></g>'
    )
    assert sorted(by_name(drawn(wrapped))) == ["a", "b"]
    marked = (
        f'<g id="page"><g ed:groupmode="layer" ed:label="One">{RECT.format(0)}</g>'
        f'<g ed:groupmode="layer" ed:label="Two">{RECT.format(9)}</g></g>'
    )
    assert sorted(by_name(drawn(marked))) == ["One", "Two"]


def test_a_group_may_say_its_processing_step():
    content = (
        f'<g id="Dots" data-step="Braille">{RECT.format(0)}</g>'
        f'<g data-step="Structural Cutting">{RECT.format(9)}</g>'
    )
    told = [(layer.name, layer.step, layer.step_type) for layer in drawn(content).pages[0].layers]
    assert told == [("Dots", "Braille", None), ("Structural Cutting", "Structural", "Cutting")]


def test_without_named_groups_each_colour_is_a_layer():
    content = (
        '<rect width="5" height="5" fill="red"/><rect x="9" width="5" height="5" fill="#00f"/>'
    )
    assert sorted(by_name(drawn(content))) == ["#0000ff", "#ff0000"]


def test_text_is_read_without_shapes_and_told():
    content = (
        '<text x="10" y="20" font-size="5" font-family="Some Sans, serif" '
        'transform="rotate(-90 10 20)">'
        'MEN <tspan>2</tspan><tspan x="10" y="30">floor</tspan></text>'
    )
    artwork = drawn(content)
    first, second = only_layer(artwork).texts
    assert (first.text, second.text) == ("MEN 2", "floor")
    assert first.baseline == pytest.approx((10, 30))
    assert first.angle == pytest.approx(90)
    assert first.em == pytest.approx(5)
    assert first.font.name == "Some Sans"
    assert second.baseline == pytest.approx((20, 30))
    assert any("outlines" in note for note in artwork.notes)


def test_pictures_in_the_file_are_inked_and_others_are_not_fetched():
    samples = np.full((20, 20), 255, np.uint8)
    samples[5:10, 5:15] = 0
    kept = io.BytesIO()
    Image.fromarray(samples).save(kept, "PNG")
    data = base64.b64encode(kept.getvalue()).decode()
    content = (
        f'<image x="10" y="10" width="20" height="20" href="data:image/png;base64,{data}"/>'
        '<image href="file:///etc/hostname" width="5" height="5"/>'
        '<image href="https://example.invalid/a.png" width="5" height="5"/>'
        '<use href="other.svg#a"/>'
    )
    artwork = drawn(content)
    assert bounds_of(artwork) == (15, 30, 25, 35)
    assert artwork.pixel == pytest.approx(1)
    assert sum("not fetched" in note for note in artwork.notes) == 2
