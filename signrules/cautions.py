"""What whoever prints must heed, in one wording for every report, sheet and picture.

The signal words are those of ANSI Z535.4, from memory: WARNING, can kill or injure badly; NOTICE,
not about injury. What the cautions say is common practice, no published source.
"""

from __future__ import annotations

from attrs import frozen


@frozen
class Caution:
    """A signal word, what it is about, and what it says."""

    signal: str
    about: str
    says: str

    def __str__(self) -> str:
        return f"{self.signal}: {self.about}. {self.says}"


CAUTIONS = (
    Caution(
        "WARNING",
        "Moving carriage",
        "It crushes and does not stop for fingers. Stop the machine so that it cannot start "
        "before hands go to the bed. A pass order is no guard and no interlock.",
    ),
    Caution(
        "WARNING",
        "UV light",
        "It harms eyes and skin. Keep shields closed. Do not look at lamps or their reflections.",
    ),
    Caution(
        "WARNING",
        "Uncured ink",
        "It can cause a permanent skin allergy. Wear nitrile gloves and touch nothing that is "
        "not fully cured. Ventilate, so that nobody breathes mist or fumes.",
    ),
    Caution(
        "NOTICE",
        "Accessibility",
        "A dimension check is not a certification. The authority having jurisdiction decides.",
    ),
    Caution(
        "NOTICE",
        "Before all else",
        "Local codes, the machine's manual, the ink's safety data sheet and licensed practice come"
        " first.",
    ),
)
