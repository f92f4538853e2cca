"""The reader of PNG: one image is one layer, named as its file."""

from __future__ import annotations

import hashlib
from pathlib import PurePath

from signrules.artwork.drawing import Artwork
from signrules_artwork.faults import Reading
from signrules_artwork.image.layers import Separation, separated_pages
from signrules_artwork.image.planes import opened_picture, picture_planes
from signrules_artwork.image.resolution import pixel_size, stated_dots

HOW = "save it with its resolution (the part pHYs of a PNG), such as 600 dpi"


def read_png(name: str, data: bytes) -> Artwork:
    """A PNG as artwork. Raises ArtworkError for one without a resolution, or that is damaged."""
    reading = Reading("the image")
    picture = opened_picture(data, ("PNG",), "")
    across, down = picture.info.get("dpi", (0.0, 0.0))
    pixel = pixel_size(stated_dots(across), stated_dots(down), "the image", HOW)
    if getattr(picture, "n_frames", 1) > 1:
        reading.note("only the first picture of an animation is read")
    (tints,) = picture_planes(picture).values()
    planes = {PurePath(name).stem or name: tints}
    pages = separated_pages([Separation(planes, pixel)], reading)
    size = max(pixel.width, pixel.height)
    fingerprint = "sha256:" + hashlib.sha256(data).hexdigest()
    return Artwork(name, fingerprint, pages, 0.0, size, reading.told())
