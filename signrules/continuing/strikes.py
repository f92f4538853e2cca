"""After a head strike: what must be aligned anew, and whether the bed has room for that."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

from attrs import frozen

from signrules.continuing.mishaps import load_now, loose_sheets
from signrules.continuing.standing_now import printed_passes
from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import SIDES
from signrules.model.wording import joined_names, number_text
from signrules.physics.heights import Heights
from signrules.plain import rounded_number

LEAST_SCRAP_MM = 50.0
"""The least side of a piece of scrap to align on: common practice, no published source."""

MOST_SHEETS = 60
"""More sheets on a bed leave no room worth looking for between them."""


@frozen
class StrikeAnswer:
    """What a head strike asks for before the job goes on.

    `firm` and `loose` are the sheets on the bed that it cannot and that it may have shifted.
    `alignments` must be made anew, as extras in mm over bare scrap. `room` is the largest free
    rectangle of the bed in mm. `too_low` are those of the alignments at which the head would hit
    the ink that stands, or come too near, above scrap as thick as the thinnest sheet on the bed.
    `put_back` says that the sheets come off and are put back in register in any case.
    """

    firm: tuple[str, ...]
    loose: tuple[str, ...]
    alignments: tuple[float, ...]
    room: tuple[float, float]
    too_low: tuple[float, ...] = ()
    put_back: bool = False

    @property
    def has_room(self) -> bool:
        """Whether scrap to align on goes beside the sheets."""
        return min(self.room) >= LEAST_SCRAP_MM

    def lines(self) -> tuple[str, ...]:
        """What to do, a sentence or two each."""
        return tuple(self._lines())

    def _lines(self) -> Iterator[str]:
        yield (
            "Stop the machine so that it cannot start before hands go to the bed. Look at heads,"
            " nozzles and lamp shields as the machine's manual says; uncured ink may lie about."
        )
        if self.loose:
            yield f"{joined_names(self.loose)}: may have shifted, and counts as moved."
        if self.firm:
            yield f"{joined_names(self.firm)}: held firmly; measure whether it lies as it lay."
        yield "The heads may have moved: no alignment on record holds, and the gap is set anew."
        if not self.alignments:
            return
        extras = joined_names([f"{number_text(extra)} mm" for extra in self.alignments])
        yield f"Align both directions anew on flat scrap, with an extra of {extras}."
        if self.put_back:
            yield "Do so while the sheets are off the bed, before they are put back."
            return
        width, height = (number_text(side) for side in self.room)
        if self.has_room:
            yield f"Leave the sheets where they lie: {width} x {height} mm of the bed are free."
        else:
            yield (
                f"The bed has no room for scrap (at most {width} x {height} mm are free), and the"
                " sheets must not be moved: align only if they can be put back in register, or"
                " print what remains one-way, which needs no alignment."
            )
        if self.too_low:
            extras = joined_names([f"{number_text(extra)} mm" for extra in self.too_low])
            yield (
                f"With an extra of {extras} the head does not clear the ink on the sheets: raise"
                " scrap and head alike, or keep the scrap where the head passes over no ink."
            )

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "firm": list(self.firm),
            "loose": list(self.loose),
            "alignments_mm": [rounded_number(extra) for extra in self.alignments],
            "room_mm": [rounded_number(side) for side in self.room],
            "has_room": self.has_room,
            "put_back": self.put_back,
            "too_low_mm": [rounded_number(extra) for extra in self.too_low],
            "text": list(self.lines()),
        }


def strike_answer(
    job: Job, done: Sequence[str], alignments: Sequence[float], *, put_back: bool
) -> StrikeAnswer:
    """What a strike asks for after what is done; `alignments` are those that remain to be made.

    `put_back` says that the sheets come off the bed and are put back in register.
    """
    load = load_now(job, done)
    sheets = [sheet for sheet in job.media if sheet.load == load]
    loose = loose_sheets(job, done)
    firm = tuple(sheet.id for sheet in sheets if sheet.id not in loose)
    too_low = tuple(extra for extra in alignments if not _clears(job, done, sheets, extra))
    room = free_room(job, sheets)
    return StrikeAnswer(firm, loose, tuple(alignments), room, too_low, put_back)


def _clears(job: Job, done: Sequence[str], sheets: Sequence[Media], extra: float) -> bool:
    """Whether a head set with an extra over scrap as thick as the thinnest sheet clears all ink."""
    if not sheets:
        return True
    thinnest = min(sheet.thickness.low for sheet in sheets)
    head = thinnest + job.printer.base_gap.low + extra
    heights, printed = Heights(job), printed_passes(job, done)
    tops = [
        sheet.thickness.high + sheet.bow.high + heights.build_up(sheet.id, side, printed).high
        for sheet in sheets
        for side in SIDES
    ]
    return head - max(tops) >= job.printer.min_clearance


def free_room(job: Job, sheets: Sequence[Media]) -> tuple[float, float]:
    """The free rectangle of the bed with the longest shorter side, as width and height in mm.

    With many sheets on the bed it is one beside them all.
    """
    width, height = job.printer.bed
    boxes = [_box_of(sheet) for sheet in sheets]
    if len(boxes) > MOST_SHEETS:
        boxes = [_box_around(boxes)]
    edges = sorted({0.0, height, *(edge for box in boxes for edge in (box[1], box[3]))})
    best = (0.0, 0.0)
    for low, high in combinations(edges, 2):
        inside = sorted(box for box in boxes if box[1] < high and box[3] > low)
        reached = 0.0
        for x0, _, x1, _ in [*inside, (width, low, width, high)]:
            room = (x0 - reached, high - low)
            if min(room) > min(best) or (min(room) == min(best) and max(room) > max(best)):
                best = room
            reached = max(reached, x1)
    return best


Box = tuple[float, float, float, float]
"""The left, lower, right and upper edge of a rectangle on the bed, in mm."""


def _box_of(sheet: Media) -> Box:
    (x, y), (width, height) = sheet.at, sheet.size
    return (x, y, x + width, y + height)


def _box_around(boxes: Sequence[Box]) -> Box:
    left, lower, right, upper = zip(*boxes, strict=True)
    return (min(left), min(lower), max(right), max(upper))
