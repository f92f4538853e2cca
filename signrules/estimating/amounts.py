"""What a job takes, line by line, without prices: minutes, ink, sheets, dots, plugin counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Decimal

from attrs import frozen

from signrules.documents.money import WIDE
from signrules.evaluation import Evaluation
from signrules.model.handling_kinds import HandlingKind
from signrules.model.job import Job
from signrules.model.wording import FINE_DECIMALS, number_text
from signrules.physics.duration import NEEDED

MINUTES, INK, SHEETS, DOTS, QUANTITIES, FIXED = (
    "minutes",
    "ink",
    "sheets",
    "dots",
    "quantities",
    "fixed",
)
KINDS = (MINUTES, INK, SHEETS, DOTS, QUANTITIES, FIXED)
"""The kinds of lines in the order of an estimate."""

OWN = ("bed_loads", "gap_settings", "new_alignments", "setup_minutes", "printing_minutes", "ink_ml")
"""The quantities, by the first part of their names, that the library counts itself."""

_STEP = Decimal("0.0001")


@frozen
class Amount:
    """How much of one thing a job takes; `amount` is None where `missing` lists what is not known.

    `kind` is `minutes`, `ink`, `sheets`, `dots` or `quantities`; `item` what of it. Rounded to four
    decimals, half to even, so that what is shown is what is priced.
    """

    kind: str
    item: str
    unit: str
    amount: Decimal | None
    missing: tuple[str, ...] = ()
    note: str = ""


def rounded_amount(value: float | int) -> Decimal:
    """A computed number to four decimals, half to even."""
    # By its shortest text: Decimal(0.1) itself has fifty digits, none of which anybody stated.
    return Decimal(repr(float(value))).quantize(_STEP, ROUND_HALF_EVEN, WIDE)


def amounts_of_job(
    result: Evaluation, pause_minutes: Decimal | None = None, *, gap_is_kept: bool = False
) -> tuple[Amount, ...]:
    """Every amount of a job that has a plan; each pause is taken to last `pause_minutes`.

    `gap_is_kept` says that the head stands already where the plan sets it first.
    """
    quantities = dict(result.quantities)
    if gap_is_kept:
        # The first setting of the plan is the one that the load before left.
        quantities["gap_settings"] -= 1
    return (
        *_minutes_of_setup(result.job, quantities, pause_minutes),
        *_ink_amounts(result.job, quantities),
        *_sheet_amounts(result.job),
        *_dot_amounts(result.job),
        *(
            Amount(QUANTITIES, name, "", rounded_amount(value))
            for name, value in quantities.items()
            if name.partition(".")[0] not in OWN
        ),
    )


def _minutes_of_setup(
    job: Job, quantities: Mapping[str, float], pause_minutes: Decimal | None
) -> Iterator[Amount]:
    """Counts of the plan times the minutes that the printer states for each; printing as the
    physics compute it.
    """
    stated = job.printer.minutes
    for item, counted, key in (
        ("alignments", "new_alignments", "alignment"),
        ("loads", "bed_loads", "load"),
        ("gaps", "gap_settings", "gap"),
    ):
        minutes = None
        if stated is not None and getattr(stated, key) is not None:
            minutes = rounded_amount(getattr(stated, key))
        yield _count_times_minutes(
            item, round(quantities[counted]), minutes, f"printer.minutes.{key}"
        )
    printing = quantities.get("printing_minutes")
    if printing is None:
        missing = tuple(f"printer.{name}" for name in NEEDED if getattr(job.printer, name) is None)
        yield Amount(MINUTES, "printing", "min", None, missing)
    else:
        yield Amount(MINUTES, "printing", "min", rounded_amount(printing))
    kinds = [job.kind_of(item) for item in job.handling]
    pauses = sum(kind.minutes is None for kind in kinds)
    yield _count_times_minutes("waiting", pauses, pause_minutes, "pause_minutes of the rate table")
    yield from _minutes_of_handling(kinds)


def _minutes_of_handling(kinds: Sequence[HandlingKind]) -> Iterator[Amount]:
    """The minutes that kinds of handling take besides; nothing where none does."""
    taking = {kind.name: kind.minutes for kind in kinds if kind.minutes}
    if not taking:
        return
    counts = Counter(kind.name for kind in kinds)
    whole, notes = Decimal(0), []
    for name, minutes in taking.items():
        line = _count_times_minutes(name, counts[name], rounded_amount(minutes), "")
        assert line.amount is not None
        whole += line.amount
        notes.append(f"{name} {line.note}")
    yield Amount(MINUTES, "handling", "min", whole, (), ", ".join(notes))


def _count_times_minutes(item: str, count: int, each: Decimal | None, path: str) -> Amount:
    """So many times so many minutes; none take no time, however long each would take."""
    if not count:
        return Amount(MINUTES, item, "min", rounded_amount(0), (), "none")
    if each is None:
        return Amount(MINUTES, item, "min", None, (path,), f"{count} x ? min")
    # The amount has four decimals; the note tells the minutes without the zeros at their end.
    shown = f"{each.normalize():f}"
    return Amount(
        MINUTES,
        item,
        "min",
        (count * each).quantize(_STEP, ROUND_HALF_EVEN, WIDE),
        (),
        f"{count} x {shown} min",
    )


def _ink_amounts(job: Job, quantities: Mapping[str, float]) -> Iterator[Amount]:
    for ink in job.inks:
        value = quantities.get(f"ink_ml.{ink.id}")
        if value is not None:
            yield Amount(INK, ink.id, "mL", rounded_amount(value), (), ink.role or "")


def _sheet_amounts(job: Job) -> Iterator[Amount]:
    for sheet in job.media:
        # What is stated is told as it is stated: two sheets that differ must not read alike.
        sizes = (sheet.thickness.nominal, *sheet.size)
        thick, width, height = (number_text(size, FINE_DECIMALS) for size in sizes)
        material = sheet.material or "material not stated"
        note = f"{material}, {thick} mm, {width} x {height} mm"
        yield Amount(SHEETS, sheet.id, "sheet", rounded_amount(1), (), note)


def _dot_amounts(job: Job) -> Iterator[Amount]:
    """Raised dots by sign: a cell's dots are the bits of its code (Unicode, Braille Patterns)."""
    for sign in job.signs:
        if sign.braille is None:
            continue
        cells = sign.braille.cells
        if cells is None:
            yield Amount(DOTS, sign.id, "dot", None, (f"signs.{sign.id}.braille.cells",))
        else:
            count = sum((ord(cell) - 0x2800).bit_count() for cell in cells if cell >= "\u2800")
            yield Amount(DOTS, sign.id, "dot", rounded_amount(count))
