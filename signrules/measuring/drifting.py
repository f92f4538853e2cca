"""How a figure moves over months, and whether it still lies within what is stated."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve, frozen

from signrules.errors import DocumentFault, ReadingsError
from signrules.given_values import demand_given
from signrules.measuring.figure_list import procedure_of
from signrules.measuring.figure_records import Record, Records
from signrules.measuring.measurement import value_text
from signrules.measuring.procedure import States
from signrules.model.origins import Origin
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.wording import NOTHING
from signrules.shop import Shop


@frozen
class Drift:
    """The newest record of a figure beside the one that is stated.

    `stated` is the last record before the newest that was written into the shop file, or the first
    of all where none was; None where there is no other. `outside` says whether the newest lies
    outside its tolerance, `by` how far, in `newest.unit`.
    """

    newest: Record
    stated: Record | None
    outside: bool
    by: float

    def text(self) -> str:
        """The drift in one sentence."""
        newest = self.newest
        about = f"{newest.figure} of {newest.of}" if newest.of else newest.figure
        if self.stated is None:
            return f"{about}: only one record, of {newest.date.isoformat()}."
        kind = "stated" if self.stated.stated else "first measured"
        states = procedure_of(newest.figure).states
        tolerance = (
            f"what was {kind} on {self.stated.date.isoformat()},"
            f" {value_text(self.stated.value, newest.unit, states)}"
        )
        value = value_text(newest.value, newest.unit, states)
        head = f"{about}: {value} on {newest.date.isoformat()} lies"
        if not self.outside:
            return f"{head} within {tolerance}."
        unit = f" {newest.unit}".rstrip()
        return (
            f"{head} outside {tolerance}, by {self.by:.2g}{unit}. Measure it again; if the result"
            " is the same, state the new figure and look for the cause."
        )


def drift(records: Records | Iterable[Record], figure: str, of: str | None = None) -> Drift:
    """Whether the newest record of a figure lies outside the tolerance that is stated.

    `of` is the part that it is of, such as `printers.flatbed`; left out, that of the newest record.
    Raises ReadingsError where there is no such record.
    """
    records_kept = _records_of(records, figure)
    if of is None and records_kept:
        of = records_kept[-1].of
    records_kept = [record for record in records_kept if record.of == of]
    if not records_kept:
        about = f" of {of}" if of else ""
        raise ReadingsError([DocumentFault(figure, NOTHING, f"a record of {figure}{about}")])
    newest, before = records_kept[-1], records_kept[:-1]
    if not before:
        return Drift(newest, None, False, 0.0)
    # Readings that nobody wrote into the shop file have changed no job.
    written = [record for record in before if record.stated]
    stated = written[-1] if written else before[0]
    excess = _beyond(newest, stated, procedure_of(figure).states)
    return Drift(newest, stated, excess > GUARD_MM, max(excess, 0.0))


def shop_with_drift(shop: Shop, records: Records) -> Shop:
    """The shop with a note at each figure of which the newest record lies outside what is stated.

    What was written into the shop file since is stated anew, and has not drifted.
    """
    demand_given("shop_with_drift", (shop, Shop))
    origins = dict(shop.stock.origins)
    for history in histories_of(records):
        found = drift(history, history[-1].figure, history[-1].of)
        procedure = procedure_of(found.newest.figure)
        keys = procedure.goes_to[1:]
        # METHOD stands for a name that the shop chose, and the record does not hold it.
        if not found.outside or found.newest.stated or not keys or "METHOD" in keys:
            continue
        path = ".".join((found.newest.of, *keys))
        value = found.newest.value
        newest = Interval(
            *(end * procedure.factor for end in (value.low, value.nominal, value.high))
        )
        origins[path] = evolve(origins.get(path, Origin()), newest=newest, drift=found.text())
    return evolve(shop, stock=evolve(shop.stock, origins=origins))


def _records_of(records: Records | Iterable[Record], figure: str) -> list[Record]:
    listed = records.records if isinstance(records, Records) else records
    # Sorting is stable: of one day, the last line is the newest.
    return sorted(
        (record for record in listed if record.figure == figure), key=lambda record: record.date
    )


def _beyond(newest: Record, stated: Record, states: States) -> float:
    """How far the newest lies beyond the tolerance; below 0 within it."""
    if states is States.UPPER:
        return newest.value.high - stated.value.high
    if states is States.LOWER:
        return stated.value.low - newest.value.low
    # Its own tolerance is left out: few readings make it wide, and each measurement would drift.
    nominal = newest.value.nominal
    return max(nominal - stated.value.high, stated.value.low - nominal)


def histories_of(records: Records, figure: str | None = None) -> list[list[Record]]:
    """The records of each figure of each part, the oldest first."""
    records_by_figure: dict[tuple[str, str], list[Record]] = {}
    for record in sorted(records.records, key=lambda one: one.date):
        if figure is None or record.figure == figure:
            records_by_figure.setdefault((record.figure, record.of), []).append(record)
    return [records_by_figure[key] for key in sorted(records_by_figure)]


def history_text(records: Records, figure: str | None = None) -> str:
    """The records of a figure, or of all, a line for each, and how each figure has moved."""
    lines = list(_history_lines(records, figure))
    if not lines:
        lines = ["No records" + (f" of {figure}" if figure else "") + "."]
    lines += [f"Skipped: {skipped}." for skipped in records.skipped]
    return "\n".join(lines) + "\n"


def _history_lines(records: Records, figure: str | None) -> Iterator[str]:
    for history in histories_of(records, figure):
        newest = history[-1]
        yield f"{newest.figure}" + (f" of {newest.of}" if newest.of else "")
        for record in history:
            value = value_text(record.value, record.unit, procedure_of(record.figure).states)
            stated = ", stated" if record.stated else ""
            yield f"  {record.date.isoformat()}  {value}  ({record.count} readings{stated})"
        yield f"  {drift(history, newest.figure, newest.of).text()}"
