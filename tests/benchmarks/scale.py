"""How cost grows with passes and with areas, each stage beside something else that reads the same
data.

    python tests/benchmarks/scale.py [--quick]

Every size is measured in a process of its own, and the least of some runs is taken, in processor
time.
"""

from __future__ import annotations

import json
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import networkx
from benchmarks.cases import rows_of_signs, signs_of_areas
from benchmarks.reporting import Report, ratio, shown, slope, timed
from benchmarks.size import greedy_order

import signrules
from signrules.job_graphs import graph_of
from signrules.model import Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items

ACROSS = 8
"""Signs in a row, so that a band holds as many at any size."""

GRAPH_TO = 100_000
"""Larger graphs are left out: with their reasons they take gigabytes, and this one nearly one."""


def heights_of(job: Job) -> Machine:
    """Zones, and what the finished job leaves under every pass."""
    machine = Machine(Heights(job))
    standing = machine.heights.standing(range(len(job.passes)))
    for at in range(len(job.passes)):
        standing.surface(at)
    return machine


def round_trip(document: dict[str, object]) -> None:
    assert json.loads(json.dumps(document))["passes"]


def sorted_edges(job: Job) -> None:
    """What any sweep over the rectangles begins with."""
    rectangles = [area for item in job.passes for area in item.areas]
    ends = sorted(
        [(a.y, 0, at) for at, a in enumerate(rectangles)]
        + [(a.y + a.height, 1, at) for at, a in enumerate(rectangles)]
    )
    assert len(ends) == 2 * len(rectangles)


def topological(machine: Machine) -> None:
    """The declared precedence in order; no heights, no set-ups."""
    sorter = TopologicalSorter(dict(enumerate(machine.before)))
    assert len(list(sorter.static_order())) == len(machine.items)


def with_networkx(graph: networkx.DiGraph[str]) -> None:
    """The same graph built once more from its edges, and sorted."""
    copy: networkx.DiGraph[str] = networkx.DiGraph()
    copy.add_nodes_from(graph.nodes)
    copy.add_edges_from(graph.edges)
    assert len(list(networkx.topological_sort(copy))) == len(graph)


def by_passes(size: int) -> dict[str, float]:
    """Times by stage for a job of so many passes; the reference of each stage beside it."""
    job = rows_of_signs(size, 6, 1, across=ACROSS)
    document = signrules.job_to_dict(job)
    repeats = 5 if size <= 1_000 else 1
    result: dict[str, float] = {}
    result["heights"], machine = timed(lambda: heights_of(job), repeats)
    result["sorted edges"], _ = timed(lambda: sorted_edges(job), repeats)
    result["greedy order"], order = timed(lambda: greedy_order(machine), repeats)
    result["topological order"], _ = timed(lambda: topological(machine), repeats)
    result["replay"], _ = timed(lambda: replay_items(machine, order, {}), repeats)
    if size <= GRAPH_TO:
        result["graph"], graph = timed(lambda: graph_of(machine), repeats)
        result["networkx"], _ = timed(lambda: with_networkx(graph), repeats)
        del graph
    result["JSON"], _ = timed(lambda: round_trip(document), repeats)
    result["evaluate"], found = timed(lambda: signrules.evaluate(job), min(repeats, 3))
    assert found.order_is_safe
    return result


def by_areas(size: int) -> dict[str, float]:
    """The same for three passes with so many rectangles in all."""
    job = signs_of_areas(size)
    document = signrules.job_to_dict(job)
    repeats = 5 if size <= 1_000 else 1
    result: dict[str, float] = {}
    result["heights"], _ = timed(lambda: heights_of(job), repeats)
    result["sorted edges"], _ = timed(lambda: sorted_edges(job), repeats)
    result["JSON"], _ = timed(lambda: round_trip(document), repeats)
    result["evaluate"], found = timed(lambda: signrules.evaluate(job), min(repeats, 3))
    assert found.order_is_safe
    return result


BESIDE = {
    "heights": "sorted edges",
    "greedy order": "topological order",
    "graph": "networkx",
    "replay": "JSON",
    "evaluate": "JSON",
}


def scale(report: Report, quick: bool) -> None:
    """Tables of times and of ratios, by passes and by areas."""
    sizes = (10, 100, 1_000) if quick else (10, 100, 1_000, 10_000, 100_000)
    for kind, about in (
        (
            "passes",
            (
                f"Rows of {ACROSS} signs on a sheet that grows in length, so that a band holds as"
                " many at any size."
            ),
        ),
        ("areas", "Three passes over signs that lie apart, so many rectangles in all."),
    ):
        found = [_measured(kind, size) for size in sizes]
        rows = []
        for stage, beside in BESIDE.items():
            some = [one[stage] for one in found if stage in one]
            if not some:
                continue
            # The fixed cost of a call would hide how it grows, so the exponent is taken from 100
            # on.
            tail = list(zip(sizes, some, strict=False))[1:]
            exponent = slope(*zip(*tail, strict=True))
            others = [one[beside] for one in found if beside in one]
            gaps = ["" for _ in range(len(sizes) - len(some))]
            rows.append((stage, *map(shown, some), *gaps, f"{exponent:.2f}"))
            rows.append(
                (
                    f": {beside}",
                    *(ratio(a, b) for a, b in zip(some, others, strict=True)),
                    *gaps,
                    "",
                )
            )
            if not quick:
                report.aim(
                    f"growth of {stage} with {kind}{', rows of one length' * (kind == 'passes')}:"
                    " exponent 1.15",
                    f"{exponent:.2f}",
                    exponent <= 1.15,
                )
        if not quick and kind == "passes":
            at_ten_thousand = found[sizes.index(10_000)]
            evaluated, trip = at_ten_thousand["evaluate"], at_ten_thousand["JSON"]
            report.aim(
                "`evaluate` at 10,000 passes: 40 JSON round trips of the document",
                f"{ratio(evaluated, trip)} round trips",
                evaluated <= 40 * trip,
            )
        report.table(
            f"Growth with {kind}",
            f"{about} Processor time. Beneath each stage its ratio to something that reads the same"
            " data: `sorted edges` sorts the edges of the rectangles, `topological order` is"
            " graphlib's of the declared precedence, `networkx` builds and sorts the same graph,"
            " `JSON` is a round trip of the document through the standard library. Exponents are"
            " fitted from 100 on, by least squares to the logarithms.",
            ("stage", *(f"{size:,}" for size in sizes), "exponent"),
            rows,
        )


def _measured(kind: str, size: int) -> dict[str, float]:
    run = subprocess.run(
        [sys.executable, __file__, kind, str(size)], capture_output=True, text=True, check=False
    )
    if run.returncode:
        raise SystemExit(f"{kind} {size}: {run.stderr}")
    found: dict[str, float] = json.loads(run.stdout)
    return found


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[1] in ("passes", "areas"):
        measure = by_passes if sys.argv[1] == "passes" else by_areas
        print(json.dumps(measure(int(sys.argv[2]))))
    else:
        scale(Report([], []), "--quick" in sys.argv)
