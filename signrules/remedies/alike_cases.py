"""Alike passes, signs and sheets are one case: what is wrong with one of them is fixed in all
of them at once.

Two of them are alike where they say the same except for their ids, where they lie and what they say
in words. Nothing of that depends on the order in which a document lists them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Any

import attrs
from attrs import evolve, frozen

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Area, Handling, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.remedies.candidates import Change
from signrules.rules.checks import Check

MOST_NAMED = 3
"""The most others that are named in words; the patch has them all."""

DIGITS = 6
"""Numbers that agree to a millionth are the same: lengths to a nanometre."""

TABLES = ("media", "passes", "handling", "signs")

WORDS = {("text",), ("braille", "cells"), ("braille", "proper"), ("braille", "acronyms")}
"""The places in a sign of what it says."""

Place = tuple[str, str]
"""A row of a job: its table and its id."""

Leaves = Mapping[tuple[str, ...], tuple[Any, Any]]
"""What was changed in a row: where, what stood there, and what stands there now."""


@frozen
class Case:
    """Findings that differ only in which of several alike passes, sheets or signs they concern."""

    findings: tuple[Check, ...]

    @property
    def lead(self) -> Check:
        """The one that speaks for all."""
        return self.findings[0]

    @property
    def others(self) -> tuple[Check, ...]:
        """The rest of them."""
        return self.findings[1:]


class Alike:
    """Which rows of a job are alike."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self._builders: dict[str, list[Pass]] = {sign.id: [] for sign in job.signs}
        self._over: dict[str, list[Pass]] = {item.id: [] for item in job.passes}
        self._passes = {item.id: item for item in job.passes}
        # As text, since contents of several kinds have no order of their own; made once, since
        # each sign asks for those of its passes.
        self._pass_texts = {item.id: repr(own_content(item)) for item in job.passes}
        for item in job.passes:
            for sign in item.built_signs:
                self._builders[sign].append(item)
            for name in item.over:
                self._over[name].append(item)
        self._row_at = dict(rows_of(job))
        # What a row says by itself, and what it says with all that it names.
        self._by_own_content: dict[str, dict[Hashable, list[Place]]] = {
            table: {} for table in TABLES
        }
        self._by_full_content: dict[Hashable, list[Place]] = {}
        self._full_contents: dict[Place, Hashable] = {}
        for place, row in self._row_at.items():
            table, _ = place
            self._by_own_content[table].setdefault(own_content(row), []).append(place)
            content = self._full_content(row)
            self._full_contents[place] = content
            self._by_full_content.setdefault((table, content), []).append(place)

    def cases(self, checks: Iterable[Check]) -> list[Case]:
        """The findings, those together that are alike; the one whose id comes first leads.

        Cases stand in the order of the first finding of each.
        """
        together: dict[Hashable, list[Check]] = {}
        for check in checks:
            together.setdefault(self._finding_key(check), []).append(check)
        return [
            Case(tuple(sorted(checks_of_case, key=lambda check: by_name(check.subjects))))
            for checks_of_case in together.values()
        ]

    def row_at(self, place: Place) -> Any:
        """The row at a place."""
        return self._row_at[place]

    def contents(self, table: str) -> Iterable[Any]:
        """The different contents that rows of a table have by themselves; see `own_content`."""
        return self._by_own_content[table]

    def with_content(self, table: str, content: Hashable) -> list[Place]:
        """The rows that have one of these contents."""
        return self._by_own_content[table][content]

    def related(self, checks: Iterable[Check]) -> set[Place]:
        """What some findings are about: their subjects, the sheets below, and what builds them or
        lies over them.
        """
        places: set[Place] = set()
        for check in checks:
            places |= self.near(check.subjects)
        return places

    def near(self, paths: Iterable[str]) -> set[Place]:
        """The rows that paths name, the sheets below, and what builds them or lies over them."""
        places: set[Place] = set()
        for path in paths:
            table, row_id = _place_of_row(path)
            if table == "signs":
                row_id = row_id.partition(".")[0]  # The path may go on to a feature of the sign.
            place = (table, row_id)
            # Paths of checks may also name the job or the printer, which are no rows.
            if place in self._row_at:
                places |= self._near(place)
        return places

    def widened(self, change: Change, case: Case | None = None, job: Job | None = None) -> Change:
        """A change made at all that is alike: at the rows that the findings of a case are about, or
        everywhere where there is no case.

        The change itself where nothing else is alike, or has the same in that place. `job` is the
        job on which it is made, where that is another one.
        """
        if job is None:
            job = self.job
        changed = change.made(job)
        if changed is None or (case is not None and not case.others):
            return change
        repeated = self._repeats(job, changed, case)
        if not repeated:
            return change
        also_at = f" The same at {_places_in_words(repeated)}."
        edits = (*change.edits, repeating_edit(repeated))
        wide_change = evolve(change, summary=change.summary + also_at, edits=edits)
        if change.words_for is not None:
            wide_change = evolve(wide_change, words_for=lambda job: change.words(job) + also_at)
        if change.far_end is not None:
            wide_change = evolve(wide_change, far_end=self.widened(change.far_end, case, job))
        return wide_change

    def _repeats(self, job: Job, changed: Job, case: Case | None) -> dict[Place, Leaves]:
        """What was altered in a row of a job, for each alike row where that can be done as well."""
        among: Iterable[Place] = self._row_at
        own_places: set[Place] = set()
        if case is not None:
            among = self.related(case.findings)
            # What lies about the lead is the business of the change itself: a maker that means
            # several rows there has altered them all.
            own_places = self.related([case.lead])
        rows = self._row_at
        if job is not self.job:
            rows = dict(rows_of(job))
        repeated: dict[Place, Leaves] = {}
        for place, leaves in altered_rows(job, changed):
            table, _ = place
            content = self._full_contents.get(place)
            for other in self._by_full_content.get((table, content), ()):
                if other == place or other in own_places or other not in among or other not in rows:
                    continue
                if not may_repeat(leaves, self._row_at[place], rows[other]):
                    continue
                if with_leaves(rows[other], leaves) is not None:
                    repeated.setdefault(other, leaves)
        return repeated

    def _finding_key(self, check: Check) -> Hashable:
        # By contents and numbers and not by the message, which names the ids.
        about = tuple(self._full_contents.get(_place_of_row(path), path) for path in check.subjects)
        numbers = (rounded_interval(check.measured), check.limit, check.found, check.allowed)
        return (
            check.rule,
            check.level,
            check.outcome,
            str(check.source),
            about,
            numbers,
            check.waiver,
        )

    def _near(self, place: Place) -> set[Place]:
        table, row_id = place
        if table == "signs":
            return self._near_sign(row_id)
        if table == "passes":
            return self._near_pass(row_id)
        return {place}

    def _near_sign(self, id: str) -> set[Place]:
        sign = next(sign for sign in self.job.signs if sign.id == id)
        places = {("signs", id), ("media", self.job.media_of(sign).id)}
        for item in self._builders[id]:
            places.add(("passes", item.id))
            places |= {("passes", other.id) for other in self._over[item.id]}
        return places

    def _near_pass(self, id: str) -> set[Place]:
        item = self._passes[id]
        places = {("passes", id), ("media", self.job.media_of(item).id)}
        places |= {("passes", name) for name in item.over}
        places |= {("passes", other.id) for other in self._over[id]}
        places |= {("signs", sign) for sign in item.built_signs}
        return places

    def _full_content(self, row: Media | Pass | Handling | Sign) -> Hashable:
        """What a row says by itself, with what the rows that it names say."""
        if isinstance(row, Media):
            return own_content(row)
        sheet: Hashable = None
        if row.media is not None or len(self.job.media) == 1:
            sheet = own_content(self.job.media_of(row))
        if isinstance(row, Sign):
            built_content = sorted(self._pass_texts[item.id] for item in self._builders[row.id])
            return own_content(row), sheet, tuple(built_content)
        if isinstance(row, Pass):
            below = tuple(own_content(self._passes[name]) for name in row.over)
            return own_content(row), sheet, below
        return own_content(row), sheet


def by_number(name: str) -> tuple[tuple[int, str], ...]:
    """A key by which sign-2 comes before sign-10."""
    return tuple(map(_part_key, re.findall(r"[0-9]+|[^0-9]+", name)))


def _part_key(part: str) -> tuple[int, str]:
    if part.isdecimal() and part.isascii():
        return int(part), ""
    return -1, part


def by_name(names: Iterable[str]) -> tuple[tuple[tuple[int, str], ...], ...]:
    """Several names as keys that sort by number."""
    return tuple(by_number(name) for name in names)


def rows_of(job: Job) -> Iterator[tuple[Place, Any]]:
    """Every row that has an id, by its place."""
    for table in TABLES:
        for row in getattr(job, table):
            yield (table, row.id), row


def altered_rows(job: Job, changed: Job) -> Iterator[tuple[Place, Leaves]]:
    """What a change altered in the rows of both."""
    before = dict(rows_of(job))
    for place, row in rows_of(changed):
        row_before = before.get(place)
        if row_before is not None and row_before is not row and row_before != row:
            yield place, dict(leaves_of(row_before, row))


def leaves_of(
    old: Any, new: Any, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], tuple[Any, Any]]]:
    """Where two rows of one kind differ, down to the fields of their sections."""
    for attribute in attrs.fields(type(new)):
        old_value, new_value = getattr(old, attribute.name), getattr(new, attribute.name)
        if old_value == new_value:
            continue
        leaf_path = (*path, attribute.name)
        is_section = attrs.has(type(old_value)) and not isinstance(old_value, Interval)
        if is_section and type(old_value) is type(new_value):
            yield from leaves_of(old_value, new_value, leaf_path)
        else:
            yield leaf_path, (old_value, new_value)


def may_repeat(leaves: Leaves, row: Any, other: Any) -> bool:
    """Whether a change of a row may be made in another: of words only where both say the same."""
    if leaves.keys().isdisjoint(WORDS):
        return True
    return _words_of(row) == _words_of(other)


def _words_of(sign: Any) -> tuple[Any, ...]:
    return sign.text, sign.braille.proper, sign.braille.acronyms


def with_leaves(row: Any, leaves: Leaves) -> Any:
    """A row with the same changes; None where something else stands in one of the places."""
    # The row stood otherwise before, so the change is not the same one there.
    if any(_value_at_path(row, path) != old for path, (old, _) in leaves.items()):
        return None
    return _set_leaves(row, leaves)


def _set_leaves(row: Any, leaves: Leaves) -> Any:
    """A row with changes, whatever stands in their places; None where it lacks one of these."""
    for path, (_, new) in leaves.items():
        row = _with_leaf(row, path, new)
        if row is None:
            return None
    return row


def _value_at_path(row: Any, path: tuple[str, ...]) -> Any:
    for name in path:
        row = None if row is None else getattr(row, name)
    return row


def _with_leaf(row: Any, path: tuple[str, ...], new: Any) -> Any:
    if row is None:
        return None
    name, *further_path = path
    if not further_path:
        return evolve(row, **{name: new})
    inner = _with_leaf(getattr(row, name), tuple(further_path), new)
    if inner is None:
        return None
    return evolve(row, **{name: inner})


def repeating_edit(repeated: Mapping[Place, Leaves]) -> Callable[[Job], Job]:
    """An edit that makes changes in rows, whatever stands in their places by then."""

    def edit(job: Job) -> Job:
        tables: dict[str, Any] = {}
        for table in dict.fromkeys(table for table, _ in repeated):
            tables[table] = tuple(
                _repeated_row(row, repeated.get((table, row.id))) for row in getattr(job, table)
            )
        return evolve(job, **tables)

    return edit


def _repeated_row(row: Any, leaves: Leaves | None) -> Any:
    if leaves is None:
        return row
    repeated = _set_leaves(row, leaves)
    return row if repeated is None else repeated


def rounded_interval(value: Interval | None) -> Hashable:
    """An interval by its numbers, of which a difference below a millionth does not count."""
    if value is None:
        return None
    return tuple(round(end, DIGITS) for end in (value.low, value.nominal, value.high))


def in_short(names: Sequence[str]) -> str:
    """Names, of many the first few and how many more there are."""
    if len(names) <= MOST_NAMED:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"


def _places_in_words(places: Iterable[Place]) -> str:
    """Rows by their ids, those of each table by themselves."""
    of_table: dict[str, list[str]] = {}
    for table, row_id in places:
        of_table.setdefault(table, []).append(row_id)
    return "; ".join(in_short(sorted(names, key=by_number)) for names in of_table.values())


def _place_of_row(path: str) -> Place:
    table, _, row_id = path.partition(".")
    return table, row_id


def own_content(row: Media | Pass | Handling | Sign) -> Hashable:
    """What a row says of itself, without its id, its place, its words and its data of plugins."""
    if isinstance(row, Media):
        return evolve(row, id="", at=(0.0, 0.0), load="", data=())
    if isinstance(row, Handling):
        return evolve(row, id="", media=None, after=())
    if isinstance(row, Sign):
        braille = row.braille and evolve(row.braille, cells=None, proper=(), acronyms=())
        area = row.area and evolve(row.area, x=0.0, y=0.0)
        return evolve(row, id="", media=None, text=(), braille=braille, area=area, data=())
    # What it builds and not of which sign: that is a name.
    builds = tuple(feature.rpartition(".")[2] for feature in row.builds)
    unnamed: dict[str, Any] = {
        "media": None,
        "over": (),
        "after": (),
        "registers_to": None,
        "builds": builds,
        "data": (),
        "artwork": (),
    }
    return evolve(row, id="", areas=_shape_of_areas(row.areas), **unnamed)


def _shape_of_areas(areas: tuple[Area, ...] | None) -> tuple[Area, ...] | None:
    """Rectangles moved to the origin."""
    if not areas:
        return areas
    left_edge, low = min(area.x for area in areas), min(area.y for area in areas)
    moved = (
        Area(
            round(area.x - left_edge, DIGITS), round(area.y - low, DIGITS), area.width, area.height
        )
        for area in areas
    )
    return tuple(sorted(moved, key=lambda area: (area.y, area.x, area.width, area.height)))
