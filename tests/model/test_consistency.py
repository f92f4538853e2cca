"""Jobs made in Python are held to the same rules as documents, and large ones are
judged quickly.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest
from attrs import evolve
from effort import effort
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scenario import sign_job
from strategies import jobs

import signrules
from signrules.errors import JobError
from signrules.model import (
    GUARD_MM,
    Area,
    Dial,
    Gap,
    Handling,
    Ink,
    Interval,
    Job,
    Media,
    Mounting,
    Pass,
    Printer,
    Sign,
    Spacers,
    Surface,
)
from signrules.model.consistency import inconsistencies
from signrules.model.cycles import shortest_cycle
from signrules.model.wording import shown_value

PRINTER = Printer(
    bed=(1000.0, 1000.0),
    base_gap=Interval.exact(1.5),
    min_clearance=1.0,
    gap=Spacers((0.5,)),
    head_length=40.0,
    carriage_speed=800.0,
    drop_speed=6000.0,
)
THIN = Interval.exact(3.0)
SHEET = Media("sheet", THIN, (100.0, 100.0))
INK = Ink("ink", Interval.exact(0.03))


def job(**changes: Any) -> Job:
    """A small sound job with some parts replaced."""
    parts: dict[str, Any] = {
        "printer": PRINTER,
        "media": (SHEET,),
        "inks": (INK,),
        "passes": (Pass("one", "ink"),),
    }
    return Job(**(parts | changes))


def paths(**changes: Any) -> set[str]:
    """Where the faults of a changed job stand."""
    with pytest.raises(JobError) as caught:
        job(**changes)
    assert all(len(fault.found) <= 250 and fault.expected for fault in caught.value.faults)
    return {fault.path for fault in caught.value.faults}


def faults(**changes: Any) -> int:
    """How many faults a changed job has, those included that are only counted."""
    with pytest.raises(JobError) as caught:
        job(**changes)
    return caught.value.count


@given(jobs(sequence=True, sides=("front", "back")))
@settings(
    max_examples=effort(60),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
def test_jobs_by_construction_are_sound(job: Job) -> None:
    assert inconsistencies(job) == []


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"media": ()}, "media"),
        ({"passes": (Pass("one", "ink", layers=0),)}, "passes[0].layers"),
        ({"passes": (Pass("one", "ink", layers=True),)}, "passes[0].layers"),
        ({"passes": (Pass("one", "ink", coverage=float("nan")),)}, "passes[0].coverage"),
        ({"passes": (Pass("one", "ink", areas=()),)}, "passes[0].areas"),
        (
            {"passes": (Pass("one", "ink", areas=(Area(0, 0, float("nan"), 1),)),)},
            "passes[0].areas[0]",
        ),
        ({"passes": (Pass("one", "ink", gap=Gap(Interval(-1, 0, 1))),)}, "passes[0].gap.extra"),
        ({"passes": (Pass("one", "ink", gap=Gap(THIN, "floor")),)}, "passes[0].gap.above"),
        ({"passes": (Pass("one", "ink", gap="auto"),)}, "passes[0].gap"),
        ({"passes": ("one",)}, "passes[0]"),
        ({"passes": (Pass(None, "ink"),)}, "passes[0].id"),
        ({"passes": (Pass("one", 3),)}, "passes[0].ink"),
        ({"media": (evolve(SHEET, size=(1,)),)}, "media[0].size"),
        ({"media": (evolve(SHEET, thickness=3.0),)}, "media[0].thickness"),
        ({"printer": evolve(PRINTER, min_clearance=None)}, "printer.min_clearance"),
        ({"printer": evolve(PRINTER, gap=Dial(5.0, 0.0001))}, "printer.gap.step"),
        ({"printer": evolve(PRINTER, gap=Dial(-5.0, 0.1))}, "printer.gap.max"),
        ({"printer": evolve(PRINTER, gap=Dial(0.1, 5.0))}, "printer.gap.step"),
        ({"printer": evolve(PRINTER, locating=(("pins", -1.0),))}, "printer.locating.pins"),
        (
            {"printer": evolve(PRINTER, locating=(("pins", 0.1), ("by eye", 1.0), ("pins", 0.2)))},
            "printer.locating.pins",
        ),
        ({"printer": evolve(PRINTER, locating=(("pins", 0.1), 3))}, "printer.locating"),
        ({"printer": "a printer"}, "printer"),
        ({"printer": None}, "printer"),
        ({"passes": 5}, "passes"),
        ({"passes": [Pass("one", "ink")]}, "passes"),
        ({"waivers": None}, "waivers"),
        (
            {"signs": (Sign("door", surface=Surface(character_lrv=101.0)),)},
            "signs[0].surface.character_lrv",
        ),
        (
            {
                "signs": (
                    Sign(
                        "door", mounting=Mounting(Interval(1380, 1390, 1400), Interval.exact(1300))
                    ),
                )
            },
            "signs[0].mounting.highest_tactile",
        ),
        ({"handling": (Handling("two", "shake"),)}, "handling[0].does"),
        ({"temperature": 1000.0}, "temperature"),
        ({"sequence": ("one", "one")}, "sequence[1]"),
    ],
)
def test_a_job_made_in_python_is_checked(changes: dict[str, Any], path: str) -> None:
    assert path in paths(**changes)


def test_locating_methods_have_no_order() -> None:
    pairs = (("stops", 0.5), ("pins", 0.1))
    made = job(printer=evolve(PRINTER, locating=pairs))
    assert made == job(printer=evolve(PRINTER, locating=pairs[::-1]))
    assert signrules.job_from_dict(signrules.job_to_dict(made)) == made


def test_the_lowest_baseline_may_be_the_highest() -> None:
    height = Interval(1290, 1300, 1310)
    for lowest in (height, Interval(1310, 1320, 1330)):
        assert job(signs=(Sign("door", mounting=Mounting(lowest, height)),)).signs


def test_dials_may_have_ten_thousand_steps() -> None:
    assert len(job(printer=evolve(PRINTER, gap=Dial(10.0, 0.001))).printer.gap.extras()) == 10_001


def test_handling_may_come_before_a_pass() -> None:
    made = job(
        passes=(Pass("one", "ink", after=("wait",)), Pass("two", "ink", over=("one", "one"))),
        handling=(Handling("wait", "pause"),),
        sequence=("wait", "one", "two"),
    )
    assert made.passes[1].over == ("one", "one")


def test_only_a_pause_needs_no_sheet_where_there_are_two() -> None:
    sheets = (SHEET, Media("other", THIN, (10.0, 10.0), (200.0, 0.0)))
    single = Pass("one", "ink", media="sheet")
    assert paths(
        media=sheets,
        passes=(single,),
        handling=(Handling("turn", "flip"), Handling("wait", "pause")),
    ) == {"handling[0].media"}


def test_a_pass_is_over_one_on_its_own_sheet() -> None:
    sheets = (SHEET, Media("other", THIN, (10.0, 10.0), (200.0, 0.0)))
    found = paths(
        media=sheets,
        passes=(
            Pass("one", "ink", media="sheet"),
            Pass("two", "ink", media="other", over=("one",)),
        ),
    )
    assert found == {"passes[1].over[0]"}


@pytest.mark.parametrize(
    ("at", "load", "sound"),
    [
        ((100.0, 0.0), "1", True),
        ((100.0 - GUARD_MM / 2, 0.0), "1", True),
        ((99.9, 0.0), "1", False),
        ((99.9, 100.0), "1", True),
        ((99.9, 99.9), "1", False),
        ((0.0, 0.0), "2", True),
        ((0.0, 0.0), "1", False),
        ((900.0, 900.0), "1", True),
        ((900.1, 900.0), "1", False),
    ],
)
def test_sheets_lie_beside_each_other_on_the_bed(
    at: tuple[float, float], load: str, sound: bool
) -> None:
    sheets = (SHEET, evolve(SHEET, id="other", at=at, load=load))
    passes = (Pass("one", "ink", media="sheet"),)
    if sound:
        assert len(job(media=sheets, passes=passes).media) == 2
    else:
        assert paths(media=sheets, passes=passes) == {"media[1].at"}


RECTANGLES = st.lists(
    st.tuples(st.integers(0, 8), st.integers(0, 8), st.integers(1, 4), st.integers(1, 4)),
    min_size=2,
    max_size=7,
)


@given(RECTANGLES)
@settings(deadline=None)
def test_the_sweep_finds_what_all_pairs_find(rectangles: list[tuple[int, int, int, int]]) -> None:
    sheets = tuple(
        Media(f"m{index}", THIN, (float(width), float(height)), (float(x), float(y)))
        for index, (x, y, width, height) in enumerate(rectangles)
    )
    overlap = any(
        min(a[0] + a[2], b[0] + b[2]) > max(a[0], b[0])
        and min(a[1] + a[3], b[1] + b[3]) > max(a[1], b[1])
        for index, a in enumerate(rectangles)
        for b in rectangles[:index]
    )
    passes = (Pass("one", "ink", media="m0"),)
    if overlap:
        assert all(path.endswith(".at") for path in paths(media=sheets, passes=passes))
    else:
        assert len(job(media=sheets, passes=passes).media) == len(rectangles)


@given(st.lists(st.sets(st.integers(0, 6), max_size=3), min_size=1, max_size=7))
def test_a_shortest_cycle_is_found(links: list[set[int]]) -> None:
    earlier = {str(index): [str(other) for other in others] for index, others in enumerate(links)}
    cycle = shortest_cycle(earlier)
    lengths = []
    for start in earlier:
        reached, steps = {start}, 0
        while reached and steps <= len(links):
            reached = {other for name in reached for other in earlier.get(name, ())}
            steps += 1
            if start in reached:
                lengths.append(steps)
                break
    if cycle is None:
        assert not lengths
    else:
        assert len(cycle) == min(lengths)
        assert cycle[0] == min(cycle, key=int)
        for name, following in zip(cycle, [*cycle[1:], cycle[0]], strict=True):
            assert name in earlier[following]


MANY = 20_000


def chain(count: int) -> list[Pass]:
    return [
        Pass("p0", "ink"),
        *(Pass(f"p{n}", "ink", after=(f"p{n - 1}",)) for n in range(1, count)),
    ]


def passes_in_a_row(count: int) -> None:
    """A sound chain of passes, and the same with inks that nobody knows."""
    sound = tuple(chain(count))
    assert len(job(passes=sound).passes) == count
    assert faults(passes=tuple(evolve(item, ink="nowhere") for item in sound)) == count


def passes_in_a_ring(count: int) -> None:
    """A chain of passes that is closed."""
    first, *others = chain(count)
    assert paths(passes=(evolve(first, after=(f"p{count - 1}",)), *others)) == {"passes[0]"}


def sheets_side_by_side(count: int) -> None:
    """A bed full of sheets, and the same sheets piled in a corner."""
    tile = Media("m", THIN, (10.0, 10.0))
    tiles = [
        evolve(tile, id=f"m{n}", at=(10.0 * (n % 100), 10.0 * (n // 100))) for n in range(count)
    ]
    passes = (Pass("one", "ink", media="m0"),)
    assert len(job(media=tuple(tiles), passes=passes).media) == count
    piled = [evolve(sheet, at=(0.0, 0.0)) for sheet in tiles]
    assert faults(media=tuple(piled), passes=passes) == count - 1


def least_seconds(build: Callable[[int], None], count: int) -> float:
    """Of this process alone, the least of two: what else the machine does adds to it and never
    takes away.
    """
    found = []
    for _ in range(2):
        start = time.process_time()
        build(count)
        found.append(time.process_time() - start)
    return min(found)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("build", "many"),
    [(passes_in_a_row, MANY), (passes_in_a_ring, MANY), (sheets_side_by_side, MANY // 2)],
)
def test_eight_times_as_much_takes_about_eight_times_as_long(
    build: Callable[[int], None], many: int
) -> None:
    # Comparing each with each would take 64 times the time.
    assert least_seconds(build, many) < 24 * least_seconds(build, many // 8)


def test_anything_is_shown_in_short() -> None:
    deep: object = 1
    for _ in range(100_000):
        deep = [deep]
    for value in (
        deep,
        "x" * 10**7,
        10**10_000,
        {str(n): n for n in range(1000)},
        b"x" * 10**6,
        None,
        1.5,
    ):
        assert 0 < len(shown_value(value)) <= 60


def test_parts_that_are_none():
    job = signrules.job_from_dict(sign_job())
    with pytest.raises(
        signrules.JobError,
        match=r"passes\[0\].areas\[0\]: found 1, expected \[x, y, width, height\]",
    ):
        evolve(job, passes=(evolve(job.passes[0], areas=(1,)), *job.passes[1:]))
    with pytest.raises(
        signrules.JobError, match="expected a locating method by a short name, with its error"
    ):
        evolve(job, printer=evolve(job.printer, locating=((1, 2, 3),)))
