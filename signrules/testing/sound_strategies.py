"""A hypothesis strategy for jobs that are in order."""

from __future__ import annotations

from hypothesis import strategies as st

from signrules.model.job import Job
from signrules.model.media import Ink, Media
from signrules.model.passes import Area, Gap, Pass
from signrules.model.printer import Dial, Minutes, Printer, Spacers
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Mounting, Raised, Sign, Surface
from signrules.testing.strategies import hundredths, intervals, maybe

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
