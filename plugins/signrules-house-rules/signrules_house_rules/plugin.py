"""The hooks: rules, a stricter table, a board, a printer, white before colour, film and
cleaning.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

from attrs import field, frozen

from signrules import (
    Area,
    Interval,
    Job,
    Material,
    OwnData,
    Pass,
    RuleSet,
    Standard,
    hookimpl,
    load_standard,
    one_word_of,
    setting,
)
from signrules_house_rules.rules import HARBOUR

signrules_api = "1.0"


@frozen
class Counting:
    """The settings that the quantities depend on. Invented, as all numbers here."""

    film_margin: float = setting(
        20.0, unit="mm", doc="how far masking film stands out beyond a sheet, on each side"
    )
    load_cleaning: float = setting(3.0, unit="minutes", doc="cleaning before each bed load")
    ink_cleaning: float = setting(
        1.5, unit="minutes", doc="cleaning each time that the next pass takes another ink"
    )


signrules_settings = Counting


@frozen
class Delivery:
    """How a sheet comes to the house."""

    film: str = field(
        default="none",
        metadata=one_word_of(("none", "front"), "the side that comes with masking film on it"),
    )


signrules_data_name = "harbour"
signrules_data = {"media": Delivery}


@hookimpl
def signrules_rule_sets() -> list[RuleSet]:
    """The rules of the house."""
    return [HARBOUR]


@hookimpl
def signrules_standards() -> list[Standard]:
    """The house's own table, stricter than the standard that it amends."""
    return [load_standard(Path(__file__).with_name("harbour_tactile.toml"))]


@hookimpl
def signrules_materials() -> list[Material]:
    """The board that the house likes to print on."""
    invented = "invented"
    return [
        Material(
            "harbour-board",
            "an invented filled board",
            expansion=Interval(18, 20, 24),
            density=1650,
            sources={"expansion": invented, "density": invented},
        )
    ]


@hookimpl
def signrules_printers() -> Mapping[str, Mapping[str, Any]]:
    """The one printer of the house."""
    return {
        "harbour-flatbed": {
            "name": "the flatbed of an invented shop",
            "bed": ["600 mm", "450 mm"],
            "base_gap": "0.75 mm",
            "min_clearance": "0.5 mm",
            "max_throw": "3 mm",
            "gap": {"control": "spacers", "spacers": ["0.3 mm", "0.6 mm", "1.3 mm"]},
            "head_length": "40 mm",
            "carriage_speed": "800 mm/s",
            "drop_speed": "6 m/s",
            "resolution": 600,
            "locating": {"pins": "0.1 mm"},
            "minutes": {"load": 4, "gap": 2, "alignment": 12},
        }
    }


@hookimpl
def signrules_precedence(job: Job) -> Iterator[tuple[str, str, str]]:
    """White is printed before the colour that lies on it, unless the job says otherwise."""
    white = [
        item for item in job.passes if job.ink_of(item).role == "white" and item.side == "front"
    ]
    colour = [
        item for item in job.passes if job.ink_of(item).role == "colour" and item.side == "front"
    ]
    for under in white:
        for above in colour:
            if _meet(job, under, above) and not _declared_before(job, above.id, under.id):
                yield under.id, above.id, "our white goes under the colour"


@hookimpl
def signrules_quantities(
    job: Job,
    order: tuple[str, ...],
    quantities: Mapping[str, float],
    settings: Counting,
    data: OwnData,
) -> dict[str, float]:
    """Masking film for every sheet that comes without, and the minutes of cleaning that the order
    asks for.
    """
    edges = 2 * settings.film_margin
    bare = [sheet.size for sheet in job.media if not _has_film(data.of(sheet))]
    film = sum((width + edges) * (height + edges) for width, height in bare)
    inks = {item.id: item.ink for item in job.passes}
    used = [inks[name] for name in order if name in inks]
    changes = sum(first != then for first, then in pairwise(used))
    cleaning = settings.load_cleaning * quantities["bed_loads"] + settings.ink_cleaning * changes
    return {"masking_film_m2": film / 1e6, "cleaning_minutes": cleaning}


def _has_film(delivery: Delivery | None) -> bool:
    return delivery is not None and delivery.film == "front"


def _meet(job: Job, one: Pass, other: Pass) -> bool:
    if job.media_of(one) != job.media_of(other):
        return False
    return any(_overlap(a, b) for a in job.areas_of(one) for b in job.areas_of(other))


def _overlap(a: Area, b: Area) -> bool:
    return (
        a.x < b.x + b.width
        and b.x < a.x + a.width
        and a.y < b.y + b.height
        and b.y < a.y + a.height
    )


def _declared_before(job: Job, first: str, then: str) -> bool:
    """Whether the job itself says, at once or by way of others, that one comes before the other."""
    items = {item.id: item for item in job.items}
    found, open_ends = set(), [then]
    while open_ends:
        item = items[open_ends.pop()]
        for name in (*item.after, *(item.over if isinstance(item, Pass) else ())):
            if name not in found:
                found.add(name)
                open_ends.append(name)
    return first in found
