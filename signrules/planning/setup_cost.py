"""What a plan costs: bed loads first, then set-up minutes."""

from __future__ import annotations

from attrs import frozen

from signrules.model.printer import Minutes
from signrules.physics.timeline import Timeline

Cost = tuple[int, float]
"""Bed loads and weight: minutes of set-up, or settings and alignments where the printer states no
minutes.
"""


@frozen
class Costs:
    """Set-up minutes from counts, so that sums do not depend on how they were made."""

    load: float
    gap: float
    alignment: float
    stated: bool

    @classmethod
    def of(cls, minutes: Minutes) -> Costs:
        """The printer's own figures; if one is missing, each setting and alignment weighs one."""
        # All or none: two stated figures beside a made-up one would weigh minutes against counts.
        if minutes.load is None or minutes.gap is None or minutes.alignment is None:
            return cls(0.0, 1.0, 1.0, stated=False)
        return cls(minutes.load, minutes.gap, minutes.alignment, stated=True)

    def weight(self, loads: int, gap_settings: int, alignments: int) -> float:
        """Set-up minutes, or settings and alignments counted where minutes are not stated."""
        # Rounded, so that equal set-ups compare as equal however their minutes are written.
        return round(loads * self.load + gap_settings * self.gap + alignments * self.alignment, 9)

    def of_timeline(self, timeline: Timeline) -> Cost:
        """Bed loads and weight of a replay."""
        aligned = len(timeline.new_alignments)
        return timeline.loads, self.weight(timeline.loads, timeline.gap_settings, aligned)
