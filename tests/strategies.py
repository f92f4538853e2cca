"""Hypothesis strategies that build sound jobs by construction."""

from __future__ import annotations

import datetime

from attrs import evolve
from hypothesis import strategies as st

from signrules.model import (
    Alignment,
    Area,
    Braille,
    Dial,
    Gap,
    Handling,
    Ink,
    Interval,
    Job,
    Measured,
    Media,
    Minutes,
    Mounting,
    MovingBed,
    Pass,
    Pictogram,
    Printer,
    Raised,
    Sign,
    Spacers,
    Surface,
    Visual,
    Waiver,
)

GRID_MM = 5.0
SLOT_MM = 100.0
"""Sheets lie in slots of this width along x, one each, so that they never overlap."""


def hundredths(least: int, most: int) -> st.SearchStrategy[float]:
    """Lengths in mm with two decimals; `least` and `most` in hundredths of a mm."""
    return st.integers(least, most).map(lambda count: count / 100)


@st.composite
def intervals(draw: st.DrawFn, least: int, most: int, spread: int = 20) -> Interval:
    """Exact or toleranced lengths, in hundredths of a mm."""
    low = draw(st.integers(least, most))
    return Interval.between(low / 100, (low + draw(st.integers(0, spread))) / 100)


def maybe(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    """None, or what the strategy gives."""
    return st.none() | strategy


@st.composite
def printers(draw: st.DrawFn) -> Printer:
    """Printers with a bed of 400 x 200 mm, with spacers or a dial."""
    spacers = st.lists(hundredths(10, 300), max_size=4, unique=True).map(lambda found: Spacers(tuple(found)))
    dials = st.builds(Dial, max=hundredths(100, 500), step=st.sampled_from([0.1, 0.25, 0.5, 1.0]))
    return Printer(
        bed=(400.0, 200.0),
        base_gap=draw(intervals(100, 250)),
        min_clearance=draw(hundredths(0, 150)),
        gap=draw(spacers | dials),
        head_length=draw(st.sampled_from([5.0, 20.0, 40.0])),
        carriage_speed=draw(st.sampled_from([400.0, 800.0, 1200.5])),
        drop_speed=draw(st.sampled_from([5000.0, 6000.0, 7500.25])),
        max_throw=draw(maybe(hundredths(200, 800))),
        resolution=draw(maybe(st.sampled_from([300.0, 600.0, 1200.0]))),
        landing_tolerance=draw(maybe(hundredths(2, 30))),
        locating=draw(st.sampled_from([(), (("pins", 0.1),), (("pins", 0.1), ("stops", 0.5))])),
        minutes=draw(
            st.builds(
                Minutes,
                load=maybe(st.integers(0, 20).map(float)),
                gap=maybe(st.integers(0, 20).map(float)),
                alignment=maybe(st.integers(0, 20).map(float)),
            )
        ),
        name=draw(maybe(st.sampled_from(["bench one", "the big bed"]))),
    )


@st.composite
def inks(draw: st.DrawFn, id: str = "ink-0") -> Ink:
    """Inks of 5 to 60 micrometres a layer."""
    thin = draw(st.integers(5, 60))
    layer = Interval.between(thin / 1000, (thin + draw(st.integers(0, 6))) / 1000)
    return Ink(id, layer, draw(st.sampled_from([None, "colour", "white", "clear"])))


@st.composite
def media(draw: st.DrawFn, slot: int = 0, loads: int = 1) -> Media:
    """One sheet in its slot of the bed."""
    return Media(
        id=f"sheet-{slot}",
        thickness=draw(intervals(50, 600)),
        size=(draw(st.integers(4, 20)) * GRID_MM, draw(st.integers(4, 30)) * GRID_MM),
        at=(slot * SLOT_MM, draw(st.integers(0, 10)) * GRID_MM),
        material=draw(maybe(st.sampled_from(["acrylic", "brass", "unheard of"]))),
        bow=draw(st.just(Interval.exact(0.0)) | intervals(0, 40)),
        hold=draw(st.sampled_from([None, "vacuum", "tack", "tape", "pins", "none"])),
        load=str(draw(st.integers(1, loads))),
    )


@st.composite
def areas(draw: st.DrawFn, sheet: Media) -> Area:
    """A rectangle inside a sheet, on a coarse grid, so that areas overlap and touch often."""
    columns, rows = (int(side / GRID_MM) for side in sheet.size)
    x, y = draw(st.integers(0, columns - 1)), draw(st.integers(0, rows - 1))
    width, height = draw(st.integers(1, columns - x)), draw(st.integers(1, rows - y))
    return Area(x * GRID_MM, y * GRID_MM, width * GRID_MM, height * GRID_MM)


@st.composite
def gaps(draw: st.DrawFn, references: tuple[str, ...] = ("media", "build-up", "bed")) -> Gap:
    """Stated gaps; over the bed the offset is the height of the head plane, so it is large."""
    reference = draw(st.sampled_from(references))
    return Gap(draw(intervals(600, 1200, 5) if reference == "bed" else intervals(0, 300, 5)), reference)


@st.composite
def _passes(
    draw: st.DrawFn,
    sheets: list[Media],
    stock: list[Ink],
    most: int,
    auto: bool,
    references: tuple[str, ...],
    features: dict[str, list[str]],
    sides: tuple[str, ...],
) -> list[Pass]:
    made: list[Pass] = []
    for index in range(draw(st.integers(1, most))):
        sheet = draw(st.sampled_from(sheets))
        side = draw(st.sampled_from(sides))
        earlier = [item.id for item in made]
        same = [item.id for item in made if (item.media or sheets[0].id) == sheet.id and item.side == side]
        named = len(sheets) > 1 or draw(st.booleans())
        made.append(
            Pass(
                id=f"pass-{index}",
                ink=draw(st.sampled_from(stock)).id,
                media=sheet.id if named else None,
                areas=draw(maybe(st.lists(areas(sheet), min_size=1, max_size=3).map(tuple))),
                layers=draw(st.integers(1, 40)),
                coverage=draw(st.sampled_from([1.0, 0.75, 0.3])),
                gap=draw(st.none() | gaps(references) if auto else gaps(references)),
                side=side,
                directions=draw(st.sampled_from([2, 1])),
                crisp_on=draw(st.sampled_from(["lowest", "highest"])),
                sheet_temperature=draw(maybe(st.integers(15, 60).map(float))),
                over=draw(_some_of(same)),
                after=draw(_some_of(earlier)),
                registers_to=draw(st.none() | _some_of(earlier)),
                builds=draw(st.none() | st.sampled_from(features[sheet.id])) if features[sheet.id] else None,
            )
        )
    return made


def with_physics(draw: st.DrawFn, job: Job) -> Job:
    """The same job with whatever it may say of drops, heat, hold, time and the age of its alignments."""
    days = st.dates(datetime.date(2026, 1, 1), datetime.date(2026, 12, 31))

    def tenths(least: int, most: int) -> object:
        return draw(maybe(st.integers(least, most).map(lambda count: count / 10)))

    printer = evolve(
        job.printer,
        drop_volume=tenths(10, 420),
        drop_density=tenths(9000, 12000),
        satellite_volume=tenths(5, 20),
        satellite_speed=tenths(10_000, 60_000),
        head_work=draw(maybe(days)),
        moving_bed=draw(st.sampled_from([None, MovingBed(), MovingBed(1500.5)])),
        swath=tenths(50, 700),
        swath_passes=draw(maybe(st.integers(1, 16))),
        carriage_acceleration=tenths(10_000, 200_000),
        overrun=tenths(0, 1000),
        return_speed=tenths(1000, 20_000),
        absorbed_dose=tenths(0, 20_000),
        cooling=tenths(10, 300),
    )
    sheets = [
        evolve(
            sheet,
            sheet_type=draw(st.sampled_from([None, "cast-acrylic", "extruded-acrylic"])),
            located_at=draw(st.sampled_from([None, (0.0, 0.0), (-2.5, 10.0)])),
            expansion=draw(maybe(intervals(1000, 9000, 5000))),
            density=tenths(8000, 90_000),
            heat_capacity=tenths(4000, 20_000),
            vacuum_pressure=tenths(0, 500_000),
            vacuum_share=draw(maybe(st.integers(0, 10).map(lambda count: count / 10))),
            friction=draw(maybe(hundredths(0, 100))),
        )
        for sheet in job.media
    ]
    dated = [evolve(alignment, date=draw(maybe(days))) for alignment in job.alignments]
    return evolve(job, printer=printer, media=tuple(sheets), alignments=tuple(dated))


def _some_of(ids: list[str]) -> st.SearchStrategy[tuple[str, ...]]:
    if not ids:
        return st.just(())
    return st.lists(st.sampled_from(ids), max_size=2, unique=True).map(tuple)


@st.composite
def _handling(draw: st.DrawFn, sheets: list[Media], passes: list[Pass]) -> list[Handling]:
    made = []
    for index in range(draw(st.integers(0, 2))):
        sheet = draw(st.sampled_from(sheets))
        does = draw(st.sampled_from(["pause", "reload", "flip", "release"]))
        made.append(
            Handling(
                id=f"handling-{index}",
                does=does,
                media=None if does == "pause" or len(sheets) == 1 else sheet.id,
                locates_by=draw(st.sampled_from([None, "pins", "stops"])),
                after=draw(_some_of([item.id for item in passes])),
            )
        )
    return made


@st.composite
def signs(draw: st.DrawFn, sheet: Media, id: str = "sign-0") -> Sign:
    """Signs of which anything may be left unsaid."""

    def length(least: int, most: int) -> object:
        return draw(maybe(intervals(least, most)))

    return Sign(
        id=id,
        media=sheet.id,
        kind=draw(maybe(st.sampled_from(["permanent-room", "directional"]))),
        text=tuple(draw(st.lists(st.sampled_from(["ROOM 9", 'A "B" \\ C', "two\nlines", "Ä"]), max_size=2))),
        braille=draw(
            maybe(
                st.builds(
                    Braille,
                    cells=maybe(st.text(alphabet="\u2800\u2801\u283f\u28ff \n", max_size=6)),
                    dot_diameter=maybe(intervals(140, 170)),
                    dot_spacing=maybe(intervals(230, 260)),
                    clear_space=maybe(intervals(500, 1500)),
                    language=st.sampled_from(["en", "sv"]),
                    proper=st.sampled_from([(), ("Lindgren",)]),
                    acronyms=st.sampled_from([(), ("IT", "A")]),
                )
            )
        ),
        raised=draw(st.none() | st.just(Raised(height=length(1500, 5000), stroke=length(100, 900), case="upper"))),
        visual=draw(st.none() | st.just(Visual(height=length(1500, 5000), style="sans-serif"))),
        pictogram=draw(st.none() | st.just(Pictogram(length(15000, 16000)))),
        surface=draw(st.none() | st.just(Surface("matte", 82.0, draw(maybe(st.integers(0, 100).map(float)))))),
        mounting=draw(st.none() | st.just(Mounting(length(120000, 130000), length(130000, 150000)))),
        measured=draw(st.none() | st.just(Measured(dot_height=tuple(draw(st.lists(hundredths(50, 90), max_size=3)))))),
    )


@st.composite
def jobs(
    draw: st.DrawFn,
    *,
    stated_gaps_only: bool = False,
    max_passes: int = 6,
    max_media: int = 3,
    handling: bool = True,
    signs: bool = True,
    sequence: bool = False,
    references: tuple[str, ...] = ("media", "build-up", "bed"),
    sides: tuple[str, ...] = ("front",),
    loads: int = 2,
    physics: bool = False,
) -> Job:
    """Sound jobs. `stated_gaps_only` leaves no gap to the planner; `sequence` states an order of everything declared.

    `references` are those that stated gaps may have, `loads` the most bed loads; the other switches say what the job
    may hold at all; `physics` adds what it may say of drops, heat, hold and time.
    """
    sheets = [draw(media(slot, loads)) for slot in range(draw(st.integers(1, max_media)))]
    stock = [draw(inks(f"ink-{index}")) for index in range(draw(st.integers(1, 4)))]
    made_signs = []
    if signs:
        for index in range(draw(st.integers(0, 2))):
            made_signs.append(draw(_signs_of(draw(st.sampled_from(sheets)), f"sign-{index}")))
    features = {
        sheet.id: [f"{s.id}.{feature}" for s in made_signs if s.media == sheet.id for feature in ("braille", "raised")]
        for sheet in sheets
    }
    passes = draw(_passes(sheets, stock, max_passes, not stated_gaps_only, references, features, sides))
    handled = draw(_handling(sheets, passes)) if handling else []
    job = Job(
        printer=draw(printers()),
        media=tuple(sheets),
        inks=tuple(stock),
        passes=tuple(passes),
        handling=tuple(handled),
        signs=tuple(made_signs),
        alignments=tuple(draw(st.lists(hundredths(-50, 200).map(Alignment), max_size=2))),
        standards=draw(st.sampled_from([(), ("us-ada-2010",)])),
        sequence=tuple(draw(st.permutations([item.id for item in (*passes, *handled)]))) if sequence else None,
        registration_tolerance=draw(maybe(hundredths(5, 80))),
        temperature=draw(st.sampled_from([22.0, 19.5])),
        waivers=draw(st.sampled_from([(), (_WAIVER,)])),
        name=draw(st.sampled_from(["", "a job", 'quotes " and \\ and\ttabs'])),
    )
    return with_physics(draw, job) if physics else job


_signs_of = signs
_WAIVER = Waiver("contrast.reflectance", "signs.sign-0", "agreed", "the shop", datetime.date(2027, 3, 1))
