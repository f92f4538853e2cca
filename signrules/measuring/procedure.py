"""What a procedure is: how a figure is measured, what is written down, what comes of it."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from typing import Any

from attrs import frozen

from signrules.measuring.entries import Entry
from signrules.measuring.readings import Readings
from signrules.model.quantities import Interval


class States(StrEnum):
    """What a shop states of a measured figure."""

    INTERVAL = "the figure with its tolerance"
    UPPER = "the upper end, for the library takes this figure as a worst case"
    LOWER = "the lower end, for the library takes this figure as a worst case"
    NOMINAL = "the figure alone"


@frozen
class Finding:
    """What readings say of a figure, in the units of the library (mm, mm/s, s, ...).

    `meaning` says in words what the interval holds. `residuals` are what the fit leaves of each
    reading. `holds` says whether the readings keep to the model; None where they cannot tell.
    """

    value: Interval
    meaning: str
    residuals: tuple[float, ...] = ()
    residual_unit: str = "mm"
    holds: bool | None = None
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


@frozen
class Procedure:
    """How one figure is measured with ordinary tools.

    `figure` is its name, `title` what it is, `unit` that of the figure and `factor` how many of
    the library's units make one of it. `goes_to` is the table of a shop file and the keys inside
    a part of it; empty where no shop file holds the figure. `settings` are written down once,
    `columns` for each reading, of which `fewest` are needed. `shares_readings` are figures whose
    readings serve this one too. Readings of the column `alike` lie close together, or along a line
    over the column `along`; one far from the others is doubted.
    """

    figure: str
    title: str
    unit: str
    factor: float
    goes_to: tuple[str, ...]
    states: States
    why: str
    tools: tuple[str, ...]
    steps: tuple[str, ...]
    settings: tuple[Entry, ...]
    columns: tuple[Entry, ...]
    fewest: int
    how: str
    source: str
    example: str
    compute: Callable[[Readings, bool], Finding]
    shares_readings: tuple[str, ...] = ()
    has_range: bool = False
    alike: str = ""
    along: str = ""
    rows_on_form: int = 12

    @property
    def name(self) -> str:
        """What is measured, without the way in which it is."""
        return self.title.partition(", ")[0]

    @property
    def place(self) -> str:
        """Where the figure stands in a shop file, in words."""
        if not self.goes_to:
            return "no key of the shop file"
        table, *keys = self.goes_to
        return ".".join((table, "ID", *keys))

    def to_dict(self) -> dict[str, Any]:
        """The procedure as plain data, ready for JSON."""
        return {
            "figure": self.figure,
            "title": self.title,
            "unit": self.unit,
            "goes_to": list(self.goes_to),
            "states": self.states.value,
            "why": self.why,
            "tools": list(self.tools),
            "steps": list(self.steps),
            "settings": [_entry_to_dict(entry) for entry in self.settings],
            "columns": [_entry_to_dict(entry) for entry in self.columns],
            "fewest": self.fewest,
            "source": self.source,
            "example": self.example,
        }


def _entry_to_dict(entry: Entry) -> dict[str, Any]:
    return {
        "name": entry.name,
        "kind": entry.kind,
        "unit": entry.unit,
        "meaning": entry.meaning,
        "required": entry.required,
    }
