"""Spot colours turned to greys, so that an ink shows in a rendering whatever its colour."""

from __future__ import annotations

from typing import Any

import pikepdf

from signrules_artwork.pdf.objects import plain_name

MOST_DEPTH = 40
MOST_VISITED = 500_000


def grey_spots(pdf: pikepdf.Pdf) -> None:
    """Gives each Separation and DeviceN the grey of its largest tint, in place."""
    visited = 0
    for start in pdf.objects:
        waiting = [(start, 0)]
        while waiting and visited < MOST_VISITED:
            value, depth = waiting.pop()
            visited += 1
            if isinstance(value, pikepdf.Array) and len(value) >= 4:
                _turn_grey(pdf, value)
            if depth < MOST_DEPTH:
                waiting += [(each, depth + 1) for each in _direct_parts(value)]


def _direct_parts(value: Any) -> list[Any]:
    """What stands within an object itself, not by reference."""
    if isinstance(value, pikepdf.Array):
        parts = list(value)
    elif isinstance(value, pikepdf.Dictionary):
        parts = [each for _, each in value.items()]
    elif isinstance(value, pikepdf.Stream):
        parts = [each for _, each in value.stream_dict.items()]
    else:
        return []
    kinds = (pikepdf.Array, pikepdf.Dictionary)
    return [each for each in parts if isinstance(each, kinds) and not each.is_indirect]


def _turn_grey(pdf: pikepdf.Pdf, space: Any) -> None:
    """Changes a Separation or DeviceN; leaves anything else as it is."""
    family = plain_name(space[0])
    if family == "Separation" and plain_name(space[1]) != "None":
        count = 1
    elif family == "DeviceN" and isinstance(space[1], pikepdf.Array):
        count = len(space[1])
    else:
        return
    program = "{" + " 2 copy lt {exch} if pop" * (count - 1) + " 1 exch sub }"
    transform = pdf.make_stream(
        program.encode(),
        FunctionType=4,
        Domain=pikepdf.Array([0, 1] * count),
        Range=pikepdf.Array([0, 1]),
    )
    space[2] = pikepdf.Name.DeviceGray
    space[3] = transform
