"""What a font can be used for, as text and plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import attrs

from signrules.artwork.drawing import FontMeasures
from signrules.artwork.font_clauses import POINT_MM, FontClause, FontUse
from signrules.reports.standards_report import DISCLAIMER

LIMITS = (
    "Letters as the font draws them: not condensed, emboldened or slanted afterwards.",
    "Spacing, case, contrast and relief are not the font's, and are not judged here.",
)


def font_text(font: FontMeasures, uses: Sequence[FontUse]) -> str:
    """What was measured of a font, and what it can be used for, line by line."""
    return "\n".join(_lines(font, uses)) + "\n"


def _lines(font: FontMeasures, uses: Sequence[FontUse]) -> Iterator[str]:
    yield font.name
    for name, value in (
        ("height of I", font.cap_height),
        ("height of x", font.x_height),
        ("stroke of I", font.stroke_share),
        ("width of O", font.width_share),
    ):
        # The standards take strokes and widths as shares of the height of the capital I.
        reference = "the em" if name.startswith("height") else "the height of I"
        yield f"  {name}: " + (
            "not known" if value is None else f"{100 * value:.1f} % of {reference}"
        )
    for use in uses:
        yield ""
        yield f"{use.standard}, {use.section} characters: {_verdict(use)}"
        yield from (f"  {_clause_text(clause)}" for clause in use.clauses)
    yield ""
    yield from LIMITS
    # A font that can meet a standard is not yet a sign that does.
    yield from DISCLAIMER


def _verdict(use: FontUse) -> str:
    if not use.possible:
        return "cannot be met"
    unknown = sum(clause.outcome == "not known" for clause in use.clauses)
    unknown_words = f", {unknown} not known" if unknown else ""
    return f"can be met {sizes_text(use.least, use.most)}{unknown_words}"


def sizes_text(least: float | None, most: float | None) -> str:
    """Sizes of the em in words, in mm and points."""
    low, high = (None if size is None else _size_text(size) for size in (least, most))
    if low is not None and high is not None:
        return f"at sizes from {low} to {high}"
    if low is not None:
        return f"at sizes from {low} on"
    return "at any size" if high is None else f"at sizes up to {high}"


def _size_text(size: float) -> str:
    return f"{size:.2f} mm ({size / POINT_MM:.1f} pt)"


def _clause_text(clause: FontClause) -> str:
    row = clause.row
    limit = row.limit or "by viewing distance"
    share_of = f" of {row.of}" if row.of is not None else ""
    text = f"{row.quantity} {limit}{share_of} ({row.clause}): {clause.outcome}, {clause.found}"
    if clause.least is None and clause.most is None:
        return text
    return f"{text}; {sizes_text(clause.least, clause.most)}"


def font_to_dict(font: FontMeasures, uses: Sequence[FontUse]) -> dict[str, Any]:
    """The same as plain data, sizes in mm of the em."""
    return {
        "font": attrs.asdict(font),
        "uses": [
            {
                "standard": use.standard,
                "section": use.section,
                "possible": use.possible,
                "least_em": use.least,
                "most_em": use.most,
                "clauses": [_clause_to_dict(clause) for clause in use.clauses],
            }
            for use in uses
        ],
    }


def _clause_to_dict(clause: FontClause) -> dict[str, Any]:
    return {
        "quantity": clause.row.quantity,
        "clause": clause.row.clause,
        "limit": clause.row.limit,
        "of": clause.row.of,
        "outcome": clause.outcome,
        "found": clause.found,
        "least_em": clause.least,
        "most_em": clause.most,
    }
