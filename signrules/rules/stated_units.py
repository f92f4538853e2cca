"""Numbers of a sign that are unusual as they are read, and usual in another unit."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from signrules.model.declared import declared_fields
from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.model.wording import joined_names
from signrules.rules.check_messages import number_text
from signrules.rules.checks import Draft, Level, check, common_practice
from signrules.rules.declaration import rule
from signrules.standards.dimension_tables import SECTIONS
from signrules.standards.written_numbers import LENGTHS

MOST_NAMED = 4
"""As many numbers as a message names."""


@rule(
    "drawing.units",
    each="sign",
    source=common_practice("the sizes that parts of signs usually have"),
    level=Level.REVIEW,
    breaks={"signs.room-214.mounting.lowest_tactile": 48},
    meets={},
)
def drawing_units(item: Sign) -> Iterator[Draft]:
    """No number of the sign reads as if its unit had been left out.

    Lengths are millimetres where no unit stands beside them. One that is unusual as it is read, and
    would be usual in inches, was most likely meant so; light reflectance values of 1 and less were
    most likely meant as shares of 1. All of them are one check.

    Why it matters: a sign that states its inches as millimetres breaks every limit, and the limits
    do not say why.
    A job that breaks it: a lowest baseline of 48, without a unit.
    One that meets it: a lowest baseline of 1219.2, or of "48 in".
    """
    inches, shares = list(_likely_inches(item)), _likely_shares(item)
    draft = check(
        "the number of figures whose unit may be another",
        measured=len(inches) + len(shares),
        most=0,
        unit="",
    )
    told = [f"{each}: if inches were meant, write the unit" for each in _listed(inches)]
    told += [f"{each}: these go from 0 to 100" for each in _listed(shares)]
    yield evolve(draft, told=". ".join(told))


def _listed(figures: list[str]) -> list[str]:
    """Figures as one text, of many the first few; nothing where there are none."""
    if not figures:
        return []
    more = [f"{len(figures) - MOST_NAMED} more"] if len(figures) > MOST_NAMED else []
    return [joined_names([*figures[:MOST_NAMED], *more])]


def _likely_inches(item: Sign) -> Iterator[str]:
    """The lengths that are usual in inches and not in mm, in words."""
    inch = float(LENGTHS["in"])
    for section, cls in SECTIONS.items():
        part = getattr(item, section)
        for name, declared in declared_fields(cls).items() if part is not None else ():
            value = getattr(part, name)
            if not isinstance(value, Interval) or declared.usual is None:
                continue
            least, most = declared.usual
            if value.nominal < least <= value.nominal * inch <= most:
                yield f"{section}.{name} is {number_text(value.nominal)} mm"


def _likely_shares(item: Sign) -> list[str]:
    """The light reflectance values that are shares of 1: none is larger, and one is more than 0."""
    surface = item.surface
    if surface is None or surface.character_lrv is None or surface.background_lrv is None:
        return []
    values = {"character_lrv": surface.character_lrv, "background_lrv": surface.background_lrv}
    if not 0.0 < max(values.values()) <= 1.0:
        return []
    return [f"surface.{name} is {number_text(value)}" for name, value in values.items()]
