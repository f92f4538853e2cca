"""What holds a sheet on the bed, and what a moving bed asks of it.

Masses in kg, forces in N, pressures in Pa, accelerations in mm/s2, lengths in mm.
"""

from __future__ import annotations

from signrules.physics.flight import GRAVITY
from signrules.physics.number_checks import not_negative, positive_number


def sheet_mass(width: float, height: float, thickness: float, density: float) -> float:
    """Mass of a sheet in kg: volume x density, lengths in mm, density in kg/m3.

    Raises ValueError unless above 0.
    """
    volume = (
        positive_number("width", width, "mm")
        * positive_number("height", height, "mm")
        * positive_number("thickness", thickness, "mm")
    )
    return volume * 1e-9 * positive_number("density", density, "kg/m3")


def vacuum_force(pressure: float, area: float) -> float:
    """Force in N of a pressure in Pa below that of the room on an area in mm2.

    Pressure x area: definition of pressure. Only the area counts on which the vacuum really acts:
    holes and grooves, unless a seal or a porous layer spreads it. Raises ValueError for a value
    below 0.
    """
    return not_negative("pressure", pressure, "Pa") * not_negative("area", area, "mm2") * 1e-6


def friction_force(friction: float, pressing: float, mass: float) -> float:
    """The force in N that holds a sheet sideways: friction x (pressing force + weight).

    Coulomb's law of friction. Raises ValueError for a value below 0.
    """
    # The mass presses the sheet down and is what the bed must take along: both count.
    weight = not_negative("mass", mass, "kg") * GRAVITY
    return not_negative("friction", friction, "") * (
        not_negative("pressing", pressing, "N") + weight
    )


def slip_acceleration(friction: float, pressing: float, mass: float) -> float:
    """The acceleration in mm/s2 at which a sheet begins to slip: friction force / mass.

    Newton's second law. Raises ValueError unless the mass is above 0 and the others are at least 0.
    """
    return friction_force(friction, pressing, positive_number("mass", mass, "kg")) / mass * 1000
