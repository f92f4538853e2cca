"""What a stock sheet gives: itself, where the bed holds it, else panels of one size."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.model.work_order import TURNED, UPRIGHT

MICROMETRES = 1000
MOST_PARTS = 20
"""A side of a stock sheet is cut into so many parts at the most."""

Size = tuple[int, int]


@frozen
class Panels:
    """The panels that one stock sheet is cut into, in micrometres.

    `size` is that of a panel as it lies on the bed; `cut` says which way it lies on the stock
    sheet, `corners` where the lower left corner of each lies there.
    """

    stock: str
    size: Size
    cut: str
    corners: tuple[Size, ...]


def panels_of(stock: str, sheet: Size, bed: Size, gutter: int) -> Panels | None:
    """The fewest equal panels of a sheet that a bed holds, `gutter` apart; upright ones first.

    None where even the smallest parts do not lie on the bed.
    """
    found = list(_ways_to_cut(sheet, bed, gutter))
    if not found:
        return None
    # Each cut is work and a gutter lost, so few panels go before upright ones.
    across, along, cut = min(found, key=lambda way: (way[0] * way[1], way[2] == TURNED, way))
    width, height = _part(sheet[0], across, gutter), _part(sheet[1], along, gutter)
    corners = tuple(
        (column * (width + gutter), row * (height + gutter))
        for row in range(along)
        for column in range(across)
    )
    size = (height, width) if cut == TURNED else (width, height)
    return Panels(stock, size, cut, corners)


def _ways_to_cut(sheet: Size, bed: Size, gutter: int) -> Iterator[tuple[int, int, str]]:
    """Into how many columns and rows, and which way the parts then lie on the bed."""
    for across in range(1, MOST_PARTS + 1):
        for along in range(1, MOST_PARTS + 1):
            width, height = _part(sheet[0], across, gutter), _part(sheet[1], along, gutter)
            if width <= 0 or height <= 0:
                continue
            if width <= bed[0] and height <= bed[1]:
                yield across, along, UPRIGHT
            if height <= bed[0] and width <= bed[1]:
                yield across, along, TURNED


def _part(side: int, parts: int, gutter: int) -> int:
    return (side - (parts - 1) * gutter) // parts
