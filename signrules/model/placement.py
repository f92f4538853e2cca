"""Where things lie: sheets on the bed and beside each other, areas on their sheet."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping
from heapq import heappop, heappush

from signrules.errors import DocumentFault
from signrules.model.media import Media
from signrules.model.passes import Area
from signrules.model.quantities import GUARD_MM
from signrules.model.wording import shown_value

_MOST_PILED = 50


def within_stretch(start: float, length: float, whole: float) -> bool:
    """Whether a stretch lies inside 0 to `whole`, all in mm, with the guard."""
    return start >= -GUARD_MM and start + length <= whole + GUARD_MM


def off_the_bed(media: Mapping[int, Media], bed: tuple[float, float]) -> Iterator[DocumentFault]:
    """The sheets that reach beyond the bed."""
    for position, sheet in media.items():
        if not all(
            within_stretch(at, size, whole)
            for at, size, whole in zip(sheet.at, sheet.size, bed, strict=True)
        ):
            found = f"{sheet.size[0]:g} x {sheet.size[1]:g} mm at {sheet.at[0]:g}, {sheet.at[1]:g}"
            expected = f"a sheet that lies on the bed of {bed[0]:g} x {bed[1]:g} mm"
            yield DocumentFault(f"media[{position}].at", found, expected)


def off_the_sheet(path: str, areas: tuple[Area, ...], sheet: Media) -> Iterator[DocumentFault]:
    """The areas that reach beyond their sheet."""
    for index, area in enumerate(areas):
        yield from area_off_the_sheet(f"{path}.areas[{index}]", area, sheet)


def area_off_the_sheet(path: str, area: Area, sheet: Media) -> Iterator[DocumentFault]:
    """An area that reaches beyond its sheet."""
    width, height = sheet.size
    if not (
        within_stretch(area.x, area.width, width) and within_stretch(area.y, area.height, height)
    ):
        found = f"[{area.x:g}, {area.y:g}, {area.width:g}, {area.height:g}]"
        expected = f"an area inside the sheet {shown_value(sheet.id)} of {width:g} x {height:g} mm"
        yield DocumentFault(path, found, expected)


def lying_on_each_other(media: Mapping[int, Media]) -> Iterator[DocumentFault]:
    """The sheets of one load that overlap by more than the guard in both directions.

    A sweep along x over those that lie there, sorted by y: fast as long as few overlap. Each sheet
    is named once.
    """
    loads: dict[str, dict[int, Media]] = defaultdict(dict)
    for position, sheet in media.items():
        loads[sheet.load][position] = sheet
    for sheets in loads.values():
        yield from _sweep_for_overlaps(sheets)


def _sweep_for_overlaps(media: Mapping[int, Media]) -> Iterator[DocumentFault]:
    lying: list[tuple[float, float, int]] = []
    ends: list[tuple[float, tuple[float, float, int]]] = []
    piled: list[int] = []
    # `lying` holds sheets that lie beside each other, so only the neighbours along y can meet a new
    # one. A sheet that lies on another would break that, and is kept apart in `piled`.
    for position in sorted(media, key=lambda position: (media[position].at[0], position)):
        sheet = media[position]
        x, y = sheet.at
        while ends and ends[0][0] <= x:
            del lying[bisect_left(lying, heappop(ends)[1])]
        stretch = (y, y + sheet.size[1] - GUARD_MM, position)
        place = bisect_left(lying, stretch)
        beneath = [
            other[2] for other in lying[max(place - 1, 0) : place + 1] if _meet(other, stretch)
        ]
        beneath += [other for other in piled if _overlap(media[other], sheet)]
        if not beneath:
            lying.insert(place, stretch)
            heappush(ends, (x + sheet.size[0] - GUARD_MM, stretch))
            continue
        # Each is compared with every later sheet; so many faults are enough to see what is wrong.
        if len(piled) < _MOST_PILED:
            piled.append(position)
        # The later in the document is the one to move.
        first, second = sorted((beneath[0], position))
        found = f"a sheet that lies on {shown_value(media[first].id)}"
        yield DocumentFault(f"media[{second}].at", found, "sheets of one load beside each other")


def _meet(a: tuple[float, float, int], b: tuple[float, float, int]) -> bool:
    return a[0] < b[1] and b[0] < a[1]


def _overlap(a: Media, b: Media) -> bool:
    return all(
        min(a.at[axis] + a.size[axis], b.at[axis] + b.size[axis]) - max(a.at[axis], b.at[axis])
        > GUARD_MM
        for axis in (0, 1)
    )
