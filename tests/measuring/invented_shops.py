"""Invented shops: readings drawn from known figures with noise, by a seed.

Each draw gives the readings as plain data and a judge that says whether a measurement holds the
truth: the figure itself, or one more reading like the others where that is what it promises.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from random import Random
from typing import Any

from signrules import Interval
from signrules.physics.flight import Drop

Judge = Callable[[Interval], bool]
Draw = tuple[dict[str, Any], Judge]


def holds(truth: float) -> Judge:
    return lambda value: value.low <= truth <= value.high


def below(truth: float) -> Judge:
    return lambda value: truth <= value.high


def alignment_steps(random: Random) -> tuple[dict[str, Any], float, float]:
    speed, gap = random.uniform(4000, 8000), random.uniform(1.2, 2.5)
    rows = [
        {"extra": extra, "best_step": 160 * (gap + extra) / speed * 1000 + random.gauss(0, 2)}
        for extra in (0.0, 0.0, 0.7, 0.7, 1.5, 1.5, 2.5, 2.5)
    ]
    document = {
        "carriage_speed": "800 mm/s",
        "step": "10 um",
        "reads_to": 0.5,
        "readings": rows,
    }
    return document, speed, gap


def drop_speed(random: Random) -> Draw:
    document, speed, _ = alignment_steps(random)
    return document, holds(speed / 1000)


def base_gap(random: Random) -> Draw:
    document, _, gap = alignment_steps(random)
    return document, holds(gap)


DRAGGED = Drop(12.0, 1050.0, 6500.0)
FLIGHTS = {extra: DRAGGED.flight_time(1.6 + extra) for extra in (0.0, 1.2, 2.4)}


def dragged_steps(random: Random) -> dict[str, Any]:
    """Drops of 12 pL at 6.5 m/s from a base gap of 1.6 mm, in air that moves with the head."""
    rows = [
        {"extra": extra, "best_step": 1.6e5 * flight + random.gauss(0, 0.5)}
        for extra, flight in FLIGHTS.items()
        for _ in range(3)
    ]
    return {
        "carriage_speed": "800 mm/s",
        "step": "10 um",
        "reads_to": 0.1,
        "drop_volume": "12 pL",
        "drop_density": "1050 kg/m3",
        "readings": rows,
    }


def marks(random: Random) -> Draw:
    speed, throw = random.uniform(4000, 8000), 2.0 + random.uniform(-0.01, 0.01)
    apart = 1600 * throw / speed
    document = {
        "carriage_speed": "800 mm/s",
        "throw": "2 mm +- 0.01 mm",
        "reads_to": 0.005,
        "readings": [{"apart": apart + random.gauss(0, 0.02)} for _ in range(6)],
    }
    return document, holds(speed / 1000)


def sweep(random: Random) -> Draw:
    speed, constant = random.uniform(4000, 8000), random.uniform(-0.05, 0.05)
    rows = [
        {
            "carriage_speed": f"{carriage} mm/s",
            "apart": 2 * carriage * 2.0 / speed + constant + random.gauss(0, 0.01),
        }
        for carriage in (300, 300, 600, 600, 1000, 1000, 1500)
    ]
    document = {"throw": "2 mm", "reads_to": 0.005, "readings": rows}
    return document, holds(speed / 1000)


def stacks(random: Random) -> Draw:
    layers = (10, 10, 10, 24, 24, 24)
    thick = [random.gauss(0.03, 0.0012) for _ in (*layers, "another place")]
    rows = [
        {"layers": count, "height": count * layer}
        for count, layer in zip(layers, thick, strict=False)
    ]
    return {"reads_to": 0.001, "readings": rows}, holds(thick[-1] * 1000)


def dots(random: Random) -> tuple[dict[str, Any], float]:
    heights = [random.gauss(0.7, 0.02) for _ in range(11)]
    rows = [{"height": height} for height in heights[:10]]
    return {"reads_to": 0.005, "readings": rows}, heights[-1]


def layer_by_dots(random: Random) -> Draw:
    document, another = dots(random)
    return document | {"layers": 24}, holds(another / 24 * 1000)


def dot_height(random: Random) -> Draw:
    document, another = dots(random)
    return document, holds(another)


def coverage(random: Random) -> Draw:
    share = random.uniform(0.2, 0.9)
    # 200 x 100 mm, 10 layers of 30 um at 1.1 g/cm3 weigh 6.6 g where they are full.
    inked = 6.6 * share * random.uniform(0.998, 1.002)
    rows = [
        {
            "bare": f"{70 + random.gauss(0, 0.02):.6f} g",
            "printed": f"{70 + inked + random.gauss(0, 0.02):.6f} g",
        }
        for _ in range(5)
    ]
    document = {
        "width": 200,
        "height": 100,
        "layer": "30 um +- 0.06 um",
        "layers": 10,
        "density": "1.1 g/cm3",
        "reads_to": "0.01 g",
        "readings": rows,
    }
    return document, holds(share)


def locating(random: Random) -> Draw:
    def load() -> tuple[float, float]:
        return random.gauss(0, 0.04), random.gauss(0, 0.04)

    mark = load()
    rows = [{"off_x": x - mark[0], "off_y": y - mark[1]} for x, y in (load() for _ in range(10))]
    document = {"method": "pins", "reads_to": 0.005, "readings": rows}
    return document, below(math.dist(load(), load()))


SURFACE = {(0, 0): 0.0, (1, 0): 0.1, (2, 0): 0.0, (0, 1): 0.1, (1, 1): 0.5, (2, 1): 0.1}
SURFACE |= {(0, 2): -0.4, (1, 2): 0.1, (2, 2): 0.0}
"""Heights in mm of an invented bed; the highest and the lowest place stand out."""


def bed(random: Random) -> Draw:
    import numpy

    rows = [
        {"x": 500.0 * x, "y": 500.0 * y, "height": height + 0.2 * x + random.gauss(0, 0.02)}
        for (x, y), height in SURFACE.items()
        for _ in range(2)
    ]
    places = numpy.array([(1.0, x, y) for x, y in SURFACE])
    heights = numpy.array(list(SURFACE.values()))
    left = heights - places @ numpy.linalg.lstsq(places, heights, rcond=None)[0]
    return {"reads_to": 0.005, "readings": rows}, holds(float(left.max() - left.min()))


def bow(random: Random) -> Draw:
    most = [max(random.gauss(0.3, 0.05), 0.0) for _ in range(7)]
    rows = [
        {"sheet": str(sheet), "off": off * share}
        for sheet, off in enumerate(most[:6])
        for share in (0.5, 1.0, 0.2)
    ]
    return {"reads_to": 0.01, "readings": rows}, below(most[-1])


def thickness(random: Random) -> Draw:
    sheets = [random.gauss(3, 0.06) for _ in range(6)]
    rows = [
        {"sheet": str(sheet), "thickness": middle + more}
        for sheet, middle in enumerate(sheets[:5])
        for more in (-0.01, 0.0, 0.01)
    ]
    return {"reads_to": 0.01, "readings": rows}, holds(sheets[-1])


def growth(random: Random) -> Draw:
    coefficient = random.uniform(50, 90)
    warmer = 25 + random.uniform(-0.05, 0.05) - random.uniform(-0.05, 0.05)
    rows = [
        {
            "cold": 600 + random.gauss(0, 0.02),
            "warm": 600 * (1 + coefficient * 1e-6 * warmer) + random.gauss(0, 0.02),
        }
        for _ in range(5)
    ]
    document = {
        "cold_at": 21,
        "warm_at": 46,
        "thermometer": 0.1,
        "reads_to": 0.01,
        "readings": rows,
    }
    return document, holds(coefficient)


def minutes(random: Random) -> Draw:
    truth = random.uniform(120, 600)
    rows = [{"time": f"{truth + random.gauss(0, 15):.6f} s"} for _ in range(6)]
    return {"reads_to": "1 s", "readings": rows}, holds(truth / 60)


def swath(random: Random) -> Draw:
    truth = random.uniform(28, 36)
    advance, stroke = truth / 8, 1.3
    rows = []
    for length in (101.0, 157.0, 403.0, 511.0, 797.0, 905.0):
        strokes = math.ceil(length / advance) + 7
        rows.append({"length": length, "time": f"{strokes * stroke + random.gauss(0, 2):.6f} s"})
    document = {
        "swath_passes": 8,
        "strokes": 20,
        "strokes_time": f"{20 * stroke:.6f} s",
        "reads_to": "0.1 s",
        "readings": rows,
    }
    return document, holds(truth)


def acceleration(random: Random) -> Draw:
    truth, speed, overrun, strokes = random.uniform(2500, 5000), 800.0, 50.0, 60
    rows = []
    for width in (200.0, 200.0, 600.0, 600.0, 1200.0, 1200.0):
        each = (width + 2 * overrun) / speed + speed / truth
        rows.append({"width": width, "time": f"{strokes * each + random.gauss(0, 0.2):.6f} s"})
    document = {"strokes": 60, "overrun": 50, "reads_to": "0.1 s", "readings": rows}
    return document, holds(truth)


def threshold(random: Random) -> Draw:
    truth = random.uniform(2.05, 4.95)
    rows = [{"at": at / 10, "good": at / 10 <= truth} for at in range(20, 51, 5)]
    return {"readings": rows}, holds(truth)


def alignment(random: Random) -> Draw:
    """Places whose best steps lie half a step at most from what was read."""
    places = {x: random.uniform(-6, 6) for x in (100, 600, 1100)}
    rows = [{"x": x, "best_step": round(best * 2) / 2} for x, best in places.items()]
    document = {
        "carriage_speed": "800 mm/s",
        "drop_speed": "6 m/s",
        "step": "10 um",
        "reads_to": 0.25,
        "extra": 0,
        "readings": rows,
    }
    ends = sorted(row["best_step"] for row in rows)
    middle = (ends[0] + ends[-1]) / 2
    steps = (math.floor(middle), math.ceil(middle))
    left = [max(abs(best - step) for best in places.values()) * 0.01 for step in steps]
    return document, lambda value: any(value.low - 1e-9 <= one <= value.high + 1e-9 for one in left)


AT_95 = {
    "drop-speed": drop_speed,
    "base-gap": base_gap,
    "drop-speed-by-marks": marks,
    "drop-speed-by-carriage": sweep,
    "layer-by-stacks": stacks,
    "layer-by-dots": layer_by_dots,
    "dot-height": dot_height,
    "coverage": coverage,
    "locating-error": locating,
    "bed-flatness": bed,
    "sheet-bow": bow,
    "sheet-thickness": thickness,
    "growth": growth,
    "load-minutes": minutes,
    "gap-minutes": minutes,
    "alignment-minutes": minutes,
    "swath": swath,
    "carriage-acceleration": acceleration,
}
"""Procedures that state an interval at 95 %."""

ALWAYS = {"max-throw": threshold, "landing-tolerance": threshold, "alignment": alignment}
"""Procedures that state bounds which hold every time."""
