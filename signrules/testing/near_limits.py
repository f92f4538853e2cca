"""Hypothesis strategies for jobs of which some check lies at its limit or just beside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from attrs import evolve
from hypothesis import strategies as st

from signrules.model.job import Alignment, Job
from signrules.model.media import Ink, Media
from signrules.model.passes import Area, Gap, Handling, Pass
from signrules.model.printer import MovingBed, Printer, Spacers
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Mounting, Raised, Sign
from signrules.testing.strategies import hundredths, intervals

GRAVITY_MM_S2 = 9806.65
"""Standard gravity in mm/s2; ISO 80000-3."""

_INCH = 25.4
_THIN, _MIDDLE, _THICK = _SPACERS = (0.4, 0.8, 1.25)
"""The spacers of these invented printers, in mm."""

_STEPS = (
    0.0,
    0.1,
    -0.1,
    0.01,
    -0.01,
    0.001,
    -0.001,
    1e-4,
    -1e-4,
    1e-5,
    -1e-5,
    1e-6,
    -1e-6,
    1e-7,
    -1e-7,
)
AWAY: st.SearchStrategy[float] = st.sampled_from(_STEPS)
"""How far from the limit, in mm: on it, and from 0.1 mm down to less than the guard of a nanometre
on both sides.
"""

_exact = Interval.exact


def _near_printer(base_gap: Interval, **stated: Any) -> Printer:
    return Printer(
        bed=(300.0, 200.0),
        base_gap=base_gap,
        min_clearance=stated.pop("min_clearance", 0.0),
        gap=stated.pop("gap", Spacers(_SPACERS)),
        head_length=20.0,
        carriage_speed=800.0,
        drop_speed=6000.0,
        **stated,
    )


def _near_sheet(**stated: Any) -> Media:
    return Media(
        id="sheet",
        thickness=_exact(3.0),
        size=(100.0, 100.0),
        hold=stated.pop("hold", "vacuum"),
        **stated,
    )


def _near_job(
    printer: Printer, passes: list[Pass], sheet: Media | None = None, **stated: Any
) -> Job:
    inks_used = {item.ink for item in passes}
    clear = Ink("clear", stated.pop("layer", _exact(0.03)), "clear")
    stock = tuple(
        ink for ink in (clear, Ink("colour", _exact(0.01), "colour")) if ink.id in inks_used
    )
    return Job(printer, (sheet or _near_sheet(),), stock, tuple(passes), **stated)


@st.composite
def _near_clearance(draw: st.DrawFn) -> Job:
    """The clearance of a pass over its own ink or earlier dots, at the least that must remain."""
    base, bow = draw(intervals(100, 200)), draw(hundredths(0, 20))
    layers, extra = draw(st.integers(1, 20)), draw(st.sampled_from([0.0, _THIN, _MIDDLE]))
    layer = Interval.between(0.03, draw(st.sampled_from([0.03, 0.031])))
    building = Pass("dots", "clear", layers=layers, gap=Gap(_exact(extra)))
    # The worst case: lowest head, thickest layers, highest bow.
    passes, room_left = [building], base.low + extra - layers * layer.high - bow
    if draw(st.booleans()):
        over = Pass("colour", "colour", gap=Gap(_exact(extra)), after=("dots",))
        # One layer of colour on the dots, which is 0.01 mm thick.
        passes, room_left = [building, over], room_left - 0.01
    # No printer states less than none.
    least_clearance = max(0.0, room_left + draw(AWAY))
    sheet = _near_sheet(bow=_exact(bow))
    return _near_job(_near_printer(base, min_clearance=least_clearance), passes, sheet, layer=layer)


@st.composite
def _near_throw(draw: st.DrawFn) -> Job:
    """The throw over a bare sheet at what the printer can print."""
    base, extra = draw(intervals(100, 200)), draw(st.sampled_from([0.0, _THIN, _MIDDLE]))
    item = Pass("colour", "colour", gap=Gap(_exact(extra)))
    return _near_job(_near_printer(base, max_throw=base.high + extra + draw(AWAY)), [item])


@st.composite
def _dot_height(draw: st.DrawFn) -> Job:
    """Dots at a limit of the 2010 ADA Standards, 703.3.1: 0.025 in and 0.037 in high."""
    layers = draw(st.integers(20, 30))
    height = draw(st.sampled_from([0.025, 0.037])) * _INCH + draw(AWAY)
    item = Pass(
        "dots",
        "clear",
        areas=(Area(10.0, 10.0, 40.0, 8.0),),
        layers=layers,
        coverage=0.3,
        gap=Gap(_exact(_THICK)),
        builds=("sign.braille",),
    )
    sign = Sign("sign", braille=Braille(shape="domed"))
    layer = _exact(height / layers)
    printer = _near_printer(_exact(1.0))
    return _near_job(printer, [item], layer=layer, signs=(sign,), standards=("us-ada-2010",))


@st.composite
def _near_registration(draw: st.DrawFn) -> Job:
    """The error of putting a sheet back at the tolerance of registration."""
    # At least 0.15 mm, so that the tolerance stays above 0 with any step.
    error = draw(hundredths(15, 50))
    passes = [
        Pass("ground", "colour", gap=Gap(_exact(0.0))),
        Pass("dots", "clear", gap=Gap(_exact(_THIN)), after=("back",)),
    ]
    back = Handling("back", "reload", locates_by="pins", after=("ground",))
    printer = _near_printer(_exact(1.5), locating=(("pins", error),))
    return _near_job(printer, passes, handling=(back,), registration_tolerance=error + draw(AWAY))


@st.composite
def _near_landing(draw: st.DrawFn) -> Job:
    """The landing error of the best alignment for an inexact gap, at the landing tolerance.

    The error is 2 x carriage speed / drop speed x the distance from the aligned throw; a window of
    width w is served from its middle, so half of w counts.
    """
    width = draw(st.integers(45, 200)) / 100
    item = Pass("colour", "colour", gap=Gap(Interval(0.5, 0.5 + width / 2, 0.5 + width)))
    # 2 x carriage / drop speed x half the width.
    tolerance = 800.0 / 6000.0 * width + draw(st.sampled_from([away / 2 for away in _STEPS]))
    can_be_set = Spacers((0.5 + width / 2,))
    return _near_job(
        _near_printer(_exact(1.5), landing_tolerance=max(0.001, tolerance), gap=can_be_set), [item]
    )


@st.composite
def _near_settable(draw: st.DrawFn) -> Job:
    """A stated gap at one that can be set."""
    spacer = draw(st.sampled_from(_SPACERS))
    item = Pass("colour", "colour", gap=Gap(_exact(spacer + draw(AWAY))))
    return _near_job(_near_printer(_exact(1.5)), [item])


@st.composite
def _near_slip(draw: st.DrawFn) -> Job:
    """The acceleration of a moving bed at what friction withstands: friction x gravity."""
    friction = draw(st.integers(5, 80)) / 100
    bed = MovingBed(friction * GRAVITY_MM_S2 + draw(AWAY))
    sheet = _near_sheet(hold="none", friction=friction, density=1200.0)
    item = Pass("colour", "colour", gap=Gap(_exact(0.0)))
    return _near_job(_near_printer(_exact(1.5), moving_bed=bed), [item], sheet)


_LIMITS = (
    ("braille", "dot_diameter", 0.059),
    ("braille", "dot_diameter", 0.063),
    ("braille", "dot_spacing", 0.09),
    ("braille", "dot_spacing", 0.1),
    ("braille", "cell_spacing", 0.241),
    ("braille", "cell_spacing", 0.3),
    ("braille", "line_spacing", 0.395),
    ("braille", "line_spacing", 0.4),
    ("braille", "clear_space", 0.375),
    ("raised", "height", 0.625),
    ("raised", "height", 2.0),
    ("raised", "spacing", 0.125),
    ("raised", "depth", 0.03125),
    ("raised", "clear_space", 0.375),
    ("mounting", "lowest_tactile", 48.0),
    ("mounting", "highest_tactile", 60.0),
)
"""Limits in inches of the 2010 ADA Standards, 703.2 to 703.4, by the section and the field that
they limit.
"""

_SECTIONS: Mapping[str, Callable[..., Any]] = MappingProxyType(
    {"braille": Braille, "raised": Raised, "mounting": Mounting}
)


@st.composite
def _near_dimension(draw: st.DrawFn) -> Job:
    """A dimension of a sign at a limit of the 2010 ADA Standards, exact or crossing it."""
    section, name, limit = draw(st.sampled_from(_LIMITS))
    value, spread = limit * _INCH + draw(AWAY), draw(st.sampled_from([0.0, 0.01]))
    part = _SECTIONS[section](**{name: Interval(value - spread, value, value + spread)})
    sign = evolve(Sign("sign"), **{section: part})
    item = Pass("colour", "colour", gap=Gap(_exact(0.0)))
    return _near_job(_near_printer(_exact(1.5)), [item], signs=(sign,), standards=("us-ada-2010",))


@st.composite
def _near_served(draw: st.DrawFn) -> Job:
    """An alignment on record at the end of the window within which it serves."""
    tolerance = draw(hundredths(2, 10))
    # The same formula solved for the distance from the aligned throw.
    reach = tolerance * 6000.0 / (2 * 800.0)
    item = Pass("colour", "colour", gap=Gap(_exact(_THIN)))
    alignment = Alignment(_THIN - reach + draw(AWAY))
    return _near_job(
        _near_printer(_exact(1.5), landing_tolerance=tolerance), [item], alignments=(alignment,)
    )


KINDS: Mapping[str, Callable[[], st.SearchStrategy[Job]]] = MappingProxyType(
    {
        "clearance": _near_clearance,
        "throw": _near_throw,
        "dot height": _dot_height,
        "registration": _near_registration,
        "landing": _near_landing,
        "alignment": _near_served,
        "settable gap": _near_settable,
        "hold": _near_slip,
        "dimension": _near_dimension,
    }
)
"""The kinds of limit that a job may lie near."""


def near_limit_jobs(*kinds: str) -> st.SearchStrategy[Job]:
    """Small jobs of which some check lies on its limit or up to 0.1 mm to either side of it.

    `kinds` are some of `KINDS`; left out, all of them. Raises ValueError for any other.
    """
    for kind in kinds:
        if kind not in KINDS:
            raise ValueError(f"expected kinds of {', '.join(KINDS)}, got {kind!r}")
    return st.one_of([KINDS[kind]() for kind in kinds or KINDS])
