"""Measures what the planner answers and how fast, beside CP-SAT and published problems.

    python tests/benchmarks/planner.py [--quick]

It prints Markdown tables; `all.py` puts them into the page, beside all others. Times depend on the
machine, so nothing is asserted; the ratios within one run are what counts. ortools is left out
where it is not installed, published sequential ordering problems where SIGNRULES_SOP names no
folder with them.
"""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Iterable
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[1]))

import sop
from attrs import evolve
from benchmarks.cases import rows_of_signs
from benchmarks.reporting import Report, run_parts, shown, timed, version_of

from signrules.job_graphs import clearance_precedence
from signrules.model import Gap, Interval, Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.audit import audit
from signrules.planning.bitmasks import bits_of
from signrules.planning.conflict.conflict_words import conflict_in_words
from signrules.planning.conflict.finding import deadlock_of_stuck
from signrules.planning.order.changeover import Changeover
from signrules.planning.order.plane_runs import states_of_core
from signrules.planning.order.reduction import Reduced, reduced_problems
from signrules.planning.order.solver import Solver
from signrules.planning.pipeline import BUDGET
from signrules.planning.plan import Conflict
from signrules.planning.planner import plan_job

CPSAT_SECONDS = 10.0


def problem_of(job: Job) -> tuple[Machine, Reduced]:
    """A job of stated gaps from its document on: machine and changeover problem."""
    machine = Machine(Heights(job))
    found = reduced_problems(machine)
    assert found is not None
    return machine, found


def strict_of(found: Reduced | None) -> Changeover:
    """The problem whose orders are safe; the families here all have one."""
    assert found is not None
    assert found.strict is not None
    return found.strict


def strict_problem_of(job: Job) -> Changeover:
    """The same of a job."""
    return strict_of(problem_of(job)[1])


# --- stated gaps ----------------------------------------------------------------------------------


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
                    solved = Solver(strict_problem_of(job)).solve(states_of_core(BUDGET, passes))
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
                        f"{proven} of {seeds} proven, {shown(median(times))}, at most"
                        f" {max(gaps):.1%} above the bound",
                        max(gaps) <= gap and median(times) <= most,
                    )

    report.table(
        "Stated gaps",
        "Planning from the job on, with the replay. `states` are those that the changeover core"
        " opens, `above` the largest excess over the lower bound.",
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
            for what, more in (
                ("our runs + 1", lambda runs: runs + 1),
                ("2 x our runs", lambda runs: 2 * runs),
            ):
                ours, theirs, proven, cheaper, excess = [], [], 0, 0, []
                for seed in range(seeds):
                    job = rows_of_signs(passes, 6, seed)
                    machine, found = problem_of(job)
                    seconds, solved = timed(
                        lambda m=machine: Solver(strict_of(reduced_problems(m))).solve(BUDGET), 3
                    )
                    answer = fewest(strict_of(found), more(solved.cost), CPSAT_SECONDS)
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
        f"The same problem as a run-index model in CP-SAT ({CPSAT_SECONDS:g} s limit, 2 workers,"
        " its solving time alone), which is told how many runs an order may have. Ours is"
        " reduction and core, on one thread. `excess` is in gap settings; `cheaper` counts orders"
        " cheaper than ours, of which there must be none. Six set-ups.",
        (
            "passes",
            "runs allowed",
            "ours",
            "CP-SAT",
            "CP-SAT : ours",
            "proven by CP-SAT",
            "excess",
            "cheaper",
        ),
        rows(),
    )


# --- open gaps ------------------------------------------------------------------------------------


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
                states.append(outcome.states)
            yield (
                passes,
                f"{proven} of {seeds}",
                shown(median(times)),
                shown(max(times)),
                f"{median(states):,.0f}",
            )
            if passes == 12:
                report.aim(
                    "open gaps, 12 passes, 4 extras over media and build-up: proven, 1 s",
                    f"{proven} of {seeds} proven, {shown(median(times))} median,"
                    f" {shown(max(times))} slowest",
                    proven == seeds and median(times) <= 1,
                )

    report.table(
        "Open gaps",
        "Every gap left to the planner: four extras over the media and over the build-up.",
        ("passes", "proven", "median", "slowest", "states"),
        rows(),
    )


def long_open_gaps(report: Report, quick: bool) -> None:
    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (30, 100, 400) if quick else (30, 100, 400, 1_000, 3_000, 10_000):
            for reach in (6.0, 2.6, 2.2):
                times, proven, above, hopeless_times = [], 0, 0.0, []
                seeds = 3 if passes < 3_000 else 1
                for seed in range(seeds):
                    job = rows_of_signs(passes, 6, seed, auto=True)
                    job = evolve(job, printer=evolve(job.printer, max_throw=reach))
                    seconds, outcome = timed(lambda job=job: plan_job(Machine(Heights(job))))
                    plan = outcome.plan
                    assert plan is not None
                    assert audit(job, plan) == []
                    times.append(seconds)
                    proven += plan.optimal
                    gap = job.printer.minutes.gap
                    above = max(above, (plan.cost[1] - plan.least[1]) / gap)
                    broken = declared_too_late(job)
                    seconds, outcome = timed(lambda job=broken: plan_job(Machine(Heights(job))))
                    assert outcome.conflict is not None
                    assert outcome.conflict.proven
                    hopeless_times.append(seconds)
                yield (
                    f"{passes:,}",
                    f"{reach:g} mm",
                    f"{proven} of {seeds}",
                    f"{above:g}",
                    shown(median(times)),
                    shown(max(times)),
                    shown(median(hopeless_times)),
                )

    report.table(
        "Open gaps of longer jobs",
        "The same with a limit on the throw, in jobs for which the search step by step is too slow;"
        " every plan passed the audit. `above` is the largest excess over the bound, in gap"
        " settings. `hopeless` is the time for the same job with one thin pass at a low gap"
        " declared after half of all others, to the proven conflict.",
        ("passes", "reach", "proven", "above", "median", "slowest", "hopeless"),
        rows(),
    )


def declared_too_late(job: Job) -> Job:
    """The job with a pass at no extra that must come after half of all others."""
    after = tuple(item.id for item in job.passes[: len(job.passes) // 2])
    low = evolve(
        job.passes[0],
        id="low",
        ink="flat",
        layers=1,
        gap=Gap(Interval.exact(0.0)),
        over=(),
        after=after,
    )
    return evolve(job, passes=(*job.passes, low))


# --- is there an order at all ---------------------------------------------------------------------


def hopeless(passes: int, seed: int) -> Job:
    """A job whose passes are all fine but for one that is declared after a layer which it cannot
    clear.
    """
    job = rows_of_signs(passes, 6, seed)
    edges = list(clearance_precedence(Machine(Heights(job))))
    edge = random.Random(seed).choice(edges)
    made = list(job.passes)
    made[edge.before] = evolve(made[edge.before], after=(made[edge.then].id,))
    return evolve(job, passes=tuple(made))


def conflict_of_stuck(machine: Machine, found: Reduced, stuck: int) -> Conflict:
    """A stuck set made smallest and put in words."""
    deadlock = deadlock_of_stuck(machine, found, stuck, BUDGET)
    return conflict_in_words(machine, tuple(bits_of(deadlock.items)), smallest=deadlock.is_smallest)


def feasibility(report: Report, quick: bool) -> None:
    seeds = 2 if quick else 5
    aims = {1_000: 0.010, 10_000: 0.100}

    def rows() -> Iterable[tuple[object, ...]]:
        for passes in (100, 1_000) if quick else (100, 1_000, 10_000):
            checks, wholes, conflicts, sizes, feasible = [], [], [], [], []
            for seed in range(seeds if passes < 10_000 else 2):
                _, good = problem_of(rows_of_signs(passes, 6, seed))
                solver = Solver(strict_of(good))
                seconds, stuck = timed(lambda solver=solver: solver.stuck(solver.everything), 3)
                assert not stuck
                feasible.append(seconds)
                job = hopeless(passes, seed)
                whole, (machine, found) = timed(lambda job=job: problem_of(job))
                solver = Solver(found.loose)
                check, stuck = timed(lambda solver=solver: solver.stuck(solver.everything), 3)
                assert stuck
                conflict, said = timed(
                    lambda m=machine, f=found, k=stuck: conflict_of_stuck(m, f, k)
                )
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
                    f"feasible or not, with a certificate, {passes:,} passes:"
                    f" {shown(aims[passes])}",
                    f"{shown(median(feasible))} and {shown(median(checks))} once reduced,"
                    f" {shown(median(wholes))} from the job on",
                    (
                        "yes"
                        if median(wholes) <= aims[passes]
                        else (
                            "once reduced; **not** from the job on"
                            if max(median(feasible), median(checks)) <= aims[passes]
                            else "**no**"
                        )
                    ),
                )
            report.aim(
                f"conflict at {passes:,} passes: at most twice a feasibility check",
                f"{alone:.3g} times the bare check, "
                f"{median(a / c for a, _, c in pairs):.3g} times the one from the job on",
                alone <= 2,
            )

    report.table(
        "Safe order or none",
        "A sound job, and the same with one pass declared after a layer which it cannot clear. The"
        " check is that of the reduced problem, which gives a stuck set as its proof; `from the job"
        " on` adds zones, heights and the reduction. A conflict is the stuck set made smallest and"
        " put in words.",
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


# --- published instances --------------------------------------------------------------------------

PUBLISHED = (
    "br17.10",
    "br17.12",
    "ESC07",
    "ESC11",
    "ESC12",
    "p43.4",
    "ry48p.4",
    "ft53.4",
    "rbg109a",
    "rbg150a",
)


def published(report: Report, quick: bool) -> None:
    if not os.path.isdir(sop.FOLDER):
        report.say(
            "",
            "### Published instances",
            "",
            "Not measured: SIGNRULES_SOP names no folder with them.",
        )
        return
    reached = []

    def rows() -> Iterable[tuple[object, ...]]:
        for name in PUBLISHED[:5] if quick else PUBLISHED:
            one, best = sop.read(name), sop.best_known()[name]
            seconds, solved = timed(lambda one=one: Solver(one).solve(2_000_000))
            proven = solved.order is not None and solved.cost == solved.bound
            reached.append(proven and solved.cost == best)
            yield (
                name,
                len(one.classes),
                best,
                solved.cost,
                "yes" if proven else "no",
                shown(seconds),
            )

    report.table(
        "Published instances",
        "Sequential ordering problems of TSPLIB with their best known values; every node is a class"
        " of its own.",
        ("instance", "nodes", "best known", "ours", "proven", "time"),
        rows(),
    )
    report.aim(
        f"published instances: {len(reached)} reached and proven",
        f"{sum(reached)} of {len(reached)}",
        all(reached),
    )


PARTS = (stated_gaps, open_gaps, long_open_gaps, feasibility, published, against_cpsat)


if __name__ == "__main__":
    run_parts(PARTS)
