"""What a planner returns: a plan with its steps and cost, or a conflict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from attrs import frozen

from signrules.cautions import CAUTIONS
from signrules.errors import SignrulesError
from signrules.model.wording import counted_things, number_text
from signrules.notebook_tables import notebook_html
from signrules.physics.timeline import Step, Timeline


@frozen(eq=False)
class Plan:
    """An order of all passes and handling with its set-up.

    `cost` and `least` are pairs of bed loads and set-up minutes: what the plan costs, and what any
    safe order costs at the least (None for a judged sequence where no order is safe). Where the
    printer does not state all three of its minutes (`in_minutes` is False) each gap setting and
    each new alignment weighs one instead. `optimal` is True only where it is proven that no safe
    order costs less. `judged` marks the replay of a sequence that the job brought along; `best`
    is then the best plan, if there is one. `refusal` is the verdict of an evaluation whose job is
    not to be printed, and empty else: whoever is shown the plan is told that first.
    """

    timeline: Timeline
    cost: tuple[int, float]
    least: tuple[int, float] | None
    optimal: bool
    in_minutes: bool
    judged: bool = False
    best: Plan | None = None
    refusal: str = ""

    @property
    def loads(self) -> int:
        """How many bed loads, reloads and flips it takes."""
        return self.cost[0]

    @property
    def setup_minutes(self) -> float | None:
        """Minutes of set-up; None where the printer does not state all of its own."""
        return self.cost[1] if self.in_minutes else None

    @property
    def bound(self) -> tuple[int, float | None] | None:
        """Bed loads and set-up minutes that any safe order costs at the least.

        None where there is no safe order.
        """
        if self.least is None:
            return None
        loads, weight = self.least
        if not self.in_minutes:
            return loads, None
        return loads, weight

    @property
    def order(self) -> tuple[str, ...]:
        """The ids of passes and handling in order."""
        items = self.timeline.machine.items
        return tuple(items[item_index].id for item_index in self.timeline.order)

    @property
    def steps(self) -> tuple[Step, ...]:
        """What the operator does: alignments on scrap first, then loads, gaps, prints, handling."""
        # Before any load: an alignment is printed on scrap, which lies where the sheets are to lie.
        aligns = (Step("align", extra=extra) for extra in self.timeline.new_alignments)
        return (*aligns, *self.timeline.steps)

    def records(self) -> list[dict[str, Any]]:
        """A flat record for each step, for tables of data; lengths in mm."""
        return [self._step_record(number, step) for number, step in enumerate(self.steps, start=1)]

    def _step_record(self, number: int, step: Step) -> dict[str, Any]:
        printing = step.printing
        printed = printing if step.kind == "print" else None
        least, most = (None, None) if printed is None else printed.throw.span
        does, handled = self._handling_of(step)
        return {
            "step": number,
            "kind": step.kind,
            "subject": step.subject,
            "does": does,
            "extra_mm": step.extra,
            "above": step.above,
            "media": step.media or handled,
            "head_mm": None if printing is None else printing.plane.height.nominal,
            "least_clearance_mm": None if printed is None else printed.clearance.low,
            "least_throw_mm": least,
            "most_throw_mm": most,
        }

    def _handling_of(self, step: Step) -> tuple[str | None, str | None]:
        """What a step of handling does, in words, and to which sheet; None for other steps."""
        if step.kind != "handle":
            return None, None
        job = self.timeline.machine.job
        item = job.handling_named(step.subject)
        sheet = job.media_of(item).id if job.kind_of(item).on_sheet else None
        return job.handling_words(item), sheet

    def __repr__(self) -> str:
        refusal = f"{self.refusal}; " if self.refusal else ""
        return f"<Plan: {refusal}{', '.join(self._terms())}>"

    def _terms(self) -> list[str]:
        """What it costs and how good it is, in words."""
        terms = [counted_things(self.loads, "bed load")]
        if self.setup_minutes is not None:
            terms.append(f"{number_text(self.setup_minutes)} minutes of set-up")
        if self.judged:
            return [*terms, "the sequence as given"]
        return [*terms, "none cheaper" if self.optimal else "the cheapest found"]

    def _repr_html_(self) -> str:
        """What a notebook shows: whether it is not to be printed, the steps, the cautions."""
        terms = ", ".join(self._terms())
        rows = [
            _shown_step(record, step)
            for record, step in zip(self.records(), self.steps, strict=True)
        ]
        return notebook_html(
            "Plan",
            self.refusal or terms,
            [terms, "Lengths in mm."] if self.refusal else ["Lengths in mm."],
            [(_SHOWN_COLUMNS, rows), (("cautions",), [(str(each),) for each in CAUTIONS])],
        )


@frozen
class Conflict:
    """Why there is no safe order.

    `subjects` are the passes and handling that cannot live together, as paths into the job;
    `reasons` says for each what stands against printing it after the others. `proven` says
    whether it is proven that no order is safe: False where the search gave up before it had tried
    everything. `smallest` says whether it is proven that none of the subjects can be left out:
    leave any one out and there is an order.
    """

    subjects: tuple[str, ...]
    reasons: tuple[str, ...]
    message: str
    proven: bool = True
    smallest: bool = False

    def _repr_html_(self) -> str:
        """What a notebook shows: what cannot live together, and why."""
        return notebook_html(
            "Conflict", "" if self.proven else "not all were tried", [self.message]
        )


_SHOWN_LENGTHS = {
    "extra_mm": "extra",
    "head_mm": "head at",
    "least_clearance_mm": "least clearance",
    "most_throw_mm": "most throw",
}
"""The keys of a record that a notebook shows as lengths, each with the heading of its column."""

_SHOWN_COLUMNS = ("step", "kind", "what", *_SHOWN_LENGTHS.values())


def _shown_step(record: Mapping[str, Any], step: Step) -> list[object]:
    """A row of the table in a notebook; a gap says over what it is set, handling what is done."""
    lengths = (record[key] for key in _SHOWN_LENGTHS)
    cells = ["" if length is None else number_text(length) for length in lengths]
    what = step.gap_place or step.subject
    if record["does"] is not None:
        what = f"{step.subject}: {record['does']}"
    return [record["step"], step.kind, what, *cells]


class NoSafeOrder(SignrulesError):
    """No order of the passes is safe, or none could be called safe; `conflict` says why."""

    def __init__(self, conflict: Conflict) -> None:
        self.conflict = conflict
        super().__init__(conflict)

    def __str__(self) -> str:
        return self.conflict.message
