"""The passes that make some signs: one for all that print alike on a sheet, whatever their type.

Passes print alike where they say the same of ink, layers, gap, side and so on, build the same
features, and come over and after passes that print alike in turn.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from itertools import count
from typing import Any

from attrs import field, frozen

from signrules.schedules.placing import (
    DECIMALS,
    PlacedSign,
    PrintedPart,
    area_row,
    total_area,
)

_OWN_KEYS = ("id", "areas", "builds", "over", "after")
"""Keys of a pass of a type that are made anew for the passes of a sheet."""


@frozen
class _SharedPass:
    """One pass with what it prints of each sign; `likeness` is what its parts have in common."""

    likeness: Hashable
    media: str
    parts: list[tuple[PlacedSign, PrintedPart]] = field(factory=list)

    @property
    def own_id(self) -> str:
        """The id of the pass in the type of its first sign."""
        return self.parts[0][1].item.id


def passes_of(signs: Sequence[PlacedSign]) -> list[dict[str, Any]]:
    """The rows of the passes that make some signs, sheet by sheet.

    The id of a pass is that of its type, with the type or the sheet after it where several would
    have one id.
    """
    shared = _shared_passes(signs)
    ids = _pass_ids(list(shared.values()))
    return [_pass_row(each, ids) for each in shared.values()]


def _shared_passes(signs: Sequence[PlacedSign]) -> dict[Hashable, _SharedPass]:
    """The passes by sheet and likeness, sheets in the order of their first sign."""
    found: dict[Hashable, _SharedPass] = {}
    for media in dict.fromkeys(sign.media for sign in signs):
        for sign in signs:
            if sign.media != media:
                continue
            for part, likeness in _likenesses(sign):
                key = (media, likeness)
                found.setdefault(key, _SharedPass(likeness, media)).parts.append((sign, part))
    return found


def _likenesses(sign: PlacedSign) -> list[tuple[PrintedPart, Hashable]]:
    """Each part of a sign with all that it has in common with parts that print alike."""
    parts = {part.item.id: part for part in sign.parts}
    known: dict[str, Hashable] = {}

    def likeness_of(id: str, above: tuple[str, ...] = ()) -> Hashable:
        if id in above:
            # A circle, which the job made of it will be refused for.
            return (sign.type, id)
        if id not in known:
            part = parts[id]
            rest = {key: value for key, value in part.row.items() if key not in _OWN_KEYS}
            under = tuple(
                (key, tuple(likeness_of(name, (*above, id)) for name in getattr(part.item, key)))
                for key in ("over", "after")
            )
            # What is read from artwork is measured there, what a type states lies somewhere in its
            # areas: rules judge the two by different means.
            drawn = part.artwork is not None
            known[id] = (_hashable(rest), part.item.builds, under, drawn)
        return known[id]

    # Two passes of one type stay two, however alike they are: together they build higher.
    times: Counter[Hashable] = Counter()
    found: list[tuple[PrintedPart, Hashable]] = []
    for part in sign.parts:
        likeness = likeness_of(part.item.id)
        found.append((part, (likeness, times[likeness])))
        times[likeness] += 1
    return found


def _hashable(value: object) -> Hashable:
    """A plain value as one that can be a key."""
    if isinstance(value, Mapping):
        return tuple((key, _hashable(value[key])) for key in sorted(value))
    if isinstance(value, list | tuple):
        return tuple(_hashable(each) for each in value)
    # With the type: 1 and "1" and True are different things to a document.
    return (type(value).__name__, str(value))


def _pass_ids(passes: Sequence[_SharedPass]) -> dict[tuple[str, Hashable], str]:
    """The id of each pass by its sheet and likeness."""
    several_sheets = len({each.media for each in passes}) > 1
    alike = Counter((each.media, each.own_id) for each in passes)
    ids: dict[tuple[str, Hashable], str] = {}
    taken: set[str] = set()
    for each in passes:
        words = [each.own_id]
        if alike[each.media, each.own_id] > 1:
            words.append(each.parts[0][0].type)
        if several_sheets:
            words.append(each.media)
        id = "-".join(words)
        numbered = (f"{id}-{number}" for number in count(2))
        while id in taken:
            id = next(numbered)
        taken.add(id)
        ids[each.media, each.likeness] = id
    return ids


def _pass_row(shared: _SharedPass, ids: Mapping[tuple[str, Hashable], str]) -> dict[str, Any]:
    """One pass for the parts of several signs that print alike."""
    sign, first = shared.parts[0]
    parts = [part for _, part in shared.parts]
    row = {key: value for key, value in first.row.items() if key not in _OWN_KEYS}
    row["id"] = ids[shared.media, shared.likeness]
    row["media"] = shared.media
    row["areas"] = [area_row(area) for part in parts for area in part.areas]
    sources = [part.artwork for part in parts if part.artwork is not None]
    if sources:
        row["artwork"] = _each_once(sources)
    # That of one sign; for all of them it is worked out anew, by area.
    row.pop("coverage", None)
    inked = sum(total_area(part.areas) * part.share for part in parts)
    share = round(inked / sum(total_area(part.areas) for part in parts), DECIMALS)
    if share < 1:
        row["coverage"] = max(share, 10**-DECIMALS)
    likenesses = {part.item.id: likeness for part, likeness in _likenesses(sign)}
    for key in ("over", "after"):
        if names := getattr(first.item, key):
            row[key] = [ids[shared.media, likenesses[name]] for name in names]
    if first.item.builds:
        row["builds"] = [
            f"{sign.sign['id']}.{name}" for sign, part in shared.parts for name in part.item.builds
        ]
    return row


def _each_once(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Plain rows without those that stand there already."""
    return [dict(row) for at, row in enumerate(rows) if row not in rows[:at]]
