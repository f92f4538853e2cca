"""What must hold between the parts of a job, or between those that could be read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from itertools import chain
from typing import Any

from attrs import evolve, field, frozen

from signrules.errors import DocumentFault
from signrules.model.cycles import shortest_cycle
from signrules.model.declared import declared_fields, field_faults
from signrules.model.handling_faults import faults_beside_kinds
from signrules.model.handling_kinds import (
    BUILTIN_KINDS,
    HandlingKind,
    faults_of_kinds,
    kinds_known,
)
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.own_faults import own_faults
from signrules.model.passes import FEATURES, Area, Pass
from signrules.model.placement import (
    area_off_the_sheet,
    lying_on_each_other,
    off_the_bed,
    off_the_sheet,
)
from signrules.model.printer import Printer
from signrules.model.wording import NOTHING, listed_names, nearest_name, shown_value

TABLES: Mapping[str, type] = {
    name: declared.tables[""]
    for name, declared in declared_fields(Job).items()
    if declared.kind == "rows"
}
"""The lists of a job, and what each holds."""

NEEDED_TABLES = ("media", "inks", "passes")
_ONE = {"media": "sheet", "inks": "ink", "passes": "pass", "handling": "handling", "signs": "sign"}
_REFERENCES: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "passes": {
        "ink": ("inks",),
        "media": ("media",),
        "over": ("passes",),
        "after": ("passes", "handling"),
        "registers_to": ("passes",),
    },
    "handling": {"media": ("media",), "after": ("passes", "handling")},
    "signs": {"media": ("media",)},
}
# `after` and `sequence` name passes and handling alike, so no id may stand for one of each.
_ID_SPACES = (("media",), ("inks",), ("signs",), ("passes", "handling"))
_MOST_SUGGESTIONS = 200
# More names than these fill the screen; the middle of a long cycle is left out.
_LONGEST_CYCLE = 8


@frozen
class Table:
    """One list of a job: its sound items by position, and what each other item states.

    Areas among those values are sound; every other value may be anything.

    `lost` says that the list itself could not be read, so that nobody knows what it holds.
    """

    items: Mapping[int, Any] = field(factory=dict)
    torn: Mapping[int, Mapping[str, object]] = field(factory=dict)
    lost: bool = False

    def rows(self) -> Iterator[tuple[int, Any]]:
        """Every item, sound or not, by position."""
        return iter(sorted({**self.items, **self.torn}.items()))


@frozen
class Parts:
    """The parts of a job that could be read; `printer` is None if it could not be.

    `kinds` are all kinds of handling that there are, and `kinds_note` says why there may be others;
    it is called where one is unknown.
    """

    printer: Printer | None
    tables: Mapping[str, Table]
    sequence: tuple[str, ...] | None = None
    kinds: Mapping[str, HandlingKind] = BUILTIN_KINDS
    kinds_note: Callable[[], str] = str


def inconsistencies(job: Job) -> list[DocumentFault]:
    """Everything that does not fit together in a job, and every value that is out of its range."""
    faults = list(field_faults("", job))
    if job.printer is None:
        faults.append(DocumentFault("printer", shown_value(None), "a Printer"))
    tables = {}
    for name, cls in TABLES.items():
        rows: object = getattr(job, name)
        if isinstance(rows, tuple):
            tables[name] = Table(dict(enumerate(rows)))
        else:
            faults.append(
                DocumentFault(name, shown_value(rows), f"a tuple, each element a {cls.__name__}")
            )
            tables[name] = Table(lost=True)
    sequence = job.sequence
    # What is no list of ids has been told, and is not told again as ids that nobody knows.
    if any(fault.path.startswith("sequence") for fault in faults):
        sequence = None
    faults += faults_of_kinds(job.handling_kinds)
    parts = Parts(job.printer, tables, sequence, kinds_known(job.handling_kinds))
    return faults + inconsistencies_of_parts(parts)


def inconsistencies_of_parts(parts: Parts) -> list[DocumentFault]:
    """Everything that does not fit in what is there of a job.

    What is not there is taken for right.
    """
    faults: list[DocumentFault] = []
    printer = parts.printer
    if printer is not None and (wrong := list(own_faults("printer", printer, Printer))):
        faults += wrong
        # A bed of no size would make every sheet one that lies beside it.
        printer = None
    tables = {}
    for name, table in parts.tables.items():
        items, torn = dict(table.items), dict(table.torn)
        for position, item in table.items.items():
            if wrong := list(own_faults(f"{name}[{position}]", item, TABLES[name])):
                faults += wrong
                # Its ids still count: otherwise all that names this part would be told as wrong
                # too.
                torn[position] = {
                    key: getattr(item, key, None)
                    for key in ("id", "builds", *_REFERENCES.get(name, ()))
                }
                del items[position]
        tables[name] = Table(items, torn, table.lost)
    between = _Between(evolve(parts, printer=printer, tables=tables))
    return faults + list(between.faults())


def _value(row: Any, key: str) -> Any:
    if isinstance(row, Mapping):
        return row.get(key)
    return getattr(row, key, None)


def _ids_with_places(path: str, value: Any) -> Iterator[tuple[str, Any]]:
    """What names other parts, one id or a list of them, each with its path."""
    if not isinstance(value, tuple | list):
        yield path, value
        return
    for index, id in enumerate(value):
        yield f"{path}[{index}]", id


def _any_of(tables: tuple[str, ...]) -> str:
    return " or ".join(_ONE[table] for table in tables)


def _ids_of_table(table: Table) -> dict[str, None]:
    """The ids of a list, each once and in its order; what is no text is none."""
    ids = (_value(row, "id") for _, row in table.rows())
    return dict.fromkeys(id for id in ids if isinstance(id, str))


def _place_in_words(item: Pass, sheet: Media | None) -> str:
    """The side and the sheet of a pass."""
    return f"on the {item.side}" + ("" if sheet is None else f" of {shown_value(sheet.id)}")


class _Between:
    """The checks across parts; each part by itself is sound, or stands among the torn ones."""

    def __init__(self, parts: Parts) -> None:
        self.printer = parts.printer
        self.tables = parts.tables
        self.sequence = parts.sequence
        self.kinds, self.kinds_note = parts.kinds, parts.kinds_note
        self.ids = {name: _ids_of_table(self.tables[name]) for name in _ONE}
        self.sheets = {sheet.id: sheet for sheet in self.tables["media"].items.values()}
        self.suggestions = 0

    def faults(self) -> Iterator[DocumentFault]:
        """All of them."""
        for name in NEEDED_TABLES:
            table = self.tables[name]
            if not (table.items or table.torn or table.lost):
                yield DocumentFault(name, "none", f"at least one {_ONE[name]}")
        for space in _ID_SPACES:
            yield from self._repeated_ids(space)
        for name, references in _REFERENCES.items():
            yield from self._dangling(name, references)
        yield from self._unknown_kinds()
        yield from faults_beside_kinds(self.tables["handling"].items, self.kinds)
        yield from self._sheets_left_out()
        yield from self._builds()
        yield from self._placement()
        yield from self._overs()
        yield from self._cycle()
        if self.sequence is not None:
            yield from self._sequence(self.sequence)

    def _repeated_ids(self, space: tuple[str, ...]) -> Iterator[DocumentFault]:
        """One fault for each id that several have, at the second of them."""
        places: dict[str, list[str]] = {}
        for name in space:
            for position, row in self.tables[name].rows():
                id = _value(row, "id")
                if isinstance(id, str):
                    places.setdefault(id, []).append(f"{name}[{position}]")
        for id, having in places.items():
            if len(having) > 1:
                found = f"{shown_value(id)}, the id of {having[0]} too"
                # One fault for all of them: a document copied together may repeat an id thousands
                # of times.
                if len(having) > 2:
                    found = (
                        f"{shown_value(id)}, the id of {len(having):,} entries, {having[0]} the"
                        " first"
                    )
                yield DocumentFault(
                    f"{having[1]}.id", found, f"an id that no other {_any_of(space)} has"
                )

    def _dangling(
        self, name: str, references: Mapping[str, tuple[str, ...]]
    ) -> Iterator[DocumentFault]:
        known: dict[tuple[str, ...], dict[str, None]] = {}
        for targets in references.values():
            # Of a list that could not be read nobody knows what it holds.
            if not any(self.tables[target].lost for target in targets):
                ids = chain.from_iterable(self.ids[target] for target in targets)
                known[targets] = dict.fromkeys(ids)
        for position, row in self.tables[name].rows():
            for key, targets in references.items():
                value = _value(row, key)
                # Values of a wrong kind have a fault of their own by now; only text can be looked
                # up.
                if value is None or targets not in known:
                    continue
                for where, id in _ids_with_places(f"{name}[{position}].{key}", value):
                    if isinstance(id, str) and id not in known[targets]:
                        yield self._unknown(where, id, targets, known[targets])

    def _unknown(
        self, path: str, id: str, targets: tuple[str, ...], known: Mapping[str, None]
    ) -> DocumentFault:
        article = "an" if targets == ("inks",) else "a"
        expected = f"the id of {article} {_any_of(targets)} of this job"
        return DocumentFault(path, shown_value(id), expected + self._nearest(id, known))

    def _nearest(self, name: str, known: Iterable[str]) -> str:
        """Which name is perhaps meant, in words; empty where none is like it."""
        self.suggestions += 1
        # Looking for the nearest name takes long in a document where nothing fits.
        if self.suggestions > _MOST_SUGGESTIONS:
            return ""
        near = nearest_name(name, tuple(known))
        return "" if near is None else f"; the nearest is {shown_value(near)}"

    def _unknown_kinds(self) -> Iterator[DocumentFault]:
        """Handling of a kind that there is not."""
        kinds = f"one of {', '.join(self.kinds)}, or one of a plugin that is loaded"
        for position, item in self.tables["handling"].items.items():
            if item.does not in self.kinds:
                wanted = kinds + self._nearest(item.does, self.kinds) + self.kinds_note()
                yield DocumentFault(f"handling[{position}].does", shown_value(item.does), wanted)

    def _needs_sheet(self, row: Any) -> bool:
        """Whether a row is about a sheet; some handling is done to none."""
        does = _value(row, "does")
        kind = self.kinds.get(does) if isinstance(does, str) else None
        return kind is None or kind.on_sheet

    def _sheets_left_out(self) -> Iterator[DocumentFault]:
        media = self.tables["media"]
        count = len(media.items) + len(media.torn)
        if count <= 1:
            return
        expected = f"the id of one of the {count} sheets: {listed_names(list(self.ids['media']))}"
        for name in _REFERENCES:
            for position, row in self.tables[name].rows():
                if _value(row, "media") is None and self._needs_sheet(row):
                    yield DocumentFault(f"{name}[{position}].media", NOTHING, expected)

    def _builds(self) -> Iterator[DocumentFault]:
        for position, row in self.tables["passes"].rows():
            builds = _value(row, "builds")
            if not isinstance(builds, tuple):
                continue
            path = f"passes[{position}].builds"
            for number, feature in enumerate(builds):
                if isinstance(feature, str):
                    # A document may write a single feature without its list, so no index belongs to
                    # it.
                    place = path if len(builds) == 1 else f"{path}[{number}]"
                    yield from self._feature_built(place, feature, row, builds[:number])

    def _feature_built(
        self, path: str, feature: str, row: Any, before: tuple[str, ...]
    ) -> Iterator[DocumentFault]:
        sign, _, kind = feature.rpartition(".")
        if kind not in FEATURES or not sign:
            expected = f"a sign's id, a dot and {' or '.join(FEATURES)}, such as 'room-1.braille'"
            yield DocumentFault(path, shown_value(feature), expected)
        elif feature in before:
            yield DocumentFault(path, f"{shown_value(feature)} again", "each feature once")
        elif sign not in self.ids["signs"] and not self.tables["signs"].lost:
            yield self._unknown(path, sign, ("signs",), self.ids["signs"])
        else:
            built, on = self._sign_sheets.get(sign), self._sheet_of(row)
            if built is not None and on is not None and built.id != on.id:
                found = f"{shown_value(feature)} from a pass on {shown_value(on.id)}"
                expected = f"a pass on {shown_value(built.id)}, the sheet of that sign"
                yield DocumentFault(path, found, expected)

    @cached_property
    def _sign_sheets(self) -> dict[str, Media | None]:
        return {sign.id: self._sheet_of(sign) for sign in self.tables["signs"].items.values()}

    def _sheet_of(self, row: Any) -> Media | None:
        named = _value(row, "media")
        if isinstance(named, str):
            return self.sheets.get(named)
        # The only sheet need not be named.
        media = self.tables["media"]
        if named is None and len(media.items) == 1 and not media.torn:
            only: Media = next(iter(media.items.values()))
            return only
        return None

    def _placement(self) -> Iterator[DocumentFault]:
        media = self.tables["media"].items
        if self.printer is not None:
            yield from off_the_bed(media, self.printer.bed)
        yield from lying_on_each_other(media)
        for position, row in self.tables["passes"].rows():
            areas = _value(row, "areas")
            if not isinstance(areas, tuple) or not all(isinstance(area, Area) for area in areas):
                continue
            if (on := self._sheet_of(row)) is not None:
                yield from off_the_sheet(f"passes[{position}]", areas, on)
        for position, sign in self.tables["signs"].items.items():
            if sign.area is not None and (on := self._sheet_of(sign)) is not None:
                yield from area_off_the_sheet(f"signs[{position}].area", sign.area, on)

    def _overs(self) -> Iterator[DocumentFault]:
        passes = {item.id: item for item in self.tables["passes"].items.values()}
        for position, item in self.tables["passes"].items.items():
            for index, id in enumerate(item.over):
                under = passes.get(id)
                if under is None:
                    continue
                mine, its = self._sheet_of(item), self._sheet_of(under)
                # A sheet that is not known is taken for the right one.
                apart = mine is not None and its is not None and mine.id != its.id
                if item.side != under.side or apart:
                    path = f"passes[{position}].over[{index}]"
                    found = f"{shown_value(id)}, {_place_in_words(under, its)}"
                    where = _place_in_words(item, mine)
                    expected = f"a pass {where}, where {item.id} lands on its ink"
                    yield DocumentFault(path, found, expected)

    def _cycle(self) -> Iterator[DocumentFault]:
        earlier: dict[str, list[str]] = {}
        paths: dict[str, str] = {}
        for name in ("passes", "handling"):
            for position, row in self.tables[name].rows():
                id = _value(row, "id")
                if not isinstance(id, str):
                    continue
                paths.setdefault(id, f"{name}[{position}]")
                befores = earlier.setdefault(id, [])
                # Both make a pass wait: `over` lands on ink that must be there by then.
                for key in ("over", "after"):
                    value = _value(row, key)
                    if isinstance(value, tuple | list):
                        befores += [other for other in value if isinstance(other, str)]
        cycle = shortest_cycle(earlier)
        if cycle is not None:
            names = [*cycle, cycle[0]]
            if len(names) > _LONGEST_CYCLE:
                names = [
                    *names[: _LONGEST_CYCLE - 3],
                    f"({len(names) - _LONGEST_CYCLE + 1} more)",
                    *names[-2:],
                ]
            expected = (
                "an order: each of these waits for the one before it, so none of them can be the"
                " first"
            )
            yield DocumentFault(paths[cycle[0]], " -> ".join(names), expected)

    def _sequence(self, sequence: tuple[str, ...]) -> Iterator[DocumentFault]:
        known = {**self.ids["passes"], **self.ids["handling"]}
        # An id that is not known may stand in a list that could not be read.
        certain = not (self.tables["passes"].lost or self.tables["handling"].lost)
        counts: Counter[str] = Counter()
        for index, id in enumerate(sequence):
            counts[id] += 1
            if counts[id] > 1:
                yield DocumentFault(
                    f"sequence[{index}]",
                    f"{shown_value(id)} again",
                    "every pass and handling exactly once",
                )
            elif id not in known and certain:
                yield self._unknown(f"sequence[{index}]", id, ("passes", "handling"), known)
        left_out = [id for id in known if id not in counts]
        if left_out:
            found = f"a sequence without {listed_names(left_out)}"
            yield DocumentFault("sequence", found, "every pass and handling exactly once")
