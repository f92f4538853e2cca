"""Small jobs: one from the command line, one in a process that is warm, many in turn, and edits of
a job that stays open.

    python tests/benchmarks/small.py [--quick]
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import sysconfig
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.cases import rows_of_signs
from benchmarks.live import edits, with_signs
from benchmarks.many import documents
from benchmarks.many import report as report_of
from benchmarks.reporting import Report, ratio, run_parts, shown, timed

from signrules import Live, evaluate, evaluate_many, job_to_dict, read_job

CLINIC = Path(__file__).parents[2] / "docs" / "examples" / "clinic.toml"
COMMAND = str(Path(sysconfig.get_path("scripts")) / "signrules")
NO_BYTECODE = "PYTHONDONTWRITEBYTECODE"
ROUND_TRIPS = 100
"""So many JSON round trips are timed together: one takes some fifty microseconds."""


def seconds_of_process(command: Sequence[str], repeats: int) -> float:
    """Processor time of a whole process, the least of some."""
    found = []
    # Whatever this process is told: without bytecode, compiling would be all that is measured.
    surroundings = {name: text for name, text in os.environ.items() if name != NO_BYTECODE}
    for _ in range(repeats):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, stdout=subprocess.DEVNULL, check=True, env=surroundings)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


def round_trip(document: object) -> float:
    """Seconds of one JSON round trip of a document."""

    def many_times() -> None:
        for _ in range(ROUND_TRIPS):
            json.loads(json.dumps(document))

    return timed(many_times, 5)[0] / ROUND_TRIPS


def one_job(report: Report, quick: bool) -> None:
    """The clinic of the documents: checked from the command line, and evaluated."""
    repeats = 5 if quick else 15
    beside = seconds_of_process([sys.executable, "-c", "import attrs, cattrs"], repeats)
    checked = seconds_of_process([COMMAND, "check", str(CLINIC)], repeats)
    job = read_job(CLINIC)
    trip = round_trip(job_to_dict(job))
    evaluated, _ = timed(lambda: evaluate(job), 4 * repeats)
    report.table(
        "One small job",
        "`docs/examples/clinic.toml`: three passes, one sign. `check` is the whole process, beside"
        " one that imports attrs and cattrs alone; `evaluate` is called in a warm process, beside"
        " JSON round trips of the document.",
        ("what", "time", "beside", "ratio"),
        [
            ("signrules check", shown(checked), shown(beside), ratio(checked, beside)),
            ("evaluate", shown(evaluated), shown(trip), ratio(evaluated, trip)),
        ],
    )
    report.aim(
        "`signrules check` of a small job: 2.5 times importing attrs and cattrs",
        f"{ratio(checked, beside)} times",
        checked <= 2.5 * beside,
    )
    report.aim(
        "`evaluate` of a small job: 25 JSON round trips of its document",
        f"{ratio(evaluated, trip)} round trips",
        evaluated <= 25 * trip,
    )


def in_turn(report: Report, quick: bool) -> None:
    """Jobs one after the other, with their reports as JSON."""
    count = 100 if quick else 1_000
    jobs = list(documents(count))
    list(evaluate_many(jobs[:20], reduce=report_of))
    seconds, results = timed(lambda: list(evaluate_many(jobs, reduce=report_of)))
    assert len(results) == count
    trips = sum(round_trip(document) for document in jobs[:10]) / 10
    thousand = seconds * 1_000 / count
    report.aim(
        "1,000 small jobs in turn, with reports: 1.5 s",
        f"{shown(thousand)}{' by a hundred' if quick else ''},"
        f" {ratio(seconds / count, trips)} round trips each",
        thousand <= 1.5,
    )


def live_edits(report: Report, quick: bool) -> None:
    """Edits of a job of 1,000 passes and 200 signs that change no height."""
    job = with_signs(rows_of_signs(1_000, 4, 1))
    live = Live()
    checks = len(live.evaluate(job).checks)
    rows = []
    slowest = 0.0
    for name in ("nothing", "the name", "a number of one sign"):
        edited = edits(job)[name]
        # A fork, since what is evaluated is kept, and the second time nothing has changed.
        seconds, _ = timed(lambda edited=edited: live._fork().evaluate(edited), 5)
        rows.append((name, shown(seconds), shown(seconds / checks)))
        slowest = max(slowest, seconds)
    report.table(
        "Edits that change no height",
        f"A job of 1,000 passes and 200 signs, with {checks:,} checks, evaluated live.",
        ("changed", "time", "for each check"),
        rows,
    )
    report.aim(
        "a live edit of one fact in 1,000 that changes no height: 10 us",
        f"{shown(slowest)}, {shown(slowest / 1_000)} for each pass,"
        f" {shown(slowest / checks)} for each check",
        slowest <= 10e-6,
    )


PARTS = (one_job, in_turn, live_edits)


if __name__ == "__main__":
    run_parts(PARTS)
