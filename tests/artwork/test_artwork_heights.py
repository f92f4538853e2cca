"""Heights from the rectangles of artwork, held to a raster of the artwork itself at 600 dpi.

The raster knows no rectangles: a pixel has ink where an odd number of sides lie to the left of its
middle, and its height is the sum of what is printed there. Rectangles may only make surfaces
higher, and what is left under the head less.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from drawn_artwork import SHOP, artwork_of, circle, layer_of, rectangle, ring_shape
from effort import effort

import signrules
from signrules.artwork.drawing import Shape
from signrules.artwork.job_making import job_from_artwork
from signrules.physics.heights import Heights
from signrules.shop_file import shop_from_dict

SIDE = 60.0
PIXEL = 25.4 / 600
COUNT = int(SIDE / PIXEL)
MIDDLES = (np.arange(COUNT) + 0.5) * PIXEL
HEAD, THICKNESS, INK = 4.0, 3.0, 0.02
"""Length of the head, thickness of the sheet and of a layer of ink, all exact, in mm."""

GAPS = (
    {"extra": "2 mm", "above": "media"},
    {"extra": "1 mm", "above": "build-up"},
    {"head_above_bed": "7 mm"},
)


def ink_of(shape):
    """Which pixels a shape inks, as rows from the lowest up."""
    inked = np.zeros((COUNT, COUNT), dtype=bool)
    sides = []
    for ring in (shape.outline, *shape.holes):
        sides += zip(ring, [*ring[1:], ring[0]], strict=True)
    for row, y in enumerate(MIDDLES):
        crossed = sorted(
            ax + (y - ay) / (by - ay) * (bx - ax)
            for (ax, ay), (bx, by) in sides
            if (ay <= y) != (by <= y)
        )
        for left, right in zip(crossed[::2], crossed[1::2], strict=True):
            inked[row] |= (left < MIDDLES) & (right > MIDDLES)
    return inked


def random_shape(randoms):
    x, y = randoms.uniform(8, 52), randoms.uniform(8, 52)
    match randoms.randrange(4):
        case 0:
            return rectangle(x - 3, y - 4, randoms.uniform(0.5, 8), randoms.uniform(0.5, 8))
        case 1:
            return circle(x, y, randoms.uniform(1.2, 8))
        case 2:
            return ring_shape(x, y, randoms.uniform(6, 14), 1.5)
        case _:
            turns = [2 * math.pi * at / 9 for at in range(9)]
            radii = [randoms.uniform(1, 7) for _ in turns]
            pairs = zip(turns, radii, strict=True)
            return Shape(tuple((x + r * math.cos(t), y + r * math.sin(t)) for t, r in pairs))


def drawn_job(randoms):
    """A job of random artwork, and which pixels each of its passes inks."""
    names = "ABCD"[: randoms.randint(2, 4)]
    drawn = {name: [random_shape(randoms) for _ in range(randoms.randint(1, 4))] for name in names}
    rows = [
        {"name": name, "ink": "clear", "layers": randoms.randint(1, 30), "gap": gap}
        for name, gap in zip(names, randoms.choices(GAPS, k=len(names)), strict=True)
    ]
    shop = shop_from_dict(
        SHOP
        | {
            "printers": {"flatbed": signrules.sample_job()["printer"] | {"head_length": HEAD}},
            "inks": {"clear": {"role": "clear", "layer": INK}},
            "sheets": {"blank": {"thickness": THICKNESS, "size": [SIDE, SIDE]}},
            "layers": rows,
        }
    )
    layers = [layer_of(name, *shapes) for name, shapes in drawn.items()]
    job = job_from_artwork(artwork_of(*layers, width=SIDE, height=SIDE), shop)
    inked = [np.logical_or.reduce(list(map(ink_of, drawn[item.id]))) for item in job.passes]
    return job, inked


def rows_under_the_head(inked):
    """The rows over which the head passes when it prints some pixels."""
    places = MIDDLES[inked.any(axis=1)]
    return (places.min() - HEAD <= MIDDLES) & (places.max() + HEAD >= MIDDLES)


@pytest.mark.parametrize("seed", range(effort(60)))
def test_rectangles_are_never_more_optimistic_than_a_raster(seed):
    job, inked = drawn_job(random.Random(seed))
    heights = Heights(job)
    sheet = job.media[0].id
    surface = np.zeros((COUNT, COUNT))
    printed = []
    for at, item in enumerate(job.passes):
        plane = heights.head_plane(at, item.gap, frozenset(printed))
        surface = surface + inked[at] * (item.layers * INK)
        printed.append(at)
        highest = heights.build_up(sheet, "front", printed)
        assert highest.high >= surface.max() - 1e-9
        under = surface[rows_under_the_head(inked[at])].max()
        left = plane.height.nominal - THICKNESS - under
        assert heights.clearance(at, plane, frozenset(printed)).low <= left + 1e-9


@pytest.mark.thorough
def test_the_raster_is_what_is_drawn():
    """By hand: areas of a circle, a ring and a bar, to what pixels along their edges may hide."""
    for shape, area in (
        (circle(30, 30, 8), 16 * math.pi),
        (ring_shape(30, 30, 12, 1.5), (36 - 20.25) * math.pi),
        (rectangle(10, 10, 5, 2), 10),
    ):
        assert ink_of(shape).sum() * PIXEL**2 == pytest.approx(area, rel=0.02)


def test_where_layers_lie_on_each_other_rectangles_and_raster_agree():
    bars = [layer_of(name, rectangle(20, 20, 10, 10)) for name in "AB"]
    shop = shop_from_dict(
        SHOP
        | {
            "inks": {"clear": {"role": "clear", "layer": INK}},
            "layers": [{"name": "*", "ink": "clear", "layers": 5}],
        }
    )
    job = job_from_artwork(artwork_of(*bars), shop)
    surface = sum(ink_of(bar.shapes[0]) * (5 * INK) for bar in bars)
    highest = Heights(job).build_up(job.media[0].id, "front", (0, 1))
    assert highest.nominal == pytest.approx(surface.max()) == pytest.approx(0.2)
