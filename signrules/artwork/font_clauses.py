"""Which clauses of a dimension table letters of a font can meet, and at which sizes.

What is said of a font holds for its letters as they are drawn in it: not condensed, emboldened or
slanted afterwards. Spacing, case and contrast are for the text to meet, and are not judged here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from signrules.artwork.drawing import FontMeasures
from signrules.artwork.fonts import style_of_font
from signrules.standards.dimension_tables import Row, Standard
from signrules.standards.written_numbers import exact_text

SECTIONS = ("raised", "visual")
MET, BROKEN, UNKNOWN = "met", "not met", "not known"

POINT_MM = 25.4 / 72
"""A point of type: 1/72 in. Common practice of typesetting programs, no published source."""


@frozen
class FontClause:
    """One row of a table on the letters of a font.

    `outcome` is "met", "not met" or "not known", `found` what the font has. Where the row limits a
    length, it is met at sizes of the em from `least` to `most` mm, None for no end.
    """

    standard: str
    row: Row
    outcome: str
    found: str
    least: float | None = None
    most: float | None = None


@frozen
class FontUse:
    """What a font can be used for: all rows of a table on raised or on visual characters.

    `possible` says that no row is out of reach, `least` and `most` the sizes of its em in mm at
    which those on lengths are met, None for no end.
    """

    standard: str
    section: str
    clauses: tuple[FontClause, ...]
    possible: bool
    least: float | None = None
    most: float | None = None


def font_uses(font: FontMeasures, standards: Iterable[Standard]) -> tuple[FontUse, ...]:
    """What the tables say of raised and of visual characters of a font."""
    return tuple(
        _use_of(font, standard, section)
        for standard in standards
        for section in SECTIONS
        if any(_clauses(font, standard, section))
    )


def _use_of(font: FontMeasures, standard: Standard, section: str) -> FontUse:
    clauses = tuple(_clauses(font, standard, section))
    # All rows bind at once, so the sizes that meet them are where their ranges overlap.
    least = max((each.least for each in clauses if each.least is not None), default=None)
    most = min((each.most for each in clauses if each.most is not None), default=None)
    possible = all(each.outcome != BROKEN for each in clauses)
    if least is not None and most is not None and least > most:
        possible = False
    return FontUse(standard.id, section, clauses, possible, least, most)


def _clauses(font: FontMeasures, standard: Standard, section: str) -> Iterator[FontClause]:
    for row in standard.rows:
        # What a row asks of one kind of sign alone says nothing of the font as such.
        if row.only_for:
            continue
        if row.quantity == f"{section}.style":
            yield _style_clause(font, standard, row)
        elif row.of == f"{section}.height" and row.unit == "%":
            share = _share_of_height(font, row.quantity)
            if share is not None:
                yield _share_clause(share, standard, row)
        elif row.quantity in (f"{section}.height", f"{section}.stroke", f"{section}.width"):
            yield _size_clause(_share_of_em(font, row.quantity), standard, row)


def _share_of_height(font: FontMeasures, quantity: str) -> float | str | None:
    """A length of the font as a share of its height, "" where it is not known; None for what is no
    matter of the font.
    """
    name = quantity.partition(".")[2]
    known = {"stroke": font.stroke_share, "width": font.width_share}
    if name not in known:
        return None
    share = known[name]
    return "" if share is None else share


def _share_of_em(font: FontMeasures, quantity: str) -> float | None:
    """A length of the font as a share of its em."""
    name = quantity.partition(".")[2]
    shares = {"height": 1.0, "stroke": font.stroke_share, "width": font.width_share}
    share = shares[name]
    if share is None or font.cap_height is None:
        return None
    return share * font.cap_height


def _style_clause(font: FontMeasures, standard: Standard, row: Row) -> FontClause:
    style = style_of_font(font)
    if style is None:
        return FontClause(standard.id, row, UNKNOWN, "its tables do not say which style it is")
    outcome = MET if style in row.words else BROKEN
    return FontClause(standard.id, row, outcome, style)


def _share_clause(share: float | str, standard: Standard, row: Row) -> FontClause:
    if isinstance(share, str):
        return FontClause(standard.id, row, UNKNOWN, "the font has no such letter")
    # Binary floats: 110 % is on the limit though 100 * 1.1 lies above it.
    percent = round(100 * share, 9)
    too_little = row.least is not None and percent < row.least.number
    too_much = row.most is not None and percent > row.most.number
    outcome = BROKEN if too_little or too_much else MET
    return FontClause(standard.id, row, outcome, f"{percent:.1f} %")


def _size_clause(share: float | None, standard: Standard, row: Row) -> FontClause:
    if share is None:
        return FontClause(standard.id, row, UNKNOWN, "the font has no such letter")
    least = None if row.least is None else row.least.number / share
    most = None if row.most is None else row.most.number / share
    found = f"{exact_text(round(100 * share, 1))} % of the em"
    if row.bands:
        # The height depends on the distance of reading, which is not a matter of the font.
        least = min(band.base.number for band in row.bands) / share
        found += "; the least there is, more from further away"
    return FontClause(standard.id, row, MET, found, least, most)
