"""Artwork drawn for the tests: shapes, dots and letters of known sizes. All of it is invented."""

from __future__ import annotations

import math

import signrules
from signrules.artwork.drawing import Artwork, ArtworkLayer, ArtworkPage, Shape

FINGERPRINT = "sha256:" + "0" * 64
TOLERANCE = 0.002
"""How far chords of the circles here may lie from them, in mm."""


def rectangle(x, y, width, height, **more):
    ring = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return Shape(ring, **more)


def circle_ring(x, y, diameter, chords=None):
    """Points on a circle, its outermost ones among them, as many that no chord lies further than
    the tolerance from it.
    """
    radius = diameter / 2
    if chords is None:
        quarter = math.ceil(math.pi / math.acos(1 - TOLERANCE / radius) / 4)
        chords = 4 * max(quarter, 2)
    angles = [2 * math.pi * at / chords for at in range(chords)]
    return tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles)


def circle(x, y, diameter, **more):
    return Shape(circle_ring(x, y, diameter), **more)


def ring_shape(x, y, diameter, stroke):
    """A round O: a circle with a hole."""
    return Shape(circle_ring(x, y, diameter), (circle_ring(x, y, diameter - 2 * stroke),))


def artwork_of(*layers, width=200.0, height=200.0, file="sign.pdf", tolerance=TOLERANCE, **more):
    page = ArtworkPage(1, width, height, tuple(layers))
    return Artwork(file, FINGERPRINT, (page,), tolerance, **more)


def layer_of(name, *shapes, **more):
    return ArtworkLayer(name, tuple(shapes), **more)


DOT, STEP, CELL, LINE = 1.55, 2.34, 6.2, 10.1
"""Diameter and spacings of the braille drawn here, in mm."""

DOT_PLACES = {1: (0, 0), 2: (0, 1), 3: (0, 2), 4: (1, 0), 5: (1, 1), 6: (1, 2)}
"""Column and row of the dots of a cell, by the Unicode Standard's numbers."""


def dot_centres(lines, at=(20.0, 100.0), *, turn=0.0, step=STEP, cell=CELL, line=LINE):
    """The centres of the dots of lines of braille patterns, turned about the first dot 1."""
    angle = math.radians(turn)
    centres = []
    for number, text in enumerate(lines):
        for index, pattern in enumerate(text):
            for dot, (column, row) in DOT_PLACES.items():
                if (ord(pattern) - 0x2800) >> (dot - 1) & 1:
                    x, y = index * cell + column * step, -number * line - row * step
                    centres.append(
                        (
                            at[0] + x * math.cos(angle) - y * math.sin(angle),
                            at[1] + x * math.sin(angle) + y * math.cos(angle),
                        )
                    )
    return centres


def dot_shapes(centres, diameter=DOT):
    return [circle(x, y, diameter) for x, y in centres]


SHOP = {
    "signrules": 1,
    "printers": {"flatbed": signrules.sample_job()["printer"]},
    "inks": {
        "blue": {"role": "colour", "layer": "10 um"},
        "clear": {"role": "clear", "layer": "33 um +- 1 um"},
        "white": {"role": "white", "layer": "12 um"},
    },
    "sheets": {
        "acrylic": {"material": "acrylic", "thickness": "3 mm +- 0.2 mm", "size": [200, 200]}
    },
    "layers": [
        {"step": "Braille", "id": "dots", "ink": "clear", "layers": 24, "builds": "braille"},
        {"name": "raised*", "ink": "clear", "layers": 24, "builds": "raised", "over": ["ground"]},
        {"name": "ground", "id": "ground", "ink": "blue"},
        {"name": "sizes", "leave_out": "dimensions for the customer"},
    ],
}
"""An invented shop, as its file says it: plain data."""
