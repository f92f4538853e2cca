"""What the pixels of a picture ink: one plane of tints for each channel."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from signrules_artwork.bitmaps import MOST_PIXELS, Tints
from signrules_artwork.faults import artwork_error

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


@contextmanager
def own_limit() -> Iterator[None]:
    """Without Pillow's own warning of large pictures: `MOST_PIXELS` is the limit here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        yield


def opened_picture(data: bytes, formats: tuple[str, ...], where: str) -> Any:
    """A picture by Pillow. Raises ArtworkError for one that is damaged, or too large."""
    try:
        with own_limit():
            picture = Image.open(io.BytesIO(data), formats=formats)
        width, height = picture.size
        if width * height > MOST_PIXELS:
            found = f"an image of {width:,} by {height:,} pixels"
            raise artwork_error(where, found, f"at most {MOST_PIXELS:,} pixels")
        with own_limit():
            picture.load()
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError) as error:
        found = f"an image that cannot be read ({type(error).__name__})"
        raise artwork_error(where, found, f"a whole {' or '.join(formats)}") from None
    return picture


def picture_planes(picture: Any) -> Mapping[str, Tints]:
    """Tints by channel: those of process colours, or "ink" for a picture of greys or in red, green
    and blue, where anything but white is inked. What is transparent inks nothing.
    """
    if picture.mode == "CMYK":
        samples = np.asarray(picture)
        return {name: samples[..., at] for at, name in enumerate(PROCESS)}
    if picture.mode in {"I;16", "I;16B", "I"}:
        return {"ink": 255 - np.clip(np.asarray(picture) // 257, 0, 255).astype(np.uint8)}
    if picture.mode in {"1", "L"} and "transparency" not in picture.info:
        return {"ink": 255 - np.asarray(picture.convert("L"))}
    if picture.mode == "RGB" and "transparency" not in picture.info:
        return {"ink": 255 - np.asarray(picture).min(axis=2)}
    samples = np.asarray(picture.convert("RGBA"))
    dark = 255 - samples[..., :3].min(axis=2).astype(np.uint16)
    return {"ink": (dark * samples[..., 3] // 255).astype(np.uint8)}


def eight_bits(samples: NDArray[Any]) -> Tints:
    """Whole numbers or shares as whole numbers to 255."""
    if samples.dtype == np.bool_:
        whole: Tints = samples.astype(np.uint8) * np.uint8(255)
        return whole
    if samples.dtype == np.uint8:
        return np.asarray(samples)
    if samples.dtype == np.uint16:
        high: Tints = (samples >> 8).astype(np.uint8)
        return high
    if samples.dtype.kind == "f":
        shares: Tints = np.clip(np.nan_to_num(samples) * 255, 0, 255).astype(np.uint8)
        return shares
    raise ValueError(f"samples of the kind {samples.dtype}")
