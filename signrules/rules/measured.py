"""What the measured dots of a sign let expect of those that were not measured."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.sign import Sign
from signrules.physics.measured import measured_dots
from signrules.rules.checks import Draft, Level, check
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, rows, source_of
from signrules.standards.tables import Standard

Standards = tuple[Standard, ...]


@rule("braille.measured-spread", each="sign", source=TABLES, level=Level.NOTE)
def measured_spread(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How many of the dots that were not measured may lie outside the range, going by those that were.

    It is the share of a normal distribution with the mean and the standard deviation of the measured heights, from two
    on. It has no limit and is a hint: a handful of dots says little, and dots that differ for a reason are not normal.

    Why it matters: dots that were measured within the range say little where they lie near its end or far apart.
    A job that breaks it: none, for it only informs; heights of 0.64, 0.70 and 0.76 mm are all within 0.6 to 0.9 mm,
    and yet 5 % of the dots are expected outside.
    One that meets it: heights of 0.74, 0.75 and 0.76 mm, of which none is.
    """
    heights = () if item.measured is None else item.measured.dot_height
    if len(heights) < 2:
        return
    for standard, row in rows(standards, "braille.dot_height"):
        if row.of is not None:
            continue
        least, most = (None if bound is None else bound.number for bound in (row.least, row.most))
        found = measured_dots(heights, least, most)
        if found.spread is None or found.expected_outside is None:
            continue
        out = round(found.outside * found.count)
        known = f"mean {found.mean:.3f} mm, standard deviation {found.spread:.3f} mm, {out} of {found.count} outside"
        yield check(
            f"the share of dots expected outside the range of heights ({known})",
            measured=min(100.0 * found.expected_outside, 100.0),
            unit="%",
            source=source_of(standard, row),
        )
