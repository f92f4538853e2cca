"""The job of signs that lie on some sheets, as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from signrules.documents.reading import VERSION
from signrules.documents.stock import Stock
from signrules.schedules.placing import PlacedSign
from signrules.schedules.shared_passes import passes_of

RELIEF_LAYERS = 5
"""So many layers stand up enough to be felt by a sheet that lies on them (common practice, no
published source).
"""


def _turned_over(
    media: Sequence[Mapping[str, Any]], passes: Sequence[Mapping[str, Any]]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The sheets, and the flips of those with passes on both sides.

    A sheet that is printed on the back alone is loaded that side up. So is one with relief on the
    front alone: otherwise it would be turned onto its relief, which lifts it by as much as that is
    high, and asks for a wider gap.
    """
    sheets, flips = [], []
    taken = {item["id"] for item in passes}
    for row in media:
        sheet = dict(row)
        own_passes = [item for item in passes if item["media"] == row["id"]]
        sides = {_side_of(item) for item in own_passes}
        if sides == {"back"} or _relief_sides(own_passes) == {"front"} < sides:
            sheet["up"] = "back"
        if len(sides) > 1:
            id = f"turn-{row['id']}"
            while id in taken:
                id += "-over"
            taken.add(id)
            # Without `after`: the planner puts a flip between the sides by itself.
            flips.append({"id": id, "does": "flip", "media": row["id"]})
        sheets.append(sheet)
    return sheets, flips


def _side_of(row: Mapping[str, Any]) -> str:
    return str(row.get("side", "front"))


def _relief_sides(passes: Sequence[Mapping[str, Any]]) -> set[str]:
    """The sides on which some passes build dots or raised characters."""
    sides = set()
    for row in passes:
        builds = row.get("builds", ())
        features = [builds] if isinstance(builds, str) else builds
        if any(str(feature).endswith((".braille", ".raised")) for feature in features):
            sides.add(_side_of(row))
    return sides


def sheets_on_relief(document: Mapping[str, Any]) -> list[str]:
    """The sheets of a job that are turned over onto relief: dots, raised characters, or as many
    layers as `RELIEF_LAYERS` on the side that is printed first.
    """
    found = []
    for sheet in document["media"]:
        own_passes = [item for item in document["passes"] if item["media"] == sheet["id"]]
        first = sheet.get("up", "front")
        is_turned = len({_side_of(item) for item in own_passes}) > 1
        below = [item for item in own_passes if _side_of(item) == first]
        many = any(item.get("layers", 1) >= RELIEF_LAYERS for item in below)
        if is_turned and (many or _relief_sides(below)):
            found.append(str(sheet["id"]))
    return found


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
