"""Embedded font programs: their glyphs as tracks, and what they say of codes and characters.

fontTools reads them: TrueType, OpenType, CFF and Type 1.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from attrs import field, frozen
from fontTools.cffLib import CFFFontSet
from fontTools.encodings.StandardEncoding import StandardEncoding
from fontTools.pens.basePen import BasePen
from fontTools.t1Lib import T1Font
from fontTools.ttLib import TTFont

from signrules_artwork.chords import Spot, Track
from signrules_artwork.faults import Reading

MOST_PIECES = 20_000
"""The most lines and curves of one glyph: no letter has so many."""


@frozen(eq=False)
class FontProgram:
    """An opened font of the bytes `data`. `draws` are its glyphs by name, `order` their names by
    number; `by_code` its own encoding, `by_character`, `by_mac_code` and `by_symbol` its character
    maps. `scale` takes its units to the em. `by_cid` is None where a CID is the number of a glyph.
    """

    data: bytes
    draws: Mapping[str, Any]
    order: Sequence[str]
    scale: float
    by_code: Mapping[int, str] = field(factory=dict)
    by_character: Mapping[int, str] = field(factory=dict)
    by_mac_code: Mapping[int, str] = field(factory=dict)
    by_symbol: Mapping[int, str] = field(factory=dict)
    by_cid: Mapping[int, str] | None = None

    def tracks(self, name: str) -> list[Track]:
        """The outline of a glyph, in units of the font."""
        pen = _TrackPen(self.draws)
        self.draws[name].draw(pen)
        return pen.tracks

    def name_at(self, number: int) -> str | None:
        """The name of a glyph by its number."""
        return self.order[number] if 0 <= number < len(self.order) else None


class _TrackPen(BasePen):  # type: ignore[misc]
    """Draws tracks. Quadratic curves and components come to it as cubic curves."""

    def __init__(self, glyphs: Mapping[str, Any]) -> None:
        super().__init__(glyphs)
        self.tracks: list[Track] = []
        self.pieces = 0

    def _moveTo(self, point: Spot) -> None:
        self.tracks.append(Track(point, closed=True))

    def _lineTo(self, point: Spot) -> None:
        self._add((point,))

    def _curveToOne(self, first: Spot, second: Spot, end: Spot) -> None:
        self._add((first, second, end))

    def _add(self, piece: tuple[Spot, ...]) -> None:
        self.pieces += 1
        if self.pieces > MOST_PIECES:
            raise ValueError(f"a glyph of more than {MOST_PIECES:,} lines and curves")
        self.tracks[-1].pieces.append(piece)


def font_program(kind: str, data: bytes, name: str, reading: Reading) -> FontProgram | None:
    """The font in `data`: `kind` is the key of the PDF under which it was found. None, and a note,
    where fontTools cannot read it.
    """
    try:
        if kind == "/FontFile":
            return _type1_program(data)
        if data[:4] in {b"OTTO", b"true", b"\0\1\0\0", b"ttcf"}:
            return _sfnt_program(data)
        return _cff_program(data)
    except Exception as error:
        # fontTools raises whatever it meets in a damaged file.
        reading.note(f"font '{name}' is damaged ({type(error).__name__}): its text has no shapes")
        return None


def _sfnt_program(data: bytes) -> FontProgram:
    font = TTFont(io.BytesIO(data), fontNumber=0, lazy=True)
    maps: dict[tuple[int, int], Mapping[int, str]] = {}
    for table in font["cmap"].tables if "cmap" in font else ():
        maps[table.platformID, table.platEncID] = table.cmap
    cids = None
    if "CFF " in font:
        cids = _cids_of(font["CFF "].cff[0])
    unicode_map: Mapping[int, str] = {}
    for key in ((0, 3), (0, 4), (3, 10), (3, 1)):
        unicode_map = maps.get(key, unicode_map)
    return FontProgram(
        data,
        font.getGlyphSet(),
        font.getGlyphOrder(),
        1 / font["head"].unitsPerEm,
        by_character=unicode_map,
        by_mac_code=maps.get((1, 0), {}),
        by_symbol=maps.get((3, 0), {}),
        by_cid=cids,
    )


def _cff_program(data: bytes) -> FontProgram:
    fonts = CFFFontSet()
    fonts.decompile(io.BytesIO(data), None)
    font = fonts[0]
    cids = _cids_of(font)
    matrix = font.rawDict.get("FontMatrix", [0.001])
    codes = {}
    if cids is None:
        own = font.Encoding
        names = StandardEncoding if own == "StandardEncoding" or isinstance(own, str) else own
        codes = {code: name for code, name in enumerate(names) if name != ".notdef"}
    return FontProgram(data, font.CharStrings, font.getGlyphOrder(), matrix[0], codes, by_cid=cids)


def _cids_of(font: Any) -> dict[int, str] | None:
    """Names of glyphs by CID; None for a font that is not CID-keyed."""
    if not hasattr(font, "ROS"):
        return None
    cids = {}
    for name in font.getGlyphOrder():
        cids[int(name[3:]) if name.startswith("cid") else 0] = name
    return cids


def _type1_program(data: bytes) -> FontProgram:
    font = T1Font.__new__(T1Font)
    font.encoding = "latin-1"
    font.data = _with_trailer(data)
    font.parse()
    glyphs = font.getGlyphSet()
    own = font["Encoding"]
    names = StandardEncoding if isinstance(own, str) else own
    codes = {code: name for code, name in enumerate(names) if name != ".notdef"}
    return FontProgram(data, glyphs, sorted(glyphs.keys()), float(font["FontMatrix"][0]), codes)


def _with_trailer(data: bytes) -> bytes:
    """A Type 1 font with the zeros at its end that PDF may leave out."""
    if b"cleartomark" in data[-600:]:
        return data
    return data + b"\n" + (b"0" * 64 + b"\n") * 8 + b"cleartomark\n"
