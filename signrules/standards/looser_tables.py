"""Where a table asks for less than a law: than the table that it amends, or than a built-in one.

Ranges and words are compared as `together` puts them, so several rows on one quantity count as one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from attrs import evolve

from signrules.model.quantities import GUARD_MM
from signrules.model.wording import listed_names
from signrules.standards.common_ranges import Common, together
from signrules.standards.dimension_tables import (
    EXEMPT,
    LEVELS,
    REPEATED,
    SCOPE,
    UNBOUND,
    Looser,
    Row,
    Standard,
    builtin_standards,
)
from signrules.standards.written_numbers import LENGTHS

_Key = tuple[str, str | None, str, str | None]
Tables = Mapping[str, Standard]
Bases = Mapping[str, str | None]

FAR_MM = 1_000_000
"""A viewing distance beyond every one at which a band begins to ask for more."""


def compared_tables(full: Tables, own: Iterable[Standard]) -> dict[str, Standard]:
    """The tables, each with a list of the limits that are looser than the law's: `looser`.

    `full` are the tables with the rows that they take over, `own` the same with their own alone.
    A built-in table that stands alone is a law, and is compared with none.
    """
    amends = {table.id: table.amends for table in own}
    return {
        name: evolve(table, looser=_looser_rows(table, full, amends))
        for name, table in full.items()
    }


def _looser_rows(table: Standard, full: Tables, amends: Bases) -> tuple[Looser, ...] | None:
    law = table.id
    # Down to the table that stands alone: an amendment of an amendment is held to the law.
    while (base := amends[law]) is not None:
        law = base
    if law != table.id:
        return tuple(looser_than(table, full[law], whole=True))
    laws = builtin_standards()
    # By id and not by identity: tables are copied when they are filled up.
    if any(table.id == law.id for law in laws):
        return None
    return tuple(row for law in laws for row in looser_than(table, law, whole=False))


def looser_sentences(tables: Iterable[Standard]) -> Iterator[str]:
    """A sentence for each table that asks for less than a law."""
    yield from (f"{table.id} is {in_full(table.looser)}." for table in tables if table.looser)


def in_full(found: Iterable[Looser]) -> str:
    """What is looser than what, law by law: "looser than us-ada-2010: ..., ...; ..."."""
    by_law: dict[str, list[str]] = {}
    for looser_row in found:
        by_law.setdefault(looser_row.law, []).append(str(looser_row))
    return "; ".join(
        f"looser than {law}: {', '.join(quantities)}" for law, quantities in by_law.items()
    )


def looser_than(own: Standard, law: Standard, *, whole: bool) -> Iterator[Looser]:
    """Where a table asks for less than a law does.

    `whole`: the table stands in the place of the law, so that what it lacks is asked for no more.
    """
    own_ranges = {_row_key(common): common for common in together([own]).quantities}
    for theirs in together([law]).quantities:
        own_range = own_ranges.get(_row_key(theirs))
        if own_range is None:
            if whole:
                yield Looser(law.id, theirs.quantity, "no such limit", _in_words(theirs))
        elif _is_looser(own_range, theirs):
            yield Looser(law.id, theirs.quantity, _in_words(own_range), _in_words(theirs))
        # LEVELS begins with the strictest.
        elif _strictest_level(own_range) > _strictest_level(theirs):
            levels = (LEVELS[_strictest_level(common)] for common in (own_range, theirs))
            yield Looser(law.id, theirs.quantity, *(f"a level of {level}" for level in levels))
    yield from _looser_bands(own, law, whole)
    yield from _looser_kinds(own, law)
    yield from _looser_scope(own, law, whole)


def _row_key(common: Common) -> _Key:
    return common.quantity, common.of, common.unit, common.formula


def _in_words(common: Common) -> str:
    return str(common).strip()


def _is_looser(own_range: Common, theirs: Common) -> bool:
    if theirs.rows[0][1].words:
        return not set(own_range.words) <= set(theirs.words)
    # Laws in inches and house tables in rounded mm differ by less; that is no lower demand.
    guard = Fraction(GUARD_MM)
    asks_less = _bound_end(theirs.least, -1) - _bound_end(own_range.least, -1) > guard
    return asks_less or _bound_end(own_range.most, 1) - _bound_end(theirs.most, 1) > guard


def _bound_end(bound: Fraction | None, side: int) -> Fraction:
    """The end of a range; one that is open lies beyond all that is written."""
    # Fractions know no infinity; numbers of tables have nine digits before the point.
    return side * Fraction(10**12) if bound is None else bound


def _strictest_level(common: Common) -> int:
    """The strictest level of the rows, as a place in LEVELS."""
    return min(LEVELS.index(row.level) for _, row in common.rows)


def _looser_bands(own: Standard, law: Standard, whole: bool) -> Iterator[Looser]:
    """Least heights, compared wherever one of them changes: between, each is a straight line."""
    for theirs in (row for row in law.rows if row.bands):
        own_rows = [row for row in own.rows_for(theirs.quantity) if row.bands]
        asked = "as much by height and distance"
        if not own_rows:
            if whole:
                yield Looser(law.id, theirs.quantity, "no least by height and distance", asked)
            continue
        lower = next(
            (
                place
                for place in _row_places((*own_rows, theirs))
                if _is_below(own_rows, theirs, place)
            ),
            None,
        )
        if lower is not None:
            floor, distance = lower
            place_words = f" (hung at {floor:g} mm, read from {distance:g} mm)"
            wanted = f"at least {_least_row(theirs, lower):g} mm{place_words}"
            given = f"at least {_strictest_rows(own_rows, lower):g} mm"
            yield Looser(law.id, theirs.quantity, given, wanted)


Place = tuple[float, float]
"""How high a sign hangs above the floor, and from how far it is read, in mm."""


def _is_below(own_rows: Iterable[Row], theirs: Row, place: Place) -> bool:
    return _strictest_rows(own_rows, place) < _least_row(theirs, place) - GUARD_MM


def _strictest_rows(rows: Iterable[Row], place: Place) -> float:
    return max(_least_row(row, place) for row in rows)


def _row_places(rows: Iterable[Row]) -> list[Place]:
    bands = [band for row in rows for band in row.bands]
    ends = sorted({band.up_to.number for band in bands if band.up_to is not None})
    # One millimetre above the last end lies in the band that has none.
    floors = [*ends, (ends[-1] if ends else 0.0) + 1.0]
    distances = sorted({0.0, FAR_MM, *(band.distance.number for band in bands)})
    return [(floor, distance) for floor in floors for distance in distances]


def _least_row(row: Row, place: Place) -> float:
    assert row.per_foot is not None
    floor, distance = place
    band = next(band for band in row.bands if band.up_to is None or floor <= band.up_to.number)
    beyond = max(0.0, distance - band.distance.number)
    return band.base.number + row.per_foot.number * beyond / float(LENGTHS["ft"])


def _looser_scope(own: Standard, law: Standard, whole: bool) -> Iterator[Looser]:
    """Kinds of sign that the law wants tactile and the table does not, or only the
    table lets go.
    """
    # A house table that says nothing of kinds leaves that to the law beside it.
    if whole or own.rows_for(REPEATED):
        unasked = [
            word
            for word in _kinds_let_go(law, REPEATED)
            if word not in _kinds_let_go(own, REPEATED)
        ]
        if unasked:
            asked = "raised characters repeated in braille on each"
            yield Looser(law.id, REPEATED, f"not on {listed_names(unasked)}", asked)
    if not (whole or own.rows_for(SCOPE) or own.rows_for(EXEMPT) or own.rows_for(UNBOUND)):
        return
    own_kinds, theirs = _kinds_let_go(own, SCOPE), _kinds_let_go(law, SCOPE)
    if kinds_gone := [word for word in theirs if word not in own_kinds]:
        yield Looser(
            law.id, SCOPE, f"none of {listed_names(kinds_gone)}", "raised text and braille on each"
        )
    # What a law frees of everything may well be freed of tactile text alone, and not the other way.
    for quantity, allowed in ((EXEMPT, (EXEMPT, UNBOUND)), (UNBOUND, (UNBOUND,))):
        kinds_of_law = {word for name in allowed for word in _kinds_let_go(law, name)}
        kinds_let_go = [word for word in _kinds_let_go(own, quantity) if word not in kinds_of_law]
        if theirs and kinds_let_go:
            yield Looser(
                law.id, quantity, f"none on {listed_names(kinds_let_go)}", "no such exception"
            )


def _looser_kinds(own: Standard, law: Standard) -> Iterator[Looser]:
    """Kinds of sign that all of a table's rows on a quantity let go, and the law's do not."""
    for quantity in dict.fromkeys(row.quantity for row in own.rows):
        theirs = law.rows_for(quantity)
        kinds_let_go = sorted(_let_go_besides(own, law, quantity))
        if kinds_let_go:
            yield Looser(
                law.id, quantity, f"not on {listed_names(kinds_let_go)}", "no such exception"
            )
        own_only, asked = _only_kinds(own, quantity), _only_kinds(law, quantity)
        if theirs and own_only and (not asked or asked - own_only):
            yield Looser(
                law.id, quantity, f"on {listed_names(sorted(own_only))} alone", "on others too"
            )


def _only_kinds(table: Standard, quantity: str) -> set[str]:
    """The kinds that the rows on a quantity bind alone; none where one of them binds every kind."""
    rows = table.rows_for(quantity)
    everyone = any(not row.only_for for row in rows)
    return set() if everyone else {word for row in rows for word in row.only_for}


def _let_go_besides(own: Standard, law: Standard, quantity: str) -> set[str]:
    """The kinds that a table lets go on a side on which the law limits a quantity and does not."""
    let_go_besides: set[str] = set()
    for side in ("least", "most", "words"):
        own_rows = [row for row in own.rows_for(quantity) if getattr(row, side)]
        theirs = [row for row in law.rows_for(quantity) if getattr(row, side)]
        if own_rows and theirs:
            # A kind is free only where every row on that side lets it go.
            let_go = set.intersection(*({*row.not_for} for row in own_rows))
            let_go_besides |= let_go.difference(*(row.not_for for row in theirs))
    return let_go_besides


def _kinds_let_go(table: Standard, quantity: str) -> list[str]:
    return [word for row in table.rows_for(quantity) for word in row.words]
