"""The errors that signrules raises: one small hierarchy, so that a caller may catch
`SignrulesError` alone.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from attrs import evolve, frozen

MOST_OF_A_KIND = 10
"""The most faults of one kind that an error lists one by one."""

MOST_LISTED = 200
"""The most faults that an error lists in all."""

_VARYING = re.compile(r"'[^']*'|\"[^\"]*\"|[0-9][0-9.,]*")
"""What differs between faults of one kind: quoted names, numbers and positions."""


class SignrulesError(Exception):
    """The base of every error that signrules raises on purpose."""


@frozen
class DocumentFault:
    """One thing that is wrong in a job document: where it stands, what stood there, what is
    expected.

    `more` counts the faults of the same kind that are not listed by themselves.
    """

    path: str
    found: str
    expected: str
    more: int = 0

    def __str__(self) -> str:
        where = self.path or "the document"
        others = f" (and {self.more:,} more of this kind)" if self.more else ""
        return f"{where}: found {self.found}, expected {self.expected}{others}"


class DocumentError(SignrulesError):
    """A document that cannot be used as it stands; `faults` lists what is wrong with it.

    All of it, except faults of one kind beyond `MOST_OF_A_KIND`, and beyond `MOST_LISTED` in all:
    those are counted by `more` of the last one listed. `count` is the number of all. `origin` names
    the file that it was read from, where there is one.
    """

    kind = "document"

    def __init__(self, faults: Iterable[DocumentFault], origin: str = "") -> None:
        self.faults = condensed_faults(tuple(faults))
        self.origin = origin
        super().__init__(self.faults, origin)

    @property
    def count(self) -> int:
        """How many faults there are, those included that are only counted."""
        return _number_of(self.faults)

    def __str__(self) -> str:
        count = self.count
        head = f"{self.origin or self.kind}: {count:,} fault{'' if count == 1 else 's'}"
        return "\n".join([head, *(f"  {fault}" for fault in self.faults)])


def condensed_faults(faults: Sequence[DocumentFault]) -> tuple[DocumentFault, ...]:
    """A bounded number of faults that stand for all, in their order: the first ones of each kind,
    the rest counted.

    Faults are of one kind if their paths and what is expected differ in numbers and quoted names
    alone; where that gives too many kinds, if what is expected does.
    """
    if len(faults) <= MOST_OF_A_KIND:
        return tuple(faults)
    kinds = _kinds_of_faults(faults, by_path=True)
    if len(kinds) > MOST_LISTED:
        # Faults all over a document share no paths, but few things are ever expected.
        kinds = _kinds_of_faults(faults, by_path=False)
    # One line is kept for what is not listed at all.
    room = MOST_LISTED if len(kinds) <= MOST_LISTED else MOST_LISTED - 1
    listed = kinds[:room]
    kept: list[tuple[int, DocumentFault]] = []
    for kind, count in zip(listed, _shares_of_room(listed, room), strict=True):
        kept += [(at, faults[at]) for at in kind[:count]]
        last = faults[kind[count - 1]]
        left_out = _number_of(faults[at] for at in kind[count:])
        kept[-1] = (kind[count - 1], evolve(last, more=last.more + left_out))
    result = [fault for _, fault in sorted(kept, key=lambda pair: pair[0])]
    if others := sum(_number_of(faults[at] for at in kind) for kind in kinds[len(listed) :]):
        expected = "fewer kinds of fault: fix those that are listed first"
        result.append(DocumentFault("", "faults of too many kinds to list", expected, others - 1))
    return tuple(result)


def _number_of(faults: Iterable[DocumentFault]) -> int:
    return sum(1 + fault.more for fault in faults)


def _kinds_of_faults(faults: Sequence[DocumentFault], *, by_path: bool) -> list[list[int]]:
    """The positions of the faults of each kind."""
    kinds: dict[tuple[str, str], list[int]] = defaultdict(list)
    for at, fault in enumerate(faults):
        path = _VARYING.sub("", fault.path) if by_path else ""
        kinds[path, _VARYING.sub("", fault.expected)].append(at)
    return list(kinds.values())


def _shares_of_room(kinds: Sequence[Sequence[int]], room: int) -> list[int]:
    """How many faults of each kind are listed: one at least, then as many as there is room for, in
    turn.
    """
    shares = [1] * len(kinds)
    room -= len(kinds)
    # In turn, so that the first kind does not take the room of all others.
    for share in range(2, MOST_OF_A_KIND + 1):
        for at, kind in enumerate(kinds):
            if room > 0 and len(kind) >= share:
                shares[at] = share
                room -= 1
    return shares


class JobError(DocumentError):
    """A job that cannot be used as it stands."""

    kind = "job"


class ShopError(DocumentError):
    """What a shop sets for its rules, and cannot be used as it stands."""

    kind = "shop file"


class RatesError(DocumentError):
    """A rate table that cannot be used as it stands."""

    kind = "rate table"


class ReadingsError(DocumentError):
    """Readings of a measurement that cannot be used as they stand."""

    kind = "readings"


class ArtworkError(DocumentError):
    """A file of drawings that cannot be read, or that cannot be made into a job."""

    kind = "artwork"


class ScheduleError(DocumentError):
    """A door schedule that cannot be read, or a row of which no sign can be made."""

    kind = "schedule"


class WorkOrderError(DocumentError):
    """A work order that cannot be used as it stands, or signs that cannot be placed."""

    kind = "work order"


class RecordError(DocumentError):
    """What is said of a half-printed job and does not fit it, or a record that cannot be read."""

    kind = "record of what is done"


class RuleError(SignrulesError):
    """A rule that is declared wrongly: a bad name, an unknown parameter, a missing docstring."""


class PluginError(SignrulesError):
    """Plugins that cannot be used together, or one that was asked for and could not be loaded."""

    def __init__(self, message: str, **details: Any) -> None:
        self.details = details
        super().__init__(message)


class NotEvaluated(SignrulesError):
    """One of many jobs that could not be evaluated though nothing is known to be wrong with it.

    signrules failed, or a worker did, or what was to be made of the evaluation. `details` is a
    traceback, where there is one.
    """

    def __init__(self, message: str, details: str = "") -> None:
        self.details = details
        super().__init__(message, details)

    def __str__(self) -> str:
        return str(self.args[0])


class PatchError(SignrulesError):
    """A JSON Patch that is malformed or does not fit the document; the message says which
    operation, and where.
    """


class PathError(SignrulesError):
    """A path into a job, or a pointer into its document, that leads nowhere or to what cannot be
    used there.
    """
