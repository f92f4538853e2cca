"""Sheets of signs that are all alike, sound or with a mistake: a report with remedies beside the
evaluation alone.

Printed are ratios of processor seconds measured in one run. The jobs are invented.

python tests/benchmarks/alike_signs.py [SHEETSxSIGNS[:GAPS] ...]
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import Any

import signrules
from signrules import Job

DEFAULT = ("2x8", "2x15", "1x10", "1x50", "1x200")
WIDTH, DEPTH, APART = 70, 25, 5
COLUMNS = 10
GAPS = ("stated", "build-up", "open")

PROMISED_RATIO, PROMISED_SECONDS = 20, 2.0
"""A report takes at most so many times its evaluation, or so many seconds more, whichever is the
larger.
"""


def alike_signs(sheets: int, signs: int, *, gaps: str = "stated") -> dict[str, Any]:
    """The document of a sound job: on each sheet a ground, and on each sign dots and colour over
    the dots.

    `gaps` is "stated" over the sheet, stated over the "build-up" for the colour, or left "open" to
    the planner.
    """
    columns = min(COLUMNS, signs)
    rows = -(-signs // columns)
    size = [columns * (WIDTH + APART), rows * (DEPTH + APART)]
    document: dict[str, Any] = {
        "signrules": 1,
        "name": f"{sheets} sheets of {signs} alike signs (invented)",
        "standards": ["us-ada-2010"],
        "registration_tolerance": "0.15 mm",
        "printer": {
            "bed": [sheets * (size[0] + 20), size[1] + 20],
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
        },
        "inks": [
            {"id": "black", "role": "colour", "layer": "10 um"},
            {"id": "clear", "role": "clear", "layer": "30 um"},
        ],
        "media": [],
        "passes": [],
        "signs": [],
    }
    for sheet in range(sheets):
        _add_sheet(document, sheet, size, signs, columns)
    for item in document["passes"]:
        if gaps == "open":
            item["gap"] = "auto"
        elif gaps == "build-up" and item["id"].startswith("colour-"):
            item["gap"] = {"extra": 0, "above": "build-up"}
    return document


def _add_sheet(
    document: dict[str, Any], sheet: int, size: list[int], signs: int, columns: int
) -> None:
    name = f"sheet-{sheet}"
    at = [10 + sheet * (size[0] + 20), 10]
    document["media"].append(
        {"id": name, "thickness": "3 mm", "size": size, "at": at, "hold": "vacuum"}
    )
    document["passes"].append(
        {"id": f"ground-{sheet}", "ink": "black", "media": name, "gap": {"extra": 0}}
    )
    for number in range(signs):
        row, column = divmod(number, columns)
        corner = column * (WIDTH + APART), row * (DEPTH + APART)
        _add_sign(document, name, f"{sheet}-{number}", corner)


def _add_sign(document: dict[str, Any], sheet: str, number: str, corner: tuple[int, int]) -> None:
    areas = [[corner[0] + 10, corner[1] + 10, 50, 8]]
    document["passes"] += [
        {
            "id": f"dots-{number}",
            "ink": "clear",
            "media": sheet,
            "areas": areas,
            "layers": 24,
            "coverage": 0.3,
            "gap": {"extra": 1, "above": "media"},
            "builds": f"room-{number}.braille",
        },
        {
            "id": f"colour-{number}",
            "ink": "black",
            "media": sheet,
            "areas": areas,
            "over": [f"dots-{number}"],
            "gap": {"extra": 1, "above": "media"},
        },
    ]
    document["signs"].append(
        {
            "id": f"room-{number}",
            "media": sheet,
            "kind": "permanent-room",
            "text": ["ROOM 9"],
            "braille": {
                "cells": "⠗⠕⠕⠍⠀⠼⠊",
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
            "surface": {"finish": "matte", "character_lrv": 82, "background_lrv": 8},
            "mounting": {"lowest_tactile": 1300, "highest_tactile": 1390},
        }
    )


def _item(document: dict[str, Any], table: str, id: str) -> dict[str, Any]:
    return next(item for item in document[table] if item["id"] == id)


def low_dots(document: dict[str, Any]) -> None:
    """The dots of one sign get too few layers."""
    _item(document, "passes", "dots-0-1")["layers"] = 18


def low_dots_everywhere(document: dict[str, Any]) -> None:
    """The dots of every sign get too few layers."""
    for item in document["passes"]:
        if item["id"].startswith("dots-"):
            item["layers"] = 18


def high_dots(document: dict[str, Any]) -> None:
    """The dots of one sign get too many layers, so that the head comes too near."""
    _item(document, "passes", "dots-0-1")["layers"] = 60


def small_gap(document: dict[str, Any]) -> None:
    """The colour over the dots of one sign is printed with the gap of the ground."""
    _item(document, "passes", "colour-0-1")["gap"] = {"extra": 0, "above": "media"}


def small_gap_everywhere(document: dict[str, Any]) -> None:
    """The colour over the dots of every sign is printed with the gap of the ground."""
    for item in document["passes"]:
        if item["id"].startswith("colour-"):
            item["gap"] = {"extra": 0, "above": "media"}


def wide_dots(document: dict[str, Any]) -> None:
    """The dots of one sign are stated too wide."""
    _item(document, "signs", "room-0-1")["braille"]["dot_diameter"] = "1.7 mm"


def wide_dots_everywhere(document: dict[str, Any]) -> None:
    """The dots of every sign are stated too wide."""
    for sign in document["signs"]:
        sign["braille"]["dot_diameter"] = "1.7 mm"


def grounds_last(document: dict[str, Any]) -> None:
    """The job states an order in which a ground comes last."""
    names = [item["id"] for item in document["passes"]]
    document["sequence"] = [*names[1:], names[0]]


def nothing(document: dict[str, Any]) -> None:
    """The job is sound."""


MISTAKES: tuple[Callable[[dict[str, Any]], None], ...] = (
    nothing,
    low_dots,
    low_dots_everywhere,
    high_dots,
    small_gap,
    small_gap_everywhere,
    wide_dots,
    wide_dots_everywhere,
    grounds_last,
)


def job_with(
    mistake: Callable[[dict[str, Any]], None], sheets: int, signs: int, *, gaps: str = "stated"
) -> Job:
    """An invented job with a mistake in it."""
    document = alike_signs(sheets, signs, gaps=gaps)
    mistake(document)
    return signrules.job_from_dict(document)


def measured(job: Job) -> tuple[float, float, dict[str, Any]]:
    """Processor seconds of the evaluation, and of the evaluation and its report together; the
    report.
    """
    start = time.process_time()
    result = signrules.evaluate(job)
    evaluated = time.process_time()
    report = result.to_dict()
    return evaluated - start, time.process_time() - start, report


def line_for(mistake: Callable[[dict[str, Any]], None], sheets: int, signs: int, gaps: str) -> str:
    """What is printed of one job."""
    alone, whole, report = measured(job_with(mistake, sheets, signs, gaps=gaps))
    findings = sum(1 for check in report["checks"] if check["remedies"] or "remedies_as" in check)
    kept = whole <= max(PROMISED_RATIO * alone, alone + PROMISED_SECONDS)
    head = f"{sheets}x{signs:<4} {gaps:8} {mistake.__name__:22}"
    said = f"{findings} findings with remedies, {report['remedies_left_out']} left out"
    return (
        f"{head} {alone:7.3f} s {whole:8.3f} s {whole / alone:7.1f} "
        f" {'kept' if kept else 'NOT KEPT'}  {said}"
    )


def main(sizes: list[str]) -> None:
    """Print a line for each job."""
    signrules.evaluate(
        job_with(nothing, 1, 1)
    )  # What is read once is read before the clock starts.
    print("job, its gaps, mistake; evaluation, evaluation and report, ratio, promise")
    for size in sizes:
        numbers, _, only = size.partition(":")
        sheets, signs = (int(number) for number in numbers.split("x"))
        for gaps in [only] if only else GAPS:
            for mistake in MISTAKES:
                print(line_for(mistake, sheets, signs, gaps), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or list(DEFAULT))
