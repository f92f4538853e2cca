"""What is to be done about dots that were measured on the half-printed sheet."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Sequence
from typing import Any

from attrs import evolve, field, frozen

from signrules.continuing.added_layers import Added, added_layers, printing_of
from signrules.continuing.measured_now import (
    DotRange,
    dot_range,
    layer_measured,
    printed_builders,
    shop_figure,
)
from signrules.continuing.more_layers import more_layers
from signrules.evaluation import Judge
from signrules.measuring.shop_lines import StatedLine
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.wording import counted_things, joined_names, number_text
from signrules.plain import ends_of_interval, rounded_number
from signrules.rules.check_messages import quantity_text
from signrules.standards.dimension_tables import Standard

FINE, MORE, SCRAP, UNLIMITED = "fine", "more layers", "scrap", "no limit"
"""What may come of measured dots."""

MOVED = "the sheet was moved and is not put back in register."


@frozen(eq=False)
class DotsAnswer:
    """What is to be done about the measured dots of a sign. Heights in mm.

    `says` is one of FINE, MORE, SCRAP and UNLIMITED. `layers` are those that were printed, `layer`
    what each has added. `add` is how many more bring every dot within the range, None where no
    number does; `added` is how they are printed, None where they are not. `why_not` says why layers
    that would do cannot be printed. `line` is the figure for the shop file, None where the dots are
    of several inks.
    """

    sign: str
    says: str
    heights: tuple[float, ...]
    limits: DotRange
    layers: int
    layer: Interval
    add: int | None
    added: Added | None = field(default=None, repr=False)
    why_not: tuple[str, ...] = ()
    line: StatedLine | None = None

    def __str__(self) -> str:
        measured = quantity_text(self._span(), "mm")
        return f"{self.sign}: dots of {measured}, {_range_text(self.limits)}: {self._advice()}"

    def _advice(self) -> str:
        if self.says == UNLIMITED:
            return "no table of the job limits them."
        if self.says == FINE:
            return "in order."
        if self.says == SCRAP:
            return f"scrap. {self._why_scrap()}".strip()
        count = self.add or 0
        # The lowest dot with the thinnest layers, the highest with the thickest.
        low = min(self.heights) + count * self.layer.low
        high = max(self.heights) + count * self.layer.high
        span = quantity_text(Interval.between(low, high), "mm")
        return f"{counted_things(count, 'more layer')}, which make {span}, on the sheet as it lies."

    def _span(self) -> Interval:
        """The heights as they were measured, from the lowest dot to the highest."""
        return Interval.between(min(self.heights), max(self.heights))

    def _why_scrap(self) -> str:
        if self.why_not:
            wanted = counted_things(self.add or 0, "more layer")
            return f"{wanted} would do and cannot be printed: {' '.join(self.why_not)}"
        if max(self.heights) > self.limits.most:
            over = number_text(max(self.heights) - self.limits.most)
            return f"The highest is too high by {over} mm; no printing takes ink away."
        return "No whole number of layers brings all of them within the range."

    def ways(self) -> tuple[str, ...]:
        """How the further layers are printed and what else that changes, a sentence each."""
        if self.added is None or self.says != MORE:
            return ()
        added = self.added
        clearance = quantity_text(printing_of(added).clearance, "mm")
        ways = [
            f"Print them as a pass of their own, {added.item.id}, at the gap and by the alignment"
            " of its step below; do not move the sheet but as the steps say.",
            f"The head then clears by {clearance}.",
        ]
        if added.item.directions == 2:
            ways.append(f"It prints two-way, {_alignment_text(added)}.")
        if added.covers:
            names = joined_names(added.covers)
            ways.append(f"They cover {names}, which is printed already: look at the result.")
        if added.followers:
            ways.append(f"{joined_names(added.followers)} lands on the higher dots afterwards.")
        ways.append("Measure again once they are cured.")
        return tuple(ways)

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "sign": self.sign,
            "says": self.says,
            "heights_mm": [rounded_number(height) for height in self.heights],
            "limits_mm": [_finite(self.limits.least), _finite(self.limits.most)],
            "sources": list(self.limits.sources),
            "layers": self.layers,
            "layer_mm": ends_of_interval(self.layer),
            "more_layers": self.add,
            "pass": None if self.added is None else self.added.item.id,
            "covers": [] if self.added is None else list(self.added.covers),
            "followers": [] if self.added is None else list(self.added.followers),
            "why_not": list(self.why_not),
            "shop_line": None if self.line is None else str(self.line),
            "text": str(self),
        }


def _alignment_text(added: Added) -> str:
    """By which alignment the further layers are printed."""
    alignment = added.result.timeline.serving_alignment(printing_of(added))
    if alignment is None:
        return "and nobody knows by which alignment"
    return f"by the alignment at an extra of {number_text(alignment)} mm"


def _finite(end: float) -> float | None:
    return rounded_number(end) if math.isfinite(end) else None


def _range_text(limits: DotRange) -> str:
    if not limits.sources:
        return "no range"
    ends = {"at least": limits.least, "at most": limits.most}
    shown = [f"{word} {number_text(end, 4)} mm" for word, end in ends.items() if math.isfinite(end)]
    return f"{' and '.join(shown)} ({'; '.join(limits.sources)})"


def dots_answer(
    job: Job,
    job_now: Job,
    *,
    done: Sequence[str],
    sign: str,
    heights: Sequence[float],
    standards: Iterable[Standard],
    judge: Judge,
    day: datetime.date,
    may_print: bool = True,
) -> DotsAnswer:
    """What is to be done about the dots of a sign.

    `job` is the job as it was stated, `job_now` as it stands, its dots as they were measured.
    `may_print` is False where nothing more can be printed on the sheet in register.
    """
    limits = dot_range(job.sign_named(sign), standards)
    layer = layer_measured(job, done, sign, heights)
    count = more_layers(min(heights), max(heights), limits.least, limits.most, layer)
    answer = DotsAnswer(
        sign=sign,
        says=_verdict_on_dots(limits, count),
        heights=tuple(float(height) for height in heights),
        limits=limits,
        layers=sum(item.layers for item in printed_builders(job, done, sign)),
        layer=layer,
        add=count,
        line=shop_figure(job, done, sign, heights, day),
    )
    if answer.says != MORE or count is None:
        return answer
    if not may_print:
        return evolve(answer, says=SCRAP, why_not=(MOVED,))
    return _with_way(answer, added_layers(job_now, done, sign, count, judge))


def _verdict_on_dots(limits: DotRange, count: int | None) -> str:
    """What dots are that take so many more layers, None where no number brings them into range."""
    if not limits.sources:
        return UNLIMITED
    if count is None:
        return SCRAP
    return MORE if count else FINE


def _with_way(answer: DotsAnswer, added: Added | None) -> DotsAnswer:
    """The answer with the way in which its layers are printed, or with what forbids it."""
    if added is None:
        return evolve(answer, says=SCRAP, why_not=("no pass has as many layers.",))
    if added.why_not:
        return evolve(answer, says=SCRAP, why_not=added.why_not)
    return evolve(answer, added=added)
