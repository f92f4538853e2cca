"""Prints which share of the broken and doubtful checks of level STOP has a remedy that works.

    python tests/benchmarks/remedy_share.py [--jobs 1000] [--seed 1] [--missing] [--write
    docs/remedies.md]

On three kinds of invented jobs: those near a limit of `signrules.testing`; a sound sign of which a
few things are moved (tests/remedies/moved.py); and jobs of any kind (tests/strategies.py), most of
which nobody would print. A remedy counts where its patch, applied to the document by the package
jsonpatch and evaluated afresh, meets the check.
"""

from __future__ import annotations

import argparse
import collections
import sys
import warnings
from pathlib import Path

import jsonpatch
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1]))

from remedies.moved import moved_jobs
from strategies import jobs

import signrules
from signrules import Level, Outcome
from signrules.testing import near_limit_jobs

BAD = (Outcome.BROKEN, Outcome.DOUBTFUL)


def works(job: signrules.Job, check: signrules.Check, remedy: signrules.Remedy) -> bool:
    """Whether a remedy, applied from outside, meets its check."""
    patched = jsonpatch.apply_patch(signrules.job_to_dict(job), [dict(one) for one in remedy.patch])
    after = signrules.evaluate(signrules.job_from_dict(patched))
    alike = [
        other.outcome
        for other in after.checks
        if (other.rule, other.subjects[0], other.source)
        == (check.rule, check.subjects[0], check.source)
    ]
    if not alike and check.rule.startswith("registration."):
        # Nothing lies between the passes any more: then nothing must move the sheet between them.
        alike = [
            other.outcome
            for other in after.checks
            if (other.rule, other.subjects[0]) == ("registration.frame", check.subjects[0])
        ]
    return Outcome.MET in alike and not any(outcome in BAD for outcome in alike)


def sampled(
    strategy: st.SearchStrategy[signrules.Job], count: int, number: int
) -> list[signrules.Job]:
    """Jobs from a strategy, the same for the same seed."""
    found: list[signrules.Job] = []

    @seed(number)
    @settings(
        max_examples=count,
        database=None,
        phases=[Phase.generate],
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(strategy)
    def collect(job: signrules.Job) -> None:
        found.append(job)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        collect()
    return found


class Share:
    """How many findings of a kind of jobs there are, and how many have a remedy."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.total: collections.Counter[str] = collections.Counter()
        self.mended: collections.Counter[str] = collections.Counter()
        self.jobs = self.conflicts = self.resolved = 0

    def take(self, job: signrules.Job, *, missing: bool) -> None:
        """Count one job."""
        self.jobs += 1
        result = signrules.evaluate(job)
        for check in result.checks:
            if check.level is Level.STOP and check.outcome in BAD:
                self.total[check.rule] += 1
                if any(works(job, check, remedy) for remedy in check.remedies):
                    self.mended[check.rule] += 1
                elif missing:
                    print("none:", check.outcome.value, check.message)
        if result.conflict is not None:
            self.conflicts += 1
            self.resolved += bool(result.conflict_remedies)
            if missing and not result.conflict_remedies:
                print("none:", result.conflict.message)

    def row(self) -> str:
        """A row of the table."""
        total, mended = self.total.total(), self.mended.total()
        share = f"{100 * mended / total:.1f} %" if total else "none"
        lacking = ", ".join(
            f"`{rule}` {self.total[rule] - self.mended[rule]}"
            for rule in sorted(self.total)
            if self.mended[rule] < self.total[rule]
        )
        conflicts = f"{self.resolved} of {self.conflicts}"
        return (
            f"| {self.kind} | {self.jobs} | {mended} of {total}, {share} | {conflicts} |"
            f" {lacking or 'none'} |"
        )


KINDS = {
    "near a limit": near_limit_jobs(),
    "moved": moved_jobs(),
    "of any kind": (
        jobs(max_passes=4) | jobs(max_passes=4, sequence=True) | jobs(max_passes=4, physics=True)
    ),
}
HEAD = """| jobs | how many | `STOP` checks with a remedy | conflicts with a remedy | without |
| --- | --- | --- | --- | --- |"""
BEGIN, END = "<!-- share -->", "<!-- /share -->"


def main() -> None:
    """Print the table, or put it into a page."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--missing", action="store_true", help="show the findings without a remedy")
    parser.add_argument("--write", metavar="PAGE", help="put the table between its marks in a page")
    options = parser.parse_args()
    rows = []
    for kind, strategy in KINDS.items():
        share = Share(kind)
        for job in sampled(strategy, options.jobs, options.seed):
            share.take(job, missing=options.missing)
        rows.append(share.row())
    table = "\n".join([HEAD, *rows])
    print(table)
    if options.write:
        page = Path(options.write)
        text = page.read_text("utf-8")
        before, after = text.partition(BEGIN)[0], text.partition(END)[2]
        page.write_text(f"{before}{BEGIN}\n\n{table}\n\n{END}{after}", "utf-8")


if __name__ == "__main__":
    main()
