"""What came of an earlier trial helps the next one and decides nothing, and no run of Python plans
otherwise.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from attrs import evolve
from benchmarks.beds import ganged_bed
from drawn_beds import NOT_SHRUNK, cost_of_order, drawn_beds, planned
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import jobs

import signrules
from signrules.model import Gap, Interval, Job, Spacers
from signrules.planning.planner import Outcome

few_spacers = st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=3, unique=True).map(
    lambda found: Spacers(tuple(found))
)
stated_jobs = jobs(stated_gaps_only=True, max_passes=7, signs=False, sides=("front", "back"))
mixed_jobs = jobs(max_passes=4, signs=False)
low_budgets = st.sampled_from([1, 5, 20, 100])


def verdict(outcome: Outcome) -> tuple[object, ...]:
    if outcome.plan is None:
        assert outcome.conflict is not None
        return "conflict", outcome.conflict.proven
    return "plan", outcome.plan.cost, outcome.plan.least, outcome.plan.optimal


def altered(job: Job, data: st.DataObject) -> Job:
    """The job with one gap, one number of layers, or the clearance to be kept another one; the same
    items.
    """
    at = data.draw(st.integers(0, len(job.passes) - 1))
    what = data.draw(st.sampled_from(["gap", "layers", "clearance"]))
    if what == "clearance":
        least = data.draw(st.integers(0, 150)) / 100
        return evolve(job, printer=evolve(job.printer, min_clearance=least))
    changes = {
        "gap": Gap(Interval.exact(data.draw(st.integers(0, 6)) / 2)),
        "layers": data.draw(st.integers(1, 40)),
    }
    changed = evolve(job.passes[at], **{what: changes[what]})
    return evolve(job, passes=(*job.passes[:at], changed, *job.passes[at + 1 :]))


def known_decides_nothing(job: Job, data: st.DataObject) -> None:
    """A trial beside one without anything known; what is known is of the same job, or of a job
    altered in one thing.
    """
    earlier = planned(job)
    assert verdict(planned(job, known=earlier)) == verdict(earlier)
    other = altered(job, data)
    assert verdict(planned(other, known=earlier)) == verdict(planned(other))


@settings(max_examples=effort(60))
@given(stated_jobs, st.data())
def test_known_decides_nothing_with_stated_gaps(job, data):
    known_decides_nothing(job, data)


@settings(max_examples=effort(40))
@given(mixed_jobs, few_spacers, st.data())
def test_known_decides_nothing_with_open_gaps(job, spacers, data):
    known_decides_nothing(evolve(job, printer=evolve(job.printer, gap=spacers)), data)


def is_no_dearer_than_known(job: Job, other: Job, budget: int) -> None:
    """With hardly any budget too: the known order, where it is safe for the other job,
    is a floor.
    """
    earlier = planned(job)
    if earlier.plan is None:
        return
    place = {item.id: at for at, item in enumerate(other.items)}
    floor = cost_of_order(other, [place[name] for name in earlier.plan.order])
    outcome = planned(other, budget, earlier)
    if floor is not None:
        assert outcome.plan is not None
        assert outcome.plan.cost <= floor
        assert outcome.plan.least <= floor


@settings(max_examples=effort(60))
@given(stated_jobs, st.data(), low_budgets)
def test_no_dearer_than_the_known_order(job, data, budget):
    is_no_dearer_than_known(job, altered(job, data), budget)


@settings(max_examples=effort(40))
@given(mixed_jobs, few_spacers, st.data(), low_budgets)
def test_no_dearer_than_the_known_order_with_open_gaps(job, spacers, data, budget):
    job = evolve(job, printer=evolve(job.printer, gap=spacers))
    is_no_dearer_than_known(job, altered(job, data), budget)


@pytest.mark.thorough
@settings(max_examples=effort(8), phases=NOT_SHRUNK)
@given(drawn_beds(most=40), st.data(), low_budgets)
def test_no_dearer_than_the_known_order_of_a_bed(job, data, budget):
    is_no_dearer_than_known(job, altered(job, data), budget)


@settings(max_examples=effort(8), phases=NOT_SHRUNK)
@given(drawn_beds(most=40), st.data())
def test_known_decides_nothing_on_a_bed(job, data):
    """Where nothing is proven a known order may be better than what the search finds by itself, and
    never worse.
    """
    earlier, other = planned(job), altered(job, data)
    without, with_known = planned(other), planned(other, known=earlier)
    if without.plan is None:
        assert with_known.plan is None or not without.conflict.proven
    else:
        assert with_known.plan is not None
        assert with_known.plan.cost <= without.plan.cost
        if without.plan.optimal:
            assert verdict(with_known) == verdict(without)


def test_what_is_known_of_other_items_is_left_aside():
    one, other = ganged_bed(2, 4), ganged_bed(2, 5)
    assert verdict(planned(other, known=planned(one))) == verdict(planned(other))


# --- the same everywhere --------------------------------------------------------------------------

BEDS = (
    "ganged_bed(4, 6)",
    "ganged_bed(3, (4, 6), thicknesses=(3.0, 4.0), listed='shuffled', seed=3)",
    "ganged_bed(2, 4, flips=1)",
    "ganged_bed(2, 4, stated=False)",
    "ganged_bed(2, 4, stated=False, control='dial', dial_steps=10, throw=2.7, records=(0.0,))",
    "ganged_bed(2, 4, mistake='gap')",
)
SCRIPT = f"""
from attrs import evolve
from benchmarks.beds import ganged_bed
from drawn_beds import planned

def shown(outcome):
    print(outcome.states, outcome.conflict)
    if outcome.plan is not None:
        plan = outcome.plan
        print(plan.order, plan.cost, plan.least, plan.optimal)
        print([(s.kind, s.subject, s.extra, s.above, s.media) for s in plan.steps])

for job in ({", ".join(BEDS)}):
    first = planned(job)
    shown(first)
    other = evolve(job, printer=evolve(job.printer, min_clearance=0.9))
    shown(planned(other, known=first))
"""


def said(seed: str) -> str:
    tests = Path(__file__).parents[1]
    path = os.pathsep.join([str(tests), str(Path(signrules.__file__).parents[1])])
    environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path}
    run = subprocess.run(
        [sys.executable, "-c", SCRIPT], env=environment, capture_output=True, text=True, check=True
    )
    return run.stdout


@pytest.fixture(scope="module")
def first_said() -> str:
    return said("0")


@pytest.mark.thorough
def test_something_is_said(first_said):
    """A plan or a conflict for each bed and for each altered one, and how many states that took."""
    states = [line.split(" ", 1)[0] for line in first_said.splitlines() if line[:1].isdigit()]
    assert len(states) == 2 * len(BEDS)
    assert any(int(count) > 100 for count in states)


@pytest.mark.slow
@pytest.mark.parametrize("seed", ["1", "4242"])
def test_no_order_of_hashing_changes_anything(first_said, seed):
    assert said(seed) == first_said
