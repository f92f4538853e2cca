"""Images in a PDF: what they ink, to half a pixel."""

from __future__ import annotations

import math

import numpy as np
import pikepdf
import pytest
import shapely
from drawn import MM, by_name, inked, only_layer, pdf_with, polygon, spot
from pikepdf import Array, Dictionary, Name
from signrules_artwork.pdf.reader import read_pdf

SIDE = 200
"""Pixels to a side of a picture that is 20 mm wide: a pixel is 0.1 mm."""


def disc(radius: float = 60.0) -> np.ndarray:
    """A disc in the middle of a picture, by the middles of its pixels."""
    middles = np.arange(SIDE) + 0.5 - SIDE / 2
    return np.hypot(*np.meshgrid(middles, middles)) <= radius


def read_image(data: bytes, masks=None, **entries):
    pdf = pikepdf.new()
    image = pdf.make_stream(data)
    given = {"Subtype": Name.Image, "Width": SIDE, "Height": SIDE, "BitsPerComponent": 8}
    image.stream_dict = Dictionary({"/" + key: each for key, each in {**given, **entries}.items()})
    for key, (mask, parts) in (masks or {}).items():
        stream = pdf.make_stream(mask)
        stream.stream_dict = Dictionary(Subtype=Name.Image, Width=SIDE, Height=SIDE, **parts)
        image["/" + key] = pdf.make_indirect(stream)
    resources = Dictionary(XObject=Dictionary(I=pdf.make_indirect(image)))
    side = 20 * MM
    content = f"q {side} 0 0 {side} {10 * MM} {20 * MM} cm /I Do Q"
    return read_pdf("image", pdf_with(pdf, content, resources))


def test_a_stencil_inks_where_its_bits_are_clear():
    data = np.packbits(~disc(), axis=1).tobytes()
    artwork = read_image(data, ImageMask=True, BitsPerComponent=1)
    layer = only_layer(artwork)
    assert artwork.pixel == pytest.approx(0.1)
    (shape,) = layer.shapes
    assert polygon(shape).area == pytest.approx(disc().sum() * 0.01, rel=1e-6)
    assert polygon(shape).bounds == pytest.approx((14, 24, 26, 36), abs=0.051)
    edge = shapely.Point(20, 30).buffer(6, quad_segs=400).exterior
    assert shapely.hausdorff_distance(polygon(shape).exterior, edge) < 0.051 * math.sqrt(2)
    assert layer.disagreements == ()


def test_a_stencil_may_be_the_other_way_round():
    data = np.packbits(disc(), axis=1).tobytes()
    artwork = read_image(data, ImageMask=True, BitsPerComponent=1, Decode=Array([1, 0]))
    assert inked(only_layer(artwork)).area == pytest.approx(disc().sum() * 0.01, rel=1e-6)


def test_the_top_row_lies_on_top():
    data = np.full((SIDE, SIDE), 255, np.uint8)
    data[:10, :20] = 0
    layer = only_layer(read_image(data.tobytes(), ColorSpace=Name.DeviceGray))
    assert inked(layer).bounds == pytest.approx((10, 39, 12, 40))


def test_a_picture_in_a_spot_colour_has_tints():
    data = np.zeros((SIDE, SIDE), np.uint8)
    data[:100] = 255
    data[100:, :50] = 128
    layer = only_layer(read_image(data.tobytes(), ColorSpace=spot("White")))
    found = sorted((shape.tint, polygon(shape).area) for shape in layer.shapes)
    # The step between two tints lies one pixel in the lighter one: darker pixels decide.
    assert found[0][0] == pytest.approx(128 / 255, abs=0.01)
    assert found[-1][0] == 1
    assert found[-1][1] == pytest.approx(200, abs=0.6)
    assert layer.name == "White"


def test_holes_and_corners_that_touch_are_kept():
    board = (np.indices((SIDE, SIDE)) // 20).sum(axis=0) % 2 == 0
    data = np.packbits(~board, axis=1).tobytes()
    layer = only_layer(read_image(data, ImageMask=True, BitsPerComponent=1))
    assert inked(layer).area == pytest.approx(200)
    ring = disc(80) & ~disc(40)
    data = np.packbits(~ring, axis=1).tobytes()
    (shape,) = only_layer(read_image(data, ImageMask=True, BitsPerComponent=1)).shapes
    assert polygon(shape).area == pytest.approx(ring.sum() * 0.01, rel=1e-6)
    assert len(shape.holes) == 1


@pytest.mark.parametrize(
    ("key", "mask", "parts"),
    [
        ("SMask", "soft", {"ColorSpace": Name.DeviceGray, "BitsPerComponent": 8}),
        ("Mask", "hard", {"ImageMask": True, "BitsPerComponent": 1}),
    ],
)
def test_masks_hide_parts_of_a_picture(key, mask, parts):
    shown = disc()
    soft = (shown * 255).astype(np.uint8).tobytes()
    data = soft if mask == "soft" else np.packbits(~shown, axis=1).tobytes()
    layer = only_layer(
        read_image(bytes(SIDE * SIDE), {key: (data, parts)}, ColorSpace=Name.DeviceGray)
    )
    assert inked(layer).area == pytest.approx(shown.sum() * 0.01, rel=1e-6)


def test_soft_edges_come_out_where_they_were_drawn():
    """A disc drawn with shares of pixels: its edge lies at half of its tint."""
    middles = np.arange(SIDE) + 0.5 - SIDE / 2
    distance = np.hypot(*np.meshgrid(middles, middles))
    for tint in (1.0, 0.3):
        shares = np.clip(60.5 - distance, 0, 1) * tint
        data = np.rint(255 - 255 * shares).astype(np.uint8).tobytes()
        (shape,) = only_layer(read_image(data, ColorSpace=Name.DeviceGray)).shapes
        edge = shapely.Point(20, 30).buffer(6, quad_segs=400).exterior
        assert shapely.hausdorff_distance(polygon(shape).exterior, edge) < 0.051 * math.sqrt(2)
        assert shape.tint == pytest.approx(tint, abs=0.01)


def test_process_pictures_are_separated():
    data = np.zeros((SIDE, SIDE, 4), np.uint8)
    data[:100, :, 0] = 255
    data[100:, :, 3] = 255
    found = by_name(read_image(data.tobytes(), ColorSpace=Name.DeviceCMYK))
    assert {name: inked(layer).bounds for name, layer in found.items()} == {
        "Cyan": pytest.approx((10, 30, 30, 40)),
        "Black": pytest.approx((10, 20, 30, 30)),
    }


def test_pictures_as_jpeg_are_read():
    import io

    from PIL import Image

    picture = Image.fromarray(np.where(disc(), 0, 255).astype(np.uint8))
    kept = io.BytesIO()
    picture.save(kept, "JPEG", quality=95)
    layer = only_layer(
        read_image(kept.getvalue(), Filter=Name.DCTDecode, ColorSpace=Name.DeviceGray)
    )
    assert inked(layer).area == pytest.approx(disc().sum() * 0.01, rel=0.01)


def test_a_photograph_is_taken_as_inked_all_over():
    noise = np.random.default_rng(7).integers(0, 255, (1500, 1500), dtype=np.uint8)
    artwork = read_image(noise.tobytes(), ColorSpace=Name.DeviceGray, Width=1500, Height=1500)
    assert inked(only_layer(artwork)).area == pytest.approx(400)
    assert any("too many edges" in note for note in artwork.notes)


def test_images_among_the_operators_are_read():
    pdf = pikepdf.new()
    side = 20 * MM
    content = f"q {side} 0 0 {side} 0 0 cm BI /W 2 /H 1 /BPC 8 /CS /G /F /AHx ID 00ff> EI Q"
    layer = only_layer(read_pdf("inline", pdf_with(pdf, content)))
    assert inked(layer).bounds == pytest.approx((0, 0, 10, 20))
