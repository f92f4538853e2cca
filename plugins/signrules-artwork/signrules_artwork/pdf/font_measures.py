"""What an embedded font says of its letters: handed to the core, with the glyphs of the letters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from signrules.artwork.drawing import FontMeasures
from signrules.errors import SignrulesError

if TYPE_CHECKING:
    from signrules_artwork.pdf.fonts import PdfFont


def font_measures(font: PdfFont) -> FontMeasures | None:
    """The measures of a font; its name alone where nothing can be measured."""
    if font.program is None:
        return FontMeasures(font.name) if font.name else None
    from signrules.artwork.fonts import measure_font

    try:
        return measure_font(font.program.data, font.name, glyphs=_letters_of(font))
    except SignrulesError:
        return FontMeasures(font.name)


def _letters_of(font: PdfFont) -> dict[str, str | int]:
    """Names of glyphs by letter, as far as the page's encoding says them."""
    letters: dict[str, str | int] = {}
    for code in [*font.texts, *font.names]:
        glyph, text = font.glyph(code), font.text(code)
        if glyph is not None and len(text) == 1:
            letters.setdefault(text, glyph)
    return letters
