"""Invented jobs of any size for the benchmarks: rows of signs on one large sheet, each a stack of
layers.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from signrules.model import (
    Alignment,
    Area,
    Gap,
    Ink,
    Interval,
    Job,
    Media,
    Minutes,
    Pass,
    Printer,
    Spacers,
)

EXACT = Interval.exact
EXTRAS = (0.0, 0.4, 0.8, 1.2, 1.6, 2.0, 2.4, 2.8)
"""Extras in mm; a job with k set-ups uses the first k."""

WIDTH, HEIGHT, HEAD = 60.0, 20.0, 30.0
CLEARANCE, BASE_GAP = 1.0, 1.5


def rows_of_signs(
    passes: int, setups: int, seed: int, *, auto: bool = False, across: int | None = None
) -> Job:
    """A sound job of about that many passes: white, colour, clear and varnish in stacks of two to
    seven layers.

    Every layer states one of the first `setups` extras over the media that clears its own stack;
    lower extras must be printed before their neighbours grow. With `auto` the gaps are left open.
    Rows grow longer with the job, so that more passes share a band; with `across` each row has so
    many signs and the sheet grows in length alone.
    """
    chance = random.Random(seed)
    made: list[Pass] = []
    places = _places(passes, across)
    while len(made) < passes:
        x, y = next(places)
        stack, previous = 0.0, None
        for _ in range(min(chance.randint(2, 7), passes - len(made))):
            kind = chance.choice(("white", "colour", "clear", "clear", "varnish"))
            layers = {"white": 2, "colour": 1, "clear": chance.choice((3, 8, 20)), "varnish": 1}[
                kind
            ]
            thickness = layers * (0.03 if kind == "clear" else 0.01)
            if stack + thickness > BASE_GAP + EXTRAS[setups - 1] - CLEARANCE:
                break
            stack += thickness
            clear = [o for o in EXTRAS[:setups] if BASE_GAP + o - stack >= CLEARANCE]
            made.append(
                Pass(
                    id=f"p{len(made)}",
                    ink="clear" if kind == "clear" else "flat",
                    areas=(Area(x, y, WIDTH, HEIGHT),),
                    layers=layers,
                    gap=None if auto else Gap(EXACT(chance.choice(clear[:3]))),
                    over=() if previous is None else (previous,),
                )
            )
            previous = made[-1].id
    columns, rows = _grid(passes, across)
    size = (columns * (WIDTH + 10), rows * (HEIGHT + 10))
    printer = _printer(size, setups, auto=auto)
    sheet = Media("sheet", EXACT(3.0), size, hold="vacuum")
    inks = (Ink("flat", EXACT(0.01)), Ink("clear", EXACT(0.03)))
    aligned = tuple(Alignment(extra) for extra in EXTRAS[:setups])
    return Job(printer, (sheet,), inks, tuple(made), alignments=aligned, name=f"{passes} passes")


def signs_of_areas(areas: int) -> Job:
    """A job of three passes (ground, build-up, colour over it) on signs that lie apart, `areas`
    rectangles in all.

    It is sound in the declared order.
    """
    signs = max(1, areas // 3)
    columns = max(1, round(signs**0.5))
    spots = [(5.0 + 70 * (at % columns), 5.0 + 30 * (at // columns)) for at in range(signs)]
    size = (70.0 * columns, 30.0 * (signs // columns + 1))
    layers = (
        ("ground", "flat", 1, 0.0, 2.0),
        ("build-up", "clear", 20, 0.8, 5.0),
        ("colour", "flat", 1, 0.8, 6.0),
    )
    passes = tuple(
        Pass(
            id=name,
            ink=ink,
            areas=tuple(
                Area(x + inset, y + inset, WIDTH - 2 * inset, HEIGHT - 2 * inset) for x, y in spots
            ),
            layers=count,
            gap=Gap(EXACT(extra)),
            over=("build-up",) if name == "colour" else (),
        )
        for name, ink, count, extra, inset in layers
    )
    sheet = Media("sheet", EXACT(3.0), size, hold="vacuum")
    inks = (Ink("flat", EXACT(0.01)), Ink("clear", EXACT(0.03)))
    return Job(_printer(size, 3, auto=False), (sheet,), inks, passes, name=f"{areas} areas")


def _printer(bed: tuple[float, float], setups: int, *, auto: bool) -> Printer:
    return Printer(
        bed=bed,
        base_gap=EXACT(BASE_GAP),
        min_clearance=CLEARANCE,
        gap=Spacers(EXTRAS[1:setups] if not auto else (0.5, 1.0, 1.5)),
        head_length=HEAD,
        carriage_speed=800,
        drop_speed=6000,
        landing_tolerance=0.3,
        max_throw=6.0,
        minutes=Minutes(4, 2, 12),
    )


def _grid(passes: int, across: int | None = None) -> tuple[int, int]:
    signs = passes // 2 + 1
    down = (
        max(1, round((signs * (WIDTH + 10) / (HEIGHT + 10)) ** 0.5))
        if across is None
        else signs // across + 1
    )
    return across or signs // down + 1, down


def _places(passes: int, across: int | None) -> Iterator[tuple[float, float]]:
    columns, rows = _grid(passes, across)
    for row in range(rows):
        for column in range(columns):
            yield column * (WIDTH + 10) + 5, row * (HEIGHT + 10) + 5
