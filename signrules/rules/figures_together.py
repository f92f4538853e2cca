"""Figures that are likely by themselves and unlikely together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from typing import Any

from signrules.model.declared import declared_fields
from signrules.model.job import Job
from signrules.model.media import Ink, Media
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.rules.checks import Draft, Level, Source, check, common_practice, geometry, published
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.stated_figures import is_usual
from signrules.rules.unusual_figures import figures_unusual, named_places

MM_IN_AN_INCH = 25.4
PL_IN_A_CUBIC_MM = 1e6

LEAST_TOLERANCE, MOST_TOLERANCE = 0.1, 12.0
"""Of a landing tolerance, in dot pitches: what is finer no printer holds, and at what is coarser
the dots do not matter. Common practice, no published source.
"""

LEAST_DROPS, MOST_DROPS = 0.05, 32.0
"""Of the drops on one dot that make a layer: heads lay one to eight, in few swath strokes. Common
practice, no published source.
"""

MOST_BOW = 0.025
"""Of a sheet's longer side. Common practice, no published source."""

MOST_BOW_OF: Mapping[str, float] = {"glass": 0.003, "stainless-steel": 0.01, "aluminium": 0.01}
"""The same of stiff materials. Float glass bows by 1 to 1.5 mm on a metre (a maker's table, second
hand), of which this is twice the most; metals are common practice, no published source.
"""

READ_AGAIN = "Look at both figures and their units once more."

SMALLER = (
    ("braille", "dot_height", "dot_diameter"),
    ("braille", "dot_diameter", "dot_spacing"),
    ("braille", "dot_spacing", "cell_spacing"),
    ("braille", "cell_spacing", "line_spacing"),
    ("raised", "stroke", "height"),
    ("raised", "spacing", "height"),
    ("raised", "height", "line_spacing"),
    ("visual", "stroke", "height"),
    ("visual", "spacing", "height"),
    ("visual", "height", "line_spacing"),
)
"""Lengths of a section of a sign of which the first is no larger than the second."""


@rule(
    "figures.together",
    each="job",
    level=Level.REVIEW,
    source=common_practice("figures of one printer, sheet or sign fit each other"),
    breaks={"printer.base_gap": "4 mm"},
    meets={},
)
def figures_together(job: Job) -> Iterator[Draft]:
    """Whether figures that the job states fit each other.

    Of the printer: the gap and what must stay free in it, the throw, the tolerance of landing and
    the dots, the swath and the head, the strokes that fill it, the run-up of the carriage, the
    drops and what trails them. Of an ink: its layer and the drops that make it. Of a sheet: its
    bow and its size. Of a sign: lengths of which one is a part of the other. What is not stated
    or is unlikely by itself is not compared, and whether a gap can be set is said by
    `gap.settable`.

    Why it matters: of two figures that contradict each other one is wrong, and all that is reckoned
    with it too.
    A job that breaks it: a base gap of 4 mm on a printer whose drops break up beyond 3 mm.
    One that meets it: a base gap of 0.75 mm on the same printer.
    """
    yield from _gap_checks(job.printer)
    yield from _dot_checks(job.printer)
    yield from _stroke_checks(job.printer)
    yield from chain.from_iterable(_layer_checks(ink, job.printer) for ink in job.inks)
    yield from _bow_checks(job.media)
    yield from _sign_checks(job.signs)


def _gap_checks(printer: Printer) -> Iterator[Draft]:
    # A loop over one or none: `_likely` gives nothing where there is nothing to compare.
    for gap, free_value in _likely(printer, "base_gap", "min_clearance"):
        yield _compared(
            "printer.base_gap, beside what must stay free in it,",
            gap,
            least=free_value,
            paths=("printer.base_gap", "printer.min_clearance"),
            source=geometry("no more can stay free under the head than there is"),
        )
    for gap, throw in _likely(printer, "base_gap", "max_throw"):
        yield _compared(
            "printer.base_gap, beside the farthest throw,",
            gap,
            most=throw,
            paths=("printer.base_gap", "printer.max_throw"),
            source=geometry("drops fall through the whole gap"),
        )


def _dot_checks(printer: Printer) -> Iterator[Draft]:
    for tolerance, resolution in _likely(printer, "landing_tolerance", "resolution"):
        yield _compared(
            "printer.landing_tolerance, in dots of printer.resolution,",
            tolerance * resolution / MM_IN_AN_INCH,
            least=LEAST_TOLERANCE,
            most=MOST_TOLERANCE,
            unit="dot pitches",
            paths=("printer.landing_tolerance", "printer.resolution"),
            source=common_practice("a landing tolerance is about as large as a dot"),
        )
    for carriage, drops in _likely(printer, "carriage_speed", "drop_speed"):
        yield _compared(
            "printer.carriage_speed, beside that of the drops,",
            carriage,
            most=drops,
            unit="mm/s",
            paths=("printer.carriage_speed", "printer.drop_speed"),
            source=common_practice("drops fly faster than the carriage moves"),
        )
    for satellite, drop in _likely(printer, "satellite_volume", "drop_volume"):
        yield _compared(
            "printer.satellite_volume, beside the main drop,",
            satellite,
            most=drop,
            unit="pL",
            paths=("printer.satellite_volume", "printer.drop_volume"),
            source=geometry("of two drops the main one is the larger"),
        )


def _stroke_checks(printer: Printer) -> Iterator[Draft]:
    for swath, head in _likely(printer, "swath", "head_length"):
        yield _compared(
            "printer.swath, beside the head that prints it,",
            swath,
            most=head,
            paths=("printer.swath", "printer.head_length"),
            source=geometry("a head covers no more than it is long"),
        )
    for swath, strokes, resolution in _likely(printer, "swath", "swath_passes", "resolution"):
        yield _compared(
            "the advance after a swath stroke, printer.swath by printer.swath_passes,",
            swath / strokes,
            least=MM_IN_AN_INCH / resolution,
            paths=("printer.swath", "printer.swath_passes", "printer.resolution"),
            source=geometry("a print advances by one row of dots at least"),
        )
    run_up = ("overrun", "carriage_acceleration", "carriage_speed")
    for overrun, acceleration, speed in _likely(printer, *run_up):
        yield _compared(
            "printer.overrun, beside the way on which the carriage takes up its speed,",
            overrun,
            least=speed**2 / (2 * acceleration),
            paths=tuple(f"printer.{name}" for name in run_up),
            source=published("way of constant acceleration, any handbook of mechanics"),
        )


def _layer_checks(ink: Ink, printer: Printer) -> Iterator[Draft]:
    """How many drops on each dot make a layer: its thickness on the area of a dot."""
    path = f"inks.{ink.id}.layer"
    for (layer,) in _likely(ink, "layer"):
        for volume, resolution in _likely(printer, "drop_volume", "resolution"):
            pitch = MM_IN_AN_INCH / resolution
            yield _compared(
                f"{path}, in drops of printer.drop_volume on each dot of printer.resolution,",
                # A film of the layer over the square of one dot, in drops.
                layer.scaled(pitch**2 * PL_IN_A_CUBIC_MM / volume),
                least=LEAST_DROPS,
                most=MOST_DROPS,
                unit="drops",
                paths=(path, "printer.drop_volume", "printer.resolution"),
                source=common_practice("heads lay one to eight drops on a dot at a time"),
            )


def _bow_checks(sheets: Iterable[Media]) -> Iterator[Draft]:
    """The bow of a sheet and its longer side; alike sheets are one check."""
    alike: dict[tuple[Interval, float], list[str]] = defaultdict(list)
    for sheet in sheets:
        for bow, size in _likely(sheet, "bow", "size"):
            if bow.high > 0:
                most_bow = MOST_BOW_OF.get(sheet.material or "", MOST_BOW) * max(size)
                alike[bow, most_bow].append(f"media.{sheet.id}")
    # One check for all alike: fifty sheets of one delivery have one figure, and one slip.
    for (bow, most_bow), places in alike.items():
        yield _compared(
            f"{named_places([f'{place}.bow' for place in places])}, beside the size of the sheet,",
            bow,
            most=most_bow,
            paths=tuple(f"{place}.{name}" for place in places for name in ("bow", "size")),
            source=common_practice("how far sheets of a material bow on their longer side"),
        )


def _sign_checks(signs: Iterable[Sign]) -> Iterator[Draft]:
    """Lengths of which the first is no larger than the second; alike signs are one check."""
    alike: dict[tuple[str, str, str, Interval, Interval], list[str]] = defaultdict(list)
    for sign in signs:
        for section, small, large in SMALLER:
            for first, second in _likely(getattr(sign, section), small, large):
                alike[section, small, large, first, second].append(f"signs.{sign.id}.{section}")
    for (_, small, large, first, second), places in alike.items():
        yield _compared(
            f"{named_places([f'{place}.{small}' for place in places])}, beside {large},",
            first,
            most=second.high,
            paths=tuple(f"{place}.{name}" for place in places for name in (small, large)),
            source=common_practice("which of two lengths of a cell or a character is the larger"),
        )


def _likely(part: object, *names: str) -> tuple[tuple[Any, ...], ...]:
    """The figures of a part, together, where all are stated and none of them is unlikely by itself:
    that is said by `figures.unusual`, once. Else nothing.
    """
    if part is None:
        return ()
    values = tuple(getattr(part, name) for name in names)
    declared = declared_fields(type(part))
    if all(is_usual(value, declared[name]) for name, value in zip(names, values, strict=True)):
        return (values,)
    return ()


def _compared(
    what: str,
    measured: Interval | float,
    *,
    paths: tuple[str, ...],
    source: Source,
    least: float | None = None,
    most: float | None = None,
    unit: str = "mm",
) -> Draft:
    return check(
        what,
        measured=measured,
        least=least,
        most=most,
        unit=unit,
        advice=READ_AGAIN,
        others=paths,
        source=source,
    )


FIGURES = RuleSet(
    "figures",
    (figures_unusual, figures_together),
    "Whether the figures of the job are likely, each by itself and together.",
)
