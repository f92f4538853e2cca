"""A sound sign as shops print it, of which one to three things are moved to a limit, near it or
beyond.

The scenario is invented. What is moved is mostly what a shop chooses: gaps, layers, the order, how
sheets are put back and held, how warm they are, what the sign is to be. Some of it nobody can mend:
tolerances that are wider than their range, dots that were measured, a sign without the text that it
needs.
"""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

import signrules
from signrules import Job

US, DE = "us-ada-2010", "de-din-32976"

DIMENSIONS: dict[str, tuple[float, float]] = {
    # A range around the limits of us-ada-2010, in mm (36 CFR 1191, appendix D, 703).
    "braille.dot_diameter": (1.44, 1.66),
    "braille.dot_spacing": (2.2, 2.6),
    "braille.cell_spacing": (6.0, 7.8),
    "braille.line_spacing": (9.9, 10.3),
    "braille.clear_space": (9.2, 10.2),
    "raised.height": (15.0, 52.0),
    "raised.stroke": (1.0, 6.0),
    "raised.width": (10.0, 40.0),
    "raised.spacing": (2.8, 10.0),
    "raised.line_spacing": (20.0, 60.0),
    "visual.height": (14.0, 80.0),
    "visual.stroke": (1.0, 8.0),
    "visual.above_floor": (1000.0, 1800.0),
    "mounting.lowest_tactile": (1200.0, 1300.0),
    "mounting.highest_tactile": (1400.0, 1540.0),
    "pictogram.field_height": (149.0, 156.0),
}
"""Fields of a sign, and a range in mm that spans their limits."""


def length(draw: st.DrawFn, low: float, high: float, tolerance: float = 0.0) -> Any:
    """A length of the range to a hundredth, sometimes with a tolerance."""
    middle = draw(st.integers(round(low * 100), round(high * 100))) / 100
    if tolerance and draw(st.booleans()):
        return f"{middle} mm +- {tolerance} mm"
    return f"{middle} mm"


def sound(draw: st.DrawFn) -> dict[str, Any]:
    """A room sign in three or four passes, in order as it stands."""
    sheets = [
        {
            "id": "panel",
            "thickness": draw(st.sampled_from(["3 mm", "3 mm +- 0.2 mm", "2 mm"])),
            "size": [200, 200],
            "at": [50, 50],
            "bow": draw(st.sampled_from([0, "0.1 mm"])),
            "hold": "vacuum",
        }
    ]
    return {
        "signrules": 1,
        "standards": [US],
        "registration_tolerance": "0.25 mm",
        "printer": {
            "bed": [600, 450],
            "base_gap": draw(st.sampled_from(["0.75 mm", "1 mm", "1.5 mm"])),
            "min_clearance": draw(st.sampled_from(["0.3 mm", "0.5 mm"])),
            "max_throw": "4 mm",
            "gap": draw(
                st.sampled_from(
                    [
                        {"control": "spacers", "spacers": [0.4, 0.7, 1, 1.5, 2]},
                        {"control": "dial", "max": 3, "step": 0.1},
                    ]
                )
            ),
            "head_length": 40,
            "carriage_speed": "800 mm/s",
            "drop_speed": "6 m/s",
            "landing_tolerance": "0.06 mm",
            "locating": {"pins": "0.1 mm", "stops": "0.5 mm"},
            "minutes": {"load": 4, "gap": 2, "alignment": 12},
        },
        "media": sheets,
        "inks": [
            {"id": "blue", "layer": "10 um"},
            {"id": "clear", "layer": draw(st.sampled_from(["30 um", "30 um +- 1 um"]))},
        ],
        "passes": [
            {"id": "ground", "ink": "blue", "gap": {"extra": 0}},
            {
                "id": "dots",
                "ink": "clear",
                "areas": [[40, 30, 60, 8]],
                "layers": 26,
                "coverage": 0.3,
                "gap": {"extra": 1.5},
                "builds": "room.braille",
            },
            {
                "id": "ink-on-dots",
                "ink": "blue",
                "over": ["dots"],
                "areas": [[40, 30, 60, 8]],
                "gap": {"extra": 0, "above": "build-up"},
            },
        ],
        "signs": [
            {
                "id": "room",
                "media": "panel",
                "kind": "permanent-room",
                "text": ["ROOM 214"],
                "braille": {
                    "cells": "⠗⠕⠕⠍⠀⠼⠃⠁⠙",
                    "dot_diameter": "1.55 mm",
                    "dot_spacing": "2.4 mm",
                    "cell_spacing": "6.2 mm",
                    "line_spacing": "10.1 mm",
                    "clear_space": "10 mm",
                },
                "raised": {
                    "height": 25,
                    "stroke": 3,
                    "width": 20,
                    "spacing": 4,
                    "line_spacing": 36,
                    "depth": 0.9,
                    "case": "upper",
                    "style": "sans-serif",
                },
                "visual": {
                    "height": 30,
                    "stroke": 4,
                    "width": 22,
                    "spacing": 5,
                    "line_spacing": 45,
                    "above_floor": 1500,
                    "viewing_distance": 2000,
                    "style": "sans-serif",
                },
                "pictogram": {"field_height": 160},
                "surface": {"finish": "matte", "character_lrv": 82, "background_lrv": 8},
                "mounting": {"lowest_tactile": 1300, "highest_tactile": 1390},
            }
        ],
    }


def _gap(draw: st.DrawFn, job: dict[str, Any]) -> None:
    item = draw(st.sampled_from(job["passes"]))
    item["gap"] = draw(
        st.sampled_from(["auto"])
        | st.builds(
            lambda o, f: {"extra": o / 10, "above": f},
            st.integers(0, 25),
            st.sampled_from(["media", "build-up"]),
        )
    )


def _layers(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["passes"][1]["layers"] = draw(st.integers(16, 38))


def _sequence(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["sequence"] = draw(
        st.permutations([item["id"] for item in (*job["passes"], *job.get("handling", []))])
    )


def _handling(draw: st.DrawFn, job: dict[str, Any]) -> None:
    does = draw(st.sampled_from(["reload", "release", "pause"]))
    handling = {
        "id": "again",
        "does": does,
        "after": [draw(st.sampled_from(["ground", "dots"]))],
    }
    method = draw(st.sampled_from([None, "pins", "stops"]))
    # A pause is done to no sheet.
    if does != "pause":
        handling["media"] = "panel"
        if method is not None:
            handling["locates_by"] = method
    job["handling"] = [handling]
    job.pop("sequence", None)


def _heat(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["media"][0]["material"] = "acrylic"
    job["media"][0]["located_at"] = [0, 0]
    job["passes"][draw(st.integers(0, 2))]["sheet_temperature"] = draw(st.integers(22, 60))


def _dimension(draw: st.DrawFn, job: dict[str, Any]) -> None:
    field = draw(st.sampled_from(sorted(DIMENSIONS)))
    section, name = field.split(".")
    low, high = DIMENSIONS[field]
    job["signs"][0][section][name] = length(
        draw, low, high, draw(st.sampled_from([0.01, 0.01, 0.06]))
    )


def _word(draw: st.DrawFn, job: dict[str, Any]) -> None:
    sign = job["signs"][0]
    section, name, words = draw(
        st.sampled_from(
            [
                ("raised", "case", ["lower", "mixed"]),
                ("raised", "style", ["serif", "italic", "script"]),
                ("visual", "style", ["italic", "decorative"]),
                ("surface", "finish", ["gloss", "eggshell"]),
                ("braille", "shape", ["flat", "pointed", "rounded"]),
            ]
        )
    )
    sign[section][name] = draw(st.sampled_from(words))


def _contrast(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["signs"][0]["surface"]["background_lrv"] = draw(st.integers(0, 80))


def _neighbour(draw: st.DrawFn, job: dict[str, Any]) -> None:
    thick = draw(st.sampled_from(["4 mm", "5 mm", "6 mm"]))
    job["media"].append(
        {"id": "plate", "thickness": thick, "size": [100, 200], "at": [400, 50], "hold": "vacuum"}
    )
    for item in job["passes"]:
        item["media"] = "panel"
    for item in job.get("handling", []):
        if item["does"] != "pause":
            item["media"] = "panel"
    job["passes"].append({"id": "plate-colour", "ink": "blue", "media": "plate", "gap": "auto"})
    job.pop("sequence", None)


def _after(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["passes"][0]["after"] = ["dots"]


def _numbers(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["signs"][0]["braille"]["cells"] = draw(st.sampled_from(["⠗⠕⠕⠍⠀⠼⠃⠙⠁", "⠗⠕⠕⠍⠀⠼⠃⠁"]))


def _back(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["passes"].append(
        {"id": "back", "ink": "blue", "side": "back", "media": "panel", "gap": "auto"}
    )
    job.pop("sequence", None)


def _measured(draw: st.DrawFn, job: dict[str, Any]) -> None:
    job["signs"][0]["measured"] = {
        "dot_height": draw(
            st.lists(st.sampled_from([0.62, 0.7, 0.75, 0.95]), min_size=1, max_size=3)
        )
    }


def _untouchable(draw: st.DrawFn, job: dict[str, Any]) -> None:
    del job["signs"][0]["raised"]
    del job["signs"][0]["braille"]
    for item in job["passes"]:
        item.pop("builds", None)


MOVES = (
    _gap,
    _gap,
    _layers,
    _sequence,
    _handling,
    _heat,
    _dimension,
    _dimension,
    _word,
    _contrast,
    _neighbour,
    _after,
    _numbers,
    _back,
    _measured,
)


@st.composite
def moved_jobs(draw: st.DrawFn) -> Job:
    """A sound job of which one to three things are moved."""
    job = sound(draw)
    for move in draw(st.lists(st.sampled_from(MOVES), min_size=1, max_size=3, unique=True)):
        move(draw, job)
    if draw(st.integers(0, 30)) == 17:
        _untouchable(draw, job)
    return signrules.job_from_dict(job)
