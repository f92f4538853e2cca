"""Invented jobs of any size for the benchmarks: rows of signs on one large sheet, each a stack of layers."""

from __future__ import annotations

import random

from signrules.model import Alignment, Area, Gap, Ink, Interval, Job, Media, Minutes, Pass, Printer, Spacers

EXACT = Interval.exact
OFFSETS = (0.0, 0.4, 0.8, 1.2, 1.6, 2.0, 2.4, 2.8)
"""Offsets in mm; a job with k set-ups uses the first k."""

WIDTH, HEIGHT, HEAD = 60.0, 20.0, 30.0
CLEARANCE, BASE_GAP = 1.0, 1.5


def rows_of_signs(passes: int, setups: int, seed: int, *, auto: bool = False) -> Job:
    """A sound job of about that many passes: white, colour, clear and varnish in stacks of two to seven layers.

    Every layer states one of the first `setups` offsets over the media that clears its own stack; lower offsets must
    be printed before their neighbours grow. With `auto` the gaps are left open.
    """
    chance = random.Random(seed)
    made: list[Pass] = []
    places = _places(passes)
    while len(made) < passes:
        x, y = next(places)
        stack, previous = 0.0, None
        for _ in range(min(chance.randint(2, 7), passes - len(made))):
            kind = chance.choice(("white", "colour", "clear", "clear", "varnish"))
            layers = {"white": 2, "colour": 1, "clear": chance.choice((3, 8, 20)), "varnish": 1}[kind]
            thickness = layers * (0.03 if kind == "clear" else 0.01)
            if stack + thickness > BASE_GAP + OFFSETS[setups - 1] - CLEARANCE:
                break
            stack += thickness
            clear = [o for o in OFFSETS[:setups] if BASE_GAP + o - stack >= CLEARANCE]
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
    across, down = _grid(passes)
    size = (across * (WIDTH + 10), down * (HEIGHT + 10))
    printer = Printer(
        bed=size,
        base_gap=EXACT(BASE_GAP),
        min_clearance=CLEARANCE,
        gap=Spacers(OFFSETS[1:setups] if not auto else (0.5, 1.0, 1.5)),
        head_length=HEAD,
        carriage_speed=800,
        drop_speed=6000,
        landing_tolerance=0.3,
        max_throw=6.0,
        minutes=Minutes(4, 2, 12),
    )
    sheet = Media("sheet", EXACT(3.0), size, hold="vacuum")
    inks = (Ink("flat", EXACT(0.01)), Ink("clear", EXACT(0.03)))
    aligned = tuple(Alignment(offset) for offset in OFFSETS[:setups])
    return Job(printer, (sheet,), inks, tuple(made), alignments=aligned, name=f"{passes} passes")


def _grid(passes: int) -> tuple[int, int]:
    signs = passes // 2 + 1
    down = max(1, round((signs * (WIDTH + 10) / (HEIGHT + 10)) ** 0.5))
    return signs // down + 1, down


def _places(passes: int):
    across, down = _grid(passes)
    for row in range(down):
        for column in range(across):
            yield column * (WIDTH + 10) + 5, row * (HEIGHT + 10) + 5
