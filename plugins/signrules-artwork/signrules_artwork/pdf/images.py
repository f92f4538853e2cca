"""Images of a PDF as inked regions (ISO 32000-1, 8.9, from memory)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from signrules_artwork.affine import Matrix, joined, largest_stretch, moved_points
from signrules_artwork.bitmaps import MOST_PIXELS, Tints, mask_region, mean_tint, tint_regions
from signrules_artwork.faults import artwork_error
from signrules_artwork.painted import Ink
from signrules_artwork.pdf.colours import GRAY, RGB_COLORANT, ColourSpace, colour_space
from signrules_artwork.pdf.objects import entry, number_of, numbers_of, plain_name, stream_bytes
from signrules_artwork.pdf.walk import Walk
from signrules_artwork.regions import filled_region

MOST_IMAGE_BYTES = 600_000_000
PICTURE_FILTERS = frozenset(
    {"DCTDecode", "DCT", "JPXDecode", "CCITTFaxDecode", "CCF", "JBIG2Decode"}
)
Samples = NDArray[Any]


def paint_image(walk: Walk, image: Any) -> None:
    """Paints what an image inks; `image` is its stream, in the unit square of the state."""
    walk.objects += 1
    width, height = int(number_of(image.get("/Width"))), int(number_of(image.get("/Height")))
    if width < 1 or height < 1:
        walk.reading.note("an image without pixels was left out")
        return
    if width * height > MOST_PIXELS:
        found = f"an image of {width:,} by {height:,} pixels"
        raise artwork_error(walk.reading.where, found, f"at most {MOST_PIXELS:,} pixels")
    to_mm = joined((1 / width, 0.0, 0.0, -1 / height, 0.0, 1.0), walk.state.matrix)
    walk.reading.pixel = max(walk.reading.pixel or 0.0, largest_stretch(to_mm))
    if bool(image.get("/ImageMask") or False):
        _paint_stencil(walk, image, (height, width), to_mm)
    else:
        _paint_picture(walk, image, (height, width), to_mm)


def _paint_stencil(walk: Walk, image: Any, size: tuple[int, int], to_mm: Matrix) -> None:
    """A mask that the colour of fills is painted through, where its samples are 0."""
    samples = _samples(walk, image, size, 1, 1)[..., 0]
    painted = samples > 0.5 if numbers_of(image.get("/Decode"))[:1] == [1.0] else samples < 0.5
    region = mask_region(painted, to_mm, walk.reading)
    walk.paint(_frame(walk, size, to_mm) if region is None else region, walk.state.fill)


def _paint_picture(walk: Walk, image: Any, size: tuple[int, int], to_mm: Matrix) -> None:
    """An image with colours of its own. Where it has no mask its white covers what lies below."""
    spaces = entry(walk.resources, "/ColorSpace")
    given = image.get("/ColorSpace")
    space = GRAY if given is None else colour_space(given, spaces, walk.reading)
    bits = int(number_of(image.get("/BitsPerComponent"), 8.0))
    samples = _samples(walk, image, size, max(1, len(space.start)), bits)
    planes = _decoded(samples, numbers_of(image.get("/Decode")), space, bits)
    opacity = _opacity(walk, image, size)
    if opacity is None:
        walk.paint(_frame(walk, size, to_mm), walk.state.fill, Ink({}))
    elif opacity.max() <= 0:
        return
    for name, tints in _tints_by_colorant(space, planes).items():
        shown = tints if opacity is None else tints * opacity
        whole = np.clip(np.rint(shown * 255), 0, 255).astype(np.uint8)
        _paint_tints(walk, name, whole, size, to_mm)


def _paint_tints(walk: Walk, name: str, tints: Tints, size: tuple[int, int], to_mm: Matrix) -> None:
    """Paints one colorant of an image; one with too many edges as a whole."""
    regions = tint_regions(tints, to_mm, walk.reading)
    if regions is None:
        walk.reading.note("an image with too many edges is taken to be inked all over")
        regions = [(_frame(walk, size, to_mm), mean_tint(tints))]
    for region, tint in regions:
        walk.paint(region, walk.state.fill, Ink({name: tint}))


def _frame(walk: Walk, size: tuple[int, int], to_mm: Matrix) -> Any:
    """The whole of an image, in mm."""
    height, width = size
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    return filled_region([moved_points(to_mm, corners)], even_odd=False, reading=walk.reading)


def _samples(walk: Walk, image: Any, size: tuple[int, int], components: int, bits: int) -> Samples:
    """Samples as stored, in rows, columns and components, from 0 to 1."""
    filters = image.get("/Filter")
    names = list(filters) if isinstance(filters, pikepdf.Array) else [filters]
    if any(plain_name(name) in PICTURE_FILTERS for name in names):
        return _picture_samples(walk, image, size, components)
    if bits not in {1, 2, 4, 8, 16}:
        raise ValueError("an image of no known depth")
    data = stream_bytes(image, walk.reading, MOST_IMAGE_BYTES)
    height, width = size
    row_bytes = (width * components * bits + 7) // 8
    whole = np.frombuffer(data[: row_bytes * height].ljust(row_bytes * height, b"\0"), np.uint8)
    rows = whole.reshape(height, row_bytes)
    if bits < 8:
        rows = _unpacked(rows, bits)
    elif bits == 16:
        rows = rows[:, ::2]  # The high byte says enough.
    kept = rows[:, : width * components].reshape(height, width, components)
    scaled: Samples = kept.astype(np.float32) / (2 ** min(bits, 8) - 1)
    return scaled


def _unpacked(rows: NDArray[np.uint8], bits: int) -> NDArray[np.uint8]:
    """Samples of fewer than 8 bits, one a byte."""
    shifts = np.arange(8 - bits, -1, -bits, dtype=np.uint8)
    found: NDArray[np.uint8] = (rows[..., None] >> shifts) & (2**bits - 1)
    return found.reshape(len(rows), -1)


def _picture_samples(walk: Walk, image: Any, size: tuple[int, int], components: int) -> Samples:
    """Samples of what is packed as a picture of its own (JPEG, fax and the like)."""
    try:
        picture = pikepdf.PdfImage(image).as_pil_image()
    except Exception as error:
        # pikepdf and Pillow raise whatever they meet in a damaged picture.
        kind = type(error).__name__
        walk.reading.note(f"an image that cannot be unpacked is taken as solid ({kind})")
        return np.zeros((*size, components), np.float32)
    if picture.mode == "1":
        picture = picture.convert("L")
    values = np.asarray(picture, dtype=np.float32) / 255
    values = values.reshape(*values.shape[:2], -1)
    if values.shape != (*size, components):
        raise ValueError("a picture that is not as its image says")
    return values


def _decoded(
    samples: Samples, decode: Sequence[float], space: ColourSpace, bits: int
) -> list[Samples]:
    """Components as the colour space counts them."""
    planes = [samples[..., at] for at in range(samples.shape[2])]
    if space.name == "Indexed":
        return [np.rint(plane * (2 ** min(bits, 8) - 1)) for plane in planes]
    if len(decode) != 2 * len(planes):
        return planes
    pairs = zip(decode[::2], decode[1::2], strict=True)
    return [low + plane * (high - low) for plane, (low, high) in zip(planes, pairs, strict=True)]


def _tints_by_colorant(space: ColourSpace, planes: list[Samples]) -> Mapping[str, Any]:
    """Tints of all pixels for each colorant."""
    if not space.draws:
        return {}
    if space.name == "RGB":
        return {RGB_COLORANT: 1 - np.minimum.reduce(planes)}
    if space.name == "Lab":
        return {RGB_COLORANT: 1 - planes[0]}
    if space.name != "Indexed":
        return space.inks(planes)  # type: ignore[arg-type]
    entries = [space.inks([float(at)]) for at in range(256)]
    names = dict.fromkeys(name for tints in entries for name in tints)
    numbers = planes[0].astype(np.uint8)
    return {name: np.array([tints.get(name, 0.0) for tints in entries])[numbers] for name in names}


def _opacity(walk: Walk, image: Any, size: tuple[int, int]) -> Samples | None:
    """How much of each pixel shows, by the image's masks; None where it has none."""
    soft, hard = image.get("/SMask"), image.get("/Mask")
    if isinstance(soft, pikepdf.Stream):
        shape = int(number_of(soft.get("/Height"))), int(number_of(soft.get("/Width")))
        bits = int(number_of(soft.get("/BitsPerComponent"), 8.0))
        return _fitted(_mask_samples(walk, soft, shape, bits), size)
    if isinstance(hard, pikepdf.Stream):
        shape = int(number_of(hard.get("/Height"))), int(number_of(hard.get("/Width")))
        values = _mask_samples(walk, hard, shape, 1)
        inverted = numbers_of(hard.get("/Decode"))[:1] == [1.0]
        return _fitted(values if inverted else 1 - values, size)
    if isinstance(hard, pikepdf.Array):
        walk.reading.note("colours of an image that are masked out are taken as drawn")
    return None


def _mask_samples(walk: Walk, mask: Any, shape: tuple[int, int], bits: int) -> Samples:
    if min(shape) < 1 or shape[0] * shape[1] > MOST_PIXELS:
        raise ValueError("a mask without a usable size")
    return _samples(walk, mask, shape, 1, bits)[..., 0]


def _fitted(values: Samples, size: tuple[int, int]) -> Samples:
    """A mask at the size of its image, by the nearest sample."""
    rows = np.arange(size[0]) * values.shape[0] // size[0]
    columns = np.arange(size[1]) * values.shape[1] // size[1]
    fitted: Samples = values[rows][:, columns]
    return fitted
