"""A second opinion: what PDFium renders of a layer, beside what the walk found on it."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import shapely
from attrs import frozen
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from signrules_artwork.affine import Matrix, inverted, joined, moved_points
from signrules_artwork.faults import Reading
from signrules_artwork.painted import Painted
from signrules_artwork.pdf.grey_spots import grey_spots
from signrules_artwork.pdf.layer_groups import Chain
from signrules_artwork.pdf.objects import object_key
from signrules_artwork.pdf.page_boxes import PageFrame

CHECK_DPI = 100.0
MOST_CHECK_PIXELS = 6_000_000
"""A larger page is rendered more coarsely."""

MOST_CHECKED_LAYERS = 60
MOST_DRAWN_PIXELS = 400_000_000

TILE_PIXELS = 20
DISAGREEING_SHARE = 0.05
"""The share of the inked pixels of a tile that may differ: 0.05 of 5 by 5 mm at 100 dpi."""

LEAST_DISAGREEING_PIXELS = 4
MOST_DIFFERENCES = 10
LEAST_SEEN = 250
"""A pixel is inked if one of its colours is darker: by 2 %."""

Mask = NDArray[np.bool_]


@frozen(eq=False)
class PageCheck:
    """A page to look at: its number from 0, its frame, and what was painted on it."""

    index: int
    frame: PageFrame
    painted: Sequence[Painted]


class RenderedCheck:
    """Renders layers of one file. Spot colours are turned to greys first, so that white ink shows;
    pages lie upright in their MediaBox.
    """

    def __init__(self, data: bytes, reading: Reading) -> None:
        self._data = data
        self._reading = reading
        self._pdf: pikepdf.Pdf | None = None
        self._rendered = 0

    def differences(self, page: PageCheck, chain: Chain | None) -> tuple[str, ...]:
        """Where a rendering of a layer, with all others off, differs from what was found; of all
        of the page for None.
        """
        if self._rendered >= MOST_CHECKED_LAYERS:
            text = (
                f"layers beyond the first {MOST_CHECKED_LAYERS} are not compared with a rendering"
            )
            self._reading.note(text)
            return ()
        self._rendered += 1
        scale = _pixels_per_unit(page.frame)
        try:
            seen = self._seen(page, chain, scale)
        except (pikepdf.PdfError, pypdfium2.PdfiumError, RuntimeError, ValueError) as error:
            kind = type(error).__name__
            self._reading.note(f"a layer could not be rendered to compare it ({kind})")
            return ()
        found = _drawn(page, chain, scale, (seen.shape[1], seen.shape[0]))
        if found is None:
            self._reading.note(
                "a layer with very many large shapes is not compared with a rendering"
            )
            return ()
        return tuple(_sentences(found, seen, inverted(_to_pixels(page.frame, scale))))

    def _seen(self, page: PageCheck, chain: Chain | None, scale: float) -> Mask:
        """Which pixels are inked in the rendering."""
        document = pypdfium2.PdfDocument(self._file_with(page, chain))
        try:
            shown = document[page.index].render(scale=scale, draw_annots=False)
            dark = shown.to_numpy() < LEAST_SEEN
            return np.asarray(dark[..., 0] | dark[..., 1] | dark[..., 2])
        finally:
            document.close()

    def _file_with(self, page: PageCheck, chain: Chain | None) -> bytes:
        """The file with the layers of a chain on and all others off."""
        if self._pdf is None:
            self._pdf = pikepdf.open(io.BytesIO(self._data))
            grey_spots(self._pdf)
        pdf = self._pdf
        shown = pdf.pages[page.index].obj
        for key in ("/CropBox", "/TrimBox", "/UserUnit"):
            if key in shown:
                del shown[key]
        shown["/MediaBox"] = pikepdf.Array(page.frame.media)
        shown["/CropBox"] = pikepdf.Array(page.frame.media)
        shown["/Rotate"] = 0
        if chain is not None:
            _switch(pdf, chain)
        kept = io.BytesIO()
        pdf.save(kept, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
        return kept.getvalue()


def _switch(pdf: pikepdf.Pdf, chain: Chain) -> None:
    """Sets which layers are on when the file is opened."""
    properties = pdf.Root["/OCProperties"]
    groups = [group for group in properties["/OCGs"] if object_key(group)]
    on = [group for group in groups if object_key(group) in chain]
    off = [group for group in groups if object_key(group) not in chain]
    properties["/D"] = pikepdf.Dictionary(
        BaseState=pikepdf.Name.OFF, ON=pikepdf.Array(on), OFF=pikepdf.Array(off)
    )


def _shows(mark: Painted, chain: Chain | None) -> bool:
    """Whether a mark shows with the layers of a chain on and all others off."""
    if chain is None:
        return True
    return all((key[1:] not in chain) if key[0] == "-" else key in chain for key in mark.layer)


def _pixels_per_unit(frame: PageFrame) -> float:
    left, bottom, right, top = frame.media
    scale = CHECK_DPI / 25.4 * frame.unit
    pixels = (right - left) * (top - bottom) * scale * scale
    return scale * min(1.0, math.sqrt(MOST_CHECK_PIXELS / max(pixels, 1.0)))


def _to_pixels(frame: PageFrame, scale: float) -> Matrix:
    """The map from mm to pixels, rows counted down from the top of the MediaBox."""
    left, _, _, top = frame.media
    return joined(inverted(frame.to_mm), (scale, 0.0, 0.0, -scale, -left * scale, top * scale))


@frozen(eq=False)
class _Drawn:
    """Which pixels are inked by what was found: all of a pixel, and some of it."""

    wholly: Mask
    partly: Mask


def _drawn(
    page: PageCheck, chain: Chain | None, scale: float, size: tuple[int, int]
) -> _Drawn | None:
    """Which pixels are inked by what was found, in the order in which it was painted. None where
    that would take too long.

    A line around a hole may be thinner than a pixel. So the edges of holes are no ink in one
    picture, and ink in the other.
    """
    wholly, partly = Image.new("1", size), Image.new("1", size)
    pens = [ImageDraw.Draw(canvas) for canvas in (wholly, partly)]
    matrix = _to_pixels(page.frame, scale)
    drawn = 0
    for mark in page.painted:
        if not _shows(mark, chain):
            continue
        value = int(mark.ink.tint > 0.02)
        for part in shapely.get_parts(mark.region):
            outline = moved_points(matrix, shapely.get_coordinates(part.exterior))
            if len(part.interiors) == 0:
                for pen in pens:
                    pen.polygon(outline.ravel().tolist(), fill=value)
                continue
            drawn += _draw_with_holes(wholly, part, matrix, value, edge=1 - value)
            drawn += _draw_with_holes(partly, part, matrix, value, edge=value)
            if drawn > MOST_DRAWN_PIXELS:
                return None
    return _Drawn(np.asarray(wholly), np.asarray(partly))


def _draw_with_holes(
    canvas: Image.Image, part: Any, matrix: Matrix, value: int, *, edge: int
) -> int:
    """Draws a polygon without its holes; gives back how many pixels that took. Pixels at the edges
    of holes are drawn where `edge` is ink.
    """
    rings = [part.exterior, *part.interiors]
    points = [moved_points(matrix, shapely.get_coordinates(ring)) for ring in rings]
    low = np.maximum(np.floor(points[0].min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(points[0].max(axis=0)).astype(int) + 1, canvas.size)
    width, height = (int(each) for each in high - low)
    if width < 1 or height < 1:
        return 1
    stencil = Image.new("1", (width, height))
    pen = ImageDraw.Draw(stencil)
    for at, ring in enumerate(points):
        pen.polygon((ring - low).ravel().tolist(), fill=int(at == 0), outline=int(at == 0 or edge))
    canvas.paste(value, (int(low[0]), int(low[1])), stencil)
    return width * height


def _sentences(found: _Drawn, seen: Mask, to_mm: Matrix) -> Iterator[str]:
    """Where two masks differ by more than their edges."""
    # On a large page a pixel is half a millimetre, and a renderer may put a side one pixel aside.
    cases = (
        (_shrunk(found.wholly) & ~_grown(seen), "ink was found that a rendering does not show"),
        (seen & ~_grown(_grown(found.partly)), "a rendering shows ink that was not found"),
    )
    told = 0
    for differing, words in cases:
        for patch in _patches(differing, found.partly | seen):
            told += 1
            if told > MOST_DIFFERENCES:
                yield "and in more places"
                return
            rows, columns = np.nonzero(patch)
            corners = [[columns.min(), rows.min()], [columns.max() + 1, rows.max() + 1]]
            ends = moved_points(to_mm, np.array(corners, dtype=np.float64))
            (x0, y0), (x1, y1) = ends.min(axis=0), ends.max(axis=0)
            yield f"between ({x0:.1f}, {y0:.1f}) and ({x1:.1f}, {y1:.1f}) mm {words}"


def _grown(mask: Mask) -> Mask:
    """The mask with the pixels around it."""
    wide = np.pad(mask, 1)
    rows = wide[:-2] | wide[1:-1] | wide[2:]
    return np.asarray(rows[:, :-2] | rows[:, 1:-1] | rows[:, 2:])


def _shrunk(mask: Mask) -> Mask:
    """The mask without the pixels at its edge."""
    return ~_grown(~mask)


def _patches(differing: Mask, inked: Mask) -> Iterator[Mask]:
    """The parts of a mask in tiles where it is more than a share of what is inked, those of tiles
    beside each other together.
    """
    if not differing.any():
        return
    wrong, all_inked = _by_tile(differing), _by_tile(inked)
    bad = (wrong >= LEAST_DISAGREEING_PIXELS) & (wrong > DISAGREEING_SHARE * all_inked)
    while bad.any():
        row, column = np.argwhere(bad)[0]
        tiles = np.zeros_like(bad)
        tiles[row, column] = True
        while (grown := _grown(tiles) & bad).sum() > tiles.sum():
            tiles = grown
        bad &= ~tiles
        whole = np.kron(tiles, np.ones((TILE_PIXELS, TILE_PIXELS), dtype=bool))
        yield differing & whole[: differing.shape[0], : differing.shape[1]]


def _by_tile(mask: Mask) -> NDArray[np.int64]:
    """How many pixels of each tile are set."""
    height, width = (-(-side // TILE_PIXELS) for side in mask.shape)
    full = np.zeros((height * TILE_PIXELS, width * TILE_PIXELS), dtype=bool)
    full[: mask.shape[0], : mask.shape[1]] = mask
    tiles = full.reshape(height, TILE_PIXELS, width, TILE_PIXELS)
    return np.asarray(tiles.sum(axis=(1, 3)), dtype=np.int64)
