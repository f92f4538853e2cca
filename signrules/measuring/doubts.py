"""Why a measured figure is doubted: it is not usual of its field, or a reading stands alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from statistics import median

from signrules.documents.stock import OWNED
from signrules.measuring.entries import KINDS
from signrules.measuring.procedure import Procedure, States
from signrules.measuring.readings import ROWS, Readings
from signrules.model.declared import Declared, declared_fields, document_key
from signrules.model.media import Media
from signrules.model.quantities import Interval
from signrules.model.wording import number_text, shown_value
from signrules.rules.stated_figures import Figure, unit_of, usual_range
from signrules.rules.unusual_figures import LOOK_AT_TOLERANCE, guesses_of

# A slipped decimal mark is off by ten and scatter by far less; 5 lies between. Common practice, no
# published source.
FAR_TIMES = 5.0
"""So many times the median, or so small a part of it, is far from it."""

# Of a normal distribution not one reading in 10 ** 10 lies so far off: what is told is a slip.
FAR_DEVIATIONS = 10.0
"""So many median absolute deviations from the median are far from it."""

FEWEST_FOR_DEVIATIONS = 5
"""Fewer readings do not show how widely they scatter."""

MOST_FOR_SLOPES = 200
"""Of more readings than these, only each second, third... counts for the slope of their line."""

STEPS_APART = 3.0
"""Readings as near as so many steps of the tool are not told apart by a factor."""


def field_of(keys: Sequence[str]) -> Declared | None:
    """The declaration of the field where a shop file holds a figure; None where there is none."""
    if not keys:
        return None
    table, *inside = keys
    # A material is no part of a job; its figures are those of a sheet made of it.
    cls: type | None = Media if table == "materials" else OWNED.get(table)
    declared_field: Declared | None = None
    for key in inside:
        if declared_field is not None and declared_field.kind == "lengths by name":
            return declared_field
        if cls is None:
            return None
        fields = {
            document_key(cls, name): declared for name, declared in declared_fields(cls).items()
        }
        declared_field = fields.get(key)
        cls = declared_field.tables.get("") if declared_field is not None else None
    return declared_field


def doubts_of_value(value: Interval, procedure: Procedure) -> Iterator[str]:
    """What speaks against a figure, in the unit of its procedure, by itself.

    What a shop would state of it is judged: the interval, one end, or the figure alone.
    """
    declared = field_of(procedure.goes_to)
    usual = None if declared is None else usual_range(declared)
    if declared is None or usual is None:
        return
    lowest, highest = usual
    # In the unit of the model, in which usual ranges and slips are declared.
    # What the field holds may be declared in the unit that the procedure prints.
    times = 1.0 if unit_of(declared) == procedure.unit else procedure.factor
    stated = _stated_part(value.scaled(times), procedure.states)
    if lowest <= stated.low and stated.high <= highest:
        return
    low, high = (number_text(end / times) for end in usual)
    shown = f"{number_text(float(f'{stated.nominal / times:.3g}'))} {procedure.unit}"
    head = f"{procedure.figure}: {shown} is unlikely, usual are {low} to {high} {procedure.unit}."
    if lowest <= stated.nominal <= highest:
        yield f"{head} {LOOK_AT_TOLERANCE}"
        return
    texts = [guess.text for guess in guesses_of(Figure("", declared, stated, lowest, highest))]
    meant = f" Is {' or '.join(texts)} meant?" if texts else ""
    yield f"{head}{meant} Look at the readings, their units and what is written down once."


def _stated_part(value: Interval, states: States) -> Interval:
    """The part of a value that is stated, to as many digits as people type."""
    ends = {States.UPPER: value.high, States.LOWER: value.low, States.NOMINAL: value.nominal}
    if states in ends:
        return Interval.exact(float(f"{ends[states]:.4g}"))
    nominal = float(f"{value.nominal:.4g}")
    return Interval(min(value.low, nominal), nominal, max(value.high, nominal))


def doubts_of_readings(readings: Readings, procedure: Procedure) -> Iterator[str]:
    """Each reading that stands far from the others, with its row and its value as written."""
    name = procedure.alike
    if not name:
        return
    # A column that readings are alike in is one that each of them has.
    values = readings.column(name)
    centres = _centres(readings, procedure)
    step = float(readings.setting("reads_to", 0.0))
    deviations = [value - centre for value, centre in zip(values, centres, strict=True)]
    # Readings that are all alike would make the next one, a step beside them, stand far off.
    scatter = max(median(map(abs, deviations)), step)
    for row_index, (value, centre) in enumerate(zip(values, centres, strict=True)):
        is_far = len(values) >= FEWEST_FOR_DEVIATIONS and scatter > 0
        is_far = is_far and abs(deviations[row_index]) > FAR_DEVIATIONS * scatter
        # Along a line values run through 0, where a factor says nothing.
        if not procedure.along and abs(deviations[row_index]) > STEPS_APART * step:
            is_far = is_far or not centre / FAR_TIMES < value < centre * FAR_TIMES
        if is_far:
            written = shown_value(readings.plain[ROWS][row_index][name])
            unit = KINDS[_kind_of(procedure)].unit
            yield (
                f"{readings.place(row_index, name)}: {written} stands far from the other readings,"
                f" which lead to {centre:.4g} {unit}".rstrip()
                + f".{_digit_meant(value, centre, unit)} Read it again."
            )


def _kind_of(procedure: Procedure) -> str:
    return next(entry.kind for entry in procedure.columns if entry.name == procedure.alike)


def _centres(readings: Readings, procedure: Procedure) -> list[float]:
    """What the others lead to for each reading: their median, or the line through their medians.

    The slope is the median of those of all pairs (Theil and Sen, from memory): one reading that
    slipped does not turn it.
    """
    values = readings.column(procedure.alike)
    if not procedure.along:
        return [median(values)] * len(values)
    places_mm = readings.column(procedure.along)
    # Pairs grow with the square of the readings.
    few = slice(None, None, 1 + len(places_mm) // MOST_FOR_SLOPES)
    points = zip(places_mm[few], values[few], strict=True)
    slopes = [
        (second_y - first_y) / (second_x - first_x)
        for (first_x, first_y), (second_x, second_y) in combinations(points, 2)
        if first_x != second_x
    ]
    slope = median(slopes) if slopes else 0.0
    start = median(
        value - slope * place_mm for place_mm, value in zip(places_mm, values, strict=True)
    )
    return [start + slope * place_mm for place_mm in places_mm]


def _digit_meant(value: float, centre: float, unit: str) -> str:
    """The value with a digit more or less, where that comes nearer to the others by far."""
    # A digit too many, or one too few, is the slip that people make most.
    for times in (10.0, 0.1):
        if abs(value * times - centre) * FAR_TIMES < abs(value - centre):
            return f" Is {f'{value * times:.4g} {unit}'.strip()} meant, a factor of ten?"
    return ""
