"""Measures the planner beside other libraries: `python tests/benchmarks/planner.py [--quick]`.

It prints Markdown tables; `all.py` puts them into the page, beside all others. Times depend on the
machine, so nothing is asserted; the ratios within one run are what counts. ortools and rustworkx are left out where
they are not installed, published sequential ordering problems where SIGNRULES_SOP names no folder with them.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import subprocess
import sys
from collections.abc import Iterable
from contextlib import suppress
from graphlib import TopologicalSorter
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[1]))

import networkx
import sop
from attrs import evolve
from benchmarks.cases import rows_of_signs
from benchmarks.reporting import Report, machine_line, ratio, shown, slope, timed, version_of

from signrules.graph import clearance_precedence, graph_of
from signrules.model import Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.timeline import Timeline, replay
from signrules.planning.audit import audit
from signrules.planning.conflicts import conflict_of_stuck
from signrules.planning.costs import Costs
from signrules.planning.greedy import peel
from signrules.planning.plan import Plan
from signrules.planning.planner import BUDGET, plan_job, states_of_core
from signrules.planning.reduction import Reduced, reduced, setups
from signrules.planning.search import Search
from signrules.planning.solver import Solver

CPSAT_SECONDS = 10.0


def problem_of(job: Job) -> tuple[Machine, Reduced]:
    """A job of stated gaps from its document on: machine and changeover problem."""
    machine = Machine(Heights(job))
    found = reduced(machine)
    assert found is not None
    return machine, found


# --- stated gaps -------------------------------------------------------------------------------------------------


def stated_gaps(report: Report, quick: bool) -> None:
    sizes = (50, 100, 200) if quick else (50, 100, 200, 500, 1_000)

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in sizes:
            seeds = 3 if quick else 10 if passes < 500 else 5
            for stated in (6, 8):
                times, proven, runs, states, gaps = [], 0, [], [], []
                for seed in range(seeds):
                    job = rows_of_signs(passes, stated, seed)
                    seconds, outcome = timed(lambda job=job: plan_job(Machine(Heights(job))))
                    plan = outcome.plan
                    assert plan is not None
                    solved = Solver(problem_of(job)[1].problem).solve(states_of_core(BUDGET, passes))
                    times.append(seconds)
                    proven += plan.optimal
                    runs.append(plan.timeline.gap_settings)
                    states.append(solved.expansions)
                    gaps.append(solved.cost / solved.bound - 1)
                yield (
                    f"{passes:,}",
                    stated,
                    f"{proven} of {seeds}",
                    shown(median(times)),
                    shown(max(times)),
                    f"{median(runs):g}",
                    f"{median(states):,.0f}",
                    f"{100 * max(gaps):.2g} %",
                )
                aims = {
                    (100, 6): (0.1, 0.0),
                    (200, 8): (0.3, 0.0),
                    (500, 6): (0.3, 0.0),
                    (500, 8): (1.0, 0.02),
                    (1_000, 6): (2.0, 0.0),
                    (1_000, 8): (1.0, 0.05),
                }
                if (passes, stated) in aims:
                    most, gap = aims[passes, stated]
                    quality = f"within {gap:.0%} of the bound" if gap else "proven"
                    report.aim(
                        f"{passes:,} passes, {stated} set-ups: {quality}, {most:g} s median",
                        f"{proven} of {seeds} proven, {shown(median(times))}, at most {max(gaps):.1%} above the bound",
                        max(gaps) <= gap and median(times) <= most,
                    )

    report.table(
        "Stated gaps",
        "Planning from the job on, with the replay. `states` are those that the changeover core opens, `above` the "
        "largest excess over the lower bound.",
        ("passes", "set-ups", "proven", "median", "slowest", "gap settings", "states", "above"),
        rows(),
    )


def against_cpsat(report: Report, quick: bool) -> None:
    if version_of("ortools") is None:
        report.say("", "### CP-SAT", "", "Not measured: ortools is not installed.")
        return
    from benchmarks.cpsat import fewest

    sizes = (12, 24, 50) if quick else (12, 24, 50, 100)
    seeds = 2 if quick else 4

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in sizes:
            for what, more in (("our runs + 1", lambda runs: runs + 1), ("2 x our runs", lambda runs: 2 * runs)):
                ours, theirs, proven, cheaper, excess = [], [], 0, 0, []
                for seed in range(seeds):
                    job = rows_of_signs(passes, 6, seed)
                    machine, found = problem_of(job)
                    seconds, solved = timed(lambda m=machine: Solver(reduced(m).problem).solve(BUDGET), 3)
                    answer = fewest(found.problem, more(solved.cost), CPSAT_SECONDS)
                    ours.append(seconds)
                    theirs.append(answer.seconds)
                    proven += answer.proven
                    cheaper += answer.cost is not None and answer.cost < solved.cost
                    if answer.cost is not None:
                        excess.append(answer.cost - solved.cost)
                ratios = median(b / a for a, b in zip(ours, theirs, strict=True))
                yield (
                    passes,
                    what,
                    shown(median(ours)),
                    shown(median(theirs)),
                    f"{ratios:.3g}",
                    f"{proven} of {seeds}",
                    max(excess, default="none found"),
                    cheaper,
                )
                if passes == 100 and more(10) == 11:
                    report.aim(
                        "100 passes, 6 set-ups: 20 times faster than the CP-SAT run model",
                        f"{ratios:.3g} times",
                        ratios >= 20,
                    )

    report.table(
        "CP-SAT",
        f"The same problem as a run-index model in CP-SAT ({CPSAT_SECONDS:g} s limit, 2 workers, its solving time "
        "alone), which is told how many runs an order may have. Ours is reduction and core, on one thread. `excess` is "
        "in gap settings; `cheaper` counts orders cheaper than ours, of which there must be none. Six set-ups.",
        ("passes", "runs allowed", "ours", "CP-SAT", "CP-SAT : ours", "proven by CP-SAT", "excess", "cheaper"),
        rows(),
    )


# --- open gaps ---------------------------------------------------------------------------------------------------


def open_gaps(report: Report, quick: bool) -> None:
    seeds = 3 if quick else 10

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (6, 9, 12) if quick else (6, 9, 12, 15, 18):
            times, proven, states = [], 0, []
            for seed in range(seeds):
                job = rows_of_signs(passes, 4, seed, auto=True)
                seconds, outcome = timed(lambda job=job: plan_job(Machine(Heights(job))))
                times.append(seconds)
                proven += outcome.plan is not None and outcome.plan.optimal
                states.append(Search(Machine(Heights(job))).run(BUDGET).expansions)
            yield passes, f"{proven} of {seeds}", shown(median(times)), shown(max(times)), f"{median(states):,.0f}"
            if passes == 12:
                report.aim(
                    "open gaps, 12 passes, 4 offsets over media and build-up: proven, 1 s",
                    f"{proven} of {seeds} proven, {shown(median(times))} median, {shown(max(times))} slowest",
                    proven == seeds and median(times) <= 1,
                )

    report.table(
        "Open gaps",
        "Every gap left to the planner: four offsets over the media and over the build-up.",
        ("passes", "proven", "median", "slowest", "states"),
        rows(),
    )


# --- is there an order at all ------------------------------------------------------------------------------------


def hopeless(passes: int, seed: int) -> Job:
    """A job whose passes are all fine but for one that is declared after a layer which it cannot clear."""
    job = rows_of_signs(passes, 6, seed)
    edges = list(clearance_precedence(Machine(Heights(job))))
    edge = random.Random(seed).choice(edges)
    made = list(job.passes)
    made[edge.before] = evolve(made[edge.before], after=(made[edge.then].id,))
    return evolve(job, passes=tuple(made))


def feasibility(report: Report, quick: bool) -> None:
    seeds = 2 if quick else 5
    aims = {1_000: 0.010, 10_000: 0.100}

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (100, 1_000) if quick else (100, 1_000, 10_000):
            checks, wholes, conflicts, sizes, feasible = [], [], [], [], []
            for seed in range(seeds if passes < 10_000 else 2):
                _, good = problem_of(rows_of_signs(passes, 6, seed))
                solver = Solver(good.problem)
                seconds, stuck = timed(lambda solver=solver: solver.stuck(solver.everything), 3)
                assert not stuck
                feasible.append(seconds)
                job = hopeless(passes, seed)
                whole, (machine, found) = timed(lambda job=job: problem_of(job))
                solver = Solver(found.problem)
                check, stuck = timed(lambda solver=solver: solver.stuck(solver.everything), 3)
                assert stuck
                conflict, said = timed(lambda m=machine, s=solver, k=stuck: conflict_of_stuck(m, s, k))
                assert said.proven
                checks.append(check)
                wholes.append(whole + check)
                conflicts.append(conflict)
                sizes.append((stuck.bit_count(), len(said.subjects)))
            pairs = list(zip(conflicts, checks, wholes, strict=True))
            alone = median(a / b for a, b, _ in pairs)
            yield (
                f"{passes:,}",
                shown(median(feasible)),
                shown(median(checks)),
                shown(median(wholes)),
                shown(median(conflicts)),
                f"{alone:.3g}",
                f"{median(a / c for a, _, c in pairs):.3g}",
                f"{median(a for a, _ in sizes):g}",
                f"{median(b for _, b in sizes):g}",
            )
            if passes in aims:
                report.aim(
                    f"feasible or not, with a certificate, {passes:,} passes: {shown(aims[passes])}",
                    f"{shown(median(feasible))} and {shown(median(checks))} once reduced, {shown(median(wholes))} "
                    "from the job on",
                    "yes"
                    if median(wholes) <= aims[passes]
                    else "once reduced; **not** from the job on"
                    if max(median(feasible), median(checks)) <= aims[passes]
                    else "**no**",
                )
            report.aim(
                f"conflict at {passes:,} passes: at most twice a feasibility check",
                f"{alone:.3g} times the bare check, "
                f"{median(a / c for a, _, c in pairs):.3g} times the one from the job on",
                alone <= 2,
            )

    report.table(
        "Safe order or none",
        "A sound job, and the same with one pass declared after a layer which it cannot clear. The check is that of "
        "the reduced problem, which gives a stuck set as its proof; `from the job on` adds zones, heights and the "
        "reduction. A conflict is the stuck set made smallest and put in words.",
        (
            "passes",
            "check, sound",
            "check, hopeless",
            "from the job on",
            "conflict",
            "conflict : check",
            "conflict : from the job on",
            "stuck",
            "conflict size",
        ),
        rows(),
    )


# --- size --------------------------------------------------------------------------------------------------------


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
            stages = {
                "zones and heights": laid,
                "graph": drawn - laid,
                "greedy order and its replay": first - laid,
                "plan": planned - laid,
                "audit": audited,
            }
            total = drawn + planned - laid + audited
            for stage, seconds in stages.items():
                yield f"{passes:,}", stage, shown(seconds), ratio(seconds, nx)
            quickly = drawn + first - laid + audited
            yield f"{passes:,}", "**graph, heights, plan, audit**", shown(total), ratio(total, nx)
            yield f"{passes:,}", "**graph, heights, greedy order, audit**", shown(quickly), ratio(quickly, nx)
            yield f"{passes:,}", f"networkx, {len(edges):,} edges, built and sorted", shown(nx), "1"
            yield f"{passes:,}", "networkx, topological sort alone", shown(topological), ratio(topological, nx)
            lib, _ = timed(lambda n=passes, e=edges: with_graphlib(n, e), 3)
            yield f"{passes:,}", "graphlib, built and sorted", shown(lib), ratio(lib, nx)
            if version_of("rustworkx") is not None:
                rust, _ = timed(lambda n=passes, e=edges: with_rustworkx(n, e), 3)
                yield f"{passes:,}", "rustworkx, built and sorted", shown(rust), ratio(rust, nx)
            yield f"{passes:,}", "audit : networkx topological sort", ratio(audited, topological), ""
            if passes == 10_000:
                report.aim(
                    "10,000 passes, graph and heights, order, audit: at most 5 times networkx",
                    f"{ratio(quickly, nx)} times with the greedy order, {ratio(total, nx)} times with the whole plan",
                    quickly <= 5 * nx,
                )
                report.aim(
                    "audit at 10,000 passes: at most twice networkx' topological sort",
                    f"{ratio(audited, topological)} times",
                    audited <= 2 * topological,
                )

    report.table(
        "A whole job",
        "From the job to the audited plan, six set-ups. The last column is the time by that of networkx, which builds "
        "the graph of the passes from a list of edges that is there already and sorts it lexicographically; it knows "
        "nothing of heights. The others do the same as networkx.",
        ("passes", "stage", "time", ": networkx"),
        rows(),
    )


def greedily(machine: Machine) -> Timeline:
    return replay(machine, greedy_order(machine), {})


def greedy_order(machine: Machine) -> tuple[int, ...]:
    """A good order, as very many passes get it."""
    found = setups(machine)
    assert found is not None
    order = peel(machine, found.classes, found.watched).order
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
        problem = problem_of(job)[1].problem
        stages: dict[str, float] = {
            "zones and heights": laid,
            "graph": timed(lambda m=machine: graph_of(m), repeats)[0],
            "reduction": timed(lambda m=machine: reduced(m), repeats)[0],
            "check for a safe order": timed(lambda p=problem: Solver(p).stuck((1 << len(p.classes)) - 1), repeats)[0],
            "greedy order": timed(lambda m=machine: greedy_order(m), repeats)[0],
            "replay": timed(lambda m=machine, o=order: replay(m, o, {}), repeats)[0],
            "audit": timed(lambda job=job, plan=plan: audit(job, plan), repeats)[0],
            "edges of the graph (a count, no time)": float(len(edges_between_passes(machine, graph_of(machine)))),
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
        "Exponents are fitted by least squares to the logarithms. The rows of this family grow longer with the job, so "
        "that more passes share a band: what there is to find grows faster than the passes, as the last line says.",
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
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform == "linux" else 1024**2)


def very_many(report: Report, quick: bool) -> None:
    aims = {1_000: 0.01, 10_000: 0.1, 100_000: 1.5}

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (1_000,) if quick else (1_000, 10_000, 100_000):
            run = subprocess.run(
                [sys.executable, __file__, "--memory", "peel", str(passes)], capture_output=True, text=True, check=True
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
                f"feasible or not by the greedy order, from the job on, {passes:,} passes: {shown(aims[passes])}",
                shown(ordered),
                ordered <= aims[passes],
            )
            if passes == 100_000:
                report.aim("memory at 100,000 passes: 1 GiB", f"{held:,.0f} MiB", held <= 1024)

    report.table(
        "Very many passes",
        "The greedy order that jobs of more than 12,000 passes get, in a process of its own: zones, heights, set-ups "
        "and order, which also is the check whether there is a safe order at all; its replay; its audit.",
        ("passes", "order", "replay", "audit", "gap settings", "set-ups", "peak memory"),
        rows(),
    )


def peeled(passes: int) -> str:
    """The times, the gap settings and the memory of a greedy order."""
    job = rows_of_signs(passes, 6, 0)
    ordered, _ = timed(lambda: greedy_order(Machine(Heights(job))))
    machine = Machine(Heights(job))
    order = greedy_order(machine)
    replayed, timeline = timed(lambda: replay(machine, order, {}))
    costs = Costs.of(job.printer.minutes).of_timeline(timeline)
    plan = Plan(timeline, costs, costs, False, True)
    audited, findings = timed(lambda: audit(job, plan))
    assert findings == []
    found = setups(machine)
    assert found is not None
    return f"{ordered} {replayed} {audited} {timeline.gap_settings} {found.fewest} {held_at_most()}"


# --- published instances -----------------------------------------------------------------------------------------

PUBLISHED = ("br17.10", "br17.12", "ESC07", "ESC11", "ESC12", "p43.4", "ry48p.4", "ft53.4", "rbg109a", "rbg150a")


def published(report: Report, quick: bool) -> None:
    if not os.path.isdir(sop.FOLDER):
        report.say("", "### Published instances", "", "Not measured: SIGNRULES_SOP names no folder with them.")
        return
    reached = []

    def rows() -> Iterable[tuple[object, ...]]:
        for name in PUBLISHED[:5] if quick else PUBLISHED:
            one, best = sop.read(name), sop.best_known()[name]
            seconds, solved = timed(lambda one=one: Solver(one).solve(2_000_000))
            reached.append(solved.optimal and solved.cost == best)
            yield name, len(one.classes), best, solved.cost, "yes" if solved.optimal else "no", shown(seconds)

    report.table(
        "Published instances",
        "Sequential ordering problems of TSPLIB with their best known values; every node is a class of its own.",
        ("instance", "nodes", "best known", "ours", "proven", "time"),
        rows(),
    )
    report.aim(
        f"published instances: {len(reached)} reached and proven", f"{sum(reached)} of {len(reached)}", all(reached)
    )


# --- the run -----------------------------------------------------------------------------------------------------


def main(arguments: list[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="small sizes only")
    parser.add_argument("--memory", nargs=2, help=argparse.SUPPRESS)
    chosen = parser.parse_args(arguments)
    if chosen.memory:
        stage, passes = chosen.memory[0], int(chosen.memory[1])
        print(peeled(passes) if stage == "peel" else peak(stage, passes))
        return
    report = Report([], [])
    report.say(machine_line())
    for part in PARTS:
        part(report, chosen.quick)
    report.say_aims()


PARTS = (stated_gaps, open_gaps, feasibility, whole_job, growth, very_many, memory, published, against_cpsat)


if __name__ == "__main__":
    main()
