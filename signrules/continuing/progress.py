"""How far a job has come: what is printed, what was measured, what went wrong on the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import field, frozen

from signrules.errors import DocumentFault, RecordError
from signrules.model.job import Job
from signrules.model.limits import SMALLEST_MM
from signrules.model.wording import expected_name, shown_value

HIGHEST_DOT_MM = 10.0
"""No dot is higher: beyond it a height is taken for one in another unit."""


Heights = Mapping[str, Sequence[float]] | Iterable[tuple[str, Sequence[float]]]
Methods = Mapping[str, str | None] | Iterable[tuple[str, str | None]]


def _heights_by_sign(value: Heights) -> tuple[tuple[str, tuple[float, ...]], ...]:
    pairs = value.items() if isinstance(value, Mapping) else value
    return tuple((sign, tuple(heights)) for sign, heights in pairs)


def _methods_by_sheet(value: Methods) -> tuple[tuple[str, str | None], ...]:
    pairs = value.items() if isinstance(value, Mapping) else value
    return tuple((sheet, method) for sheet, method in pairs)


def _names_in_order(value: Iterable[str]) -> tuple[str, ...]:
    return tuple(value)


@frozen
class Progress:
    """What has happened to a job so far.

    `done` are the passes and handling that are done, in the order in which they were. `measured`
    holds for signs the heights in mm of dots that were measured on the sheet as it lies. `moved`
    names sheets that have moved since the last pass, each with the method that puts it back where
    it lay, or None where nothing does. `struck` says that the head has hit something: alignments
    are void then.
    """

    done: tuple[str, ...] = field(default=(), converter=_names_in_order)
    measured: tuple[tuple[str, tuple[float, ...]], ...] = field(
        default=(), converter=_heights_by_sign
    )
    moved: tuple[tuple[str, str | None], ...] = field(default=(), converter=_methods_by_sheet)
    struck: bool = False

    def demand_fit(self, job: Job) -> None:
        """Raises RecordError, with every fault, where it does not fit a job."""
        faults = [
            *_faults_of_done(self.done, job),
            *_faults_of_measured(self.measured, job),
            *_faults_of_moved(self.moved, job),
        ]
        if faults:
            raise RecordError(faults)


def _faults_of_done(done: Sequence[str], job: Job) -> Iterator[DocumentFault]:
    items = {item.id: item for item in job.items}
    before: set[str] = set()
    for place, name in enumerate(done):
        path = f"done[{place}]"
        if name not in items:
            expected = expected_name(name, tuple(items), "a pass or handling of the job")
            yield DocumentFault(path, shown_value(name), expected)
            continue
        if name in before:
            yield DocumentFault(path, shown_value(name), "each pass once: it is done already")
        item = items[name]
        for earlier in (*item.after, *getattr(item, "over", ())):
            if earlier not in before:
                expected = f"{earlier} before it: {name} comes after {earlier} in the job"
                yield DocumentFault(path, shown_value(name), expected)
        before.add(name)


def _faults_of_measured(
    measured: Sequence[tuple[str, Sequence[float]]], job: Job
) -> Iterator[DocumentFault]:
    signs = tuple(sign.id for sign in job.signs)
    for sign, heights in measured:
        path = f"measured.{sign}"
        if sign not in signs:
            yield DocumentFault(path, shown_value(sign), expected_name(sign, signs, "a sign"))
        if not heights:
            yield DocumentFault(path, "no height", "the heights of one dot or more, in mm")
        for height in heights:
            is_number = isinstance(height, (int, float)) and not isinstance(height, bool)
            if not is_number or not SMALLEST_MM <= height <= HIGHEST_DOT_MM:
                expected = f"a height in mm from {SMALLEST_MM:g} to {HIGHEST_DOT_MM:g}"
                yield DocumentFault(path, shown_value(height), expected)


def _faults_of_moved(moved: Sequence[tuple[str, str | None]], job: Job) -> Iterator[DocumentFault]:
    sheets = tuple(sheet.id for sheet in job.media)
    methods = tuple(method for method, _ in job.printer.locating)
    for sheet, method in moved:
        path = f"moved.{sheet}"
        if sheet not in sheets:
            yield DocumentFault(path, shown_value(sheet), expected_name(sheet, sheets, "a sheet"))
        if method is not None and method not in methods:
            expected = expected_name(method, methods, "a method of printer.locating, or none")
            yield DocumentFault(path, shown_value(method), expected)
