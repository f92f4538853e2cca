"""Dimension tables of published standards, read from data files.

A table is TOML: `id`, `title`, `publisher`, the governing `unit` ("in" or "mm"), and `[[rows]]`;
optional are `notes` (what the publication asks for and no row says) and `amends` (the id of a table
that this one changes: its rows take the place of those on the same quantity, and the others are
kept with their source). A row names the
`quantity` of a sign that it limits ("braille.dot_height"), the `clause`, the `source` (the
publication that was read), its `standing` (one of `STANDINGS`), and one kind of limit:

- a range: `least` and/or `most`, lengths in the governing unit, or shares "70 %" of a quantity that
  is one itself;
- with `of`, a share ("15 %") or a multiple ("4 strokes") of another quantity of the sign;
- a choice of `words`;
- `bands`: a least height that grows with the viewing distance, one band for each range of heights
  above the floor.

Optional: `least_printed` and `most_printed` (the rounded millimetres beside the governing value),
`measured` (from where to where), `level` (STOP unless stated), `note`, and `title`, where a row
comes from another publication than the rest of the table; for a contrast, `formula`, one of
`FORMULAS`; for visual characters, `exempt_if_raised`, the clause by which those that are the raised
characters of the sign, with braille, need not meet the row. A row binds every kind of sign, unless
it names those that it binds alone (`only_for`) or those that it lets go (`not_for`); beside kinds,
both may hold `separate-visual`: signs whose visual characters repeat the raised ones.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache, cached_property
from importlib import resources
from pathlib import Path

from attrs import evolve, field, frozen

from signrules.errors import JobError, SignrulesError
from signrules.model.declared import declared_fields
from signrules.model.sign import Sign
from signrules.standards.written_numbers import Written, range_words

STANDINGS = ("read", "second hand", "from memory")
"""`read`: the official text or a verbatim copy; `second hand`: what somebody else reports of it;
`from memory`: what nobody has looked up yet."""

LEVELS = ("STOP", "REVIEW", "NOTE")
UNITS = ("in", "mm")
NOT_AVAILABLE = "not_available.toml"
CONTRAST = "surface.contrast"
"""Contrast of two reflectances, in % or points: computed from two fields of a surface by the row's
formula.
"""

SPREAD = "braille.spread"
"""Largest less smallest measured dot height over their mean, in %: computed from what was measured.
"""

LIGHTER = "surface.lighter_lrv"
"""Light reflectance value of the lighter of characters and background, LRV: computed from both."""

POLARITY = "surface.polarity"
"""Which of characters and background is the lighter, as a word: computed from their reflectances.
"""

GLOSS = "surface.gloss"
"""In gloss units, GU."""

PLAIN_UNITS = {CONTRAST: ("%", "points"), LIGHTER: ("LRV",), SPREAD: ("%",), GLOSS: ("GU",)}
"""Quantities that are plain numbers, and the units that they may be limited in."""

FORMULAS = ("weber", "michelson", "difference", "bowman-sapolinski")
"""Formulas of contrast; `weber` where a row names none.

`difference` is in points, the others in %.
"""

SCOPE = "scope.tactile"
"""Kinds of sign that need raised characters and braille, as words."""

EXEMPT = "scope.exempt"
"""Kinds of sign that need no tactile text, as words."""

UNBOUND = "scope.unbound"
"""Kinds of sign that need no tactile text, and that no dimension of the table binds, as words."""

REPEATED = "scope.repeated"
"""Kinds of sign whose raised characters, where they have any, are repeated in braille, as words."""

SECTIONS: Mapping[str, type] = {
    name: declared.tables[""]
    for name, declared in declared_fields(Sign).items()
    if declared.kind == "table" and name != "measured"
}
"""The sections of a sign whose fields a standard may limit; what was measured is judged as the
field that it is of.
"""

# The kind of a field makes it a quantity, and these are of such a kind by accident.
_NOT_LIMITED = ("raised.drawn", "visual.viewing_distance", "visual.repeats")
"""What says where a sign stands, or which rows bind it, and not what it is."""


def _quantities_of_kind(kind: str) -> tuple[str, ...]:
    quantities = []
    for section, cls in SECTIONS.items():
        fields = declared_fields(cls).items()
        quantities += [f"{section}.{name}" for name, declared in fields if declared.kind == kind]
    return tuple(quantity for quantity in quantities if quantity not in _NOT_LIMITED)


WORDS = (
    *_quantities_of_kind("word"),
    "braille.capitals",
    "braille.numbers",
    POLARITY,
    SCOPE,
    EXEMPT,
    UNBOUND,
    REPEATED,
)
"""Quantities that are a choice of words."""

LENGTHS = _quantities_of_kind("toleranced length")
"""Quantities that are lengths."""

QUANTITIES = (*LENGTHS, *WORDS, *PLAIN_UNITS)
"""Every quantity of a sign that a row may limit."""


class TableError(SignrulesError):
    """A table that cannot be used: `file` it was read from, `row` (counted from 1, None for the
    table as a whole).
    """

    def __init__(self, file: str, row: int | None, problem: str) -> None:
        self.file = file
        self.row = row
        self.problem = problem
        super().__init__(file, row, problem)

    def __str__(self) -> str:
        place = self.file if self.row is None else f"{self.file}, row {self.row}"
        return f"{place}: {self.problem}"


@frozen
class Band:
    """For baselines up to `up_to` above the floor (None: without end): at least `base`, more beyond
    `distance`.
    """

    up_to: Written | None
    base: Written
    distance: Written


@frozen
class Row:
    """One requirement of a standard on one quantity of a sign; see the module for what the fields
    mean.

    `per_foot` goes with `bands`: how much is added to the base for each foot of viewing distance
    beyond the band's.
    """

    quantity: str
    clause: str
    source: str
    standing: str
    least: Written | None = None
    most: Written | None = None
    of: str | None = None
    words: tuple[str, ...] = ()
    bands: tuple[Band, ...] = ()
    per_foot: Written | None = None
    measured: str = ""
    level: str = "STOP"
    note: str = ""
    title: str | None = None
    formula: str | None = None
    exempt_if_raised: str | None = None
    only_for: tuple[str, ...] = ()
    not_for: tuple[str, ...] = ()

    @property
    def kind(self) -> str:
        """`words`, `bands`, `ratio` (to another quantity) or `range`."""
        if self.words:
            return "words"
        if self.bands:
            return "bands"
        return "range" if self.of is None else "ratio"

    @property
    def limit(self) -> str:
        """The words or the range as the standard writes them; empty for bands."""
        if self.words:
            return " or ".join(self.words)
        least, most = (None if bound is None else bound.text for bound in (self.least, self.most))
        return range_words(least, most)

    @property
    def contrast(self) -> str | None:
        """The formula of a contrast, `weber` where the row names none; None for any
        other quantity.
        """
        return self.formula or "weber" if self.quantity == CONTRAST else None

    @property
    def unit(self) -> str:
        """The unit in which the limit is compared: mm, %, or the word after a multiple."""
        bound = self.least or self.most
        return "mm" if bound is None else bound.unit


@frozen
class Looser:
    """One quantity on which a table asks for less than a law: `own` instead of `asked`,
    in words.
    """

    law: str
    quantity: str
    own: str
    asked: str

    def __str__(self) -> str:
        return f"{self.quantity} {self.own} instead of {self.asked}"


@frozen
class Standard:
    """A published standard as a table. `unit` governs: millimetres printed beside inches are for
    information.

    `looser` says where the table asks for less than a law, as `load_plugins` finds out; None where
    it is compared with none.
    """

    id: str
    title: str
    publisher: str
    unit: str
    rows: tuple[Row, ...] = field(repr=False)
    notes: tuple[str, ...] = field(repr=False, default=())
    amends: str | None = None
    looser: tuple[Looser, ...] | None = field(repr=False, default=None)

    def rows_for(self, quantity: str) -> tuple[Row, ...]:
        """The rows that limit one quantity of a sign, in the table's order."""
        return self._rows_by_quantity.get(quantity, ())

    @cached_property
    def _rows_by_quantity(self) -> Mapping[str, tuple[Row, ...]]:
        rows: dict[str, tuple[Row, ...]] = {}
        for row in self.rows:
            rows[row.quantity] = (*rows.get(row.quantity, ()), row)
        return rows


def load_standard(path: str | os.PathLike[str]) -> Standard:
    """The standard in a TOML file. Raises TableError where it cannot be read or is malformed."""
    from signrules.documents.reading import text_of

    try:
        text = text_of(Path(path))
    except JobError as error:
        raise TableError(
            os.fspath(path), None, f"cannot be read: found {error.faults[0].found}"
        ) from None
    return read_standard(text, os.fspath(path))


def read_standard(text: str, file: str) -> Standard:
    """The standard in a TOML text; `file` names it in errors.

    Raises TableError where it is malformed.
    """
    # Here and not at the top: that module imports this one.
    from signrules.standards.table_reading import standard_from

    return standard_from(text, file)


@cache
def builtin_standards() -> tuple[Standard, ...]:
    """The tables that come with signrules, by file name; read once."""
    tables = [
        entry
        for entry in resources.files("signrules.standards").iterdir()
        if entry.name.endswith(".toml") and entry.name != NOT_AVAILABLE
    ]
    return tuple(
        read_standard(entry.read_text(encoding="utf-8"), entry.name)
        # A folder in a zip or on another system lists its files in another order.
        for entry in sorted(tables, key=lambda e: e.name)
    )


@frozen
class NotAvailable:
    """A publication that is known but has no table, and the reason."""

    id: str
    title: str
    reason: str


def not_available() -> tuple[NotAvailable, ...]:
    """The publications that are known to matter and could not be read, by id."""
    text = (
        resources.files("signrules.standards").joinpath(NOT_AVAILABLE).read_text(encoding="utf-8")
    )
    standards = tomllib.loads(text)["standards"]
    return tuple(sorted((NotAvailable(**entry) for entry in standards), key=lambda one: one.id))


def amended_tables(standards: Iterable[Standard]) -> dict[str, Standard]:
    """Standards by id, in the order given, each table that amends another filled up with the rows
    it leaves alone.

    Raises ValueError where a table amends one that is not there, or itself over others.
    """
    standard_by_id = {standard.id: standard for standard in standards}
    if circle := amending_circle(standard_by_id.values()):
        raise ValueError(circle_in_words(circle))
    return {name: _amended_table(name, standard_by_id) for name in standard_by_id}


def amending_circle(standards: Iterable[Standard]) -> tuple[Standard, ...]:
    """Tables that amend one another in a circle, the first one there is, in that order; none where
    there is none.
    """
    standard_by_id = {standard.id: standard for standard in standards}
    for start in standard_by_id.values():
        path = [start]
        while path[-1].amends in standard_by_id:
            following = standard_by_id[path[-1].amends]
            # The circle may begin behind the start: what leads into it is no part of it.
            if following in path:
                return tuple(path[path.index(following) :])
            path.append(following)
    return ()


def circle_in_words(circle: Sequence[Standard]) -> str:
    """What is wrong with tables in a circle: which amends which."""
    links = ", ".join(f"{standard.id} amends {standard.amends}" for standard in circle)
    return f"tables amend one another in a circle: {links}"


def _amended_table(name: str, standard_by_id: Mapping[str, Standard]) -> Standard:
    standard = standard_by_id[name]
    if standard.amends is None:
        return standard
    if standard.amends not in standard_by_id:
        raise ValueError(f"the table {name} amends {standard.amends}, which is not loaded")
    base = _amended_table(standard.amends, standard_by_id)
    replaced = {row.quantity for row in standard.rows}
    # All rows on a quantity give way together: a law that changes one of two bounds states both.
    kept = (
        # In the new table the row would pass for one of its own publication.
        evolve(row, title=row.title or base.title)
        for row in base.rows
        if row.quantity not in replaced
    )
    return evolve(standard, rows=(*kept, *standard.rows), notes=(*standard.notes, *base.notes))
