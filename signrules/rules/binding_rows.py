"""Which rows of a table bind a sign: by its kind, and by what it states of its characters.

2010 ADA Standards, 216.1, exceptions 1 and 3: some kinds of sign are exempt from all of section 216
and with it from the dimensions of section 703. Other rows bind some kinds alone, or let some go.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from signrules.model.sign import Sign
from signrules.standards.dimension_tables import EXEMPT, SCOPE, UNBOUND, Row, Standard

SEPARATE_VISUAL = "separate-visual"
"""A word of `only_for` and `not_for` that is no kind: the raised words stand on the sign once more,
as visual characters of their own.
"""


def rows_binding(
    sign: Sign, standards: Iterable[Standard], quantity: str
) -> Iterator[tuple[Standard, Row]]:
    """The rows that limit a quantity of this sign, each with its standard."""
    for standard in standards:
        if is_bound(sign, standard):
            for row in standard.rows_for(quantity):
                if _binds(row, sign, standard):
                    yield standard, row


def limited_quantities(sign: Sign, standard: Standard, level: str) -> list[str]:
    """The quantities that rows of one level limit for a sign of this kind."""
    if not is_bound(sign, standard):
        return []
    rows = (row for row in standard.rows if row.level == level)
    return [row.quantity for row in rows if _binds(row, sign, standard)]


def is_bound(sign: Sign, standard: Standard) -> bool:
    """Whether the dimensions of a table bind a sign of this kind at all."""
    return not any(sign.kind in row.words for row in standard.rows_for(UNBOUND))


def kind_rows(standard: Standard) -> tuple[Row, ...]:
    """The rows of a table that say which kinds of sign are tactile and which are not."""
    return tuple(row for name in (SCOPE, EXEMPT, UNBOUND) for row in standard.rows_for(name))


def exempt_rows(standard: Standard) -> tuple[Row, ...]:
    """The rows of a table that name kinds of sign which need no tactile text."""
    return standard.rows_for(EXEMPT) + standard.rows_for(UNBOUND)


def _binds(row: Row, sign: Sign, standard: Standard) -> bool:
    """A sign without a kind, or of one that the table does not know, is held to every kind's rows.

    Which of them it falls under is not known.
    """
    if not row.not_for and not row.only_for:  # Mostly a row binds all kinds.
        return True
    words = {sign.kind}
    if is_repeated_visually(sign):
        words.add(SEPARATE_VISUAL)
    # Let go goes before bound: an exemption is what a table states last, and for a reason.
    if words & {*row.not_for}:
        return False
    if not row.only_for or words & {*row.only_for}:
        return True
    # A kind that the table does not know may be any of its kinds, so the row is held to it.
    known_words = {word for kind_row in kind_rows(standard) for word in kind_row.words}
    return SEPARATE_VISUAL not in row.only_for and sign.kind not in known_words


def is_repeated_visually(sign: Sign) -> bool:
    """Whether visual characters say, apart from the raised ones, what these say."""
    return sign.visual is not None and sign.visual.repeats is not None
