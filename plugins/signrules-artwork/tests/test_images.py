"""Separated images: what they ink, to half a pixel, and how large their pixels are."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
import shapely
import tifffile
from drawn import by_name, inked, only_layer, polygon
from PIL import Image
from signrules_artwork.bitmaps import BAND_ROWS, tint_regions
from signrules_artwork.faults import Reading
from signrules_artwork.image.png import read_png
from signrules_artwork.image.tiff import read_tiff

from signrules.errors import ArtworkError

DPI = 254
"""A pixel is 0.1 mm: 25.4 mm to the inch."""


def disc(middle: float, radius: float, side: int = 200) -> np.ndarray:
    """A disc by the middles of pixels of a picture of so many pixels to a side."""
    places = np.arange(side) + 0.5 - middle
    return np.hypot(*np.meshgrid(places, places)) <= radius


def tiff(*images, **options) -> bytes:
    kept = io.BytesIO()
    given = {"resolution": (DPI, DPI), "resolutionunit": 2, **options}
    with tifffile.TiffWriter(kept) as writer:
        for image in images:
            writer.write(image, contiguous=False, metadata=None, **given)
    return kept.getvalue()


def png(picture, **options) -> bytes:
    kept = io.BytesIO()
    Image.fromarray(picture).save(kept, "PNG", **({"dpi": (DPI, DPI)} | options))
    return kept.getvalue()


def greys(mask) -> np.ndarray:
    return np.where(mask, 0, 255).astype(np.uint8)


def test_a_disc_is_where_its_pixels_are():
    artwork = read_png("art/white.png", png(greys(disc(60, 40))))
    layer = only_layer(artwork)
    assert layer.name == "white"
    assert artwork.pixel == pytest.approx(0.1, rel=1e-4)
    assert artwork.pages[0].height == pytest.approx(20, rel=1e-4)
    edge = shapely.Point(6, 14).buffer(4, quad_segs=400).exterior
    found = polygon(layer.shapes[0])
    assert shapely.hausdorff_distance(found.exterior, edge) < 0.05 * math.sqrt(2) + 0.001
    assert found.area == pytest.approx(disc(60, 40).sum() * 0.01, rel=1e-3)


@pytest.mark.parametrize("photometric", ["miniswhite", "minisblack"])
@pytest.mark.parametrize("bits", [1, 8, 16])
def test_black_is_ink_whatever_number_it_has(photometric, bits):
    mask = disc(60, 40) if photometric == "miniswhite" else ~disc(60, 40)
    samples = mask if bits == 1 else mask.astype(f"u{bits // 8}") * (2**bits - 1)
    layer = only_layer(read_tiff("a.tif", tiff(samples, photometric=photometric)))
    assert inked(layer).area == pytest.approx(disc(60, 40).sum() * 0.01, rel=1e-6)
    assert inked(layer).centroid.y == pytest.approx(14, abs=0.01)


def test_images_of_one_size_are_layers_of_one_page_and_others_a_page():
    small = np.zeros((100, 100), np.uint8)
    data = tiff(disc(60, 40), disc(60, 20), small, photometric="miniswhite")
    artwork = read_tiff("sign.tiff", data)
    assert [[layer.name for layer in page.layers] for page in artwork.pages] == [
        ["sign 1", "sign 2"],
        ["sign 3"],
    ]
    assert any("layers of one page" in note for note in artwork.notes)


@pytest.mark.parametrize("planar", ["contig", "separate"])
def test_channels_are_layers_by_the_names_of_their_inks(planar):
    channels = [disc(60, 10 * at) for at in range(1, 6)]
    samples = np.stack(channels, axis=0 if planar == "separate" else 2).astype(np.uint8) * 255
    names = "White\0Varnish\0Braille\0Spot\0Gloss\0"
    tags = [(332, "H", 1, 2, True), (334, "H", 1, 5, True), (333, "s", 0, names, True)]
    data = tiff(samples, photometric="separated", planarconfig=planar, extratags=tags)
    found = by_name(read_tiff("sign.tif", data))
    assert list(found) == ["White", "Varnish", "Braille", "Spot", "Gloss"]
    for channel, layer in zip(channels, found.values(), strict=True):
        assert inked(layer).area == pytest.approx(channel.sum() * 0.01, rel=1e-6)


def test_four_channels_without_names_are_process_colours():
    samples = np.zeros((200, 200, 4), np.uint8)
    samples[:100, :, 2] = 128
    found = by_name(read_tiff("a.tif", tiff(samples, photometric="separated")))
    assert list(found) == ["Cyan", "Magenta", "Yellow", "Black"]
    (shape,) = found["Yellow"].shapes
    assert shape.tint == pytest.approx(128 / 255)
    assert polygon(shape).bounds == pytest.approx((0, 10, 20, 20))


@pytest.mark.parametrize("packed", ["tiff_lzw", "tiff_deflate", "packbits", "group4", "group3"])
def test_packed_images_are_unpacked(packed):
    kept = io.BytesIO()
    picture = Image.fromarray(greys(disc(60, 40))).convert("1")
    picture.save(kept, "TIFF", compression=packed, dpi=(DPI, DPI))
    layer = only_layer(read_tiff("a.tif", kept.getvalue()))
    assert inked(layer).area == pytest.approx(disc(60, 40).sum() * 0.01, rel=1e-6)


def test_centimetres_count_too():
    data = tiff(disc(60, 40), photometric="miniswhite", resolution=(100, 50), resolutionunit=3)
    page = read_tiff("a.tif", data).pages[0]
    assert (page.width, page.height) == pytest.approx((20, 40))


def test_what_is_transparent_or_white_inks_nothing():
    samples = np.zeros((200, 200, 4), np.uint8)
    samples[..., 3] = disc(60, 40) * 255
    layer = only_layer(read_png("a.png", png(samples)))
    assert inked(layer).area == pytest.approx(disc(60, 40).sum() * 0.01, rel=1e-3)
    white = np.full((20, 20, 3), 255, np.uint8)
    assert only_layer(read_png("a.png", png(white))).shapes == ()


@pytest.mark.parametrize("unit", [1, 2])
def test_a_file_without_a_resolution_says_how_to_state_it(unit):
    options = {"resolution": (1, 1), "resolutionunit": 1} if unit == 1 else {"resolution": (0, 0)}
    with pytest.raises(ArtworkError, match="XResolution"):
        read_tiff("a.tif", tiff(disc(60, 40), photometric="miniswhite", **options))
    with pytest.raises(ArtworkError, match="pHYs"):
        read_png("a.png", png(greys(disc(60, 40)), dpi=None))


def test_tints_are_told_apart():
    samples = np.zeros((100, 100), np.uint8)
    samples[:, :50] = 255
    samples[:, 60:] = 77
    layer = only_layer(read_tiff("a.tif", tiff(samples, photometric="miniswhite")))
    found = sorted((round(shape.tint, 2), round(polygon(shape).area, 3)) for shape in layer.shapes)
    assert found == [(0.3, 40.0), (1.0, 50.0)]


def test_a_screen_of_dots_is_refused():
    noise = np.random.default_rng(3).random((1500, 1500)) < 0.5
    with pytest.raises(ArtworkError, match="no screen of dots"):
        read_tiff("a.tif", tiff(noise, photometric="miniswhite"))


@pytest.mark.parametrize("reader", [read_tiff, read_png])
@pytest.mark.parametrize(
    "data", [b"", b"II*\0", b"\x89PNG\r\n\x1a\n", b"MM\0*\0\0\0\x08" + bytes(80)]
)
def test_no_image_at_all_is_an_error(reader, data):
    with pytest.raises(ArtworkError):
        reader("a", data)


def test_a_cut_off_image_is_an_error():
    whole = tiff(disc(60, 40), photometric="miniswhite")
    picture = png(greys(disc(60, 40)))
    with pytest.raises(ArtworkError):
        read_tiff("a.tif", whole[: len(whole) // 2])
    with pytest.raises(ArtworkError):
        read_png("a.png", picture[: len(picture) // 2])


@pytest.mark.parametrize("rows", [BAND_ROWS - 1, BAND_ROWS, BAND_ROWS + 1, 2 * BAND_ROWS + 3])
def test_an_image_of_several_bands_is_outlined_as_one(rows):
    """By hand: a bar over all rows with a hole across the first band's end, and two squares that
    touch at a corner there. Every pixel is 1 mm.
    """
    tints = np.zeros((rows, 40), dtype=np.uint8)
    tints[:, 2:12] = 255
    tints[BAND_ROWS - 4 : BAND_ROWS + 3, 4:8] = 0
    tints[BAND_ROWS - 5 : BAND_ROWS, 20:25] = 255
    tints[BAND_ROWS : BAND_ROWS + 5, 25:30] = 255
    ((region, tint),) = tint_regions(tints, (1, 0, 0, -1, 0, rows), Reading())
    assert tint == 1
    assert region.is_valid
    assert region.area == np.count_nonzero(tints)
    columns, heights = np.meshgrid(np.arange(40) + 0.5, rows - np.arange(rows) - 0.5)
    assert (shapely.contains_xy(region, columns, heights) == (tints > 0)).all()
