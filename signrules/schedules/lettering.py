"""The letters of a filled sign type that are set from a font: where they lie, what they measure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from attrs import define, evolve, field, fields_dict

from signrules.artwork.fonts import style_of_font
from signrules.artwork.set_letters import (
    LetterFont,
    SetLetters,
    characters_of_other_scripts,
    letter_font,
    set_letters,
)
from signrules.documents.refusal import Refused
from signrules.documents.table_reader import write_table
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.quantities import Interval
from signrules.model.sign import Raised, Visual
from signrules.model.sign_types import LETTERED, LetterPlace
from signrules.model.wording import NOTHING, shown_value
from signrules.schedules.cells import shown_text
from signrules.schedules.filling import FilledType
from signrules.schedules.placing import DECIMALS

MOST_FONT_BYTES = 64 * 1024 * 1024
"""The largest font that is read."""


@define
class FontShelf:
    """The fonts that types name, each opened once. `folder` is where their paths start."""

    folder: Path
    notes: list[str] = field(factory=list)
    _opened: dict[str, LetterFont] = field(factory=dict)

    def opened(self, file: str) -> LetterFont:
        """A font by its file.

        Raises Refused where the file cannot be read, ArtworkError where it is no font,
        SignrulesError where fontTools is not installed.
        """
        if file not in self._opened:
            self._opened[file] = letter_font(_font_bytes(self.folder / file), file)
        return self._opened[file]


def shelf_beside(shop: object) -> FontShelf:
    """The fonts of a shop: their paths start where its file lies; of plain data, in the folder in
    which the program runs.
    """
    return FontShelf(Path(getattr(shop, "origin", "")).parent)


def _font_bytes(path: Path) -> bytes:
    """What a file holds. Raises Refused where it cannot be read."""
    expected = "the file of a font, from where the shop file lies"
    try:
        if path.exists() and not path.is_file():
            raise Refused([DocumentFault("", "no regular file", expected)])
        if path.stat().st_size > MOST_FONT_BYTES:
            most = f"at most {MOST_FONT_BYTES // 1024**2} MiB"
            raise Refused([DocumentFault("", f"a file of {path.stat().st_size} bytes", most)])
        return path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, Refused):
            raise
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        found = f"{path.name}: {reason}"
        raise Refused([DocumentFault("", found, expected)]) from None


ONLY_IF_LIMITED = frozenset({"raised.word_spacing"})
"""Quantities that few standards limit. A sign states them where its own do: elsewhere nobody would
judge them, and a report would say so of each sign.
"""


def with_letters(filled: FilledType, shelf: FontShelf, limited: Collection[str]) -> FilledType:
    """A filled type with the area, the inked share and the measures of letters set from a font.

    What the type states itself stays. `limited` are the quantities that its standards limit.
    Raises Refused, with paths into the shop file.
    """
    for name in LETTERED:
        place = filled.sign_type.letters_of(name)
        if place is not None:
            unwanted = ONLY_IF_LIMITED - frozenset(limited)
            filled = _with_feature(filled, name, place, shelf, unwanted)
    return filled


def _with_feature(
    filled: FilledType, name: str, place: LetterPlace, shelf: FontShelf, unwanted: Collection[str]
) -> FilledType:
    """A filled type with the letters of one feature, and those of their measures that it wants."""
    path = f"{filled.path}.lettering.{name}"
    with _told_of_font(f"{path}.font"):
        font = shelf.opened(place.font)
    section = getattr(filled.sign_type, name)
    em = _em_of(section, place, font, path)
    faults = list(_unset_text(filled, name, font))
    if faults:
        raise Refused(faults)
    down = 0.0 if section.line_spacing is None else section.line_spacing.nominal
    with _told_of_font(f"{path}.font"):
        letters = set_letters(font, filled.sign_type.text, place, em, down)
    if letters is None:
        found = shown_value(shown_text(filled.sign_type.text))
        raise Refused([DocumentFault(f"{filled.path}.text", found, "text with letters to set")])
    measured = {
        key: value
        for key, value in _measures(font, em, letters)
        if key in fields_dict(type(section))
        # What the type states goes before what the font says: the shop may have measured its print.
        and getattr(section, key) is None
        and f"{name}.{key}" not in unwanted
    }
    shelf.notes += _notes_on(filled, name, place.font, font, measured)
    own = evolve(section, area=letters.area, **measured)
    written = write_table(own)
    stated = {**filled.table[name], **{key: written[key] for key in measured}}
    return evolve(
        filled,
        table={**filled.table, name: stated},
        sign_type=evolve(filled.sign_type, **{name: own}),
        shares={**filled.shares, name: letters.share},
    )


@contextmanager
def _told_of_font(path: str) -> Iterator[None]:
    """Raises Refused, with the path of a font, for what is wrong with its file."""
    try:
        yield
    except Refused as refused:
        raise Refused(refused.under(path)) from None
    except ArtworkError as error:
        raise Refused(Refused(error.faults).under(path)) from None


def _notes_on(
    filled: FilledType, name: str, file: str, font: LetterFont, measured: Iterable[str]
) -> Iterator[str]:
    """What was measured in the font of a feature, and what of its kerning is applied."""
    keys = ", ".join(measured)
    if keys:
        kerned = ", with its kerning" if font.kerning.is_there else ""
        yield f"{filled.path}.{name}: {keys} as letters of {file} measure{kerned}"
    if font.kerning.not_applied:
        what = "kerns some letters by what stands around them, which is not applied"
        yield f"{filled.path}.lettering.{name}: {file} {what}"


def _em_of(section: Raised | Visual, place: LetterPlace, font: LetterFont, path: str) -> float:
    """The size of the font: the stated one, else the one that gives the capital I its height."""
    if place.em is not None:
        return place.em
    if not font.measures.cap_height:
        expected = f"em: {place.font} has no I, nor another capital as high"
        raise Refused([DocumentFault(f"{path}.em", NOTHING, expected)])
    assert section.height is not None  # faults_between asks for one of both.
    return section.height.nominal / font.measures.cap_height


def _unset_text(filled: FilledType, name: str, font: LetterFont) -> Iterator[DocumentFault]:
    """Why the text of a sign cannot be set in a font."""
    lines = filled.sign_type.text
    path = f"{filled.path}.text"
    other = characters_of_other_scripts(lines)
    if other:
        expected = "letters that stand side by side, from left to right: state the area of others"
        yield DocumentFault(path, _listed_characters(other), expected)
    lacking = font.lacking(lines)
    if lacking:
        expected = f"characters that {font.measures.name} has"
        yield DocumentFault(path, _listed_characters(lacking), expected)
    if len(lines) > 1 and getattr(filled.sign_type, name).line_spacing is None:
        expected = f"the length from baseline to baseline, for a text of {len(lines)} lines"
        yield DocumentFault(f"{filled.path}.{name}.line_spacing", NOTHING, expected)


def _listed_characters(characters: Sequence[str]) -> str:
    codes = [f"{shown_value(each)} (U+{ord(each):04X})" for each in characters]
    return ", ".join(codes)


def _measures(font: LetterFont, em: float, letters: SetLetters) -> Iterator[tuple[str, Any]]:
    """What is measured of letters, by the keys of a sign; what the font does not tell is not
    there.
    """
    of_font = font.measures
    if of_font.cap_height:
        height = em * of_font.cap_height
        yield "height", _rounded(Interval.exact(height))
        if of_font.stroke_share:
            yield "stroke", _rounded(Interval.exact(height * of_font.stroke_share))
        if of_font.width_share:
            yield "width", _rounded(Interval.exact(height * of_font.width_share))
    for key in ("spacing", "word_spacing"):
        gaps = getattr(letters, key)
        if gaps is not None:
            yield key, _rounded(gaps)
    style = style_of_font(of_font)
    if style is not None:
        yield "style", style


def _rounded(length: Interval) -> Interval:
    low, nominal, high = (
        round(each, DECIMALS) for each in (length.low, length.nominal, length.high)
    )
    return Interval(low, nominal, high)
