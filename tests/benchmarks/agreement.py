"""The planner against the brute force of tests/reference.py on random jobs: `python
tests/benchmarks/agreement.py`.

Jobs come from the strategies of the tests, with up to six passes: some with every gap stated, some
that may leave gaps open. It prints how many agree, and any job that does not.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from attrs import evolve
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from reference import BruteForce
from strategies import jobs

from signrules.model import Job, Spacers
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.planner import plan_job

STEPS = 5_000
"""States of the brute force at the most; jobs that have more are left out, and counted."""


class TooMany(Exception):
    """The brute force has more states than it may open."""


class Bounded(BruteForce):
    """A brute force that gives up, instead of taking hours over one job."""

    def _step(self, *arguments: object) -> None:
        if len(self.seen) > STEPS:
            raise TooMany
        super()._step(*arguments)


def differs(job: Job) -> str | None:
    """What the planner says otherwise than the brute force; None where they agree."""
    expected, outcome = Bounded(job).run(), plan_job(Machine(Heights(job)))
    if expected is None:
        if outcome.plan is not None:
            return "a plan where no order is safe"
        return (
            None
            if outcome.conflict is not None and outcome.conflict.proven
            else "a conflict that is not proven"
        )
    plan = outcome.plan
    if plan is None:
        return "a conflict where there is a safe order"
    weight = plan.setup_minutes
    if weight is None:
        weight = plan.timeline.gap_settings + len(plan.timeline.new_alignments)
    if not plan.optimal:
        return "a plan that is not proven"
    if plan.loads != expected[0] or abs(weight - expected[1]) > 1e-6:
        return f"a cost of {plan.loads, weight}, not {expected}"
    return None


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--stated", type=int, default=1_200, help="how many jobs with every gap stated"
    )
    parser.add_argument(
        "--open", type=int, default=800, help="how many jobs that may leave gaps open"
    )
    parser.add_argument(
        "--passes", type=int, default=6, help="the most passes of a job with open gaps"
    )
    parser.add_argument("--seed", type=int, default=20261125)
    chosen = parser.parse_args(arguments)
    counts: Counter[str] = Counter()
    plain = {
        "deadline": None,
        "database": None,
        "phases": [Phase.generate],
        "suppress_health_check": list(HealthCheck),
    }
    spacers = st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=2, unique=True)

    def compare(kind: str, job: Job) -> None:
        try:
            said = differs(job)
        except TooMany:
            counts[f"{kind}, too large"] += 1
            return
        counts[kind] += 1
        counts[f"{kind}, of {len(job.passes)} passes"] += 1
        if counts[kind] % 200 == 0:
            print(f"{kind}: {counts[kind]} so far", flush=True)
        if said is not None:
            counts[f"{kind}, mismatches"] += 1
            print(f"MISMATCH ({kind}): {said}\n{job!r}", flush=True)

    @settings(max_examples=max(chosen.stated, 1), **plain)
    @seed(chosen.seed)
    @given(jobs(stated_gaps_only=True, max_passes=6, signs=False, sides=("front", "back")))
    def stated(job: Job) -> None:
        compare("stated gaps", job)

    @settings(max_examples=max(chosen.open, 1), **plain)
    @seed(chosen.seed + 1)
    @given(jobs(max_passes=chosen.passes, signs=False), spacers)
    def open_gaps(job: Job, found: list[float]) -> None:
        compare("open gaps", evolve(job, printer=evolve(job.printer, gap=Spacers(tuple(found)))))

    for kind, run in (("stated gaps", stated), ("open gaps", open_gaps)):
        if chosen.stated if run is stated else chosen.open:
            run()
        sizes = ", ".join(f"{size}: {counts[f'{kind}, of {size} passes']}" for size in range(1, 7))
        print(
            f"{kind}: {counts[kind]} jobs, {counts[f'{kind}, mismatches']} mismatches; jobs by"
            f" passes: {sizes}; too large for the brute force: {counts[f'{kind}, too large']}",
            flush=True,
        )
    return 1 if any(key.endswith("mismatches") for key in counts) else 0


if __name__ == "__main__":
    sys.exit(main())
