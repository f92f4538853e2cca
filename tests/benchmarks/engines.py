"""The clearance and order rules for a general-purpose logic programming system, beside the built-in
ones.

`python tests/benchmarks/engines.py` judges the same invented orders with both, asserts that the
verdicts are the same for every pass, and prints a Markdown table. The system is clingo (answer
set programming). It is told what a person would tell it: rectangles, layers, gaps and the order.
The rules below work out the rest. What stands on one spot is the ink of all passes that cover it;
signs of these jobs lie apart, so a spot is a sign's rectangle.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import clingo
from attrs import evolve
from benchmarks.cases import rows_of_signs
from benchmarks.reporting import Report, ratio, shown, timed

import signrules
from signrules import evaluate, load_plugins
from signrules.model import Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.rules.engine import Facts, PlacedRule, run_rules

PER_MM = 10**6
"""clingo reckons in whole numbers of 32 bits: nanometres, as fine as the library's own guard."""

RULES = """
% A spot is the rectangle of a sign; what covers it, and what is in the band of a pass.
spot(X, Y) :- area(_, X, Y, _).
covers(P, X, Y) :- area(P, X, Y, _).
band(P, Y0 - L, Y1 + L) :- area(P, _, Y0, Y1), head(L).
under(P, X, Y) :- band(P, Low, High), area(_, X, Y, Y1), Y < High, Y1 > Low.

% What stands on a spot at the end of a pass: all that has been printed there, itself included.
stands(P, X, Y, H) :- under(P, X, Y), at(P, N),
    H = #sum { T, Q : covers(Q, X, Y), at(Q, M), M <= N, thick(Q, T) }.
highest(P, H) :- at(P, _), H = #max { I : stands(P, _, _, I) }.
clearance(P, G - H) :- gap(P, G), highest(P, H).
broken(clearance, P) :- clearance(P, C), least(L), C < L.

% Nothing is done before what it must come after.
broken(order, P) :- after(P, Q), at(P, N), at(Q, M), M > N.

#show broken/2.
"""

SEARCH = """
% Any order, none of whose rules is broken: the passes take the places one to one.
1 { at(P, N) : place(N) } 1 :- pass(P).
1 { at(P, N) : pass(P) } 1 :- place(N).
:- broken(_, _).
#show at/2.
"""

OURS = {"clearance.margin": "clearance", "order.sequence": "order"}


def facts(job: Job, *, ordered: bool) -> str:
    """The job as facts, in nanometres; `ordered` gives its own sequence as well."""

    def whole(length: float) -> int:
        return round(length * PER_MM)

    number = {item.id: at for at, item in enumerate(job.passes)}
    lines = [f"head({whole(job.printer.head_length)}). least({whole(job.printer.min_clearance)})."]
    for at, item in enumerate(job.passes):
        (area,) = item.areas
        assert item.gap is not None
        lines.append(f"pass({at}). thick({at},{whole(job.ink_of(item).layer.high * item.layers)}).")
        lines.append(f"gap({at},{whole(job.printer.base_gap.low + item.gap.extra.low)}).")
        lines.append(f"area({at},{whole(area.x)},{whole(area.y)},{whole(area.y + area.height)}).")
        lines += [f"after({at},{number[name]})." for name in (*item.over, *item.after)]
    if ordered:
        assert job.sequence is not None
        lines += [f"at({number[name]},{position})." for position, name in enumerate(job.sequence)]
    else:
        lines.append(f"place(0..{len(job.passes) - 1}).")
    return "\n".join(lines)


def judged_by_clingo(job: Job) -> set[tuple[str, str]]:
    """Which rule each pass breaks in the job's own sequence."""
    control = clingo.Control(["--warn=none"])
    control.add("base", [], RULES + facts(job, ordered=True))
    control.ground([("base", [])])
    found: set[tuple[str, str]] = set()
    with control.solve(yield_=True) as handle:
        (model,) = handle
        for symbol in model.symbols(shown=True):
            rule, at = symbol.arguments
            found.add((rule.name, job.passes[at.number].id))
    return found


def judged_by_signrules(job: Job) -> set[tuple[str, str]]:
    """The same from a whole evaluation, which judges everything else as well and looks for the best
    plan.
    """
    return _broken(evaluate(job, audited=False).checks)


def two_rules(job: Job, placed: list[PlacedRule]) -> set[tuple[str, str]]:
    """The same from these two rules alone, on the replay of the job's own sequence."""
    machine = Machine(Heights(job))
    assert job.sequence is not None
    timeline = replay_items(machine, [machine.index[name] for name in job.sequence], {})
    facts = Facts(job, timeline, (), ordered=False)
    return _broken(run_rules(placed, facts)[0])


def _broken(checks: Iterable[signrules.Check]) -> set[tuple[str, str]]:
    return {
        (OURS[check.rule], check.subjects[0].removeprefix("passes."))
        for check in checks
        if check.rule in OURS and check.outcome is not signrules.Outcome.MET
    }


def order_by_clingo(job: Job, seconds: float) -> tuple[str, ...] | None:
    """A safe order; None where the time was up before there was one."""
    control = clingo.Control(["--warn=none"])
    control.add("base", [], RULES + SEARCH + facts(job, ordered=False))
    control.ground([("base", [])])
    places: dict[int, str] = {}

    def keep(model: clingo.Model) -> None:
        places.update(
            {
                s.arguments[1].number: job.passes[s.arguments[0].number].id
                for s in model.symbols(shown=True)
                if s.name == "at"
            }
        )

    with control.solve(async_=True, on_model=keep) as handle:
        if not handle.wait(seconds):
            handle.cancel()
            return None
        assert handle.get().satisfiable
    return tuple(places[position] for position in sorted(places))


def shuffled(job: Job, seed: int) -> Job:
    """The job with its passes in an order that changes some of them about, and so breaks some
    rules.
    """
    chance, order = random.Random(seed), [item.id for item in job.passes]
    for _ in range(max(1, len(order) // 5)):
        a, b = chance.randrange(len(order)), chance.randrange(len(order))
        order[a], order[b] = order[b], order[a]
    return evolve(job, sequence=tuple(order))


def engines(report: Report, quick: bool) -> None:
    """Judge orders, and look for one, with both."""

    def judging() -> list[tuple[object, ...]]:
        rows = []
        times: dict[int, tuple[float, float]] = {}
        placed = [one for one in load_plugins().rules if one.rule.name in OURS]
        assert len(placed) == len(OURS)
        for passes in (10, 30, 100) if quick else (10, 30, 100, 300):
            job = shuffled(rows_of_signs(passes, 6, 1), passes)
            theirs, found = timed(lambda job=job: judged_by_clingo(job), 3)
            ours, known = timed(lambda job=job: judged_by_signrules(job), 3)
            assert found == known, found ^ known
            alone, same = timed(lambda job=job: two_rules(job, placed), 3)
            assert same == found
            assert found
            times[passes] = theirs, alone
            rows.append(
                (
                    passes,
                    len(found),
                    *map(shown, (alone, ours, theirs)),
                    ratio(theirs, alone),
                    ratio(theirs, ours),
                )
            )
        said = [f"{ratio(*pair)} times at {passes}" for passes, pair in times.items()]
        report.aim(
            "judging an order by two rules: ahead of clingo at 10 passes as at 100 and more",
            ", ".join(said),
            all(theirs > alone for theirs, alone in times.values()),
        )
        return rows

    report.table(
        "A general-purpose rule system: judging an order",
        f"clingo {version('clingo')}, answer set programming, which is given the same two rules"
        " (clearance and order). `the two rules` is heights, replay and these rules here, which"
        " also give every number and sentence; `evaluate` judges all other rules as well and looks"
        " for the best plan. The verdicts are the same for every pass; that is asserted.",
        (
            "passes",
            "findings",
            "the two rules",
            "evaluate",
            "clingo",
            "clingo : the two rules",
            "clingo : evaluate",
        ),
        judging(),
    )

    def ordering() -> list[tuple[object, ...]]:
        rows = []
        for passes in (4, 6, 8, 10) if quick else (4, 6, 8, 10, 12, 16):
            job = rows_of_signs(passes, 6, 1)
            start = time.process_time()
            order = order_by_clingo(job, 20)
            theirs = time.process_time() - start
            ours, safe = timed(lambda job=job: signrules.safe_order(job), 3)
            if order is not None:
                assert not judged_by_signrules(evolve(job, sequence=order))
                if passes == 10:
                    report.aim(
                        "the cheapest order of 10 passes: ahead of any safe order by clingo",
                        f"{ratio(theirs, ours)} times",
                        theirs > ours,
                    )
            assert not judged_by_clingo(evolve(job, sequence=safe))
            rows.append(
                (
                    passes,
                    shown(ours),
                    shown(theirs) if order else "none in 20 s",
                    ratio(theirs, ours) if order else "",
                )
            )
        return rows

    report.table(
        "A general-purpose rule system: finding an order",
        "Any safe order by clingo, the cheapest one by `safe_order`. Each order is judged by the"
        " other, and both find it safe; that is asserted.",
        ("passes", "safe_order", "clingo", "clingo : safe_order"),
        ordering(),
    )


if __name__ == "__main__":
    engines(Report([], []), "--quick" in sys.argv)
