"""Braille as a page of PDF, by pikepdf: dots in a spot colour, on a layer marked as braille.

The layer is an optional content group whose metadata names the processing step `Braille`: ISO
19593-1, second hand. Operators, colour spaces and layers are those of ISO 32000-1, from memory.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from signrules.artwork.dot_drawing import LAYER, DotDrawing
from signrules.artwork.libraries import pikepdf_library

POINTS_PER_MM = 72 / 25.4

ROUND = 0.5522847498
"""Where the controls of a cubic curve lie that stands for a quarter circle, as a share of the
radius; it is off by 0.03 % of the radius at most. Geometry."""


def dots_pdf(drawing: DotDrawing) -> bytes:
    """The dots as a PDF of one page. Raises SignrulesError where pikepdf is not installed."""
    pikepdf = pikepdf_library()
    name, dictionary, array = pikepdf.Name, pikepdf.Dictionary, pikepdf.Array
    pdf = pikepdf.new()
    step = dictionary(GTS_ProcStepsGroup=name("/Braille"))
    group = pdf.make_indirect(
        dictionary(Type=name("/OCG"), Name=pikepdf.String(LAYER), GTS_Metadata=step)
    )
    # What a viewer shows in place of the spot colour: black, so that dots are seen on a screen.
    tint = dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0, 0, 1], N=1)
    spot = array([name("/Separation"), name(f"/{LAYER}"), name("/DeviceCMYK"), tint])
    resources = dictionary(Properties=dictionary(Layer=group), ColorSpace=dictionary(Spot=spot))
    size = [0, 0, drawing.width * POINTS_PER_MM, drawing.height * POINTS_PER_MM]
    page = dictionary(
        Type=name("/Page"),
        MediaBox=array([round(each, 5) for each in size]),
        Resources=resources,
        Contents=pdf.make_stream(_content(drawing)),
    )
    pdf.pages.append(pikepdf.Page(page))
    pdf.Root.OCProperties = _layers_of(pikepdf, group)
    stream = io.BytesIO()
    # The same drawing gives the same bytes, so its fingerprint stays that of the job read from it.
    pdf.save(stream, deterministic_id=True)
    return stream.getvalue()


def _layers_of(pikepdf: Any, group: Any) -> Any:
    shown = pikepdf.Dictionary(Order=[group], ON=[group])
    return pikepdf.Dictionary(OCGs=[group], D=shown)


def _content(drawing: DotDrawing) -> bytes:
    return "\n".join(["/OC /Layer BDC", "/Spot cs 1 scn", *_circles(drawing), "EMC", ""]).encode()


def _circles(drawing: DotDrawing) -> Iterator[str]:
    """Each dot as four curves, filled."""
    for (x, y), diameter in drawing.dots:
        x, y, radius = (each * POINTS_PER_MM for each in (x, y, diameter / 2))
        side = radius * ROUND
        curves = (
            (x + radius, y + side, x + side, y + radius, x, y + radius),
            (x - side, y + radius, x - radius, y + side, x - radius, y),
            (x - radius, y - side, x - side, y - radius, x, y - radius),
            (x + side, y - radius, x + radius, y - side, x + radius, y),
        )
        parts = [f"{x + radius:.5f} {y:.5f} m"]
        parts += [" ".join(f"{each:.5f}" for each in curve) + " c" for curve in curves]
        yield " ".join([*parts, "f"])
