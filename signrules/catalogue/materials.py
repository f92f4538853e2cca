"""Reads the catalogue. Every number of a material says where it comes from."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from typing import Any

from attrs import field, frozen

from signrules.model.declared import Usual, declared_fields
from signrules.model.limits import is_number, must_be
from signrules.model.media import Media
from signrules.model.quantities import Interval
from signrules.model.wording import shown_value

_CHECKS = {
    **{
        name: declared_fields(Media)[name].check
        for name in ("expansion", "density", "heat_capacity")
    },
    "modulus": must_be(
        "a modulus from 0.000 001 to 10 000 GPa",
        lambda value: is_number(value) and 1e-6 <= value <= 1e4,
    ),
}
"""What each number may be: where a job can state it for a sheet, the same as there."""


USUAL_MODULUS_GPA = (0.01, 500.0)
"""From soft plastics to hard metals; common practice, no published source."""


def usual_numbers() -> dict[str, tuple[Usual, str]]:
    """What is usual of each number of a material, with the unit: where a job can state it for a
    sheet, the same as there.
    """
    fields = declared_fields(Media)
    of_media = {name: (fields[name].usual, fields[name].unit) for name in _CHECKS if name in fields}
    return {**of_media, "modulus": (USUAL_MODULUS_GPA, "GPa")}


def _source_texts(
    value: Mapping[str, str] | Iterable[tuple[str, str]],
) -> tuple[tuple[str, str], ...]:
    # In one order, so that materials that say the same are equal.
    return tuple(sorted(dict(value).items()))


@frozen
class Material:
    """What a sheet is made of; None where nobody has said.

    `expansion` in millionths per kelvin, from the least to the most that is published; `density` in
    kg/m3,
    `heat_capacity` in J/(kg K), `modulus` in GPa. `sources` says for each of them where it comes
    from. Raises ValueError for a number that no job may state, or that has no source.
    """

    id: str
    name: str = ""
    expansion: Interval | None = None
    density: float | None = None
    heat_capacity: float | None = None
    modulus: float | None = None
    sources: tuple[tuple[str, str], ...] = field(default=(), converter=_source_texts)

    def __attrs_post_init__(self) -> None:
        for name, check in _CHECKS.items():
            value = getattr(self, name)
            if value is None:
                continue
            for _, found, expected in check(value):
                raise ValueError(
                    f"material {self.id}: {name}: found {shown_value(found)}, expected {expected}"
                )
            # A number that nobody can look up is worth no more than a guess.
            if not dict(self.sources).get(name):
                raise ValueError(
                    f"material {self.id}: {name}: found no source, expected one, or 'from memory'"
                )

    def source_of(self, name: str) -> str:
        """Where a number comes from; empty where there is none."""
        return dict(self.sources).get(name, "")


@cache
def builtin_materials() -> tuple[Material, ...]:
    """The materials that come with signrules; read once."""
    return tuple(_material_of(id, table) for id, table in _read_data("materials.toml").items())


def builtin_printers() -> dict[str, dict[str, Any]]:
    """The invented printers that come with signrules: ids and `[printer]` tables."""
    return _read_data("printers.toml")


def sample_job() -> dict[str, Any]:
    """The sample job as a document: an invented room sign, in order under every built-in rule, made
    again each time.

    The examples of rules are changes to it.
    """
    return _read_data("sample.toml")


def _read_data(name: str) -> dict[str, Any]:
    return tomllib.loads(
        resources.files("signrules.catalogue").joinpath(name).read_text(encoding="utf-8")
    )


def _material_of(id: str, table: Mapping[str, Any]) -> Material:
    given = {key: value for key, value in table.items() if key != "name"}
    expansion = given.get("expansion")
    return Material(
        id,
        table["name"],
        None
        if expansion is None
        else Interval(expansion["least"], expansion["usual"], expansion["most"]),
        **{
            key: float(given[key]["value"]) for key in _CHECKS.keys() & given.keys() - {"expansion"}
        },
        sources={key: value["source"] for key, value in given.items()},
    )
