"""The job of signs that lie on some sheets, as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from signrules.documents.reading import VERSION
from signrules.documents.stock import Stock
from signrules.schedules.placing import PlacedSign
from signrules.schedules.shared_passes import passes_of


def _turned_over(
    media: Sequence[Mapping[str, Any]], passes: Sequence[Mapping[str, Any]]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The sheets, and the flips of those with passes on both sides; a sheet that is printed on the
    back alone is loaded that side up.
    """
    sheets, flips = [], []
    taken = {item["id"] for item in passes}
    for row in media:
        sheet = dict(row)
        sides = {item.get("side", "front") for item in passes if item["media"] == row["id"]}
        if sides == {"back"}:
            sheet["up"] = "back"
        elif len(sides) > 1:
            id = f"turn-{row['id']}"
            while id in taken:
                id += "-over"
            taken.add(id)
            # Without `after`: the planner puts a flip between the sides by itself.
            flips.append({"id": id, "does": "flip", "media": row["id"]})
        sheets.append(sheet)
    return sheets, flips


def job_of_signs(
    name: str,
    stock: Stock,
    printer: str,
    standards: Sequence[str],
    media: Sequence[Mapping[str, Any]],
    placed: Sequence[PlacedSign],
) -> dict[str, Any]:
    """The job document of signs that lie on some sheets."""
    passes = passes_of(placed)
    sheets, flips = _turned_over(media, passes)
    document: dict[str, Any] = {
        "signrules": VERSION,
        "name": name,
        "printer": printer,
        "media": sheets,
        "passes": passes,
        "signs": [each.sign for each in placed],
    }
    if flips:
        document["handling"] = flips
    if standards:
        document["standards"] = list(standards)
    tolerance = stock.schedule.registration_tolerance
    if tolerance is not None:
        document["registration_tolerance"] = tolerance
    taken = [note for each in placed for note in each.read_notes]
    if taken:
        document["read_notes"] = list(dict.fromkeys(taken))
    return document
