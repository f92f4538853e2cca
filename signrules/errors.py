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


class DocumentError(SignrulesError):
    """A document that cannot be used as it stands; `faults` lists everything that is wrong with it.

    `origin` names the file that it was read from, where there is one.
    """

    kind = "document"

    def __init__(self, faults: Iterable[DocumentFault], origin: str = "") -> None:
        self.faults = tuple(faults)
        self.origin = origin
        super().__init__(self.faults, origin)

    def __str__(self) -> str:
        count = len(self.faults)
        head = f"{self.origin or self.kind}: {count} fault{'' if count == 1 else 's'}"
        return "\n".join([head, *(f"  {fault}" for fault in self.faults)])


class JobError(DocumentError):
    """A job that cannot be used as it stands."""

    kind = "job"


class ShopError(DocumentError):
    """What a shop sets for its rules, and cannot be used as it stands."""

    kind = "shop file"


class RatesError(DocumentError):
    """A rate table that cannot be used as it stands."""

    kind = "rate table"


class RuleError(SignrulesError):
    """A rule that is declared wrongly: a bad name, an unknown parameter, a missing docstring."""


class PluginError(SignrulesError):
    """Plugins that cannot be used together, or one that was asked for and could not be loaded."""

    def __init__(self, message: str, **details: Any) -> None:
        self.details = details
        super().__init__(message)


class NotEvaluated(SignrulesError):
    """One of many jobs that could not be evaluated though nothing is known to be wrong with it.

    signrules failed, or a worker did, or what was to be made of the evaluation. `details` is a traceback, where there
    is one.
    """

    def __init__(self, message: str, details: str = "") -> None:
        self.details = details
        super().__init__(message, details)

    def __str__(self) -> str:
        return str(self.args[0])


class PatchError(SignrulesError):
    """A JSON Patch that is malformed or does not fit the document; the message says which operation, and where."""


class PathError(SignrulesError):
    """A path into a job, or a pointer into its document, that leads nowhere or to what cannot be used there."""
