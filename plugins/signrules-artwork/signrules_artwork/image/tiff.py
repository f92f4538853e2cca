"""The reader of TIFF: one image or one channel is a layer.

Tags and their meaning are those of TIFF 6.0 (from memory). tifffile reads images of any number of
channels, Pillow those that are packed as faxes are.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping
from pathlib import PurePath
from typing import Any

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from signrules.artwork.drawing import Artwork
from signrules.errors import ArtworkError
from signrules_artwork.bitmaps import MOST_PIXELS, Tints
from signrules_artwork.faults import Reading, artwork_error
from signrules_artwork.image.layers import Separation, separated_pages
from signrules_artwork.image.planes import PROCESS, eight_bits, own_limit, picture_planes
from signrules_artwork.image.resolution import PixelSize, pixel_size, stated_dots

HOW = "save it with its resolution (the tags XResolution and YResolution), such as 600 dpi"
MOST_IMAGES = 200
MOST_CHANNELS = 64
WHITE_IS_ZERO, BLACK_IS_ZERO, RGB, PALETTE, SEPARATED = 0, 1, 2, 3, 5
"""Values of the tag PhotometricInterpretation."""

DOTS_PER_INCH = {2: 1.0, 3: 2.54}
"""What dots count by, by the tag ResolutionUnit: the inch or the centimetre."""

ALPHAS = (1, 2)
REDUCED = 1


def read_tiff(name: str, data: bytes) -> Artwork:
    """A TIFF as artwork. Raises ArtworkError for one without a resolution, or that is damaged."""
    reading = Reading("the file")
    try:
        with tifffile.TiffFile(io.BytesIO(data)) as file:
            count = min(len(file.pages), MOST_IMAGES + 1)
            pages: list[Any] = [file.pages[at] for at in range(count)]
            pages = [page for page in pages if not page.subfiletype & REDUCED]
            separations = _separations(name, data, pages, reading)
    except ArtworkError:
        raise
    except Exception as error:
        # tifffile raises whatever it meets in a damaged file.
        found = f"no readable TIFF ({type(error).__name__})"
        raise artwork_error("", found, "a whole TIFF: export it again") from None
    found_pages = separated_pages(separations, reading)
    sizes = [max(each.pixel.width, each.pixel.height) for each in separations]
    fingerprint = "sha256:" + hashlib.sha256(data).hexdigest()
    return Artwork(name, fingerprint, found_pages, 0.0, max(sizes), reading.told())


def _separations(name: str, data: bytes, pages: list[Any], reading: Reading) -> list[Separation]:
    if not 0 < len(pages) <= MOST_IMAGES:
        found = f"{len(pages)} images" if not pages else f"more than {MOST_IMAGES} images"
        raise artwork_error("", found, f"1 to {MOST_IMAGES} images")
    stem = PurePath(name).stem or name
    separations, taken = [], set[str]()
    pixels = sum(page.imagelength * page.imagewidth * page.samplesperpixel for page in pages)
    if pixels > MOST_PIXELS:
        found = f"images of {pixels:,} pixels in all channels"
        raise artwork_error("", found, f"at most {MOST_PIXELS:,} in one file")
    for at, page in enumerate(pages, 1):
        where = f"image {at}"
        pixel = _pixel_size(page, where)
        planes = _planes(page, at - 1, data, where, reading)
        own = _text(page, 285) or (stem if len(pages) == 1 else f"{stem} {at}")
        named = {}
        for channel, tints in planes.items():
            title = channel or own
            title = title if title not in taken else f"{own} {title}"
            taken.add(title)
            named[title] = tints
        separations.append(Separation(named, pixel))
    return separations


def _pixel_size(page: Any, where: str) -> PixelSize:
    unit = DOTS_PER_INCH.get(_tag(page, 296, 2), 0.0)
    dots = [stated_dots(_tag(page, code, 0)) * unit for code in (282, 283)]
    return pixel_size(dots[0], dots[1], where, HOW)


def _planes(
    page: Any, index: int, data: bytes, where: str, reading: Reading
) -> Mapping[str, Tints]:
    """Tints by channel; the name "" is the image itself."""
    samples = _samples(page)
    if samples is None or page.photometric == PALETTE:
        planes = list(picture_planes(_picture(data, index, where)).items())
        return {(name if len(planes) > 1 else ""): tints for name, tints in planes}
    count = samples.shape[2]
    if count > MOST_CHANNELS:
        found = f"{count} channels"
        raise artwork_error(where, found, f"at most {MOST_CHANNELS} channels")
    if page.photometric == RGB:
        return _colour_planes(page, samples, reading)
    if page.photometric not in {WHITE_IS_ZERO, BLACK_IS_ZERO, SEPARATED}:
        found = f"colours of the kind {page.photometric}"
        raise artwork_error(where, found, "greys, separated colours, or red, green and blue")
    if page.photometric == BLACK_IS_ZERO:
        samples = 255 - samples
    names = _channel_names(page, count)
    return {name: samples[..., at] for at, name in enumerate(names)}


def _colour_planes(page: Any, samples: Tints, reading: Reading) -> Mapping[str, Tints]:
    """What is not white in red, green and blue, as one plane; further channels by themselves."""
    tints = 255 - samples[..., :3].min(axis=2)
    planes: dict[str, Tints] = {"": tints}
    for at in range(3, samples.shape[2]):
        if at == 3 and tuple(page.extrasamples)[:1] and page.extrasamples[0] in ALPHAS:
            planes[""] = (tints.astype(np.uint16) * samples[..., 3] // 255).astype(np.uint8)
        else:
            reading.note("a channel beside red, green and blue is taken as ink where it is not 0")
            planes[f"channel {at + 1}"] = samples[..., at]
    return planes


def _channel_names(page: Any, count: int) -> list[str]:
    """Names of channels: as the tag InkNames says, those of process colours, or their number."""
    if count == 1:
        return [""]
    stated = [part for part in _text(page, 333).split("\0") if part]
    if page.photometric == SEPARATED and not stated and _tag(page, 332, 1) == 1:
        stated = list(PROCESS)
    names = stated[:count]
    return names + [f"channel {at + 1}" for at in range(len(names), count)]


def _samples(page: Any) -> Tints | None:
    """Samples as rows, columns and channels, to 255; None for what tifffile cannot unpack."""
    try:
        samples: NDArray[Any] = page.asarray()
    except Exception:
        # tifffile lacks the means for some ways to pack an image; Pillow is tried then.
        return None
    if samples.ndim == 2:
        samples = samples[..., None]
    elif samples.ndim == 3 and page.planarconfig == 2:
        samples = np.moveaxis(samples, 0, 2)
    if samples.ndim != 3:
        return None
    if page.bitspersample in {2, 4}:
        wide: Tints = (samples * (255 // (2**page.bitspersample - 1))).astype(np.uint8)
        return wide
    return eight_bits(samples)


def _picture(data: bytes, index: int, where: str) -> Any:
    """An image of the file by Pillow."""
    try:
        with own_limit():
            picture = Image.open(io.BytesIO(data), formats=("TIFF",))
            picture.seek(index)
            picture.load()
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError) as error:
        found = f"an image that cannot be unpacked ({type(error).__name__})"
        expected = "a whole TIFF without packing, or packed by LZW, Deflate or as a fax"
        raise artwork_error(where, found, expected) from None
    return picture


def _tag(page: Any, code: int, otherwise: Any) -> Any:
    tag = page.tags.get(code)
    return otherwise if tag is None else tag.value


def _text(page: Any, code: int) -> str:
    value = _tag(page, code, "")
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    return str(value).strip("\0 ")
