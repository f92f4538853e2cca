"""Kinds of handling: what each means for sheets, for time and for whoever stands at the machine."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from attrs import frozen

from signrules.errors import DocumentFault
from signrules.model.limits import is_number, is_short_name
from signrules.model.wording import shown_value

LONGEST_MINUTES = 100_000
"""The longest that one handling may take: some two months."""

SHEET_PLACE = "{}"
"""What stands for the sheet in `told`."""

_NAME = re.compile(r"[a-z][a-z0-9-]{0,39}\Z")
_YES_OR_NO = ("on_sheet", "moves", "turns", "counts_as_load", "reaches", "tools", "optional")


@frozen
class HandlingKind:
    """A kind of handling, which a job names in `does`.

    `name` is a word in lower case, `meaning` says in a line what is done. `words` is the heading of
    its step on the run sheet, and `told` the same as a step of a report, with `{}` for the sheet
    where it is done to one; left out, it is made of `words`.

    `on_sheet` says that it is done to a sheet, whose bed load must be on. Then `moves` says that
    every sheet of the load lies elsewhere afterwards, unless `locates_by` puts it back; `turns`
    that the sheet lies with its other side up; `counts_as_load` that it is the work of a bed load
    and takes the printer's minutes of one.

    `minutes` is how long one takes besides, 0 for no time of its own; None, or left out, is not
    known: it then takes the time that a rate table gives a pause. `reaches` says that hands go to
    the bed: the run sheet asks first whether the machine cannot start. `tools` says that something
    lies on the bed meanwhile: it asks whether all of that is off again. `optional` says that a
    remedy may leave it out.

    Raises ValueError for what is of the wrong kind or does not fit together.
    """

    name: str
    meaning: str
    words: str
    told: str = ""
    on_sheet: bool = True
    moves: bool = True
    turns: bool = False
    counts_as_load: bool = False
    minutes: float | None = None
    reaches: bool = True
    tools: bool = True
    optional: bool = False

    def __attrs_post_init__(self) -> None:
        for key, found, expected in _misfits(self):
            raise ValueError(
                f"the kind of handling {shown_value(self.name)}: {key}: found"
                f" {shown_value(found)}, expected {expected}"
            )

    def told_of(self, sheet: str) -> str:
        """What is done, in words, to a sheet of that id."""
        if self.told:
            return self.told.replace(SHEET_PLACE, sheet)
        return f"{self.words} ({sheet})" if self.on_sheet else self.words


def _misfits(kind: HandlingKind) -> Iterator[tuple[str, Any, str]]:
    """The fields of a kind that hold what they cannot, each with what was expected."""
    if not (isinstance(kind.name, str) and _NAME.match(kind.name)):
        yield "name", kind.name, "a word in lower case, such as 'wipe-down'"
    for key in ("meaning", "words"):
        if not is_short_name(getattr(kind, key)):
            yield key, getattr(kind, key), "a line of text of at most 200 characters"
    if kind.told != "" and not _is_told(kind.told, on_sheet=kind.on_sheet is True):
        place = f"{SHEET_PLACE} once" if kind.on_sheet else "no braces"
        why = "for the sheet" if kind.on_sheet else "as it is done to no sheet"
        yield "told", kind.told, f"a line of text with {place}, {why}, or nothing"
    for key in _YES_OR_NO:
        if not isinstance(getattr(kind, key), bool):
            yield key, getattr(kind, key), "True or False"
    minutes = kind.minutes
    if minutes is not None and not (is_number(minutes) and 0 <= minutes <= LONGEST_MINUTES):
        yield "minutes", minutes, f"minutes from 0 to {LONGEST_MINUTES:,}, or None"
    for key, needed in (
        ("moves", "on_sheet"),
        ("counts_as_load", "on_sheet"),
        ("turns", "moves"),
        ("on_sheet", "reaches"),
        ("tools", "reaches"),
    ):
        if getattr(kind, key) and not getattr(kind, needed):
            yield key, True, f"False, or {needed} as well"


def _is_told(told: object, *, on_sheet: bool) -> bool:
    """Whether it names the sheet where it is done to one, and no place else."""
    if not (isinstance(told, str) and is_short_name(told)):
        return False
    braces = [mark for mark in told if mark in SHEET_PLACE]
    if not on_sheet:
        return not braces
    return SHEET_PLACE in told and len(braces) == len(SHEET_PLACE)


BUILTIN_KINDS: Mapping[str, HandlingKind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            HandlingKind(
                "reload",
                "a sheet is taken off and put back",
                "Take off and put back",
                "take {} off and put it back",
                counts_as_load=True,
                minutes=0,
                tools=False,
                optional=True,
            ),
            HandlingKind(
                "flip",
                "a sheet is turned over",
                "Turn over",
                "turn {} over",
                turns=True,
                counts_as_load=True,
                minutes=0,
                tools=False,
            ),
            HandlingKind(
                "release",
                "a sheet is released and held again",
                "Release and hold again",
                "release {} and hold it again",
                minutes=0,
                tools=False,
                optional=True,
            ),
            HandlingKind(
                "pause",
                "the machine waits",
                "Pause",
                "pause",
                on_sheet=False,
                moves=False,
                minutes=None,
                reaches=False,
                tools=False,
            ),
        )
    }
)
"""The kinds that need no plugin, by their names."""


def kinds_named(
    names: Iterable[str], known: Mapping[str, HandlingKind]
) -> tuple[HandlingKind, ...]:
    """The kinds of these names that are known and not built in, each once, by name."""
    brought = {name for name in names if name in known and name not in BUILTIN_KINDS}
    return tuple(known[name] for name in sorted(brought))


def kinds_known(brought: object) -> Mapping[str, HandlingKind]:
    """The built-in kinds and those that were brought, as far as these are kinds."""
    sound = (kind for kind in _rows_of(brought) if type(kind) is HandlingKind)
    return {**BUILTIN_KINDS, **{kind.name: kind for kind in sound}}


def faults_of_kinds(brought: object) -> Iterator[DocumentFault]:
    """What is wrong with the kinds that a job was given besides the built-in ones."""
    if not isinstance(brought, tuple):
        expected = "a tuple, each element a HandlingKind"
        yield DocumentFault("handling_kinds", shown_value(brought), expected)
    seen = set(BUILTIN_KINDS)
    for position, kind in enumerate(_rows_of(brought)):
        path = f"handling_kinds[{position}]"
        if type(kind) is not HandlingKind:
            yield DocumentFault(path, shown_value(kind), "a HandlingKind")
        elif kind.name in seen:
            yield DocumentFault(path, shown_value(kind.name), "a name that no other kind has")
        else:
            seen.add(kind.name)


def _rows_of(value: object) -> tuple[Any, ...]:
    return value if isinstance(value, tuple) else ()
