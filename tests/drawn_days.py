"""Invented days of work, and what they take by the plain way: each job evaluated after the other.

Nothing here is shared with the code under test but `signrules.evaluate` and what its plans say.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import permutations
from typing import Any

from attrs import evolve, frozen
from hypothesis import strategies as st
from scenario import sign_job
from strategies import jobs, printers

from signrules import Alignment, Evaluation, Job, evaluate, job_from_dict

TODAY = datetime.date(2027, 3, 1)


def flat_job(*extras: float, **changes: Any) -> dict[str, Any]:
    """Passes of colour on a whole sheet, one after the other, at extras in mm over the sheet."""
    passes: list[dict[str, Any]] = []
    for number, extra in enumerate(extras):
        item = {"id": f"colour-{number}", "ink": "black", "gap": {"extra": extra, "above": "media"}}
        if passes:
            item["after"] = [passes[-1]["id"]]
        passes.append(item)
    return sign_job(**({"signs": [], "passes": passes} | changes))


@frozen
class Took:
    """What a job took in its place: bed loads, gap settings and new alignments."""

    loads: int
    settings: int
    alignments: int

    def minutes(self, load: float, gap: float, alignment: float) -> float:
        return self.loads * load + self.settings * gap + self.alignments * alignment


def heights_set(result: Evaluation) -> list[float]:
    """How high the head stands above the bed at each print of the plan, in its order."""
    assert result.plan is not None
    prints = [step for step in result.plan.steps if step.kind == "print"]
    return [step.printing.plane.height.nominal for step in prints]


@frozen
class Alone:
    """What a job takes with the alignments that are on record, as its plan says."""

    is_safe: bool
    is_proven: bool = False
    cost: tuple[int, float] = (0, 0.0)
    settings: int = 0
    aligned: tuple[float, ...] = ()
    first_height: float = 0.0
    last_height: float = 0.0


@lru_cache(maxsize=4096)
def judged(job: Job) -> Alone:
    """A job evaluated; the same jobs come again in many orders."""
    result = evaluate(job, today=TODAY, audited=False)
    if not result.order_is_safe:
        return Alone(is_safe=False)
    heights = heights_set(result)
    return Alone(
        True,
        result.plan.optimal,
        result.plan.cost,
        paid_settings(result),
        tuple(step.extra for step in result.plan.steps if step.kind == "align"),
        heights[0],
        heights[-1],
    )


def in_a_row(day: Iterable[Job]) -> list[Took]:
    """What jobs of one printer take in their order, those without a safe order left out."""
    made: set[float] = set()
    stands: float | None = None
    found = []
    for job in day:
        known = {one.extra for one in job.usable_alignments}
        further = tuple(Alignment(extra, TODAY) for extra in sorted(made - known))
        took = judged(evolve(job, alignments=(*job.alignments, *further)))
        if not took.is_proven:
            took = min((took, judged(job)), key=lambda one: (not one.is_safe, one.cost))
        if not took.is_safe:
            continue
        kept = stands is not None and abs(stands - took.first_height) < 1e-6
        found.append(Took(took.cost[0], took.settings - kept, len(took.aligned)))
        made.update(took.aligned)
        stands = took.last_height
    return found


def paid_settings(result: Evaluation) -> int:
    """How often the head is brought to another height, counted from the prints."""
    count, before = 0, None
    for height in heights_set(result):
        count += before is None or abs(height - before) > 1e-6
        before = height
    return count


def cost_in_a_row(day: Sequence[Job]) -> tuple[int, float]:
    """Bed loads, and minutes; settings and alignments where the printer does not state them."""
    took = in_a_row(day)
    minutes = day[0].printer.minutes
    each = (minutes.load, minutes.gap, minutes.alignment)
    if None in each:
        each = (0, 1, 1)
    return sum(one.loads for one in took), sum(one.minutes(*each) for one in took)


def least_of_all_orders(day: Sequence[Job]) -> tuple[int, float]:
    """The cheapest of all orders, each evaluated in full."""
    return min(cost_in_a_row(order) for order in permutations(day))


@st.composite
def days(draw: st.DrawFn, most: int = 4) -> list[Job]:
    """Jobs of one printer: flat ones that share heights, and whatever the testing kit draws."""
    printer = draw(printers())
    some = st.one_of(_flat_jobs(), _drawn_jobs(printer))
    return [evolve(job, printer=printer) for job in draw(st.lists(some, min_size=1, max_size=most))]


def _drawn_jobs(printer: Any) -> st.SearchStrategy[Job]:
    return jobs(max_passes=3, max_media=2, max_inks=2, handling=False, signs=False, printer=printer)


def _flat_jobs() -> st.SearchStrategy[Job]:
    extras = st.lists(st.sampled_from([0, 0.5, 1, 1.5]), min_size=1, max_size=3)
    return extras.map(lambda found: job_from_dict(_on_small_bed(flat_job(*found))))


def _on_small_bed(document: dict[str, Any]) -> dict[str, Any]:
    document["media"][0] |= {"size": [100, 100], "at": [10, 10]}
    return document
