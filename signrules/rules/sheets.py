"""Sheets: the material that nobody knows, the thickness that nobody measured, the hold on a bed
that moves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from signrules.catalogue.materials import Material
from signrules.model.media import Media
from signrules.model.printer import Printer
from signrules.model.quantities import Interval
from signrules.physics import hold
from signrules.physics.flatness import TOLERANCES, assumes_tolerance, thickness_of
from signrules.rules.checks import Draft, Level, check, common_practice, missing, published
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.known_words import known_word


def known_of_sheet(
    sheet: Media, materials: Mapping[str, Material], name: str
) -> float | Interval | None:
    """A property of a sheet: what it states itself, else what its material's entry says; None where
    neither does.
    """
    stated: float | Interval | None = getattr(sheet, name)
    if stated is not None:
        return stated
    material = materials.get(sheet.material or "")
    known_value: float | Interval | None = None if material is None else getattr(material, name)
    return known_value


def unsaid_field(sheet: Media, name: str) -> str:
    """The field to state where `known` finds nothing."""
    return f"media.{sheet.id}.{'material' if sheet.material is None else name}"


@rule(
    "thickness.assumed",
    each="media",
    level=Level.NOTE,
    source=published("ISO 7823-1 and ISO 7823-2, second hand"),
    meets={"media.panel.thickness": "3 mm"},
)
def thickness_assumed(item: Media) -> Iterator[Draft]:
    """The tolerance of a sheet's thickness is that of the standard for its kind, because the job
    states none.

    Every height, gap and clearance is computed with it. A maximum measured at several points,
    including the corners, is better.

    Why it matters: cast acrylic of 3 mm may be 3.7 mm thick, which is half of a usual gap.
    A job that breaks it: none can; the number is for the reader.
    One that meets it: any sheet of a known kind whose thickness is stated alone.
    """
    if item.sheet_type is not None and assumes_tolerance(item):
        what = (
            f"the thickness, taken with the tolerance of {item.sheet_type} (a measured maximum is"
            " better),"
        )
        yield check(
            what, measured=thickness_of(item), source=published(TOLERANCES[item.sheet_type].source)
        )


@rule(
    "hold.slip",
    each="media",
    level=Level.REVIEW,
    source=published(
        "Coulomb's law of friction and Newton's second law, any handbook of mechanics"
    ),
    breaks={"media.panel.hold": "none"},
    meets={},
)
def hold_slip(item: Media, printer: Printer, materials: Mapping[str, Material]) -> Iterator[Draft]:
    """On a printer whose bed moves, friction holds the sheet against the acceleration of the bed.

    Friction acts on the weight of the sheet and on what the vacuum presses. Tape, tack and pins
    hold by more than friction and are not judged; where the bed stands still nothing pulls at the
    sheet.

    Why it matters: a sheet that slips by a hair between two passes is spoilt, and nobody sees when.
    A job that breaks it: a sheet that lies loose (friction 0.2 holds 2 m/s2) on a bed that starts
    with 3 m/s2.
    One that meets it: the same sheet under 5 kPa on a tenth of its area.
    """
    if printer.moving_bed is None or item.hold in ("tape", "adhesive", "pins"):
        return
    needs = [] if item.hold == "none" else ["vacuum_pressure", "vacuum_share"]
    density = known_of_sheet(item, materials, "density")
    lacking = [
        f"media.{item.id}.{name}" for name in ("friction", *needs) if getattr(item, name) is None
    ]
    if density is None:
        lacking.append(unsaid_field(item, "density"))
    if item.hold is None:
        lacking.insert(0, f"media.{item.id}.hold")
    if printer.moving_bed.acceleration is None:
        lacking.insert(0, "printer.moving_bed.acceleration")
    if lacking:
        yield missing(lacking[0], "whether the sheet stays where it lies when the bed moves")
        return
    assert isinstance(density, float | int)
    width, height = item.size
    # A figure of the vacuum may be stated though this sheet is not held by it.
    share = 0.0 if item.hold == "none" else item.vacuum_share or 0.0
    pressing = hold.vacuum_force(item.vacuum_pressure or 0.0, share * width * height)
    thickness = thickness_of(item)
    ends = []
    for thick in (thickness.low, thickness.high):
        mass = hold.sheet_mass(width, height, thick, density)
        # A thicker sheet is heavier, so the vacuum adds less to what friction alone withstands.
        ends.append(hold.slip_acceleration(item.friction or 0.0, pressing, mass) / 1000)
    least_hold = (printer.moving_bed.acceleration or 0.0) / 1000
    yield check(
        "the acceleration of the bed at which the sheet slips",
        measured=Interval.between(min(ends), max(ends)),
        least=least_hold,
        unit="m/s2",
        advice="Hold it better: more vacuum on more of its area, an adhesive mat, tape or pins.",
    )


@rule(
    "material.known",
    each="media",
    level=Level.REVIEW,
    source=common_practice("what a sheet is made of is looked up by the name of its material"),
    breaks={"media.panel.material": "acrilic"},
    meets={},
)
def material_known(item: Media, materials: Mapping[str, Material]) -> Iterator[Draft]:
    """Whether the catalogue or a plugin knows the material of the sheet by exactly this name.

    A sheet of an unknown material can be printed, but must state its own expansion, density and
    friction.

    Why it matters: a misspelt name leaves the rules on warmth and hold without a number.
    A job that breaks it: a sheet of `acrilic`.
    One that meets it: a sheet of `acrylic`.
    """
    if item.material is not None:
        unknown = "which no table of materials knows"
        yield known_word("the material", item.material, materials, unknown=unknown)


MATERIAL = RuleSet("material", (material_known,), "What sheets are made of.")
THICKNESS = RuleSet(
    "thickness", (thickness_assumed,), "How thick sheets are when nobody has measured them."
)
HOLD = RuleSet("hold", (hold_slip,), "What holds sheets on a bed that moves.")
