"""Readings kept over months: dated lines in a plain file beside the shop file.

One JSON object a line, only ever appended. A line that is torn, by a crash or a full disk, is told
and skipped; it is never overwritten, and what is appended after it begins a line of its own.
"""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from attrs import frozen

from signrules.documents.reading import text_of
from signrules.errors import DocumentFault, JobError, ReadingsError, SignrulesError
from signrules.measuring.figure_list import procedure_of
from signrules.measuring.measurement import Measurement
from signrules.measuring.readings import ROWS
from signrules.model.quantities import Interval

VERSION = 1
"""The version of a line of the records."""

SUFFIX = ".records.jsonl"


@frozen
class Record:
    """A measurement as it is kept: of what part (`printers.flatbed`), when, its value and readings.

    `stated` says whether it was written into the shop file.
    """

    figure: str
    of: str
    date: datetime.date
    value: Interval
    unit: str
    count: int
    readings: Mapping[str, Any]
    stated: bool = False

    def is_among(self, records: Iterable[Record]) -> bool:
        """Whether the same readings of the same part and day are among some records."""
        # As a line holds them: what was read back has lists where a caller may have tuples.
        readings = json.loads(json.dumps(dict(self.readings)))
        about = (self.figure, self.of, self.date, readings)
        return any(
            about == (record.figure, record.of, record.date, record.readings) for record in records
        )

    def to_dict(self) -> dict[str, Any]:
        """The record as plain data, as a line holds it."""
        return {
            "signrules_record": VERSION,
            "figure": self.figure,
            "of": self.of,
            "date": self.date.isoformat(),
            "value": [self.value.low, self.value.nominal, self.value.high],
            "unit": self.unit,
            "count": self.count,
            "stated": self.stated,
            "readings": dict(self.readings),
        }


@frozen
class Records:
    """The records of a file in their order, and what was skipped, each line with its reason."""

    records: tuple[Record, ...]
    skipped: tuple[str, ...] = ()


def records_path(shop: str | os.PathLike[str]) -> Path:
    """The file of the records of a shop file, beside it."""
    return Path(shop).with_suffix(SUFFIX)


def record_of(measurement: Measurement, of: str = "", *, stated: bool = False) -> Record:
    """A measurement as a record. Raises SignrulesError where it has no date."""
    if measurement.date is None:
        raise SignrulesError(
            f"{measurement.figure}: found no date, expected `date` in the readings or --date"
        )
    return Record(
        measurement.figure,
        of,
        measurement.date,
        measurement.value,
        measurement.unit,
        measurement.count,
        measurement.readings,
        stated,
    )


def append_record(record: Record, path: str | os.PathLike[str]) -> None:
    """Append a record as one whole line, which is on the disk when this returns.

    Raises SignrulesError where it cannot be written.
    """
    line = (json.dumps(record.to_dict(), ensure_ascii=False) + "\n").encode()
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o666)
        try:
            # In one go, so that two who append at the same time do not tear the lines of each
            # other.
            written = os.write(descriptor, _line_end_before(descriptor) + line)
            # Who is told that a record was kept finds it after a power cut too.
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        raise SignrulesError(
            f"{os.fspath(path)}: found {found}, expected a file that can be appended to"
        ) from None
    if written < len(line):
        raise SignrulesError(
            f"{os.fspath(path)}: found room for {written} of {len(line)} bytes, expected room for"
            " the whole line; the torn line will be skipped"
        )


def _line_end_before(descriptor: int) -> bytes:
    """A line end where the file ends within a line."""
    size = os.lseek(descriptor, 0, os.SEEK_END)
    if not size:
        return b""
    os.lseek(descriptor, size - 1, os.SEEK_SET)
    return b"" if os.read(descriptor, 1) == b"\n" else b"\n"


def read_records(path: str | os.PathLike[str]) -> Records:
    """The records of a file; none where it is not there.

    Raises ReadingsError where the file cannot be read. Lines that hold no record are skipped and
    told.
    """
    if not Path(path).exists():
        return Records(())
    try:
        lines = text_of(Path(path)).split("\n")
    except JobError as error:
        raise ReadingsError(error.faults, os.fspath(path)) from None
    records: list[Record] = []
    skipped: list[str] = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            records.append(_record_from_line(line))
        except (ValueError, TypeError, KeyError, RecursionError) as error:
            # A whole file ends with a line end, so text after the last one is a line that was torn.
            why = "an incomplete line" if number == len(lines) else "not a record"
            skipped.append(f"line {number}: {why} ({type(error).__name__})")
    return Records(tuple(records), tuple(skipped))


def _record_from_line(line: str) -> Record:
    data = json.loads(line)
    # Any other JSON may lie here, so each value is looked at before it is believed.
    if data["signrules_record"] != VERSION or type(data["stated"]) is not bool:
        raise ValueError("another version")
    if not isinstance(data["readings"], dict) or not isinstance(data["readings"][ROWS], list):
        raise TypeError("readings")
    return Record(
        str(data["figure"]),
        str(data["of"]),
        datetime.date.fromisoformat(data["date"]),
        Interval(*data["value"]),
        str(data["unit"]),
        int(data["count"]),
        data["readings"],
        data["stated"],
    )


def pooled_readings(
    records: Iterable[Record], figure: str, of: str | None = None
) -> dict[str, Any]:
    """The readings of all records of a figure as one, with the date of the newest.

    `of` is the part that they are of; left out, that of the newest. Those count whose settings are
    the same as those of the newest. Raises ReadingsError where there is none.
    """
    names = (figure, *procedure_of(figure).shares_readings)
    records_kept = sorted(
        (record for record in records if record.figure in names and of in (None, record.of)),
        key=lambda record: record.date,
    )
    if not records_kept:
        about = f" of {of}" if of else ""
        raise ReadingsError([DocumentFault(figure, "no record", f"records of {figure}{about}")])
    newest = records_kept[-1]
    settings = _settings_of(newest)
    alike = [
        record
        for record in records_kept
        if record.of == newest.of and _settings_of(record) == settings
    ]
    rows = [row for record in alike for row in record.readings[ROWS]]
    return {**settings, "date": newest.date, ROWS: rows}


def _settings_of(record: Record) -> dict[str, Any]:
    return {key: value for key, value in record.readings.items() if key != ROWS}
