"""What stands on each sheet when some passes are printed."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from attrs import frozen

from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.physics.heights import Heights
from signrules.plain import rounded_number


@frozen
class InkOnSheet:
    """The highest ink on one side of a sheet, in mm above it; both 0 where nothing is printed."""

    media: str
    side: str
    height: Interval

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        ends = (self.height.low, self.height.nominal, self.height.high)
        return {
            "media": self.media,
            "side": self.side,
            "ink_mm": [rounded_number(end) for end in ends],
        }


def printed_passes(job: Job, done: Collection[str]) -> frozenset[int]:
    """The indices of the passes that are done."""
    return frozenset(pass_index for pass_index, item in enumerate(job.passes) if item.id in done)


def ink_on_sheets(job: Job, done: Collection[str]) -> tuple[InkOnSheet, ...]:
    """The highest ink on each side that the job prints."""
    heights, printed = Heights(job), printed_passes(job, done)
    faces = dict.fromkeys((job.media_of(item).id, item.side) for item in job.passes)
    return tuple(
        InkOnSheet(media, side, heights.build_up(media, side, printed)) for media, side in faces
    )
