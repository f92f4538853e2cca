"""Invented work orders with their jobs: loads of pieces with signs of three types, in a grid."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hypothesis import strategies as st
from scenario import PRINTER

import signrules
from signrules import Evaluation, evaluate, job_from_dict
from signrules.documents.work_orders import work_order_from_dict
from signrules.model.work_order import WorkOrder

TYPES = {"room": (90.0, 40.0), "arrow": (60.0, 30.0), "plate": (45.0, 25.0)}
"""Types with their sizes in mm; a room has braille, an arrow letters, a plate only its ground."""

PIECE = (200.0, 150.0)
STEP = (100.0, 50.0)
PLACES = 6
"""A piece holds two columns of three signs."""

TIMED = PRINTER | {
    "swath": "50 mm",
    "swath_passes": 4,
    "carriage_acceleration": "8 m/s2",
    "overrun": "50 mm",
}
INKS = [
    {"id": "black", "role": "colour", "layer": "10 um"},
    {"id": "clear", "role": "clear", "layer": "30 um"},
]

Load = Sequence[Sequence[str]]
"""A load: of each of its pieces the types of the signs on it."""

THREE_TYPES: tuple[Load, ...] = (
    (("room", "room", "arrow"), ("room", "plate")),
    (("room", "arrow", "plate", "plate"),),
)


def drawn_order(
    loads: Sequence[Load] = THREE_TYPES, *, printer: dict[str, Any] = TIMED, **order: Any
) -> tuple[WorkOrder, dict[str, dict[str, Any]]]:
    """A work order and its job documents by load. Two pieces are cut from a sheet of stock.

    Rows of the schedule: of each type one, in the order of `TYPES`.
    """
    document: dict[str, Any] = {
        "signrules_work_order": 1,
        "name": "Harbour clinic, invented",
        "printer": "flatbed",
        "at_least": dict.fromkeys(("stock_sheets", "loads"), min(1, len(loads))),
        "loads": [],
        "stock_sheets": [],
        "pieces": [],
        "signs": [],
        "notes": ["K-01 stays upright: its type says so"],
    }
    jobs = {}
    for number, load in enumerate(loads, start=1):
        id = f"load-{number:02}"
        document["loads"].append({"id": id, "file": f"{id}.toml"})
        jobs[id] = _job_of(id, load, document, printer)
    return work_order_from_dict(document | order), jobs


def _job_of(
    id: str, load: Load, document: dict[str, Any], printer: dict[str, Any]
) -> dict[str, Any]:
    job: dict[str, Any] = {
        "signrules": 1,
        "name": f"{document['name']}, {id}",
        "printer": printer,
        "registration_tolerance": "0.15 mm",
        "media": [],
        "inks": INKS,
        "passes": [],
        "signs": [],
    }
    for at, types in enumerate(load):
        piece = f"piece-{len(document['pieces']) + 1}"
        document["pieces"].append(_piece_row(piece, id, at, document))
        job["media"].append(
            {
                "id": piece,
                "material": "acrylic",
                "thickness": "3 mm",
                "size": list(PIECE),
                "at": [10.0 + 250.0 * at, 10.0],
                "hold": "vacuum",
            }
        )
        placed = [_sign_row(type, at, piece, document) for at, type in enumerate(types)]
        job["signs"] += [_sign_of_job(row) for row in placed]
        job["passes"] += _passes_of(piece, placed)
    return job


def _piece_row(piece: str, load: str, at: int, document: dict[str, Any]) -> dict[str, Any]:
    """Pieces lie two on a sheet of 400 x 150 mm, in the order in which they come."""
    before = len(document["pieces"])
    sheet = f"stock-{before // 2 + 1}"
    if before % 2 == 0:
        row = {"id": sheet, "stock": "acrylic-3", "size": [2 * PIECE[0], PIECE[1]]}
        document["stock_sheets"].append(row)
    return {
        "id": piece,
        "load": load,
        "stock_sheet": sheet,
        "size": list(PIECE),
        "at": [10.0 + 250.0 * at, 10.0],
        "cut_at": [PIECE[0] * (before % 2), 0.0],
    }


def _sign_row(type: str, at: int, piece: str, document: dict[str, Any]) -> dict[str, Any]:
    column, line = divmod(at, 3)
    row = {
        "id": f"K-{len(document['signs']) + 1:02}",
        "type": type,
        "row": 3 + list(TYPES).index(type),
        "piece": piece,
        "at": [STEP[0] * column, STEP[1] * line],
        "size": list(TYPES[type]),
    }
    document["signs"].append(row)
    return row


def _sign_of_job(row: dict[str, Any]) -> dict[str, Any]:
    sign: dict[str, Any] = {
        "id": row["id"],
        "media": row["piece"],
        "area": [*row["at"], *row["size"]],
    }
    if row["type"] == "room":
        sign["braille"] = {"cells": "⠗⠕⠕⠍"}
    return sign


def _passes_of(piece: str, placed: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The ground of a whole piece, the dots of its rooms, the letters of its arrows."""
    passes: list[dict[str, Any]] = [{"id": f"{piece}-ground", "ink": "black", "media": piece}]
    for type, kind, layers in (("room", "braille", 24), ("arrow", "raised", 26)):
        areas = [
            [row["at"][0] + 5, row["at"][1] + 5, 30, 8] for row in placed if row["type"] == type
        ]
        if areas:
            passes.append(
                {
                    "id": f"{piece}-{kind}",
                    "ink": "clear",
                    "media": piece,
                    "areas": areas,
                    "layers": layers,
                    "coverage": 0.3,
                }
            )
    return passes


def judged_order(
    loads: Sequence[Load] = THREE_TYPES, **order: Any
) -> tuple[WorkOrder, dict[str, Evaluation]]:
    """A work order and the evaluations of its jobs."""
    made, jobs = drawn_order(loads, **order)
    return made, {id: evaluate(job_from_dict(job)) for id, job in jobs.items()}


def written_order(folder: Any, loads: Sequence[Load] = THREE_TYPES, **order: Any) -> WorkOrder:
    """The same in a folder."""
    made, jobs = drawn_order(loads, **order)
    folder.mkdir(parents=True, exist_ok=True)
    signrules.write_work_order(made, folder / "work-order.toml")
    for id, job in jobs.items():
        signrules.write_job(job_from_dict(job), folder / f"{id}.toml")
    return made


orders = st.lists(
    st.lists(st.lists(st.sampled_from(sorted(TYPES)), max_size=PLACES), min_size=1, max_size=2),
    min_size=1,
    max_size=3,
)
"""Loads of one or two pieces with up to six signs each; a load may have none."""
