"""Light from the lamps that gets past the shields."""

from __future__ import annotations

from signrules.physics.flight import positive_number

UVA_EYE_LIMIT = 10_000.0
"""UV-A that an unprotected eye may take in eight hours, in J/m2: ICNIRP guidelines on ultraviolet
radiation of 180 to 400 nm (2004), second hand."""


def uva_exposure_time(irradiance: float) -> float:
    """Seconds at an irradiance in W/m2 until an unprotected eye has taken its UV-A for eight hours:
    limit / irradiance.

    It says when shields are too open; it is no leave to look at a lamp. Raises ValueError unless it
    is above 0.
    """
    return UVA_EYE_LIMIT / positive_number("irradiance", irradiance, "W/m2")
