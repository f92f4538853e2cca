"""Operators that draw forms, images and shadings, and that mark what lies on layers
(ISO 32000-1, 8.8 to 8.11 and 14.6, from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
from attrs import evolve

from signrules_artwork.affine import IDENTITY, is_flat, moved_points
from signrules_artwork.pdf.graphics_operators import shading_ink
from signrules_artwork.pdf.images import paint_image
from signrules_artwork.pdf.objects import numbers_of, plain_name
from signrules_artwork.pdf.walk import Operator, Walk
from signrules_artwork.regions import filled_region


def _draw_object(walk: Walk, given: list[Any]) -> None:
    """The operator `Do`."""
    drawn = walk.named("/XObject", given[0])
    if not isinstance(drawn, pikepdf.Stream):
        walk.reading.note("a form or image that the page does not have was left out")
        return
    walk.within_layer(drawn.get("/OC"))
    try:
        if plain_name(drawn.get("/Subtype")) == "Image":
            paint_image(walk, drawn)
        elif plain_name(drawn.get("/Subtype")) == "Form":
            _draw_form(walk, drawn)
    finally:
        walk.marks.pop()


STEPS_OF_A_FORM = 40
"""What entering a form counts as: it takes as long as so many plain operators."""


def _draw_form(walk: Walk, form: Any) -> None:
    walk.reading.spend_steps(STEPS_OF_A_FORM)
    kept = walk.state
    walk.state = kept.kept()
    try:
        walk.move(form.get("/Matrix", IDENTITY))
        box = numbers_of(form.get("/BBox"))
        if len(box) == 4 and not is_flat(walk.state.matrix):
            _narrow_to_box(walk, box)
        if form.get("/Group") is not None:
            walk.state.alpha *= walk.state.fill.alpha
            walk.state.fill.alpha = walk.state.stroke.alpha = 1.0
        walk.enter(form, form.get("/Resources"))
    finally:
        walk.state = kept


def _narrow_to_box(walk: Walk, box: list[float]) -> None:
    """Lets nothing show outside a box of user space."""
    left, bottom, right, top = box
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    ring = moved_points(walk.state.matrix, corners)
    _, b, c, _, _, _ = walk.state.matrix
    if b == 0 == c:
        (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
        walk.state.clip = walk.state.clip.within((x0, y0, x1, y1))
    else:
        walk.narrow(filled_region([ring], even_odd=False, reading=walk.reading))


def _draw_inline_image(walk: Walk, given: list[Any]) -> None:
    """An image that stands among the operators: made a stream like those of other images."""
    inline = given[0]
    holder = pikepdf.new()
    image = holder.make_stream(inline.read_raw_bytes())
    for key, value in inline.obj.items():
        image[key] = value
    paint_image(walk, image)


def _draw_shading(walk: Walk, given: list[Any]) -> None:
    """The operator `sh`: it fills all that the clip leaves."""
    shading = walk.named("/Shading", given[0])
    walk.objects += 1
    filled = evolve(walk.state.fill, is_pattern=True)
    walk.paint(walk.state.clip.region, filled, shading_ink(walk, shading))


def _begin_layer(walk: Walk, given: list[Any]) -> None:
    """The operator `BDC`."""
    value = None
    if plain_name(given[0]) == "OC":
        value = walk.named("/Properties", given[1])
        if value is None:
            walk.reading.note("objects on a layer that the page does not list lie outside it here")
    walk.within_layer(value)


def _end_mark(walk: Walk, given: list[Any]) -> None:
    if walk.marks:
        walk.marks.pop()


OBJECT_OPERATORS: dict[str, Operator] = {
    "Do": _draw_object,
    "INLINE IMAGE": _draw_inline_image,
    "sh": _draw_shading,
    "BDC": _begin_layer,
    "BMC": lambda walk, given: walk.within_layer(None),
    "EMC": _end_mark,
}
