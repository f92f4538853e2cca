"""What goes on where some of the passes that remain are lost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from attrs import frozen

from signrules.continuing.mishaps import with_dependents, without_items
from signrules.evaluation import Evaluation, Judge
from signrules.model.job import Job

MOST_TRIES = 8
"""So many ways of leaving a pass out are tried, each of which is planned anew."""


@frozen(eq=False)
class Rest:
    """A safe order of what remains without some passes. `left_out` are these, with all that lands
    on their ink; `result` is the evaluation without them.
    """

    left_out: tuple[str, ...]
    order: tuple[str, ...]
    result: Evaluation

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {"left_out": list(self.left_out), "order": list(self.order)}


def rest_without(job: Job, done: Sequence[str], lost: Sequence[str], judge: Judge) -> Rest | None:
    """What goes on without passes that are lost: without one of them, else without them all.

    `job` has what is done first. None where nothing safe was found.
    """
    for names in _to_leave_out(job, lost):
        result = judge(without_items(job, names))
        if result.order_is_safe:
            return Rest(names, result.order[len(done) :], result)
    return None


def _to_leave_out(job: Job, lost: Sequence[str]) -> Iterator[tuple[str, ...]]:
    passes = [item.id for item in job.passes if item.id in lost]
    # The last declared first: what is built up from it is the least.
    ways = [tuple(with_dependents(job, [name])) for name in reversed(passes)]
    ways.append(tuple(with_dependents(job, passes)))
    return (way for way in list(dict.fromkeys(ways))[-MOST_TRIES:] if way)
