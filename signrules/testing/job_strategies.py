"""Hypothesis strategies for whole jobs.

Arguments narrow them; what a failing test shrinks to is small.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from attrs import evolve
from hypothesis import strategies as st

from signrules.documents.writing import job_to_dict
from signrules.model.job import Alignment, Job, Waiver
from signrules.model.media import Ink, Media
from signrules.model.passes import (
    FEATURES,
    Area,
    Gap,
    Handling,
    HeadSetting,
    Pass,
)
from signrules.model.printer import BLANK_STRETCHES, Dial, Minutes, MovingBed, Printer, Spacers
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Mounting, Raised, Sign, Surface
from signrules.testing.strategies import (
    arbitrary_signs,
    areas,
    artwork_sources,
    gaps,
    given,
    hundredths,
    inks,
    intervals,
    maybe,
    media,
    printers,
    seldom,
    signs,
    some_of,
    stated,
)

PrinterGiven = Printer | st.SearchStrategy[Printer] | None
MediaGiven = Sequence[Media] | st.SearchStrategy[Sequence[Media]] | None
InksGiven = Sequence[Ink] | st.SearchStrategy[Sequence[Ink]] | None

_WAIVER = Waiver(
    "contrast.reflectance", "signs.sign-0", "agreed", "the shop", datetime.date(2027, 3, 1)
)


@st.composite
def _drawn_passes(
    draw: st.DrawFn,
    sheets: Sequence[Media],
    stock: Sequence[Ink],
    most: int,
    auto: bool,
    references: tuple[str, ...],
    features: dict[str, list[str]],
    sides: tuple[str, ...],
) -> list[Pass]:
    drawn: list[Pass] = []
    some_gaps: st.SearchStrategy[HeadSetting | None] = gaps(references)
    if auto:
        some_gaps = st.none() | some_gaps
    for index in range(draw(st.integers(1, most))):
        sheet = draw(st.sampled_from(sheets))
        side = draw(st.sampled_from(sides))
        # Only earlier ones, so that nothing can wait for itself.
        earlier = [item.id for item in drawn]
        same_sheet = [
            item.id
            for item in drawn
            # `over` is for ink that the pass lands on: on the same sheet and side.
            if (item.media or sheets[0].id) == sheet.id and item.side == side
        ]
        # The only sheet may be named or not; of several each is.
        named = len(sheets) > 1 or draw(st.booleans())
        item = Pass(
            id=f"pass-{index}",
            ink=draw(st.sampled_from(stock)).id,
            media=sheet.id if named else None,
            areas=draw(maybe(st.lists(areas(sheet), min_size=1, max_size=3).map(tuple))),
            layers=draw(seldom(st.integers(1, 40), st.integers(41, 1000))),
            coverage=draw(st.sampled_from([1.0, 0.75, 0.3])),
            gap=draw(some_gaps),
            side=side,
            directions=draw(st.sampled_from([2, 1])),
            crisp_on=draw(st.sampled_from(["lowest", "highest"])),
            sheet_temperature=draw(maybe(st.integers(15, 60).map(float))),
            over=draw(some_of(same_sheet)),
            after=draw(some_of(earlier)),
            registers_to=draw(st.none() | some_of(earlier)),
            artwork=draw(artwork_sources),
        )
        if features[sheet.id]:
            item = evolve(item, builds=draw(_some_features(features[sheet.id])))
        drawn.append(item)
    return drawn


def _some_features(features: list[str]) -> st.SearchStrategy[tuple[str, ...]]:
    """None, one, or several of some features."""
    several = st.lists(st.sampled_from(features), max_size=2, unique=True)
    return several.map(tuple)


def _tenths_of_mm(least: int, most: int) -> st.SearchStrategy[float]:
    return st.integers(least, most).map(lambda count: count / 10)


_DAYS = st.dates(datetime.date(2026, 1, 1), datetime.date(2026, 12, 31))
_OF_A_PRINTER: Mapping[str, st.SearchStrategy[Any]] = MappingProxyType(
    {
        "drop_volume": _tenths_of_mm(10, 420),
        "drop_density": _tenths_of_mm(9000, 12000),
        "satellite_volume": _tenths_of_mm(5, 20),
        "satellite_speed": _tenths_of_mm(10_000, 60_000),
        "head_work": _DAYS,
        "moving_bed": st.sampled_from([MovingBed(), MovingBed(1500.5)]),
        "swath": _tenths_of_mm(50, 700),
        "swath_passes": st.integers(1, 16),
        "carriage_acceleration": _tenths_of_mm(10_000, 200_000),
        "overrun": _tenths_of_mm(0, 1000),
        "blank_stretches": st.sampled_from(BLANK_STRETCHES),
        "return_speed": _tenths_of_mm(1000, 20_000),
        "absorbed_dose": _tenths_of_mm(0, 20_000),
        "cooling": _tenths_of_mm(10, 300),
    }
)
_OF_A_SHEET: Mapping[str, st.SearchStrategy[Any]] = MappingProxyType(
    {
        "sheet_type": st.sampled_from(["cast-acrylic", "extruded-acrylic"]),
        "located_at": st.sampled_from([(0.0, 0.0), (-2.5, 10.0)]),
        "expansion": intervals(1000, 9000, 5000),
        "density": _tenths_of_mm(8000, 90_000),
        "heat_capacity": _tenths_of_mm(4000, 20_000),
        "vacuum_pressure": _tenths_of_mm(0, 500_000),
        "vacuum_share": st.integers(0, 10).map(lambda count: count / 10),
        "friction": hundredths(0, 100),
    }
)


def with_physics(draw: st.DrawFn, job: Job) -> Job:
    """A job with whatever else it may say of drops, heat, hold, time and the age of alignments."""

    def some(values: Mapping[str, st.SearchStrategy[Any]]) -> dict[str, Any]:
        # One draw for all names and one for each value that is stated: small jobs shrink fast.
        names = draw(stated(tuple(values)))
        return {name: draw(value) for name, value in values.items() if name in names}

    dated = [evolve(alignment, date=draw(maybe(_DAYS))) for alignment in job.alignments]
    return evolve(
        job,
        printer=evolve(job.printer, **some(_OF_A_PRINTER)),
        media=tuple(evolve(sheet, **some(_OF_A_SHEET)) for sheet in job.media),
        alignments=tuple(dated),
    )


@st.composite
def _drawn_handling(draw: st.DrawFn, sheets: Sequence[Media], passes: list[Pass]) -> list[Handling]:
    drawn = []
    for index in range(draw(st.integers(0, 2))):
        sheet = draw(st.sampled_from(sheets))
        does = draw(st.sampled_from(["pause", "reload", "flip", "release"]))
        named = does != "pause" and len(sheets) > 1
        drawn.append(
            Handling(
                id=f"handling-{index}",
                does=does,
                media=sheet.id if named else None,
                locates_by=draw(st.sampled_from([None, "pins", "stops"])),
                after=draw(some_of([item.id for item in passes])),
            )
        )
    return drawn


@st.composite
def _drawn_sheets(draw: st.DrawFn, most: int, loads: int, sides: tuple[str, ...]) -> list[Media]:
    sheets = [draw(media(slot, loads)) for slot in range(draw(st.integers(1, most)))]
    return [evolve(sheet, up=draw(st.sampled_from(sides))) for sheet in sheets]


@st.composite
def _drawn_stock(draw: st.DrawFn, most: int) -> list[Ink]:
    return [draw(inks(f"ink-{index}")) for index in range(draw(st.integers(1, most)))]


@st.composite
def jobs(
    draw: st.DrawFn,
    *,
    stated_gaps_only: bool = False,
    max_passes: int = 6,
    max_media: int = 3,
    max_inks: int = 4,
    handling: bool = True,
    signs: bool | None = True,
    sequence: bool = False,
    references: tuple[str, ...] = ("media", "build-up", "bed"),
    sides: tuple[str, ...] = ("front",),
    loads: int = 2,
    physics: bool = False,
    printer: PrinterGiven = None,
    media: MediaGiven = None,
    inks: InksGiven = None,
) -> Job:
    """Jobs that are consistent, whatever comes of them.

    `stated_gaps_only` leaves no gap to the planner; `sequence` states an order of everything
    declared; `references` are those that stated gaps may have, `sides` those that are printed on
    and may lie up when a sheet is loaded, `loads` the most bed loads; the other switches say what
    the job may hold at all. `signs` is None for signs with everything that a sign can say.
    `physics` adds what a job may say of drops, heat, hold and time. `printer`, `media` and `inks`
    narrow the job to what is given: a value or a strategy.
    """
    sheets = list(draw(given(media, _drawn_sheets(max_media, loads, sides))))
    stock = list(draw(given(inks, _drawn_stock(max_inks))))
    made_signs: list[Sign] = []
    if signs is not False:
        for index in range(draw(st.integers(0, 2))):
            signs_strategy = _signs_of if signs else arbitrary_signs
            made_signs.append(draw(signs_strategy(draw(st.sampled_from(sheets)), f"sign-{index}")))
    features: dict[str, list[str]] = {sheet.id: [] for sheet in sheets}
    for sign in made_signs:
        if sign.media is not None:
            # A pass builds signs of its own sheet alone.
            features[sign.media] += (f"{sign.id}.{feature}" for feature in FEATURES)
    passes = draw(
        _drawn_passes(sheets, stock, max_passes, not stated_gaps_only, references, features, sides)
    )
    handled: list[Handling] = []
    if handling:
        handled = draw(_drawn_handling(sheets, passes))
    ids = [item.id for item in passes] + [item.id for item in handled]
    job = Job(
        printer=draw(given(printer, printers())),
        media=tuple(sheets),
        inks=tuple(stock),
        passes=tuple(passes),
        handling=tuple(handled),
        signs=tuple(made_signs),
        # Below 0 too: the scrap may have been raised.
        alignments=tuple(draw(st.lists(hundredths(-50, 200).map(Alignment), max_size=2))),
        standards=draw(st.sampled_from([(), ("us-ada-2010",)])),
        sequence=tuple(draw(st.permutations(ids))) if sequence else None,
        registration_tolerance=draw(maybe(hundredths(5, 80))),
        temperature=draw(st.sampled_from([22.0, 19.5])),
        waivers=draw(st.sampled_from([(), (_WAIVER,)])),
        name=draw(st.sampled_from(["", "a job", 'quotes " and \\ and\ttabs'])),
    )
    return with_physics(draw, job) if physics else job


_signs_of = signs


def arbitrary_jobs(
    *,
    max_passes: int = 3,
    max_media: int = 2,
    printer: PrinterGiven = None,
    media: MediaGiven = None,
    inks: InksGiven = None,
) -> st.SearchStrategy[Job]:
    """Jobs of anything that the model allows.

    All that may be left out is drawn or left out; there are signs of any kind, both sides,
    handling, bed loads, gaps left open. Many of them have no safe order.
    """
    return jobs(
        max_passes=max_passes,
        max_media=max_media,
        max_inks=2,
        signs=None,
        sides=("front", "back"),
        physics=True,
        printer=printer,
        media=media,
        inks=inks,
    )


_INCH = 25.4


@st.composite
def sound_jobs(draw: st.DrawFn, *, standards: tuple[str, ...] = ("us-ada-2010",)) -> Job:
    """Jobs that have a safe order and break no built-in rule of level STOP, by construction.

    They are a sign with braille and raised characters, of ground, dots, letters and colour over the
    dots. The dimensions of the sign are drawn within the ranges of the 2010 ADA Standards, 703;
    `standards` are those that the job names.
    """
    printer, sheet = _sound_printer(draw), _sound_sheet(draw)
    colour = Ink("colour", Interval.exact(draw(st.integers(5, 12)) / 1000), "colour")
    clear = Ink("clear", Interval.exact(draw(st.integers(28, 33)) / 1000), "clear")
    return Job(
        printer=printer,
        media=(sheet,),
        inks=(colour, clear),
        passes=_sound_passes(draw),
        signs=(_sound_sign(draw),),
        standards=standards,
        name="an invented sign in order",
    )


def _sound_printer(draw: st.DrawFn) -> Printer:
    return Printer(
        bed=(600.0, 450.0),
        base_gap=draw(intervals(80, 150, 10)),
        min_clearance=draw(hundredths(0, 50)),
        gap=draw(st.just(Spacers((0.4, 0.8, 1.25))) | st.just(Dial(3.0, 0.25))),
        head_length=draw(st.sampled_from([40.0, 20.0])),
        carriage_speed=800.0,
        drop_speed=6000.0,
        max_throw=draw(maybe(hundredths(500, 800))),
        landing_tolerance=draw(maybe(hundredths(10, 30))),
        minutes=draw(st.sampled_from([Minutes(), Minutes(4.0, 2.0, 12.0)])),
    )


def _sound_sheet(draw: st.DrawFn) -> Media:
    return Media(
        id="panel",
        thickness=draw(intervals(200, 600)),
        size=(240.0, 320.0),
        at=(50.0, 50.0),
        material=draw(maybe(st.sampled_from(["acrylic", "aluminium"]))),
        bow=Interval.exact(draw(hundredths(0, 20))),
        hold=draw(st.sampled_from(["vacuum", "adhesive", "tape", "pins"])),
    )


def _sound_passes(draw: st.DrawFn) -> tuple[Pass, ...]:
    exact = Interval.exact
    around_dots = (Area(30.0, 42.0, 70.0, 8.0),)
    around_letters = (Area(30.0, 60.0, 180.0, 25.0),)
    over_sheet = draw(st.sampled_from([None, Gap(exact(1.25))]))
    return (
        Pass("ground", "colour", gap=draw(st.sampled_from([None, Gap(exact(0.0))]))),
        Pass(
            "dots",
            "clear",
            areas=around_dots,
            layers=draw(st.integers(23, 28)),
            coverage=0.3,
            gap=over_sheet,
            builds=("room.braille",),
        ),
        Pass(
            "letters",
            "clear",
            areas=around_letters,
            layers=draw(st.integers(29, 30)),
            coverage=0.4,
            gap=over_sheet,
            builds=("room.raised",),
        ),
        Pass(
            "ink-on-dots",
            "colour",
            areas=around_dots,
            gap=Gap(exact(0.0), "build-up"),
            over=("dots",),
        ),
    )


def _sound_sign(draw: st.DrawFn) -> Sign:
    exact = Interval.exact

    def within(least_in: float, most_in: float) -> Interval:
        """A length from so many inches to so many, in mm."""
        return exact(
            draw(st.integers(0, 10)) / 10 * (most_in - least_in) * _INCH + least_in * _INCH
        )

    text, cells = draw(st.sampled_from([("ROOM", "⠗⠕⠕⠍"), ("EXIT", "⠑⠭⠊⠞")]))
    # The baselines of text and braille lie about 17 mm apart in their areas.
    lowest = within(48.0, 59.0)
    return Sign(
        id="room",
        kind="permanent-room",
        text=(text,),
        braille=Braille(
            cells=cells,
            dot_diameter=within(0.059, 0.063),
            dot_spacing=within(0.09, 0.1),
            cell_spacing=within(0.241, 0.3),
            line_spacing=within(0.395, 0.4),
            clear_space=exact(10.0),
            shape=draw(st.sampled_from(["domed", "rounded"])),
            grade="contracted",
        ),
        raised=Raised(
            height=exact(25.0),
            width=exact(draw(hundredths(1500, 2500))),
            stroke=exact(draw(hundredths(200, 370))),
            spacing=exact(draw(hundredths(350, 800))),
            line_spacing=exact(draw(hundredths(3400, 4200))),
            case="upper",
            style="sans-serif",
        ),
        surface=Surface("matte", 82.0, 8.0),
        mounting=Mounting(lowest, lowest + exact(17.0)),
    )


def documents(jobs: st.SearchStrategy[Job] | None = None) -> st.SearchStrategy[dict[str, Any]]:
    """Job documents as plain data, which `job_from_dict` reads: of these jobs or arbitrary ones."""
    if jobs is None:
        jobs = arbitrary_jobs()
    return jobs.map(job_to_dict)
