"""Many jobs: one after the other, by processes, by threads, by a distributed engine's workers; the
bytes are compared.

python tests/benchmarks/many.py [--jobs 1000] [--write docs/benchmarks.md]
"""

from __future__ import annotations

import argparse
import hashlib
import json
import multiprocessing
import os
import pickle
import platform
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from local_cluster import local_client
from scenario import pass_of, varied

from signrules import Evaluation, evaluate_many
from signrules.many_jobs.workers import ManyResult

BEGIN, END = "<!-- many: begin -->", "<!-- many: end -->"


def documents(count: int) -> Iterator[dict[str, Any]]:
    """Invented jobs of three passes, no two alike: some sound, some that scrape or miss the
    standard, some no jobs.
    """
    for number in range(count):
        document = varied(number)
        pass_of(document, "dots")["areas"] = [[40 + number % 40, 30 + number % 90, 60, 8]]
        pass_of(document, "ink-on-dots")["areas"] = pass_of(document, "dots")["areas"]
        yield document


def report(evaluation: Evaluation) -> str:
    """The report as JSON, without remedies."""
    return json.dumps(evaluation.to_dict(remedies=False))


def with_remedies(evaluation: Evaluation) -> str:
    """The report as JSON, with remedies, which take trial evaluations."""
    return json.dumps(evaluation.to_dict())


@contextmanager
def processes() -> Iterator[Executor]:
    """Two processes, started and warm."""
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        yield executor


@contextmanager
def threads() -> Iterator[Executor]:
    """Two threads."""
    with ThreadPoolExecutor(2) as executor:
        yield executor


@contextmanager
def engine() -> Iterator[Any]:
    """Two worker processes of dask.distributed on this machine."""
    with local_client() as client:
        yield client.get_executor()


def timed(jobs: list[dict[str, Any]], **options: Any) -> tuple[float, list[ManyResult[Any]]]:
    """The seconds, and what came of each."""
    start = time.perf_counter()
    results = list(evaluate_many(jobs, **options))
    return time.perf_counter() - start, results


def in_bytes(results: list[ManyResult[Any]]) -> bytes:
    """Everything that a result says."""
    return "\n".join(
        f"{item.number} {item.origin} {item.result} {item.error}" for item in results
    ).encode()


def measure(count: int) -> Iterator[str]:
    """The lines of the section."""
    jobs = list(documents(count))
    warm = jobs[:20]
    python = f"{platform.python_implementation()} {platform.python_version()}"
    yield (
        f"{os.cpu_count()} cores, {platform.machine()}, {platform.system()}, {python}; {count:,}"
        " jobs."
    )
    yield ""
    yield (
        "| evaluated by | report, no remedies | : serial | whole evaluations | : serial | same"
        " bytes |"
    )
    yield "|--|--|--|--|--|--|"
    list(evaluate_many(warm, reduce=report))
    alone, results = timed(jobs, reduce=report)
    expected = in_bytes(results)
    whole, evaluations = timed(jobs)
    yield f"| one after the other | {alone:.1f} s | 1 | {whole:.1f} s | 1 | |"
    ways: dict[str, Any] = {
        "two processes": processes,
        "two threads": threads,
        "two workers of distributed": engine,
    }
    for name, make in ways.items():
        try:
            with make() as executor:
                list(evaluate_many(warm, reduce=report, executor=executor))
                took, results = timed(jobs, reduce=report, executor=executor)
                took_whole, _ = timed(jobs, executor=executor)
        except ImportError:
            yield f"| {name} | not installed | | | | |"
            continue
        same = in_bytes(results) == expected
        assert same, f"{name}: other bytes than one after the other"
        yield (
            f"| {name} | {took:.1f} s | {took / alone:.2f} | {took_whole:.1f} s |"
            f" {took_whole / whole:.2f} | yes |"
        )
    yield ""
    done = [item.result for item in evaluations if item.result is not None]
    sizes = {
        "the whole evaluation": [len(pickle.dumps(each)) for each in done],
        "`to_dict` without remedies": [
            len(pickle.dumps(each.to_dict(remedies=False))) for each in done
        ],
        "verdict and order, `(ok, order)`": [
            len(pickle.dumps((each.ok, each.order))) for each in done
        ],
    }
    yield "| what a worker sends back | bytes for a job, mean |"
    yield "|--|--|"
    for name, lengths in sizes.items():
        yield f"| {name} | {sum(lengths) / len(lengths):,.0f} |"
    yield ""
    some = jobs[: max(1, count // 20)]
    plain, _ = timed(some, reduce=report)
    mended, _ = timed(some, reduce=with_remedies)
    yield (
        f"Remedies in every report take {mended / plain:.1f} times as long as reports without"
        f" ({len(some)} jobs)."
    )
    digest = hashlib.sha256(expected).hexdigest()[:16]
    print(f"bytes: {len(expected):,}, sha256 {digest}...", file=sys.stderr)


def main() -> None:
    """Measure, print, and write where asked to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument(
        "--write", type=Path, metavar="FILE", help="a page that takes the tables between its marks"
    )
    chosen = parser.parse_args()
    lines = []
    for line in measure(chosen.jobs):
        print(line, flush=True)
        lines.append(line)
    if chosen.write:
        before, _, rest = chosen.write.read_text("utf-8").partition(BEGIN)
        _, _, after = rest.partition(END)
        body = "\n".join(lines).strip()
        chosen.write.write_text(f"{before}{BEGIN}\n{body}\n{END}{after}", "utf-8")


if __name__ == "__main__":
    main()
