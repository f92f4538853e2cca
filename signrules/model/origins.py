"""Where a figure of a job comes from: measured, from a data sheet, or assumed."""

from __future__ import annotations

import datetime

from attrs import frozen

from signrules.model.quantities import Interval
from signrules.model.wording import counted_things

STATED, MEASURED, DATA_SHEET, ASSUMED = "stated", "measured", "data sheet", "assumed"
KINDS_OF_ORIGIN = (STATED, MEASURED, DATA_SHEET, ASSUMED)


@frozen
class Origin:
    """Where a figure comes from.

    `kind` is one of `KINDS_OF_ORIGIN`. `stated_in` names what states the figure in place of the
    job, such as "shop file signrules.toml"; empty where the job does. `date` is the day of a
    measurement, `readings` how many there were, `how` says how it was made, which data sheet, or
    why it is assumed. `low` and `high` are the ends of its uncertainty, where the
    field itself holds no tolerance, and `unit` is theirs. `newest` is what a later measurement
    found outside of what is stated, in the unit of the model, and `drift` says so in words.
    """

    kind: str = STATED
    stated_in: str = ""
    date: datetime.date | None = None
    readings: int | None = None
    how: str = ""
    low: float | None = None
    high: float | None = None
    unit: str = ""
    newest: Interval | None = None
    drift: str = ""

    @property
    def text(self) -> str:
        """The origin in words: "shop file signrules.toml, measured 2027-02-03, 6 readings"."""
        parts = []
        if self.stated_in:
            parts.append(self.stated_in)
        if self.kind == MEASURED and self.date is not None:
            parts.append(f"measured {self.date}")
        elif self.kind != STATED:
            parts.append(self.kind)
        if self.readings is not None:
            parts.append(counted_things(self.readings, "reading"))
        if self.how:
            parts.append(self.how)
        return ", ".join(parts) or "the job"
