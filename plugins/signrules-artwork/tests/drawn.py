"""PDF files typed by hand for the tests, and measures of what was read, by shapely alone."""

from __future__ import annotations

import io

import pikepdf
import shapely
from pikepdf import Array, Dictionary, Name
from signrules_artwork.pdf.reader import read_pdf

MM = 72 / 25.4
"""Points in a millimetre: 1 in = 72 pt = 25.4 mm exactly."""

BAR_OPERATORS = f"0 g {10 * MM} {20 * MM} {30 * MM} {5 * MM} re f "
"""A bar from (10, 20) to (40, 25) mm."""


def circle(x: float, y: float, diameter: float) -> str:
    """A circle by four curves whose handles are 0.5522847 of the radius: at most 0.03 % off a true
    circle (geometry: the usual approximation). In points.
    """
    r = diameter / 2
    k = 0.5522847498 * r
    return (
        f"{x + r} {y} m {x + r} {y + k} {x + k} {y + r} {x} {y + r} c "
        f"{x - k} {y + r} {x - r} {y + k} {x - r} {y} c "
        f"{x - r} {y - k} {x - k} {y - r} {x} {y - r} c "
        f"{x + k} {y - r} {x + r} {y - k} {x + r} {y} c h "
    )


def pdf_with(pdf: pikepdf.Pdf, content: str | bytes, resources=None, **entries) -> bytes:
    """The bytes of a PDF after a page of 100 by 50 mm, with drawing operators, is added to it."""
    data = content.encode() if isinstance(content, str) else content
    page = Dictionary(
        Type=Name.Page,
        MediaBox=Array([0, 0, 100 * MM, 50 * MM]),
        Contents=pdf.make_stream(data),
        Resources=resources if resources is not None else Dictionary(),
    )
    for key, value in entries.items():
        page["/" + key] = value
    pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
    return saved(pdf)


def saved(pdf: pikepdf.Pdf) -> bytes:
    kept = io.BytesIO()
    pdf.save(kept)
    return kept.getvalue()


def drawn(content: str | bytes, resources=None, **entries):
    """The artwork of a page of 100 by 50 mm."""
    return read_pdf("drawn.pdf", pdf_with(pikepdf.new(), content, resources, **entries))


def spot(name: str) -> Array:
    """A spot colour that looks like grey."""
    transform = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([1]), C1=Array([0]), N=1)
    return Array([Name.Separation, Name("/" + name), Name.DeviceGray, transform])


def add_layers(pdf: pikepdf.Pdf, *layers, **default) -> list:
    """Layers of a file: (name) or (name, step) or (name, step, type)."""
    groups = []
    for name, *step in layers:
        group = Dictionary(Type=Name.OCG, Name=pikepdf.String(name))
        if step:
            marks = Dictionary(GTS_ProcStepsGroup=Name("/" + step[0]))
            if len(step) > 1:
                marks["/GTS_ProcStepsType"] = Name("/" + step[1])
            group["/GTS_Metadata"] = marks
        groups.append(pdf.make_indirect(group))
    pdf.Root["/OCProperties"] = Dictionary(
        OCGs=Array(groups), D=Dictionary(Order=Array(groups), **default)
    )
    return groups


def polygon(shape) -> shapely.Polygon:
    return shapely.Polygon(shape.outline, shape.holes)


def inked(layer):
    """All that a layer inks, as one region."""
    return shapely.union_all([polygon(shape) for shape in layer.inked()])


def only_layer(artwork):
    (page,) = artwork.pages
    (layer,) = page.layers
    return layer


def by_name(artwork, page: int = 0):
    return {layer.name: layer for layer in artwork.pages[page].layers}
