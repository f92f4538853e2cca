"""Several standards at once: for each quantity the range that satisfies all, or who disagrees with
whom.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache
from itertools import combinations
from types import MappingProxyType
from typing import Any

from attrs import field, frozen

from signrules.errors import SignrulesError
from signrules.model.limits import MOST_LAYERS
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import nearest_name
from signrules.physics.ink import layers_for
from signrules.standards.dimension_tables import (
    EXEMPT,
    REPEATED,
    SCOPE,
    UNBOUND,
    Row,
    Standard,
    amended_tables,
    builtin_standards,
    not_available,
)
from signrules.standards.written_numbers import exact_text, range_words


@frozen
class Common:
    """One quantity under several standards: `least` and `most` (None: open) or `words` that satisfy
    every row.

    Exact, in mm where `unit` is "mm". `of` is the quantity that a share or a multiple is taken of,
    `formula` that of a contrast; `conflicts` names each two standards of which no value satisfies
    both. `rows` are the rows, each with the id of its standard.
    """

    quantity: str
    unit: str
    rows: tuple[tuple[str, Row], ...] = field(repr=False)
    of: str | None = None
    least: Fraction | None = None
    most: Fraction | None = None
    words: tuple[str, ...] = ()
    conflicts: tuple[tuple[str, str], ...] = ()
    formula: str | None = None

    @property
    def possible(self) -> bool:
        """Whether one value satisfies every standard."""
        # Rows of one quantity are all words or all numbers: the reader of tables sees to that.
        if self.rows[0][1].words:
            return bool(self.words)
        return self.least is None or self.most is None or self.least <= self.most

    @property
    def standards(self) -> tuple[str, ...]:
        """The ids of the standards that limit it."""
        return tuple(dict.fromkeys(name for name, _ in self.rows))

    def __str__(self) -> str:
        """The range in words, with the exact millimetres, or the disagreement."""
        if not self.possible:
            pairs = ", ".join(f"{name} and {other_name}" for name, other_name in self.conflicts)
            stated = "; ".join(f"{name}: {row.limit}" for name, row in self.rows)
            return f"none satisfies all: {pairs or 'all of them'} disagree ({stated})"
        if self.words:
            return " or ".join(self.words)
        least, most = (
            None if bound is None else exact_text(bound) for bound in (self.least, self.most)
        )
        words = f"{range_words(least, most)} {self.unit}"
        if self.of is not None:
            words += f" of {self.of}"
        if self.formula is not None:
            words += f" by the formula {self.formula}"
        return words


@frozen
class Together:
    """Standards side by side: one `Common` for each quantity that any of them limits, in the order
    of their rows.

    `by_distance` are the quantities whose least depends on how a sign hangs and is read; they are
    no single range.
    """

    standards: tuple[Standard, ...]
    quantities: tuple[Common, ...]
    by_distance: tuple[str, ...] = ()

    @property
    def possible(self) -> bool:
        """Whether one sign can satisfy every standard in all that the tables hold."""
        return all(common.possible for common in self.quantities)

    @property
    def conflicts(self) -> tuple[Common, ...]:
        """The quantities in which the standards disagree."""
        return tuple(common for common in self.quantities if not common.possible)

    def of(self, quantity: str) -> Common:
        """What satisfies all in one quantity itself, not as a share of another.

        Raises SignrulesError where no standard limits it so.
        """
        for common in self.quantities:
            if common.quantity == quantity and common.of is None:
                return common
        raise SignrulesError(f"{quantity}: none of {self._names()} limits it in itself")

    def target(self, quantity: str) -> float:
        """The middle of the range that satisfies all: mm for a length.

        Raises SignrulesError where no value satisfies all, or the range is open at one side or a
        choice of words.
        """
        common = self.of(quantity)
        if not common.possible or common.least is None or common.most is None:
            raise SignrulesError(f"{quantity}: no middle to aim for: {common}")
        return float((common.least + common.most) / 2)

    def layers(self, quantity: str, layer: Interval) -> range:
        """How many layers of an ink keep a relief within the range, at both ends of the layer's
        tolerance (mm).

        Flat layers on a flat face: the height is their number times the layer. The range is empty
        where the layer varies too much for any number. Raises SignrulesError where no value
        satisfies all or the range has no least, and ValueError for a layer that may be 0.
        """
        common = self.of(quantity)
        if not common.possible or common.least is None or common.unit != "mm":
            raise SignrulesError(f"{quantity}: no height to build: {common}")
        # The thinnest layers must reach the least, and the thickest must not pass the most.
        fewest = layers_for(float(common.least), layer.low)
        most_layers = MOST_LAYERS
        if common.most is not None:
            most_layers = math.floor((float(common.most) + GUARD_MM) / layer.high)
        # An empty range still begins where the least is reached.
        return range(fewest, max(fewest, most_layers + 1))

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON; exact limits as text of a fraction beside the float."""
        return {
            "standards": [standard.id for standard in self.standards],
            "possible": self.possible,
            "quantities": [_to_dict(common) for common in self.quantities],
            "by_distance": list(self.by_distance),
        }

    def _names(self) -> str:
        return ", ".join(standard.id for standard in self.standards)


def together(standards: Iterable[Standard | str]) -> Together:
    """For each quantity that any of the standards limits, what satisfies them all.

    A text is the id of a built-in table. Which signs need what (`scope`) is left out: kinds of sign
    are no range. Raises SignrulesError for an id that no built-in table has, or where there is no
    standard at all.
    """
    chosen = _chosen_standards(standards)
    groups: dict[tuple[str, str | None, str, str | None], list[tuple[str, Row]]] = {}
    by_distance: dict[str, None] = {}
    for standard in chosen:
        for row in standard.rows:
            if row.bands:
                by_distance[row.quantity] = None
            elif row.quantity not in (SCOPE, EXEMPT, UNBOUND, REPEATED):
                # A length and a share of another quantity limit the same, and cannot be compared.
                key = (row.quantity, row.of, row.unit, row.contrast)
                groups.setdefault(key, []).append((standard.id, row))
    ranges = tuple(_common_range(*kind, tuple(rows)) for kind, rows in groups.items())
    return Together(chosen, ranges, tuple(by_distance))


def _chosen_standards(standards: Iterable[Standard | str]) -> tuple[Standard, ...]:
    # By id: the same standard named twice does not disagree with itself.
    chosen: dict[str, Standard] = {}
    for each in standards:
        standard = _builtin_table(each) if isinstance(each, str) else each
        chosen[standard.id] = standard
    if not chosen:
        raise SignrulesError("expected at least one standard")
    return tuple(chosen.values())


@cache
def _builtin_tables() -> Mapping[str, Standard]:
    """The built-in tables by id, with the rows that they take over."""
    return MappingProxyType(amended_tables(builtin_standards()))


def _builtin_table(id: str) -> Standard:
    """A built-in table by its id. Raises SignrulesError where there is none."""
    known = _builtin_tables()
    if id in known:
        return known[id]
    for unread in not_available():
        if unread.id == id:
            raise SignrulesError(f"{id} is known but not available: {unread.reason}")
    near_name = nearest_name(id, tuple(known))
    hint = f"{near_name} perhaps" if near_name else f"one of {', '.join(sorted(known))}"
    raise SignrulesError(f"no built-in table has the id {id!r}, expected {hint}")


def _common_range(
    quantity: str, of: str | None, unit: str, formula: str | None, rows: tuple[tuple[str, Row], ...]
) -> Common:
    # Rows of one standard may differ in what they bind, so its own two may disagree as well.
    conflicts = tuple(
        dict.fromkeys(
            (name, other_name)
            for (name, row), (other_name, other_row) in combinations(rows, 2)
            if _they_disagree(row, other_row)
        )
    )
    if rows[0][1].words:
        first = rows[0][1].words
        words = tuple(word for word in first if all(word in row.words for _, row in rows))
        return Common(quantity, "", rows, None, words=words, conflicts=conflicts)
    highest_least = max((row.least.value for _, row in rows if row.least is not None), default=None)
    lowest_most = min((row.most.value for _, row in rows if row.most is not None), default=None)
    return Common(
        quantity, unit, rows, of, highest_least, lowest_most, conflicts=conflicts, formula=formula
    )


def _they_disagree(one: Row, other: Row) -> bool:
    if one.words:
        return not set(one.words) & set(other.words)
    return _lies_above(one, other) or _lies_above(other, one)


def _lies_above(one: Row, other: Row) -> bool:
    return one.least is not None and other.most is not None and one.least.value > other.most.value


def _to_dict(common: Common) -> dict[str, Any]:
    return {
        "quantity": common.quantity,
        "of": common.of,
        "unit": common.unit,
        "formula": common.formula,
        "possible": common.possible,
        "least": None if common.least is None else float(common.least),
        "most": None if common.most is None else float(common.most),
        "exact": [None if bound is None else str(bound) for bound in (common.least, common.most)],
        "words": list(common.words),
        "conflicts": [list(pair) for pair in common.conflicts],
        "rows": [
            {"standard": name, "limit": row.limit, "clause": row.clause, "standing": row.standing}
            for name, row in common.rows
        ],
    }
