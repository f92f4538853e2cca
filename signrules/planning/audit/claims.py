"""Does what a plan says agree with what was found?

NaN, and what is of another kind, agrees with nothing.
"""

from __future__ import annotations

from typing import TypeGuard

from signrules.model.limits import is_number
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.forms import Form
from signrules.physics.heights import HeadPlane, Throw


def is_near(said: object, found: float, guard: float = GUARD_MM) -> bool:
    """Whether a number is said and differs from what was found by no more than the guard."""
    # A comparison with NaN is false, so what is not a number is never near.
    return isinstance(said, int | float) and is_number(said) and abs(said - found) <= guard


def is_mm(said: object) -> TypeGuard[float]:
    """Whether something is a length in mm: stacks may be longer than any figure of a job."""
    return isinstance(said, int | float) and is_number(said)


def agrees_with(said: object, found: object) -> bool:
    """Whether what is said is what was found; lengths to the nanometre."""
    if isinstance(found, Interval):
        return isinstance(said, Interval) and _intervals_agree(said, found)
    if isinstance(found, Throw):
        return (
            isinstance(said, Throw)
            and agrees_with(said.to_highest, found.to_highest)
            and agrees_with(said.to_lowest, found.to_lowest)
        )
    # By type as well: True equals 1, and a plan that counts True gap settings is no sound one.
    return type(said) is type(found) and said == found


def _intervals_agree(said: Interval, found: Interval) -> bool:
    ends = is_near(said.low, found.low) and is_near(said.high, found.high)
    return ends and is_near(said.nominal, found.nominal)


def planes_agree(said: object, found: HeadPlane) -> bool:
    """Whether a head plane is made of the same unknowns, from the same gap over the same sheet."""
    return (
        isinstance(said, HeadPlane)
        and said.media == found.media
        and said.gap == found.gap
        and isinstance(said.forms, tuple)
        and len(said.forms) == len(found.forms)
        and all(map(_forms_agree, said.forms, found.forms))
    )


def _forms_agree(said: object, found: Form) -> bool:
    return isinstance(said, Form) and said.terms == found.terms


def in_words(found: object) -> str:
    """A number or name that was found, as findings show it; lengths in mm."""
    if isinstance(found, Interval):
        return f"{found.low:.6f} to {found.high:.6f} mm, meant to be {found.nominal:.6f} mm"
    if isinstance(found, Throw):
        highest, lowest = in_words(found.to_highest), in_words(found.to_lowest)
        return f"{highest} above the highest and {lowest} above the lowest"
    return str(found)
