"""Pictures within an SVG: those that stand in the file itself."""

from __future__ import annotations

import base64
import binascii
import re
import urllib.parse
from typing import Any

from signrules.errors import ArtworkError
from signrules_artwork.affine import joined, largest_stretch
from signrules_artwork.bitmaps import tint_regions
from signrules_artwork.image.planes import opened_picture, picture_planes
from signrules_artwork.painted import Ink
from signrules_artwork.svg.lengths import length_of, view_matrix
from signrules_artwork.svg.names import link_of
from signrules_artwork.svg.walk import Context, SvgWalk

_DATA = re.compile(r"data:image/(png|jpeg|jpg)(;base64)?,(.*)", flags=re.S)


def draw_picture(walk: SvgWalk, element: Any, here: Context) -> None:
    """Paints what a picture inks; one that lies outside the file is told."""
    match = _DATA.match(link_of(element))
    if match is None:
        walk.reading.note("a picture outside the file is not fetched, and was left out")
        return
    try:
        packed = match[3].encode()
        data = base64.b64decode(packed) if match[2] else urllib.parse.unquote_to_bytes(packed)
        picture = opened_picture(data, ("PNG", "JPEG"), walk.place_of(element))
    except (binascii.Error, ArtworkError):
        walk.reading.note("a picture that cannot be read was left out")
        return
    width, height = picture.size
    view = here.viewport
    place = (
        length_of(element.get("x"), view, view.width, 0.0),
        length_of(element.get("y"), view, view.height, 0.0),
        length_of(element.get("width"), view, view.width, float(width)),
        length_of(element.get("height"), view, view.height, float(height)),
    )
    aspect = element.get("preserveAspectRatio") or ""
    to_mm = joined(view_matrix([0.0, 0.0, width, height], place, aspect), here.matrix)
    walk.reading.pixel = max(walk.reading.pixel or 0.0, largest_stretch(to_mm))
    for name, tints in picture_planes(picture).items():
        regions = tint_regions(tints, to_mm, walk.reading)
        if regions is None:
            walk.reading.note("a picture with too many edges was left out")
            continue
        for region, tint in regions:
            walk.paint(region, Ink({name: tint}), here, walk.place_of(element))
