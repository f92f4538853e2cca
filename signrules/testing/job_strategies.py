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
from signrules.model.handling_kinds import BUILTIN_KINDS, HandlingKind, kinds_named
from signrules.model.job import Alignment, Job, Waiver
from signrules.model.media import Ink, Media
from signrules.model.passes import (
    FEATURES,
    Handling,
    HeadSetting,
    Pass,
)
from signrules.model.printer import BLANK_STRETCHES, MovingBed, Printer
from signrules.model.sign import Sign
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


def _whole_tenths(least: int, most: int) -> st.SearchStrategy[float]:
    return st.integers(least, most).map(lambda count: count / 10)


_DAYS = st.dates(datetime.date(2026, 1, 1), datetime.date(2026, 12, 31))
_OF_A_PRINTER: Mapping[str, st.SearchStrategy[Any]] = MappingProxyType(
    {
        "drop_volume": _whole_tenths(10, 420),
        "drop_density": _whole_tenths(9000, 12000),
        "satellite_volume": _whole_tenths(5, 20),
        "satellite_speed": _whole_tenths(10_000, 60_000),
        "head_work": _DAYS,
        "moving_bed": st.sampled_from([MovingBed(), MovingBed(1500.5)]),
        "swath": _whole_tenths(50, 700),
        "swath_passes": st.integers(1, 16),
        "carriage_acceleration": _whole_tenths(10_000, 200_000),
        "overrun": _whole_tenths(0, 1000),
        "blank_stretches": st.sampled_from(BLANK_STRETCHES),
        "return_speed": _whole_tenths(1000, 20_000),
        "absorbed_dose": _whole_tenths(0, 20_000),
        "cooling": _whole_tenths(10, 300),
    }
)
_OF_A_SHEET: Mapping[str, st.SearchStrategy[Any]] = MappingProxyType(
    {
        "sheet_type": st.sampled_from(["cast-acrylic", "extruded-acrylic"]),
        "located_at": st.sampled_from([(0.0, 0.0), (-2.5, 10.0)]),
        "expansion": intervals(1000, 9000, 5000),
        "density": _whole_tenths(8000, 90_000),
        "heat_capacity": _whole_tenths(4000, 20_000),
        "vacuum_pressure": _whole_tenths(0, 500_000),
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


_BUILTIN_KINDS = tuple(BUILTIN_KINDS[name] for name in ("pause", "reload", "flip", "release"))
"""The built-in kinds of handling, the simplest first: that is what is shown of a failure."""


@st.composite
def _drawn_handling(
    draw: st.DrawFn,
    sheets: Sequence[Media],
    passes: list[Pass],
    kinds: Sequence[HandlingKind],
) -> list[Handling]:
    known = {kind.name: kind for kind in (*_BUILTIN_KINDS, *kinds)}
    drawn = []
    for index in range(draw(st.integers(0, 2))):
        sheet = draw(st.sampled_from(sheets))
        does = draw(st.sampled_from(list(known)))
        named = known[does].on_sheet and len(sheets) > 1
        method = draw(st.sampled_from([None, "pins", "stops"]))
        drawn.append(
            Handling(
                id=f"handling-{index}",
                does=does,
                media=sheet.id if named else None,
                locates_by=method if known[does].moves else None,
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
def _drawn_signs(draw: st.DrawFn, sheets: Sequence[Media], arbitrary: bool) -> list[Sign]:
    drawn = []
    for index in range(draw(st.integers(0, 2))):
        signs_on = arbitrary_signs if arbitrary else signs
        drawn.append(draw(signs_on(draw(st.sampled_from(sheets)), f"sign-{index}")))
    return drawn


def _features_by_sheet(sheets: Sequence[Media], made_signs: Sequence[Sign]) -> dict[str, list[str]]:
    """What passes on each sheet may build: a pass builds signs of its own sheet alone."""
    features: dict[str, list[str]] = {sheet.id: [] for sheet in sheets}
    for sign in made_signs:
        if sign.media is not None:
            features[sign.media] += (f"{sign.id}.{feature}" for feature in FEATURES)
    return features


def _words_of_jobs() -> st.SearchStrategy[dict[str, Any]]:
    """What a job says beside its parts."""
    # Below 0 too: the scrap may have been raised.
    alignments = st.lists(hundredths(-50, 200).map(Alignment), max_size=2)
    return st.fixed_dictionaries(
        {
            "alignments": alignments.map(tuple),
            "standards": st.sampled_from([(), ("us-ada-2010",)]),
            "registration_tolerance": maybe(hundredths(5, 80)),
            "temperature": st.sampled_from([22.0, 19.5]),
            "waivers": st.sampled_from([(), (_WAIVER,)]),
            "name": st.sampled_from(["", "a job", 'quotes " and \\ and\ttabs']),
        }
    )


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
    kinds: Sequence[HandlingKind] = (),
) -> Job:
    """Jobs that are consistent, whatever comes of them.

    `stated_gaps_only` leaves no gap to the planner; `sequence` states an order of everything
    declared; `references` are those that stated gaps may have, `sides` those that are printed on
    and may lie up when a sheet is loaded, `loads` the most bed loads; the other switches say what
    the job may hold at all. `signs` is None for signs with everything that a sign can say.
    `physics` adds what a job may say of drops, heat, hold and time. `printer`, `media` and `inks`
    narrow the job to what is given: a value or a strategy. `kinds` are kinds of handling besides
    the built-in ones.
    """
    sheets = list(draw(given(media, _drawn_sheets(max_media, loads, sides))))
    stock = list(draw(given(inks, _drawn_stock(max_inks))))
    made_signs = [] if signs is False else draw(_drawn_signs(sheets, signs is None))
    features = _features_by_sheet(sheets, made_signs)
    passes = draw(
        _drawn_passes(sheets, stock, max_passes, not stated_gaps_only, references, features, sides)
    )
    handled = draw(_drawn_handling(sheets, passes, kinds)) if handling else []
    ids = [item.id for item in passes] + [item.id for item in handled]
    job = Job(
        printer=draw(given(printer, printers())),
        media=tuple(sheets),
        inks=tuple(stock),
        passes=tuple(passes),
        handling=tuple(handled),
        signs=tuple(made_signs),
        sequence=tuple(draw(st.permutations(ids))) if sequence else None,
        handling_kinds=kinds_named(
            (item.does for item in handled), {kind.name: kind for kind in kinds}
        ),
        **draw(_words_of_jobs()),
    )
    return with_physics(draw, job) if physics else job


def arbitrary_jobs(
    *,
    max_passes: int = 3,
    max_media: int = 2,
    printer: PrinterGiven = None,
    media: MediaGiven = None,
    inks: InksGiven = None,
    kinds: Sequence[HandlingKind] = (),
) -> st.SearchStrategy[Job]:
    """Jobs of anything that the model allows.

    All that may be left out is drawn or left out; there are signs of any kind, both sides,
    handling, bed loads, gaps left open. Many of them have no safe order. `kinds` are kinds of
    handling that plugins bring, which are drawn as well.
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
        kinds=kinds,
    )


def documents(jobs: st.SearchStrategy[Job] | None = None) -> st.SearchStrategy[dict[str, Any]]:
    """Job documents as plain data, which `job_from_dict` reads: of these jobs or arbitrary ones."""
    if jobs is None:
        jobs = arbitrary_jobs()
    return jobs.map(job_to_dict)
