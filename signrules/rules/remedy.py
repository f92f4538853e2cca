"""What a remedy is: a change to the job that meets a check."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from attrs import frozen


@frozen
class Remedy:
    """A change that was tried: with it the check is met, and nothing of level STOP that was met is
    broken.

    `summary` says in words what to change, `patch` is the same as a JSON Patch (RFC 6902) on the
    job document.
    `setup_minutes` is what the plan then costs more than before (negative: less); None where the
    printer does not state its minutes or there is no plan to compare.
    """

    summary: str
    patch: tuple[Mapping[str, Any], ...]
    setup_minutes: float | None = None

    @property
    def places(self) -> frozenset[str]:
        """The JSON Pointers of what the patch changes."""
        # A test only makes sure that the patch meets the document that it was made for.
        return frozenset(change["path"] for change in self.patch if change["op"] != "test")

    @property
    def changes_printer(self) -> bool:
        """Whether it changes how the printer is run, and so every pass."""
        return any(place.startswith("/printer/") for place in self.places)

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        # Whoever gets plain data may change it; the remedy must stay as it was tried.
        patch = [copy.deepcopy(dict(operation)) for operation in self.patch]
        minutes = None if self.setup_minutes is None else round(self.setup_minutes, 6) + 0.0
        return {"summary": self.summary, "patch": patch, "setup_minutes": minutes}
