"""An invented job as plain data, for tests that change one thing at a time."""

from __future__ import annotations

import copy
from typing import Any

PRINTER: dict[str, Any] = {
    "bed": ["600 mm", "450 mm"],
    "base_gap": "1.5 mm",
    "min_clearance": "1 mm",
    "max_throw": "4 mm",
    "gap": {"control": "spacers", "spacers": ["0.5 mm", "1 mm", "1.5 mm"]},
    "head_length": "40 mm",
    "carriage_speed": "800 mm/s",
    "drop_speed": "6 m/s",
    "landing_tolerance": "0.06 mm",
    "locating": {"pins": "0.1 mm", "stops": "0.5 mm"},
    "minutes": {"load": 4, "gap": 2, "alignment": 12},
}


RAISED = {
    "depth": "0.84 mm",
    "height": "25 mm",
    "width": "20 mm",
    "stroke": "3 mm",
    "spacing": "4 mm",
    "line_spacing": "37.5 mm",
    "clear_space": "10 mm",
    "case": "upper",
    "style": "sans-serif",
}
"""Raised characters that no pass builds, as the 2010 ADA Standards ask for them in 703.2."""


def sign_job(**changes: Any) -> dict[str, Any]:
    """Ground, dots of 0.72 mm at 1 mm over the sheet, colour over the dots at 0 mm from the
    build-up.
    """
    job: dict[str, Any] = {
        "signrules": 1,
        "name": "an invented sign",
        "standards": ["us-ada-2010"],
        "registration_tolerance": "0.15 mm",
        "printer": copy.deepcopy(PRINTER),
        "media": [
            {
                "id": "panel",
                "thickness": "3 mm",
                "size": [200, 200],
                "at": [50, 50],
                "hold": "vacuum",
            },
        ],
        "inks": [
            {"id": "black", "role": "colour", "layer": "10 um"},
            {"id": "clear", "role": "clear", "layer": "30 um"},
        ],
        "passes": [
            {"id": "ground", "ink": "black", "gap": {"extra": 0, "above": "media"}},
            {
                "id": "dots",
                "ink": "clear",
                "areas": [[40, 30, 60, 8]],
                "layers": 24,
                "coverage": 0.3,
                "gap": {"extra": 1, "above": "media"},
                "builds": "room.braille",
            },
            {
                "id": "ink-on-dots",
                "ink": "black",
                "areas": [[40, 30, 60, 8]],
                "over": ["dots"],
                "gap": {"extra": 0, "above": "build-up"},
            },
        ],
        "signs": [
            {
                "id": "room",
                "media": "panel",
                "kind": "permanent-room",
                "text": ["ROOM 9"],
                "braille": {
                    "cells": "⠗⠕⠕⠍⠀⠼⠊",
                    "position": "below",
                    "dot_diameter": "1.55 mm",
                    "dot_spacing": "2.4 mm",
                    "cell_spacing": "6.2 mm",
                    "line_spacing": "10.1 mm",
                    "clear_space": "10 mm",
                },
                "raised": dict(RAISED),
            }
        ],
    }
    return job | changes


def pass_of(job: dict[str, Any], name: str) -> dict[str, Any]:
    """The table of one pass, to be changed in place."""
    return next(item for item in job["passes"] if item["id"] == name)


def varied(number: int) -> dict[str, Any]:
    """An invented job, another for each number: some scrape, some miss the standard, some are no
    jobs at all.
    """
    document = sign_job(name=f"sign {number}")
    pass_of(document, "dots")["layers"] = 20 + number % 13
    if number % 7 == 3:
        document["sequence"] = ["dots", "ink-on-dots", "ground"]
    if number % 11 == 5:
        pass_of(document, "dots")["layer"] = number
    return document
