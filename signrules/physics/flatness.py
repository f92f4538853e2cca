"""How thick and how flat a sheet is when nobody has measured it.

A measured maximum, taken at several points with the corners among them, is always better than a
tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from attrs import frozen

from signrules.model.media import Media
from signrules.model.quantities import Interval
from signrules.physics.number_checks import positive_number


@frozen
class SheetTolerance:
    """By how many mm sheets of a kind may differ from a nominal thickness, and who says so."""

    deviation: Callable[[float], float]
    source: str


def _extruded(thickness: float) -> float:
    if thickness < 3:
        return thickness * 0.10
    return thickness * 0.05


TOLERANCES: Mapping[str, SheetTolerance] = {
    "cast-acrylic": SheetTolerance(
        lambda thickness: 0.4 + 0.1 * thickness,
        "ISO 7823-1, +-(0.4 mm + 0.1 x thickness), second hand",
    ),
    "extruded-acrylic": SheetTolerance(
        _extruded, "ISO 7823-2, +-10 % below 3 mm, +-5 % from there, second hand"
    ),
}
"""By kind of sheet. "Second hand": read in what two suppliers of sheet report of the standard."""


def thickness_tolerance(sheet_type: str, thickness: float) -> float:
    """By how much a sheet of a nominal thickness may differ from it, in mm, either way.

    ISO 7823-1 for cast and ISO 7823-2 for extruded acrylic. Raises ValueError for another kind, or
    a thickness that is not above 0.
    """
    if sheet_type not in TOLERANCES:
        raise ValueError(f"sheet_type: expected one of {', '.join(TOLERANCES)}, got {sheet_type!r}")
    return TOLERANCES[sheet_type].deviation(positive_number("thickness", thickness, "mm"))


def assumes_tolerance(sheet: Media) -> bool:
    """Whether the kind of a sheet says the tolerance that its stated thickness does not have."""
    return sheet.sheet_type is not None and sheet.thickness.is_exact


def thickness_of(sheet: Media) -> Interval:
    """The thickness of a sheet in mm, with the tolerance of its kind where none is stated.

    The low end stays above a hundredth of the nominal thickness: no sheet is thinner than nothing.
    """
    nominal = sheet.thickness.nominal
    # A thickness with a tolerance was measured or ordered so, and says more than the kind of sheet.
    if sheet.sheet_type is None or not assumes_tolerance(sheet):
        return sheet.thickness
    deviation = thickness_tolerance(sheet.sheet_type, nominal)
    return Interval(max(nominal - deviation, nominal / 100), nominal, nominal + deviation)
