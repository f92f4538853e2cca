"""Colour spaces of PDF, as far as they say which colorant inks how much.

ISO 32000-1, 8.6 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pikepdf
from attrs import frozen

from signrules_artwork.faults import Reading
from signrules_artwork.painted import Ink
from signrules_artwork.pdf.objects import number_of, plain_name

LEAST_TINT = 0.002
"""A smaller tint inks nothing: half a step of 8 bits."""

PALEST_COLOUR = 0.02
"""A paler colour of a screen could not be told from white."""

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
RGB_COLORANT = "RGB"
"""The name for what is drawn in red, green and blue, which no ink is."""

EVERY_COLORANT = "All"
NO_COLORANT = "None"
MOST_NESTED_SPACES = 8


@frozen
class ColourSpace:
    """A colour space: how many components it has, its first colour, and what they ink.

    `inks` gives tints by colorant for components. `draws` is False for a space of the colorant
    None, which leaves no mark at all. `shows` says that it holds colours of a screen, which stand
    for an ink and say nothing of how much of it there is: however pale, they are solid.
    """

    name: str
    start: tuple[float, ...]
    inks: Callable[[Sequence[float]], dict[str, float]]
    draws: bool = True
    shows: bool = False

    def ink(self, components: Sequence[float]) -> Ink | None:
        """What components ink; None for no mark at all."""
        if not self.draws:
            return None
        given = [*components[: len(self.start)], *self.start[len(components) :]]
        tints = {name: min(tint, 1.0) for name, tint in self.inks(given).items()}
        if self.shows:
            tints = {name: 1.0 if tint > PALEST_COLOUR else tint for name, tint in tints.items()}
        return Ink({name: tint for name, tint in tints.items() if tint > LEAST_TINT})


GRAY = ColourSpace("Gray", (0.0,), lambda c: {"Black": 1 - c[0]})
RGB = ColourSpace("RGB", (0.0, 0.0, 0.0), lambda c: {RGB_COLORANT: 1 - min(c)}, shows=True)
CMYK = ColourSpace("CMYK", (0.0, 0.0, 0.0, 1.0), lambda c: dict(zip(PROCESS, c, strict=True)))
LAB = ColourSpace("Lab", (0.0, 0.0, 0.0), lambda c: {RGB_COLORANT: 1 - c[0] / 100}, shows=True)
PATTERN = ColourSpace("Pattern", (), lambda c: {"Pattern": 1.0})

_BY_NAME = {
    "DeviceGray": GRAY,
    "G": GRAY,
    "CalGray": GRAY,
    "DeviceRGB": RGB,
    "RGB": RGB,
    "CalRGB": RGB,
    "DeviceCMYK": CMYK,
    "CMYK": CMYK,
    "Lab": LAB,
    "Pattern": PATTERN,
}
_BY_COMPONENTS = {1: GRAY, 3: RGB, 4: CMYK}


def colour_space(value: Any, named: Any, reading: Reading, depth: int = 0) -> ColourSpace:
    """The colour space that a value stands for; `named` are those of the resources."""
    if depth > MOST_NESTED_SPACES:
        reading.note("colour spaces nest too deeply: taken as black")
        return GRAY
    if isinstance(value, pikepdf.Name):
        given = named.get(value) if isinstance(named, pikepdf.Dictionary) else None
        if given is not None and given != value:
            return colour_space(given, None, reading, depth + 1)
        return _by_family(plain_name(value), [], reading, depth)
    if isinstance(value, pikepdf.Array) and len(value) > 0:
        return _by_family(plain_name(value[0]), list(value)[1:], reading, depth)
    reading.note("a colour space that is none: taken as black")
    return GRAY


def _by_family(family: str, rest: list[Any], reading: Reading, depth: int) -> ColourSpace:
    if family == "Separation" and rest:
        return _spot_space([plain_name(rest[0])])
    if family == "DeviceN" and rest and isinstance(rest[0], pikepdf.Array):
        return _spot_space([plain_name(name) for name in rest[0]])
    if family == "ICCBased" and rest and isinstance(rest[0], pikepdf.Stream):
        return _BY_COMPONENTS.get(int(number_of(rest[0].get("/N"), 3)), RGB)
    if family in {"Indexed", "I"} and len(rest) == 3:
        base = colour_space(rest[0], None, reading, depth + 1)
        return _indexed_space(base, rest[2])
    if family in _BY_NAME:
        return _BY_NAME[family]
    reading.note(f"a colour space of the unknown kind '{family}': taken as black")
    return GRAY


def _spot_space(names: list[str]) -> ColourSpace:
    """Separation and DeviceN: a tint for each colorant; None among them inks nothing."""

    def inks(components: Sequence[float]) -> dict[str, float]:
        pairs = zip(names, components, strict=False)
        return {name: tint for name, tint in pairs if name != NO_COLORANT}

    draws = any(name != NO_COLORANT for name in names)
    return ColourSpace("spot", (1.0,) * len(names), inks, draws)


def _indexed_space(base: ColourSpace, table: Any) -> ColourSpace:
    """A space of numbered colours of another one."""
    data = table.read_bytes() if isinstance(table, pikepdf.Stream) else bytes(table)
    size = max(1, len(base.start))
    scale = 100 / 255 if base is LAB else 1 / 255

    def inks(components: Sequence[float]) -> dict[str, float]:
        at = max(0, int(components[0])) * size
        entry = data[at : at + size].ljust(size, b"\0")
        return base.inks([byte * scale for byte in entry])

    return ColourSpace("Indexed", (0.0,), inks, base.draws, base.shows)
