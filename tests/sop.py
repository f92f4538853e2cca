"""Reader of sequential ordering problems in the open TSPLIB format."""

from __future__ import annotations

import json
import os
from pathlib import Path

from signrules.planning.order.changeover import Changeover

FOLDER = os.environ.get("SIGNRULES_SOP", "")


def best_known() -> dict[str, int]:
    """The best known value of each instance in the folder, as published with the instances."""
    return json.loads((Path(FOLDER) / "optima.json").read_text("utf-8"))["best"]


def read(name: str) -> Changeover:
    """An instance as a changeover problem: each node a class of its own, the first node
    the start.
    """
    lines = (
        (Path(FOLDER) / f"{name}.sop").read_text("utf-8").split("EDGE_WEIGHT_SECTION")[1].split()
    )
    numbers = [int(word) for word in lines if word.lstrip("-").isdigit()]
    size, cells = numbers[0], numbers[1:]
    matrix = [cells[row * size : (row + 1) * size] for row in range(size)]
    after = [0] * size
    for row in range(size):
        for column in range(size):
            if matrix[row][column] == -1:
                after[column] |= 1 << row
    cost = tuple(tuple(max(cell, 0) for cell in row) for row in matrix)
    return Changeover(
        tuple(range(size)), (0,) * size, tuple(after), ((),) * size, cost, (0,) * size
    )
