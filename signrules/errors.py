"""The errors that signrules raises: one small hierarchy, so that a caller may catch `SignrulesError` alone."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from attrs import frozen


class SignrulesError(Exception):
    """The base of every error that signrules raises on purpose."""


@frozen
class DocumentFault:
    """One thing that is wrong in a job document: where it stands, what stood there, what is expected."""

    path: str
    found: str
    expected: str

    def __str__(self) -> str:
        where = self.path or "the document"
        return f"{where}: found {self.found}, expected {self.expected}"


class JobError(SignrulesError):
    """A job that cannot be used as it stands; `faults` lists everything that is wrong with it.

    `origin` names the file that the job was read from, where there is one.
    """

    def __init__(self, faults: Iterable[DocumentFault], origin: str = "") -> None:
        self.faults = tuple(faults)
        self.origin = origin
        super().__init__(self.faults, origin)

    def __str__(self) -> str:
        count = len(self.faults)
        head = f"{self.origin or 'job'}: {count} fault{'' if count == 1 else 's'}"
        return "\n".join([head, *(f"  {fault}" for fault in self.faults)])


class RuleError(SignrulesError):
    """A rule that is declared wrongly: a bad name, an unknown parameter, a missing docstring."""


class PluginError(SignrulesError):
    """Plugins that cannot be used together, or one that was asked for and could not be loaded."""

    def __init__(self, message: str, **details: Any) -> None:
        self.details = details
        super().__init__(message)
