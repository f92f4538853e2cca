"""Reads SVG in millimetres that is made of groups, circles, rectangles and polygons alone.

An example of the hook, and no reader for real drawings: it knows no paths, text, transforms or
units.
"""

import math
from xml.etree import ElementTree

from signrules import (
    Artwork,
    ArtworkError,
    ArtworkLayer,
    ArtworkPage,
    ArtworkReader,
    DocumentFault,
    Shape,
    hookimpl,
)

SVG = "{http://www.w3.org/2000/svg}"
CHORDS, TOLERANCE = 64, 0.002


def corners_of(element):
    """The corners of a shape, y down as SVG has it."""
    number = {key: float(each) for key, each in element.items() if key != "points"}
    if element.tag == f"{SVG}circle":
        turns = [2 * math.pi * at / CHORDS for at in range(CHORDS)]
        x, y, r = number["cx"], number["cy"], number["r"]
        return [(x + r * math.cos(turn), y + r * math.sin(turn)) for turn in turns]
    if element.tag == f"{SVG}rect":
        x, y, width, height = (number[key] for key in ("x", "y", "width", "height"))
        return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    places = [float(each) for each in element.get("points").replace(",", " ").split()]
    return list(zip(places[::2], places[1::2], strict=True))


def read_shapes(name, data):
    """The groups of a drawing as layers."""
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise ArtworkError([DocumentFault("", str(error), "SVG")], name) from None
    width, height = (float(each) for each in root.get("viewBox").split()[2:])
    layers = []
    for group in root.iter(f"{SVG}g"):
        step, _, kind = group.get("data-step", "").partition(" ")
        shapes = [
            Shape(tuple((x, height - y) for x, y in corners_of(each)), place=each.tag[len(SVG) :])
            for each in group
        ]
        layers.append(
            ArtworkLayer(group.get("id"), tuple(shapes), step=step or None, step_type=kind or None)
        )
    page = ArtworkPage(1, width, height, tuple(layers))
    return Artwork(name, "", (page,), chord_tolerance=TOLERANCE)


@hookimpl
def signrules_read_artwork():
    """A reader of files that end in .svg."""
    return [ArtworkReader((".svg",), read_shapes)]
