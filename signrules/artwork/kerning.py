"""Kerning: by how much a pair of letters of a font is set wider apart, or closer.

What the tables GPOS and kern hold is from the OpenType specification, from memory. Pairs alone are
read: what a font does by context is not applied, and is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from attrs import frozen

FEATURE = "kern"
PAIRS, EXTENSION = 2, 9
"""Types of lookups in GPOS."""

BY_PAIR = 1
"""The format of a pair table that lists pairs; the other one lists pairs of classes."""

MOVES_ADVANCE = 0x0004
DEVICES = 0x00F0
"""Bits of a value format: the advance, and corrections for screens of few pixels."""

NO_VALUE = object()
"""What stands for a pair that a table knows and does not move."""


@frozen
class Kerning:
    """The pairs that a font kerns; lengths in units of the font.

    `lookups` are the pair tables of GPOS, lookup by lookup; `pairs` those of the older table.
    `not_applied` says that the font kerns in other ways too.
    """

    lookups: tuple[tuple[Any, ...], ...] = ()
    pairs: tuple[Mapping[tuple[str, str], int], ...] = ()
    not_applied: bool = False

    @property
    def is_there(self) -> bool:
        """Whether the font kerns any pair."""
        return bool(self.lookups or self.pairs)

    def between(self, left: str, right: str) -> float:
        """What is added between two glyphs, by their names; negative where they come closer."""
        of_lookups = (_of_lookup(tables, left, right) for tables in self.lookups)
        of_pairs = (table.get((left, right), 0) for table in self.pairs)
        return float(sum(of_lookups) + sum(of_pairs))


def kerning_of(tables: Mapping[str, Any]) -> Kerning:
    """The kerning of a font by its tables: that of GPOS, else that of kern."""
    # Fonts that have both repeat themselves in the older table for programs that know no GPOS.
    # Adding the two would kern twice.
    found = list(_kern_lookups(tables["GPOS"].table)) if "GPOS" in tables else []
    if found:
        subtables = [tuple(map(_unfolded, lookup.SubTable)) for lookup in found]
        pairs = [each for each in subtables if all(table.LookupType == PAIRS for table in each)]
        whole = len(pairs) == len(subtables) and all(_moves_advance(each) for each in pairs)
        return Kerning(lookups=tuple(pairs), not_applied=not whole)
    if "kern" not in tables:
        return Kerning()
    of_kern = tables["kern"].kernTables
    read = tuple(each.kernTable for each in of_kern if hasattr(each, "kernTable"))
    return Kerning(pairs=read, not_applied=len(read) < len(of_kern))


def _kern_lookups(gpos: Any) -> Iterator[Any]:
    """The lookups of the kerning that scripts have by default, in the order of the font."""
    if not (gpos.ScriptList and gpos.FeatureList and gpos.LookupList):
        return
    features = gpos.FeatureList.FeatureRecord
    wanted: set[int] = set()
    for script in gpos.ScriptList.ScriptRecord:
        system = script.Script.DefaultLangSys
        for index in system.FeatureIndex if system else ():
            if features[index].FeatureTag == FEATURE:
                wanted.update(features[index].Feature.LookupListIndex)
    # Lookups apply in the order of their list, whichever feature names them.
    yield from (gpos.LookupList.Lookup[index] for index in sorted(wanted))


def _unfolded(table: Any) -> Any:
    """A table of a lookup; one that lies far off in the file stands within another."""
    return table.ExtSubTable if table.LookupType == EXTENSION else table


def _moves_advance(tables: Sequence[Any]) -> bool:
    """Whether pair tables change nothing but the advance of the first letter."""
    return all(
        not table.ValueFormat1 & ~(MOVES_ADVANCE | DEVICES) and not table.ValueFormat2 & ~DEVICES
        for table in tables
    )


def _of_lookup(tables: Sequence[Any], left: str, right: str) -> int:
    """What the first table that knows a pair says of it."""
    for table in tables:
        if left not in table.Coverage.glyphs:
            continue
        value = _listed_value(table, left, right)
        if value is not None:
            return int(getattr(value, "XAdvance", 0) or 0)
    return 0


def _listed_value(table: Any, left: str, right: str) -> Any:
    """The value of a pair whose first letter a table covers; None where it does not say any.

    A table of classes knows all pairs: what is in no class is in class 0. One without values says
    0.
    """
    if table.Format == BY_PAIR:
        pairs = table.PairSet[table.Coverage.glyphs.index(left)].PairValueRecord
        found = [record for record in pairs if record.SecondGlyph == right]
        # A pair that is listed without a value still ends the search: later tables must not move
        # it.
        return (found[0].Value1 or NO_VALUE) if found else None
    one = table.ClassDef1.classDefs.get(left, 0)
    other = table.ClassDef2.classDefs.get(right, 0)
    return table.Class1Record[one].Class2Record[other].Value1 or NO_VALUE
