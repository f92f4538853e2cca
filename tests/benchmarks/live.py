"""One thing changed in a job of many passes: evaluated live beside a fresh evaluation, in one run;
ratios printed.

python tests/benchmarks/live.py [PASSES]
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from attrs import evolve
from benchmarks.cases import rows_of_signs

from signrules import Live, Sign, evaluate
from signrules.model import Braille, Interval, Job, Raised

SIGNS = 200
TIMES = 5


def with_signs(job: Job) -> Job:
    """The same job with signs of which most is stated."""
    braille = Braille(dot_diameter=Interval.exact(1.55), dot_spacing=Interval.exact(2.4))
    raised = Raised(height=Interval.exact(25), stroke=Interval.exact(3))
    made = tuple(
        Sign(f"room-{n}", kind="permanent-room", braille=braille, raised=raised)
        for n in range(SIGNS)
    )
    return evolve(job, signs=made, standards=("us-ada-2010",))


def edits(job: Job) -> dict[str, Job]:
    """What an editor might do next."""
    sign, item = job.signs[0], job.passes[len(job.passes) // 2]

    def with_pass(**changes: object) -> Job:
        return evolve(
            job, passes=tuple(evolve(p, **changes) if p is item else p for p in job.passes)
        )

    return {
        "nothing": job,
        "the name": evolve(job, name="another name"),
        "a number of one sign": evolve(
            job, signs=(evolve(sign, kind="directional"), *job.signs[1:])
        ),
        "the layers of one pass": with_pass(layers=item.layers + 1),
        "the gap of one pass": with_pass(gap=evolve(item.gap, extra=Interval.exact(2.0))),
    }


def seconds_of(call) -> float:
    """Processor seconds, the least of some runs."""
    found = []
    for _ in range(TIMES):
        start = time.process_time()
        call()
        found.append(time.process_time() - start)
    return min(found)


def main(passes: int) -> None:
    """Print a line for each edit."""
    job = with_signs(rows_of_signs(passes, 4, 1))
    live = Live()
    live.evaluate(job)
    print(
        f"{len(job.passes)} passes, {len(job.signs)} signs; processor seconds, the least of"
        f" {TIMES}\n"
    )
    print("| changed | fresh | live | times faster |\n| --- | ---: | ---: | ---: |")
    for name, other in edits(job).items():
        fresh = seconds_of(lambda other=other: evaluate(other))
        again = seconds_of(lambda other=other: live._fork().evaluate(other))
        assert live._fork().evaluate(other).to_dict(remedies=False) == evaluate(other).to_dict(
            remedies=False
        )
        print(f"| {name} | {fresh:.3f} | {again:.4f} | {fresh / again:.0f} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
