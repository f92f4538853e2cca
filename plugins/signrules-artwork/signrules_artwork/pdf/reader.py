"""The reader of PDF: a walk through each page, and a look at what a rendering shows."""

from __future__ import annotations

import hashlib
import io

import numpy as np
import pikepdf
from attrs import evolve

from signrules.artwork.drawing import Artwork, ArtworkLayer, ArtworkPage
from signrules_artwork.affine import moved_points
from signrules_artwork.chords import CHORD_TOLERANCE_MM
from signrules_artwork.clipping import Clip
from signrules_artwork.faults import Reading, artwork_error
from signrules_artwork.off_page import OffPage, places_in_words
from signrules_artwork.pdf.graphics_operators import GRAPHICS_OPERATORS
from signrules_artwork.pdf.layer_groups import Chain, LayerGroups, layer_groups
from signrules_artwork.pdf.object_operators import OBJECT_OPERATORS
from signrules_artwork.pdf.objects import entry, refuse_swollen
from signrules_artwork.pdf.page_boxes import PageFrame, page_frame
from signrules_artwork.pdf.page_layers import layers_by_colorant, layers_by_group
from signrules_artwork.pdf.rendered_check import PageCheck, RenderedCheck
from signrules_artwork.pdf.state import first_state
from signrules_artwork.pdf.text_operators import TEXT_OPERATORS
from signrules_artwork.pdf.walk import MOST_PROGRAM_BYTES, Walk, parsed_program
from signrules_artwork.regions import filled_region

OPERATORS = {**GRAPHICS_OPERATORS, **OBJECT_OPERATORS, **TEXT_OPERATORS}

MOST_PAGES = 2000
REBUILT = "Attempting to reconstruct cross-reference table"


def read_pdf(name: str, data: bytes) -> Artwork:
    """A PDF as artwork. Raises ArtworkError for one that is encrypted, damaged or too large."""
    reading = Reading("the file")
    with _opened(data, reading) as pdf:
        groups = layer_groups(pdf, reading)
        count = len(pdf.pages)
        if count > MOST_PAGES:
            raise artwork_error("", f"{count:,} pages", f"at most {MOST_PAGES:,}: split the file")
        check = RenderedCheck(data, reading)
        pages = []
        drawn: set[str] = set()
        for number, page in enumerate(pdf.pages, 1):
            reading.where = f"page {number}"
            pages.append(_read_page(page, number, groups, reading, check, drawn))
        if pages:
            empty = groups.empty_layers(drawn)
            pages[0] = evolve(pages[0], layers=(*pages[0].layers, *empty))
    return Artwork(
        name,
        "sha256:" + hashlib.sha256(data).hexdigest(),
        tuple(pages),
        CHORD_TOLERANCE_MM,
        reading.pixel,
        reading.told(),
    )


def _opened(data: bytes, reading: Reading) -> pikepdf.Pdf:
    try:
        pdf = pikepdf.open(io.BytesIO(data))
    except pikepdf.PasswordError:
        raise artwork_error("", "a PDF that asks for a password", "one without") from None
    except (pikepdf.PdfError, RuntimeError, ValueError, RecursionError) as error:
        found = f"no readable PDF ({type(error).__name__})"
        raise artwork_error("", found, "a whole PDF: export it again") from None
    warnings = [str(warning) for warning in pdf.get_warnings()]
    if any(REBUILT in warning for warning in warnings):
        found = "a PDF whose table of contents is damaged or cut off"
        raise artwork_error("", found, "a whole PDF: parts may be missing, export it again")
    if warnings:
        reading.note(f"the file is not quite as PDF should be: {len(warnings)} faults were mended")
    return pdf


def _read_page(
    page: pikepdf.Page,
    number: int,
    groups: LayerGroups,
    reading: Reading,
    check: RenderedCheck,
    drawn: set[str],
) -> ArtworkPage:
    """One page; the keys of the groups on which it draws something come into `drawn`."""
    frame = page_frame(page.obj, reading)
    reading.note(f"{reading.where}: the origin is the lower left corner of its {frame.origin_box}")
    walk = walked_page(page, frame, groups, reading)
    layers = layers_by_group(walk) if groups.by_key else layers_by_colorant(walk)
    drawn.update(key.removeprefix("-") for chain in layers for key in chain)
    for told in walk.off_page.told(lambda chain: groups.name_of(chain) if chain else ""):
        reading.note(f"{reading.where}, {told}")
    for told, places in walk.not_followed.items():
        reading.note(f"{reading.where}: {told}: {places_in_words(places)}")
    checked = _checked(PageCheck(number - 1, frame, walk.painted), layers, groups, check)
    if entry(page.obj, "/Annots") is not None and len(page.obj["/Annots"]):
        reading.note(f"{reading.where}: annotations and form fields are not read")
    return ArtworkPage(number, frame.width, frame.height, tuple(checked))


def walked_page(
    page: pikepdf.Page, frame: PageFrame, groups: LayerGroups, reading: Reading
) -> Walk:
    """The walk through a page, at its end."""
    left, bottom, right, top = frame.media
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    media = filled_region([moved_points(frame.to_mm, corners)], even_odd=False, reading=reading)
    state = first_state(frame.to_mm, Clip.of(media))
    resources = page.resources if "/Resources" in page.obj else entry(page.obj, "/Resources")
    walk = Walk(OPERATORS, groups, reading, state, resources, OffPage(media.bounds), resources)
    try:
        contents = entry(page.obj, "/Contents")
        streams = list(contents) if isinstance(contents, pikepdf.Array) else [contents]
        streams = [stream for stream in streams if isinstance(stream, pikepdf.Stream)]
        for stream in streams:
            refuse_swollen(stream, reading, MOST_PROGRAM_BYTES)
        walk.follow(parsed_program(page, reading) if streams else [])
    except (pikepdf.PdfError, RuntimeError, ValueError) as error:
        found = f"drawing operators that cannot be read ({type(error).__name__})"
        raise artwork_error(reading.where, found, "a whole PDF: export it again") from None
    return walk


def _checked(
    page: PageCheck, layers: dict[Chain, ArtworkLayer], groups: LayerGroups, check: RenderedCheck
) -> list[ArtworkLayer]:
    """The layers, each with where a rendering of it differs. A page without layers is looked at as
    a whole, and what differs stands with its lowest layer.
    """
    found = list(layers.values())
    if not found:
        return found
    if not groups.by_key:
        return [evolve(found[0], disagreements=check.differences(page, None)), *found[1:]]
    return [
        evolve(layer, disagreements=check.differences(page, chain))
        for chain, layer in layers.items()
    ]
