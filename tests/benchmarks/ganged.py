"""Measures plans of ganged beds beside the orders that a shop would try, and the commands on some
of them.

    python tests/benchmarks/ganged.py [--quick]

It prints Markdown tables; `all.py` puts them into the page, beside all others. The beds are
invented (`tests/benchmarks/beds.py`). Times depend on the machine, so nothing is asserted; the
ratios within one run are what counts.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from itertools import product
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[1]))

from attrs import frozen
from benchmarks.beds import CONSTRUCTIVE, constructive_plan, ganged_bed, kind_by_kind, relisted
from benchmarks.ganged_commands import commands
from benchmarks.reporting import Report, ratio, run_parts, shown, timed, version_of

from signrules import Live, evaluate
from signrules.model import Job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.planner import Outcome as Planned
from signrules.planning.planner import plan_job, replay_order

Cost = tuple[int, float]

CPSAT_SECONDS = 60.0
TWO = (3.0, 4.0)
BAD = ("BROKEN", "DOUBTFUL")
LISTINGS = ("sheet by sheet", "kind by kind", "shuffled")
HEAD = ("bed", "plan", "bound", "proven", "time", ": one replay", *CONSTRUCTIVE)
COSTS = (
    "Costs in minutes of set-up, with the bed loads before them where there are several; "
    "`unsafe` where a step scrapes."
)


@frozen
class Measured:
    """A bed, what the planner made of it in what time, and what each constructive order costs where
    it is safe.
    """

    name: str
    outcome: Planned
    seconds: float
    replay: float
    orders: dict[str, Cost | None]

    @property
    def floor(self) -> Cost | None:
        """The least cost of the constructive orders."""
        return min((cost for cost in self.orders.values() if cost is not None), default=None)

    @property
    def proven(self) -> bool:
        """Whether the plan is proven to be the cheapest."""
        return self.outcome.plan is not None and self.outcome.plan.optimal

    def no_dearer_than(self, most: Cost | None) -> bool:
        """Whether there is a plan that costs no more."""
        return self.outcome.plan is not None and most is not None and self.outcome.plan.cost <= most

    def row(self) -> tuple[object, ...]:
        """A row under HEAD."""
        plan, conflict = self.outcome.plan, self.outcome.conflict
        cost = "**none found**" if conflict is None or not conflict.proven else "no order"
        bound = ""
        if plan is not None:
            cost, bound = minutes(plan.cost), minutes(plan.least)
            cost = cost if self.no_dearer_than(self.floor) else f"**{cost}**"
        proven = "yes" if self.proven or (conflict is not None and conflict.proven) else "no"
        orders = [minutes(found) for found in self.orders.values()]
        return (
            self.name,
            cost,
            bound,
            proven,
            shown(self.seconds),
            ratio(self.seconds, self.replay),
            *orders,
        )


def minutes(cost: Cost | None) -> str:
    """A cost as it stands in the tables."""
    if cost is None:
        return "unsafe"
    loads, weight = cost
    return f"{weight:g}" if loads == 1 else f"{loads} loads, {weight:g}"


def measured(name: str, job: Job) -> Measured:
    """Plan a bed, and cost the constructive orders; the replay to compare with is that of the order
    kind by kind.
    """
    seconds, outcome = timed(lambda: plan_job(Machine(Heights(job))))
    order = kind_by_kind(job)
    replay, _ = timed(lambda: replay_order(Machine(Heights(job)), order), 2)
    known: dict[tuple[int, ...], Cost | None] = {}
    orders = {}
    for way, order_of in CONSTRUCTIVE.items():
        order = order_of(job)
        if order not in known:
            plan = constructive_plan(job, order)
            known[order] = None if plan is None else plan.cost
        orders[way] = known[order]
    return Measured(name, outcome, seconds, replay, orders)


def table(
    report: Report, title: str, about: str, beds: Iterable[tuple[str, Job]]
) -> list[Measured]:
    """A table of beds; returns what was measured."""
    found: list[Measured] = []

    def rows() -> Iterable[tuple[object, ...]]:
        for name, job in beds:
            found.append(measured(name, job))
            yield found[-1].row()

    report.table(title, f"{about} {COSTS}", HEAD, rows())
    return found


def say_aim(report: Report, what: str, found: Iterable[tuple[Measured, float, bool]]) -> None:
    """Note whether all of some beds are as cheap as the best constructive order, within a time
    each, and proven.

    Of each bed the most seconds, and whether it must be proven.
    """
    some = list(found)
    cheap = sum(one.no_dearer_than(one.floor) for one, *_ in some)
    quick = sum(one.seconds <= most for one, most, _ in some)
    wanted = [one for one, _, must in some if must]
    proven = sum(one.proven for one in wanted)
    slowest = max((one.seconds for one, *_ in some), default=0.0)
    says = (
        f"{cheap} of {len(some)} as cheap, {proven} of {len(wanted)} proven, {quick} in time, "
        f"slowest {shown(slowest)}"
    )
    report.aim(what, says, cheap == quick == len(some) and proven == len(wanted))


# --- stated gaps ----------------------------------------------------------------------------------


def stated_beds(report: Report, quick: bool) -> None:
    """Every sheet alike, gaps stated."""
    aims = [(6, 4), (4, 6), (4, 8), (12, 6)]
    sizes = aims if quick else [*aims, (1, 8), (2, 8), (8, 5), (8, 8), (20, 4), (30, 6), (30, 8)]
    aimed = []
    for over in ("build-up", "media"):
        beds = [
            (f"{sheets} x {passes}", ganged_bed(sheets, passes, colour_over=over))
            for sheets, passes in sizes
        ]
        title = f"Ganged beds, colour and varnish over the {over}"
        found = table(
            report, title, "Alike sheets in a grid, 3 mm +- 0.2 mm, every gap stated.", beds
        )
        aimed += [(one, 0.3, True) for one in found[: len(aims)]]
        aimed += [(one, 1.0, False) for one in found if one.name == "30 x 6"]
    what = (
        "ganged beds, stated gaps, 6 x 4 to 12 x 6: no dearer than the constructive orders, proven,"
        " 0.3 s each"
    )
    say_aim(report, what + ("" if quick else "; 30 x 6 within 1 s"), aimed)


def other_beds(report: Report, quick: bool) -> None:
    """Other tolerances, controls and layouts."""
    size = (4, 4) if quick else (4, 6)
    forms = {
        "no tolerance": {"tolerance": 0.0},
        "+- 0.3 mm": {"tolerance": 0.3},
        "a dial of 30 steps": {"control": "dial"},
        "a dial of 500 steps": {"control": "dial", "dial_steps": 500},
        "no control": {"control": "none"},
        "one column": {"columns": 1},
        "one row": {"columns": 4},
        "too far apart to meet": {"apart": True, "columns": 1},
        "no order given": {"ordered": False},
    }
    beds = [(name, ganged_bed(*size, **form)) for name, form in forms.items()]
    title = f"Ganged beds of {size[0]} x {size[1]} passes, stated gaps, in other forms"
    table(report, title, "One thing other than in the table before.", beds)


def mixed_beds(report: Report, quick: bool) -> None:
    """Sheets of two thicknesses or of several chains, some with a back."""
    forms: dict[str, tuple[int, int | tuple[int, ...], dict[str, object]]] = {
        "4 x 4, two thicknesses": (4, 4, {"thicknesses": TWO}),
        "2 x 6, two thicknesses, one flip": (2, 6, {"thicknesses": TWO, "flips": 1}),
        "2 x 4, two thicknesses, open gaps": (
            2,
            4,
            {"thicknesses": TWO, "stated": False, "throw": 2.6},
        ),
        "2 x 5, one flip, open gaps": (2, 5, {"flips": 1, "stated": False}),
        "4 sheets of 4 and 6 passes": (4, (4, 6), {}),
        "4 sheets of 4, 5, 6 and 8 passes": (4, (4, 5, 6, 8), {}),
    }
    if not quick:
        forms |= {
            "4 x 6, two thicknesses": (4, 6, {"thicknesses": TWO}),
            "4 x 6, two thicknesses, apart": (4, 6, {"thicknesses": TWO, "apart": True}),
            "4 x 6, two thicknesses, no control": (4, 6, {"thicknesses": TWO, "control": "none"}),
            "4 x 6, two thicknesses, two flips": (4, 6, {"thicknesses": TWO, "flips": 2}),
            "5 x 8, two thicknesses": (5, 8, {"thicknesses": TWO}),
            "6 x 6, two thicknesses, two flips": (6, 6, {"thicknesses": TWO, "flips": 2}),
            "3 sheets of 4, 6 and 8 passes, two thicknesses": (3, (4, 6, 8), {"thicknesses": TWO}),
            "4 x 4, two thicknesses, open gaps": (
                4,
                4,
                {"thicknesses": TWO, "stated": False, "throw": 2.6},
            ),
            "3 x 4, one flip, open gaps": (3, 4, {"flips": 1, "stated": False}),
        }
    beds = [
        (name, ganged_bed(sheets, passes, **form)) for name, (sheets, passes, form) in forms.items()
    ]
    found = table(
        report, "Sheets that differ", "Two thicknesses, several chains, backs with a flip.", beds
    )
    small = [len(job.passes) <= 16 for _, job in beds]
    what = (
        "two thicknesses, several chains, flips, to 40 passes: no dearer; 1 s; proven up to 16"
        " passes"
    )
    say_aim(report, what, [(one, 1.0, must) for one, must in zip(found, small, strict=True)])


# --- open gaps ------------------------------------------------------------------------------------


def open_beds(report: Report, quick: bool) -> None:
    """Every gap left to the planner."""
    sizes = [(3, 4), (4, 4)] if quick else [(3, 4), (4, 4), (2, 8), (3, 6), (5, 5)]
    aimed = []
    controls = {"four spacers": "spacers", "a dial of 30 steps": "dial"}
    records: dict[str, dict[str, object]] = {
        "no alignment on record": {},
        "one on record at 0 mm": {"records": (0.0,)},
        "one on record, thick ink one way": {"records": (0.0,), "one_way": True},
    }
    for (control, form), (known, more) in product(controls.items(), records.items()):
        beds = [
            (f"{sheets} x {passes}", ganged_bed(sheets, passes, stated=False, control=form, **more))
            for sheets, passes in sizes
        ]
        about = "Alike sheets, every gap open, a landing tolerance of 0.06 mm."
        aimed += table(report, f"Open gaps, {control}, {known}", about, beds)
    what = "ganged beds, open gaps, spacers and a dial of 30 steps: no dearer, 0.5 s each, proven"
    say_aim(report, what, [(one, 0.5, True) for one in aimed])


def one_open_sheet(report: Report, quick: bool) -> None:
    """The hardest of the small ones: nothing but the passes is given."""
    forms = {
        f"a dial of {steps} steps{', one alignment on record' if records else ''}": (steps, records)
        for steps in (30, 500)
        for records in ((), (0.0,))
    }
    beds = [
        (
            name,
            ganged_bed(
                1, 8, stated=False, control="dial", dial_steps=steps, records=records, ordered=False
            ),
        )
        for name, (steps, records) in (list(forms.items())[:2] if quick else forms.items())
    ]
    title = "One sheet, eight passes, open gaps, no order given"
    found = table(report, title, "Nothing but the passes is given.", beds)
    say_aim(
        report,
        "8 passes on one sheet, open gaps, no order: proven, 0.3 s",
        [(one, 0.3, True) for one in found],
    )


# --- CP-SAT ---------------------------------------------------------------------------------------


def against_cpsat(report: Report, quick: bool) -> None:
    """The least set-up of small beds, proven by a model that shares no code with the planner."""
    if version_of("ortools") is None:
        report.say("", "### CP-SAT on ganged beds", "", "Not measured: ortools is not installed.")
        return
    from benchmarks.cpsat_beds import least_setup

    sizes = (
        [(2, 4), (3, 4), (2, 6), (4, 4)]
        if quick
        else [(2, 4), (3, 4), (2, 6), (4, 4), (2, 8), (3, 6), (5, 4), (4, 5)]
    )
    ratios, alike, both = [], 0, 0

    def rows() -> Iterable[tuple[object, ...]]:
        nonlocal alike, both
        for sheets, passes in sizes:
            for over in ("build-up", "media"):
                job = ganged_bed(sheets, passes, colour_over=over)
                seconds, outcome = timed(lambda job=job: plan_job(Machine(Heights(job))))
                answer = least_setup(job, CPSAT_SECONDS)
                plan = outcome.plan
                both += answer.proven
                alike += answer.proven and plan is not None and plan.cost == answer.cost
                ratios.append(answer.seconds / seconds)
                yield (
                    f"{sheets} x {passes}, {over}",
                    "none found" if plan is None else minutes(plan.cost),
                    "none found" if answer.cost is None else minutes(answer.cost),
                    "yes" if answer.proven else f"no, at least {minutes(answer.bound)}",
                    shown(seconds),
                    shown(answer.seconds),
                    f"{ratios[-1]:.3g}",
                )

    about = (
        f"A model in CP-SAT ({CPSAT_SECONDS:g} s limit, 2 workers, its solving time alone) that"
        " goes place by place through the order and shares no code with the planner. Ours is one"
        " thread, from the job on."
    )
    head = (
        "bed, colour over",
        "plan",
        "CP-SAT",
        "proven by CP-SAT",
        "ours",
        "CP-SAT",
        "CP-SAT : ours",
    )
    report.table("CP-SAT on ganged beds", about, head, rows())
    says = f"{alike} of the {both} that it proved, median {median(ratios):.3g} times faster"
    report.aim("ganged beds, stated gaps: what CP-SAT proves to be the least", says, alike == both)


# --- laws and mistakes ----------------------------------------------------------------------------


def listings(report: Report, quick: bool) -> None:
    """The same bed as three documents."""
    beds = [ganged_bed(2, 4), ganged_bed(4, 6), ganged_bed(4, 8), ganged_bed(3, 4, stated=False)]
    if not quick:
        beds += [
            ganged_bed(10, 6),
            ganged_bed(4, 6, thicknesses=TWO, flips=2),
            ganged_bed(5, 5, stated=False),
        ]
    beds.append(ganged_bed(4, 6, mistake="gap"))
    alike = []

    def rows() -> Iterable[tuple[object, ...]]:
        for job in beds:
            said = []
            for listed in LISTINGS:
                outcome = plan_job(Machine(Heights(relisted(job, listed, seed=1))))
                said.append(verdict(outcome))
            alike.append(len(set(said)) == 1)
            yield (
                job.name.removeprefix("an invented bed of "),
                *said,
                "yes" if alike[-1] else "**no**",
            )

    about = (
        "The same bed listed in three ways, the shuffled one with everything else in another order"
        " as well."
    )
    report.table("Listings", about, ("bed", *LISTINGS, "the same"), rows())
    what = "the document's order of passes, sheets and inks changes no cost and no verdict"
    report.aim(what, f"{sum(alike)} of {len(alike)} the same", all(alike))


def verdict(outcome: Planned) -> str:
    """What a planner says of a job, in short."""
    plan, conflict = outcome.plan, outcome.conflict
    if plan is not None:
        return minutes(plan.cost) + (", proven" if plan.optimal else "")
    return "no order" if conflict is not None and conflict.proven else "none found"


def signs_and_mistakes(report: Report, quick: bool) -> None:
    """A report with all its remedies beside the bare evaluation."""
    sizes = (
        ((1, 8, 10), (4, 6, 30)) if quick else ((1, 8, 10), (4, 6, 50), (4, 8, 200), (12, 6, 200))
    )
    aimed = []

    def rows() -> Iterable[tuple[object, ...]]:
        for sheets, passes, signs in sizes:
            for mistake in (None, "sign", "gap"):
                job = ganged_bed(sheets, passes, signs=signs, mistake=mistake)
                bare, result = timed(lambda job=job: evaluate(job))
                fresh = Live().evaluate(job)
                with_remedies, data = timed(fresh.to_dict)
                whole = bare + with_remedies
                aimed.append(whole <= max(20 * bare, bare + 2))
                bad = [check for check in data["checks"] if check["outcome"] in BAD]
                mended = sum(bool(check["remedies"]) for check in bad)
                yield (
                    f"{sheets} x {passes}, {signs} signs",
                    mistake or "none",
                    verdict_of(result.order_is_safe, ok=result.ok),
                    f"{mended} of {len(bad)}",
                    shown(bare),
                    shown(whole),
                    ratio(whole, bare),
                )

    about = (
        "A report as data with its remedies, beside the evaluation alone. `mistake`: the dots of"
        " one sheet with a gap far too low, or one of the signs with its dots too far apart."
    )
    head = ("bed", "mistake", "verdict", "with remedies", "evaluation", "report", ": evaluation")
    report.table("Alike signs and one mistake", about, head, rows())
    what = "report with remedies, alike signs: 20 times the evaluation, or 2 s more"
    report.aim(what, f"{sum(aimed)} of {len(aimed)}", all(aimed))


def verdict_of(safe: bool, *, ok: bool) -> str:
    """The two things that a verdict says."""
    return f"{'in order' if ok else 'not in order'}, {'safe' if safe else 'no safe order'}"


PARTS = (
    stated_beds,
    other_beds,
    mixed_beds,
    open_beds,
    one_open_sheet,
    against_cpsat,
    listings,
    signs_and_mistakes,
    commands,
)

if __name__ == "__main__":
    run_parts(PARTS)
