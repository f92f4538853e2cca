"""Fonts of a PDF: what a code in a string looks like, how wide it is, and what it reads as.

ISO 32000-1, 9.5 to 9.10 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pikepdf
from attrs import define, field
from fontTools import agl
from fontTools.encodings.StandardEncoding import StandardEncoding

from signrules.artwork.drawing import FontMeasures
from signrules_artwork.chords import Track
from signrules_artwork.faults import Reading
from signrules_artwork.pdf.character_maps import CharacterMap, character_map
from signrules_artwork.pdf.font_measures import font_measures
from signrules_artwork.pdf.font_programs import FontProgram, font_program
from signrules_artwork.pdf.objects import (
    entry,
    matrix_of,
    number_of,
    numbers_of,
    plain_name,
    stream_bytes,
)

SYMBOLIC = 1 << 2
"""The flag of a font descriptor: its codes are its own."""

FONT_FILES = ("/FontFile2", "/FontFile3", "/FontFile")
MOST_WIDTHS = 200_000


@define(eq=False)
class PdfFont:
    """A font as a page uses it. `names` are names of glyphs by code, `widths` are in ems by code
    or CID. `glyphs` of a font of type 3 are streams by name, drawn through `glyph_matrix`.
    """

    name: str
    program: FontProgram | None
    composite: bool
    names: Mapping[int, str]
    widths: Mapping[int, float]
    usual_width: float
    codes_to_cids: CharacterMap | None = None
    cids_to_glyphs: bytes | None = None
    texts: Mapping[int, str] = field(factory=dict)
    symbolic: bool = False
    glyphs: Any = None
    glyph_matrix: Any = None
    resources: Any = None
    measures: FontMeasures | None = None
    downwards: bool = False
    outlines: dict[int, list[Track]] = field(factory=dict)

    def codes(self, data: bytes) -> Iterator[tuple[int, int]]:
        """The codes in a string, each with its number of bytes."""
        if not self.composite:
            yield from ((code, 1) for code in data)
        elif self.codes_to_cids is not None and self.codes_to_cids.lengths:
            yield from self.codes_to_cids.codes(data)
        else:
            for at in range(0, len(data), 2):
                yield int.from_bytes(data[at : at + 2], "big"), 2

    def width(self, code: int) -> float:
        """How far a code moves on, in ems."""
        return self.widths.get(self._cid(code), self.usual_width)

    def text(self, code: int) -> str:
        """What a code reads as."""
        if code in self.texts:
            return self.texts[code]
        if not self.composite:
            name = self.names.get(code)
            return (agl.toUnicode(name) or "") if name else chr(code)
        glyph = self.glyph(code)
        found = self.program.by_character if self.program else {}
        return next((chr(char) for char, name in found.items() if name == glyph), "\ufffd")

    def tracks(self, code: int) -> list[Track]:
        """The outline of a code in units of the program; none where it has none."""
        if code not in self.outlines:
            self.outlines[code] = self._outline(code)
        return self.outlines[code]

    def _outline(self, code: int) -> list[Track]:
        name = self.glyph(code)
        if self.program is None or name is None or name not in self.program.draws:
            return []
        return self.program.tracks(name)

    def glyph(self, code: int) -> str | None:
        """The name of the glyph that a code is drawn with."""
        if self.program is None:
            return None
        return self._glyph_of_cid(code) if self.composite else self._glyph_of_code(code)

    def _cid(self, code: int) -> int:
        if self.codes_to_cids is None:
            return code
        return self.codes_to_cids.cids.get(code, 0)

    def _glyph_of_cid(self, code: int) -> str | None:
        cid = self._cid(code)
        program = self.program
        assert program is not None
        if self.cids_to_glyphs is not None:
            return program.name_at(
                int.from_bytes(self.cids_to_glyphs[2 * cid : 2 * cid + 2], "big")
            )
        if program.by_cid is not None:
            return program.by_cid.get(cid)
        return program.name_at(cid)

    def _glyph_of_code(self, code: int) -> str | None:
        program, name = self.program, self.names.get(code)
        assert program is not None
        if name is not None and not (self.symbolic and program.by_symbol):
            character = agl.toUnicode(name)
            if len(character) == 1 and ord(character) in program.by_character:
                return program.by_character[ord(character)]
            if name in program.draws:
                return name
        for start in (0, 0xF000, 0xF100, 0xF200):
            if start + code in program.by_symbol:
                return program.by_symbol[start + code]
        for own in (program.by_mac_code, program.by_code, program.by_character):
            if code in own:
                return own[code]
        return None if program.by_mac_code or program.by_code else program.name_at(code)


def pdf_font(value: Any, reading: Reading) -> PdfFont:
    """The font that a dictionary describes."""
    kind = plain_name(entry(value, "/Subtype"))
    if kind == "Type0":
        font = _composite_font(value, reading)
    else:
        font = _simple_font(value, kind, reading)
    to_unicode = entry(value, "/ToUnicode")
    if isinstance(to_unicode, pikepdf.Stream):
        font.texts = character_map(stream_bytes(to_unicode, reading)).texts
    font.measures = font_measures(font)
    return font


def _simple_font(value: Any, kind: str, reading: Reading) -> PdfFont:
    """A font of one byte a code."""
    descriptor = entry(value, "/FontDescriptor")
    name = plain_name(entry(value, "/BaseFont")) or plain_name(entry(value, "/Name"))
    program = _embedded(descriptor, name, reading)
    symbolic = bool(int(number_of(entry(descriptor, "/Flags"))) & SYMBOLIC)
    names = _names_by_code(entry(value, "/Encoding"), program, symbolic)
    first = int(number_of(entry(value, "/FirstChar")))
    widths = numbers_of(entry(value, "/Widths"))[:256]
    scale = 0.001
    font = PdfFont(name, program, False, names, {}, 0.0, symbolic=symbolic)
    if kind == "Type3":
        font.glyphs, font.resources = entry(value, "/CharProcs"), entry(value, "/Resources")
        font.glyph_matrix = matrix_of(entry(value, "/FontMatrix"))
        scale = font.glyph_matrix[0] or 0.001
    font.widths = {first + at: width * scale for at, width in enumerate(widths)}
    font.usual_width = number_of(entry(descriptor, "/MissingWidth"), 0.0) * 0.001
    return font


def _composite_font(value: Any, reading: Reading) -> PdfFont:
    """A font of several bytes a code, by way of CIDs."""
    below = entry(value, "/DescendantFonts")
    inner = below[0] if isinstance(below, pikepdf.Array) and len(below) else None
    name = plain_name(entry(value, "/BaseFont"))
    program = _embedded(entry(inner, "/FontDescriptor"), name, reading)
    encoding = entry(value, "/Encoding")
    codes = None
    if isinstance(encoding, pikepdf.Stream):
        codes = character_map(stream_bytes(encoding, reading))
    elif plain_name(encoding) not in {"Identity-H", "Identity-V"}:
        reading.note(f"font '{name}' has an encoding that is not in the file: its text is unread")
    to_glyphs = entry(inner, "/CIDToGIDMap")
    font = PdfFont(name, program, True, {}, _cid_widths(entry(inner, "/W")), 0.0, codes)
    if isinstance(to_glyphs, pikepdf.Stream):
        font.cids_to_glyphs = stream_bytes(to_glyphs, reading)
    font.downwards = plain_name(encoding).endswith("-V")
    font.usual_width = number_of(entry(inner, "/DW"), 1000.0) / 1000
    return font


def _embedded(descriptor: Any, name: str, reading: Reading) -> FontProgram | None:
    """The program that a descriptor embeds."""
    for key in FONT_FILES:
        stream = entry(descriptor, key)
        if isinstance(stream, pikepdf.Stream):
            data = stream_bytes(stream, reading)
            return font_program(key, data, name, reading)
    return None


def _names_by_code(encoding: Any, program: FontProgram | None, symbolic: bool) -> dict[int, str]:
    """Names of glyphs by code: the base encoding, and what differs from it."""
    base = plain_name(encoding) or plain_name(entry(encoding, "/BaseEncoding"))
    names = _base_names(base)
    if not base and program is not None and program.by_code:
        names = dict(program.by_code)
    elif not base and not symbolic:
        names = _base_names("StandardEncoding")
    code = 0
    differences = entry(encoding, "/Differences")
    for each in differences if isinstance(differences, pikepdf.Array) else ():
        if isinstance(each, pikepdf.Name):
            names[code] = plain_name(each)
            code += 1
        else:
            code = int(number_of(each))
    return names


def _base_names(base: str) -> dict[int, str]:
    if base == "StandardEncoding":
        return {code: name for code, name in enumerate(StandardEncoding) if name != ".notdef"}
    codec = {"WinAnsiEncoding": "cp1252", "MacRomanEncoding": "mac_roman"}.get(base)
    if codec is None:
        return {}
    names = {}
    for code in range(32, 256):
        character = bytes([code]).decode(codec, "ignore")
        if character:
            names[code] = agl.UV2AGL.get(ord(character), f"uni{ord(character):04X}")
    return names


def _cid_widths(value: Any) -> dict[int, float]:
    """Widths by CID, in ems: "first [widths]" or "first last width"."""
    widths: dict[int, float] = {}
    given = list(value) if isinstance(value, pikepdf.Array) else []
    while len(given) >= 2 and len(widths) < MOST_WIDTHS:
        first = int(number_of(given[0]))
        if isinstance(given[1], pikepdf.Array):
            for step, width in enumerate(numbers_of(given[1])):
                widths[first + step] = width / 1000
            given = given[2:]
        else:
            last = min(int(number_of(given[1])), first + 65_535)
            width = number_of(given[2]) if len(given) > 2 else 0.0
            widths.update((cid, width / 1000) for cid in range(first, last + 1))
            given = given[3:]
    return widths
