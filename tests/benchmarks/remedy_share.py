"""Prints which share of the broken and doubtful checks of level STOP on jobs near a limit has a remedy that works.

    python tests/benchmarks/remedy_share.py [--jobs 300] [--seed 1] [--write docs/remedies.md]

A remedy counts where its patch, applied to the document by the package jsonpatch and evaluated afresh, meets the check.
"""

from __future__ import annotations

import argparse
import collections
import random
import sys
import time
import warnings
from pathlib import Path

import jsonpatch
from hypothesis import HealthCheck, Phase, given, seed, settings

sys.path.insert(0, str(Path(__file__).parents[1]))

from remedies.near_limits import near_limit_jobs

import signrules
from signrules import Level, Outcome

BAD = (Outcome.BROKEN, Outcome.DOUBTFUL)


def works(job: signrules.Job, check: signrules.Check, remedy: signrules.Remedy) -> bool:
    """Whether a remedy, applied from outside, meets its check."""
    patched = jsonpatch.apply_patch(signrules.job_to_dict(job), [dict(one) for one in remedy.patch])
    after = signrules.evaluate(signrules.job_from_dict(patched))
    alike = [
        other.outcome
        for other in after.checks
        if (other.rule, other.subjects[0], other.source) == (check.rule, check.subjects[0], check.source)
    ]
    return Outcome.MET in alike and not any(outcome in BAD for outcome in alike)


def sampled(count: int, number: int) -> list[signrules.Job]:
    """Jobs from the strategy, the same for the same seed."""
    found: list[signrules.Job] = []

    @seed(number)
    @settings(
        max_examples=count,
        database=None,
        phases=[Phase.generate],
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(near_limit_jobs())
    def collect(job: signrules.Job) -> None:
        found.append(job)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        collect()
    return found


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--missing", action="store_true", help="show the findings without a remedy")
    options = parser.parse_args()
    random.seed(options.seed)
    total, mended, conflicts, resolved, jobs, whole = collections.Counter(), collections.Counter(), 0, 0, 0, 0
    started = time.perf_counter()
    for job in sampled(options.jobs, options.seed):
        jobs += 1
        result = signrules.evaluate(job)
        held = [check for check in result.checks if check.level is Level.STOP and check.outcome in BAD]
        for check in held:
            total[check.rule] += 1
            if any(works(job, check, remedy) for remedy in check.remedies):
                mended[check.rule] += 1
            elif options.missing:
                print("none:", check.outcome.value, check.message)
        if result.conflict is not None:
            conflicts += 1
            resolved += bool(result.conflict_remedies)
            if not result.conflict_remedies and options.missing:
                print("conflict without:", result.conflict.message)
    print("| rule | broken or doubtful | with a remedy that works |")
    print("| --- | --- | --- |")
    for rule in sorted(total):
        print(f"| `{rule}` | {total[rule]} | {mended[rule]} |")
    print(f"| all | {total.total()} | {mended.total()} ({100 * mended.total() / max(total.total(), 1):.1f} %) |")
    print(f"\n{jobs} jobs; no safe order in {conflicts}, of which {resolved} have a remedy.")
    print(f"{time.perf_counter() - started:.0f} s", file=sys.stderr)


if __name__ == "__main__":
    main()
