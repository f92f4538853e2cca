"""How a reader says no: one exception that may carry many faults, with paths relative to the value
it was given.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from signrules.errors import DocumentFault
from signrules.model.wording import nearest_name, shown_value

_LONGEST_LABEL = 60


class Refused(ValueError):
    """A value that is not accepted; `faults` says where in it, what was found and what is expected.

    `found` and `expected` are those of the first fault.
    """

    def __init__(self, faults: Iterable[DocumentFault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def value(cls, value: object, expected: str) -> Refused:
        """The refusal of a value as a whole."""
        return cls([DocumentFault("", shown_value(value), expected)])

    @property
    def found(self) -> str:
        """What stood there."""
        return self.faults[0].found

    @property
    def expected(self) -> str:
        """What is expected instead."""
        return self.faults[0].expected

    def under(self, path: str) -> list[DocumentFault]:
        """The faults with their paths continued from that of the value."""
        return [evolve(fault, path=joined_path(path, fault.path)) for fault in self.faults]


def path_label(key: object) -> str:
    """A key as a part of a path, in at most 60 characters."""
    if isinstance(key, str) and len(key) <= _LONGEST_LABEL:
        return key
    return shown_value(key)


def nearest_known(found: object, known: Iterable[str]) -> str | None:
    """The known name that is most like what was found; None where that is no text, or like none."""
    if not isinstance(found, str):
        return None
    return nearest_name(found, tuple(known))


def joined_path(path: str, inside: str) -> str:
    """One path continued by another: `a` and `b` make `a.b`, `a` and `[0]` make `a[0]`."""
    if not path or not inside or inside.startswith("["):
        return path + inside
    return f"{path}.{inside}"
