"""Visual characters that are the raised characters of their sign, described once more.

2010 ADA Standards, 703.5, exception: visual characters that meet 703.2 and come with braille by
703.3 need not meet 703.5.2 to 703.5.9. The rules on raised characters and on braille judge whether
they do.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import Sign
from signrules.rules.binding_rows import is_repeated_visually, kind_rows, rows_binding
from signrules.rules.checks import Draft, Level, one_of, standard_source
from signrules.rules.dimensions import joined_sentences
from signrules.rules.scope import has_cells
from signrules.standards.dimension_tables import Row, Standard

Standards = tuple[Standard, ...]

EXEMPT = "exempt, as that of raised characters with braille"


def are_raised(sign: Sign) -> bool:
    """Whether the visual characters of a sign are its raised ones: as tall, and of the same stroke
    where both are stated; and whether there is braille. Characters that repeat the raised ones
    stand beside them.
    """
    raised, visual = sign.raised, sign.visual
    if raised is None or visual is None or not has_cells(sign):
        return False
    # They are said to be others, and so are held to their own rows.
    if is_repeated_visually(sign):
        return False
    if raised.height is None or visual.height is None:
        return False
    if raised.stroke is None or visual.stroke is None:
        return _is_same(raised.height, visual.height)
    return _is_same(raised.height, visual.height) and _is_same(raised.stroke, visual.stroke)


def _is_same(one: Interval, other: Interval) -> bool:
    return abs(one.low - other.low) <= GUARD_MM and abs(one.high - other.high) <= GUARD_MM


def exempted_checks(sign: Sign, standards: Standards, quantity: str, what: str) -> Iterator[Draft]:
    """A check that is met for each row that does not bind these characters."""
    if not are_raised(sign):
        return
    for standard, row in rows_binding(sign, standards, quantity):
        if row.exempt_if_raised is not None:
            source = standard_source(row.title or standard.title, row.exempt_if_raised)
            level = Level(row.level)
            yield one_of(what, found=EXEMPT, allowed=(EXEMPT,), source=source, level=level)


def binding_tables(sign: Sign, standards: Standards, quantity: str) -> Standards:
    """The tables with those rows on a quantity that bind the visual characters of a sign.

    Where raised characters are described too, and are others, the note of a row says that it would
    not bind them.
    """
    if sign.raised is None or sign.visual is None:
        return standards
    is_exempt = are_raised(sign)
    bound = []
    for standard in standards:
        rows = standard.rows_for(quantity)
        binding = [_with_note(row) for row in rows if not (is_exempt and row.exempt_if_raised)]
        # The rows on kinds stay, since which rows bind a sign is asked of the table.
        bound.append(evolve(standard, rows=(*kind_rows(standard), *binding)))
    return tuple(bound)


def _with_note(row: Row) -> Row:
    if row.exempt_if_raised is None:
        return row
    note = (
        "Characters that are raised and come with braille need not meet this "
        f"({row.exempt_if_raised}): if they are the same, state the same height and stroke."
    )
    return evolve(row, note=joined_sentences(row.note, note))
