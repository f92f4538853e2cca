"""Measures how graph, heights, plan and audit grow with the job, beside libraries that sort graphs.

    python tests/benchmarks/size.py [--quick]

It prints Markdown tables; `all.py` puts them into the page, beside all others. Times depend on the
machine, so nothing is asserted; the ratios within one run are what counts. rustworkx is left out
where it is not installed.
"""

from __future__ import annotations

import resource
import subprocess
import sys
from collections.abc import Iterable
from contextlib import suppress
from graphlib import TopologicalSorter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import networkx
from benchmarks.cases import rows_of_signs
from benchmarks.planner import strict_problem_of
from benchmarks.reporting import Report, ratio, run_parts, shown, slope, timed, version_of

from signrules.job_graphs import graph_of
from signrules.model import Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.physics.timeline import Timeline
from signrules.planning.audit import audit
from signrules.planning.order.peeling import peel_from_end
from signrules.planning.order.reduction import reduced_problems, setup_classes
from signrules.planning.order.solver import Solver
from signrules.planning.plan import Plan
from signrules.planning.planner import plan_job
from signrules.planning.setup_cost import Costs


def lay_out(job: Job) -> Machine:
    """Zones, bands and the surface of every pass."""
    heights = Heights(job)
    for sheet in job.media:
        heights.layout.side(sheet.id, "front")
    assert len(heights.layout.in_band) == len(job.passes)
    standing = heights.standing(range(len(job.passes)))
    for at in range(len(job.passes)):
        standing.surface(at)
    return Machine(heights)


def edges_between_passes(machine: Machine, graph: networkx.DiGraph[str]) -> list[tuple[int, int]]:
    """The edges of the graph from pass to pass, by index."""
    number = {f"passes.{item.id}": at for at, item in enumerate(machine.job.passes)}
    return [(number[a], number[b]) for a, b in graph.edges if a in number and b in number]


def with_networkx(count: int, edges: list[tuple[int, int]]) -> networkx.DiGraph[int]:
    graph: networkx.DiGraph[int] = networkx.DiGraph()
    graph.add_nodes_from(range(count))
    graph.add_edges_from(edges)
    assert len(list(networkx.lexicographical_topological_sort(graph))) == count
    return graph


def same_graph(graph: networkx.DiGraph[str]) -> tuple[float, float, float]:
    """How long networkx takes to build the same nodes, edges and reasons, to sort them by name, to
    sort them at all.
    """
    nodes, edges = list(graph.nodes(data=True)), list(graph.edges(data=True))

    def built() -> networkx.DiGraph[str]:
        copy: networkx.DiGraph[str] = networkx.DiGraph()
        copy.add_nodes_from(nodes)
        copy.add_edges_from(edges)
        return copy

    building, copy = timed(built, 3)
    by_name, order = timed(lambda: list(networkx.lexicographical_topological_sort(copy)), 3)
    assert len(order) == len(nodes)
    return building, by_name, timed(lambda: list(networkx.topological_sort(copy)), 3)[0]


def with_graphlib(count: int, edges: list[tuple[int, int]]) -> None:
    sorter: TopologicalSorter[int] = TopologicalSorter(dict.fromkeys(range(count), ()))
    for a, b in edges:
        sorter.add(b, a)
    assert len(list(sorter.static_order())) == count


def with_rustworkx(count: int, edges: list[tuple[int, int]]) -> None:
    import rustworkx

    graph = rustworkx.PyDiGraph()
    graph.add_nodes_from([f"{at:09d}" for at in range(count)])
    graph.add_edges_from_no_data(edges)
    assert len(rustworkx.lexicographical_topological_sort(graph, key=str)) == count


def whole_job(report: Report, quick: bool) -> None:
    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (1_000,) if quick else (1_000, 10_000):
            job = rows_of_signs(passes, 6, 0)
            repeats = 3 if passes < 10_000 else 1
            laid, _ = timed(lambda job=job: lay_out(job), repeats)
            drawn, graph = timed(lambda job=job: graph_of(lay_out(job)), repeats)
            machine = lay_out(job)
            planned, outcome = timed(lambda job=job: plan_job(lay_out(job)), repeats)
            plan = outcome.plan
            assert plan is not None
            first, _ = timed(lambda job=job: greedily(lay_out(job)), repeats)
            audited, findings = timed(lambda job=job, plan=plan: audit(job, plan), 3)
            assert findings == []
            edges = edges_between_passes(machine, graph)
            nx, built = timed(lambda n=passes, e=edges: with_networkx(n, e), 3)
            topological, _ = timed(lambda g=built: list(networkx.topological_sort(g)), 3)
            building, by_name, same_sorted = same_graph(graph)
            same = building + by_name
            answered, _ = timed(lambda job=job: greedy_order(lay_out(job)), repeats)
            stages = {
                "zones and heights": laid,
                "graph": drawn - laid,
                "a safe order or none (greedy), without heights": answered - laid,
                "greedy order and its replay": first - laid,
                "plan": planned - laid,
                "audit": audited,
            }
            total = drawn + planned - laid + audited
            for stage, seconds in stages.items():
                yield f"{passes:,}", stage, shown(seconds), ratio(seconds, same), ratio(seconds, nx)
            quickly = drawn + first - laid + audited
            yield (
                f"{passes:,}",
                "**graph, heights, plan, audit**",
                shown(total),
                ratio(total, same),
                ratio(total, nx),
            )
            yield (
                f"{passes:,}",
                "**graph, heights, greedy order, audit**",
                shown(quickly),
                ratio(quickly, same),
                ratio(quickly, nx),
            )
            count = graph.number_of_edges()
            yield (
                f"{passes:,}",
                f"networkx, the same {count:,} edges",
                shown(same),
                "1",
                ratio(same, nx),
            )
            yield (
                f"{passes:,}",
                "its topological sort alone",
                shown(same_sorted),
                ratio(same_sorted, same),
                "",
            )
            yield (
                f"{passes:,}",
                f"networkx, {len(edges):,} edges between passes",
                shown(nx),
                ratio(nx, same),
                "1",
            )
            yield (
                f"{passes:,}",
                "its topological sort alone",
                shown(topological),
                "",
                ratio(topological, nx),
            )
            lib, _ = timed(lambda n=passes, e=edges: with_graphlib(n, e), 3)
            yield (
                f"{passes:,}",
                "graphlib, between passes",
                shown(lib),
                ratio(lib, same),
                ratio(lib, nx),
            )
            if version_of("rustworkx") is not None:
                rust, _ = timed(lambda n=passes, e=edges: with_rustworkx(n, e), 3)
                yield (
                    f"{passes:,}",
                    "rustworkx, between passes",
                    shown(rust),
                    ratio(rust, same),
                    ratio(rust, nx),
                )
            report.aim(
                f"a safe order or none at {passes:,} passes, from the job on: twice networkx"
                " building the same graph",
                f"{ratio(answered, building)} times, {shown(answered)}",
                answered <= 2 * building,
            )
            if passes == 10_000:
                report.aim(
                    "10,000 passes, graph and heights, order, audit: at most 5 times networkx"
                    " building and sorting the same graph",
                    f"{ratio(quickly, same)} times with the greedy order, {ratio(total, same)} with"
                    f" the whole plan; {ratio(quickly, nx)} and {ratio(total, nx)} times what it"
                    " takes for bare edges between passes",
                    quickly <= 5 * same,
                )
                report.aim(
                    "audit at 10,000 passes: at most twice networkx' topological sort",
                    f"{ratio(audited, same_sorted)} times that of the same graph,"
                    f" {ratio(audited, topological)} times that of the edges between passes",
                    audited <= 2 * same_sorted,
                )

    report.table(
        "A whole job",
        "From the job to the audited plan, six set-ups. Beside it networkx builds a graph and sorts"
        " it lexicographically: the same graph, of nodes, edges and reasons that are there already,"
        " and one of the bare edges between passes. It knows nothing of heights. The others do the"
        " latter.",
        ("passes", "stage", "time", ": the same graph", ": between passes"),
        rows(),
    )


def greedily(machine: Machine) -> Timeline:
    return replay_items(machine, greedy_order(machine), {})


def greedy_order(machine: Machine) -> tuple[int, ...]:
    """A good order, as very many passes get it."""
    found = setup_classes(machine)
    assert found is not None
    order = peel_from_end(machine, found.classes, found.watched).order
    assert order is not None
    return order


def growth(report: Report, quick: bool) -> None:
    sizes = (100, 300, 1_000) if quick else (100, 300, 1_000, 3_000, 10_000)
    found: dict[str, list[float]] = {}
    for passes in sizes:
        repeats = 3 if passes < 3_000 else 1
        job = rows_of_signs(passes, 6, 1)
        laid, machine = timed(lambda job=job: lay_out(job), repeats)
        order = machine.declared_order()
        plan = plan_job(machine, 1).plan
        assert plan is not None
        problem = strict_problem_of(job)
        stages: dict[str, float] = {
            "zones and heights": laid,
            "graph": timed(lambda m=machine: graph_of(m), repeats)[0],
            "reduction": timed(lambda m=machine: reduced_problems(m), repeats)[0],
            "check for a safe order": timed(
                lambda p=problem: Solver(p).stuck((1 << len(p.classes)) - 1), repeats
            )[0],
            "greedy order": timed(lambda m=machine: greedy_order(m), repeats)[0],
            "replay": timed(lambda m=machine, o=order: replay_items(m, o, {}), repeats)[0],
            "audit": timed(lambda job=job, plan=plan: audit(job, plan), repeats)[0],
            "edges of the graph (a count, no time)": float(
                len(edges_between_passes(machine, graph_of(machine)))
            ),
        }
        for stage, value in stages.items():
            found.setdefault(stage, []).append(value)

    def rows() -> Iterable[tuple[object, ...]]:
        for stage, values in found.items():
            exponent = slope(sizes, values)
            if stage.startswith("edges"):
                yield stage, *(f"{value:,.0f}" for value in values), f"{exponent:.2f}"
                continue
            yield stage, *map(shown, values), f"{exponent:.2f}"
            if stage in ("zones and heights", "graph", "greedy order", "audit"):
                report.aim(
                    f"growth of {stage}, {sizes[0]} to {sizes[-1]:,} passes: exponent 1.15",
                    f"{exponent:.2f}",
                    exponent <= 1.15,
                )

    report.table(
        "Growth",
        "Exponents are fitted by least squares to the logarithms. The rows of this family grow"
        " longer with the job, so that more passes share a band: what there is to find grows faster"
        " than the passes, as the last line says.",
        ("stage", *(f"{passes:,}" for passes in sizes), "exponent"),
        rows(),
    )


def memory(report: Report, quick: bool) -> None:
    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (1_000,) if quick else (1_000, 10_000):
            for stage in ("nothing", "graph", "greedy", "plan"):
                run = subprocess.run(
                    [sys.executable, __file__, "--memory", stage, str(passes)],
                    capture_output=True,
                    text=True,
                    check=True,
                )
                yield f"{passes:,}", STAGES[stage], f"{float(run.stdout):,.0f} MiB"

    report.table(
        "Memory",
        "The most that a process of its own ever held, Python and the libraries included.",
        ("passes", "what it did", "peak"),
        rows(),
    )


STAGES = {
    "nothing": "built the job",
    "graph": "heights and graph",
    "greedy": "heights, greedy order, replay",
    "plan": "heights, plan, audit",
}


def peak(stage: str, passes: int) -> float:
    """Mebibytes that this process held at the most, when it has done one stage."""
    job = rows_of_signs(passes, 6, 0)
    if stage == "graph":
        graph_of(lay_out(job))
    elif stage == "greedy":
        greedily(lay_out(job))
    elif stage == "plan":
        plan = plan_job(lay_out(job)).plan
        assert plan is not None
        audit(job, plan)
    return held_at_most()


def held_at_most() -> float:
    # Where there is a /proc, the other figure may be that of the process which started this one.
    with suppress(OSError), open("/proc/self/status", encoding="ascii") as status:
        return next(int(line.split()[1]) for line in status if line.startswith("VmHWM")) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (
        1024 if sys.platform == "linux" else 1024**2
    )


def very_many(report: Report, quick: bool) -> None:
    aims = {1_000: 0.01, 10_000: 0.1, 100_000: 1.5}

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (1_000,) if quick else (1_000, 10_000, 100_000):
            run = subprocess.run(
                [sys.executable, __file__, "--memory", "peel", str(passes)],
                capture_output=True,
                text=True,
                check=True,
            )
            ordered, replayed, audited, settings, fewest, held = map(float, run.stdout.split())
            yield (
                f"{passes:,}",
                shown(ordered),
                shown(replayed),
                shown(audited),
                f"{settings:,.0f}",
                f"{fewest:g}",
                f"{held:,.0f} MiB",
            )
            report.aim(
                f"feasible or not by the greedy order, from the job on, {passes:,} passes:"
                f" {shown(aims[passes])}",
                shown(ordered),
                ordered <= aims[passes],
            )
            if passes == 100_000:
                report.aim("memory at 100,000 passes: 1 GiB", f"{held:,.0f} MiB", held <= 1024)

    report.table(
        "Very many passes",
        "The greedy order that jobs of more than 12,000 passes get, in a process of its own: zones,"
        " heights, set-ups and order, which also is the check whether there is a safe order at all;"
        " its replay; its audit.",
        ("passes", "order", "replay", "audit", "gap settings", "set-ups", "peak memory"),
        rows(),
    )


def peeled(passes: int) -> str:
    """The times, the gap settings and the memory of a greedy order."""
    job = rows_of_signs(passes, 6, 0)
    ordered, _ = timed(lambda: greedy_order(Machine(Heights(job))))
    machine = Machine(Heights(job))
    order = greedy_order(machine)
    replayed, timeline = timed(lambda: replay_items(machine, order, {}))
    costs = Costs.of(job.printer.minutes).of_timeline(timeline)
    plan = Plan(timeline, costs, (0, 0.0), False, True)
    audited, findings = timed(lambda: audit(job, plan))
    assert findings == []
    found = setup_classes(machine)
    assert found is not None
    return f"{ordered} {replayed} {audited} {timeline.gap_settings} {found.fewest} {held_at_most()}"


PARTS = (whole_job, growth, very_many, memory)


def main() -> None:
    if "--memory" in sys.argv:
        stage, passes = sys.argv[-2], int(sys.argv[-1])
        print(peeled(passes) if stage == "peel" else peak(stage, passes))
    else:
        run_parts(PARTS)


if __name__ == "__main__":
    main()
