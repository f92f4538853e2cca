"""Invented jobs of a shop's usual size: many signs on one sheet, and many passes."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from scenario import pass_of, sign_job

WIDE, DEEP = 95, 70
"""What a sign takes on its sheet, in mm."""


def places(count: int) -> list[tuple[int, int]]:
    """Lower corners of so many signs, six in a row."""
    return [(10 + 100 * (number % 6), 10 + 75 * (number // 6)) for number in range(count)]


def many_signs(count: int = 30) -> dict[str, Any]:
    """Signs in four passes: ground, letters, dots, ink on the dots."""
    job = sign_job(name="Harbour school, upper floor, invented")
    job["printer"] |= {"bed": ["700 mm", "500 mm"], "max_throw": "6 mm"}
    job["media"][0] |= {"size": [620, 420], "at": [20, 20]}
    template = job["signs"][0]
    corners = places(count)
    job["signs"] = [
        deepcopy(template) | {"id": f"door-{number:02}", "area": [*corner, WIDE, DEEP]}
        for number, corner in enumerate(corners, start=1)
    ]
    for row in job["signs"]:
        del row["raised"]["depth"]
    ids = [row["id"] for row in job["signs"]]
    pass_of(job, "dots").update(
        areas=[[x + 15, y + 8, 60, 8] for x, y in corners],
        builds=[f"{each}.braille" for each in ids],
    )
    pass_of(job, "ink-on-dots")["areas"] = pass_of(job, "dots")["areas"]
    letters = {
        "id": "letters",
        "ink": "clear",
        "areas": [[x + 15, y + 30, 70, 25] for x, y in corners],
        "layers": 28,
        "gap": {"extra": 1.5, "above": "media"},
        "builds": [f"{each}.raised" for each in ids],
    }
    job["passes"].insert(1, letters)
    return job


def many_passes(count: int = 60) -> dict[str, Any]:
    """So many passes on one sheet, each with a gap that differs from the one before it."""
    job = sign_job(standards=[], signs=[], name="Harbour depot, proof sheet, invented")
    job["printer"] |= {"bed": ["700 mm", "500 mm"], "max_throw": "6 mm"}
    job["media"][0] |= {"size": [620, 420], "at": [20, 20]}
    job["passes"] = [
        {
            "id": f"field-{number + 1:02}",
            "ink": "black",
            "areas": [[x, y, 60, 30]],
            "gap": {"extra": [0, 0.5, 1][number % 3], "above": "media"},
            "after": [f"field-{number:02}"] if number else [],
        }
        for number, (x, y) in enumerate(
            (10 + 60 * (n % 10), 10 + 40 * (n // 10)) for n in range(count)
        )
    ]
    return job
