"""What is said to be the least that is left to do, against what it is found to cost.

`LeastLeft` must never exceed the cheapest plan (a brute force of another make, tests/reference.py),
nor at any state of a search the cheapest way on from there; and so that few states are looked at
twice, it must not fall by more along a step of these jobs than the step costs. The last law is
about gaps over the build-up that at most one pass can keep.
"""

from __future__ import annotations

from functools import cache

import pytest
from attrs import evolve
from drawn_beds import (
    BESIDE_MM,
    as_searched,
    copies,
    easier,
    is_worse,
    machine_of,
    orders_of,
    reached_states,
)
from effort import effort
from hypothesis import event, given, settings
from hypothesis import strategies as st
from reference import BruteForce
from scenario import sign_job
from strategies import jobs

from signrules import job_from_dict
from signrules.model import Area, Gap, Ink, Interval, Job, Media, Minutes, Pass, Printer, Spacers
from signrules.physics.landing import Window
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items
from signrules.physics.timeline import Timeline
from signrules.planning.gaps.kept_planes import kept_by_one
from signrules.planning.order.bounds import Head, LeastLeft
from signrules.planning.order.next_items import NextItems, State
from signrules.planning.order.step_search import StepSearch
from signrules.planning.order.step_trouble import trouble_of_steps
from signrules.planning.setup_cost import Cost

EXACT = Interval.exact
BOTH = ("front", "back")
ENOUGH = 10**7
GUARD = 1e-6
spacers = st.lists(st.sampled_from([0.4, 0.8, 1.2, 2.0]), max_size=2, unique=True).map(
    lambda found: Spacers(tuple(found))
)


def hard_and_easy(drawn: st.SearchStrategy[Job]) -> st.SearchStrategy[Job]:
    """Jobs as they are drawn, and such as nothing stands in the way of."""
    return drawn | drawn.map(easier)


stated_jobs = hard_and_easy(jobs(stated_gaps_only=True, max_passes=5, signs=False, sides=BOTH))
open_jobs = hard_and_easy(jobs(max_passes=3, signs=False, sides=BOTH))


def with_spacers(job: Job, gap: Spacers) -> Job:
    return evolve(job, printer=evolve(job.printer, gap=gap))


# --- of everything --------------------------------------------------------------------------------


def is_no_more_than_the_cheapest(job: Job) -> None:
    machine = as_searched(job)
    expected = BruteForce(job).run()
    if machine.topological is None or expected is None:
        return
    loads, weight = LeastLeft(machine, range(len(machine.items))).of_everything()
    assert (loads, weight) <= (expected[0], expected[1] + GUARD)


@settings(max_examples=effort(100))
@given(stated_jobs)
def test_of_everything_with_stated_gaps(job):
    is_no_more_than_the_cheapest(job)


@settings(max_examples=effort(100))
@given(open_jobs, spacers)
def test_of_everything_with_open_gaps(job, gap):
    is_no_more_than_the_cheapest(with_spacers(job, gap))


def test_one_alignment_holds_the_planes_that_it_serves_together():
    """Of three passes `low` is stated at 4.5 mm, `high` one-way at 6 mm; `open` has 0.75 mm of ink
    and 1 mm to clear, so that it runs at 4.75 mm or more, and two-way as `low` does.

    An alignment serves 0.06 mm * 6000 / (2 * 800) = 0.225 mm to either side of a throw: one that
    serves `low` lies at 0.225 mm at the most, and serves `open` up to 0.45 mm over a bare sheet,
    below `high`. So there is one alignment with three settings, 12 + 3 * 2, or two with two
    settings, 24 + 2 * 2; and a load of 4 minutes.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"]["gap"] = {"control": "dial", "max": 1.5, "step": 0.25}
    document["passes"] = [
        {"id": "low", "ink": "black", "areas": [[0, 0, 9, 9]], "gap": {"extra": 0}},
        {"id": "open", "ink": "clear", "layers": 25, "areas": [[90, 90, 9, 9]], "gap": "auto"},
        {
            "id": "high",
            "ink": "black",
            "areas": [[0, 90, 9, 9]],
            "gap": {"extra": 1.5},
            "directions": 1,
        },
    ]
    machine = machine_of(job_from_dict(document))
    assert LeastLeft(machine, range(3)).of_everything() == (1, 4 + 12 + 3 * 2)


def test_an_alignment_that_is_needed_already_serves_what_is_left_as_well():
    """What is left lies in the very window that is needed: one alignment of 12 minutes, with a load
    of 4 and a setting of 2.
    """
    document = sign_job(standards=[], signs=[])
    document["passes"] = [{"id": "plain", "ink": "black", "gap": {"extra": 0}}]
    least = LeastLeft(machine_of(job_from_dict(document)), range(1))
    needed = Window(*least.spans[0])
    assert (needed.low, needed.high) == pytest.approx((-0.225, 0.225))
    for needs in (frozenset(), frozenset({needed})):
        assert least.cost(1, 0, 0, None, Head(), needs) == (1, 4 + 2 + 12)
    assert least.cost(0, 0, 0, None, Head(), frozenset({needed})) == (0, 12)


def test_an_alignment_for_a_sheet_that_its_own_ink_lifts_lies_in_the_middle():
    """0.72 mm of ink on the front may lift the sheet by as much, more than an alignment spans
    (0.06 mm * 6000 / 800 = 0.45 mm): it lies 0.36 mm below the throw without a lift.

    The plane of the back lies 1 mm over its ink of 0.01 mm at the least, 4.01 mm above the bed, and
    1.5 + 1.5 mm over the front at the most, 6.72 mm; less 3 + 1.5 mm these are the extras.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"]["max_throw"] = 4
    document["passes"] = [
        {"id": "front", "ink": "clear", "layers": 24, "gap": "auto", "directions": 1},
        {"id": "back", "ink": "black", "gap": "auto", "side": "back", "registers_to": []},
    ]
    document["handling"] = [
        {"id": "turn", "does": "flip", "locates_by": "pins", "after": ["front"]}
    ]
    machine = machine_of(job_from_dict(document))
    low, high = LeastLeft(machine, range(3)).spans[1]
    assert low == pytest.approx(4.01 - 4.5 - 0.36, abs=1e-5)
    assert high == pytest.approx(6.72 - 4.5 - 0.36, abs=1e-5)


# --- at every state -------------------------------------------------------------------------------


class _States:
    """Every state that can be reached, without any bound, and what the rest costs from each at the
    least.
    """

    def __init__(self, machine: Machine) -> None:
        self.everything = (1 << len(machine.items)) - 1
        self.next_items = NextItems(machine, self.everything, thorough=True)
        self.least = LeastLeft(machine, range(len(machine.items)))
        self.ends = cache(self._ends)

    def _ends(self, state: State) -> frozenset[tuple[int, int, int]]:
        """The loads, settings and alignments of each way to the end that is not worse than another
        in all three.
        """
        if state.done == self.everything:
            return frozenset({(0, 0, self.least._alignments(0, state.needs))})
        found = set()
        for move in self.next_items.following(state):
            for loads, settings_, alignments in self.ends(move.after):
                found.add((loads + move.loads, settings_ + move.settings, alignments))
        return frozenset(one for one in found if not any(is_worse(one, other) for other in found))

    def cost(self, state: State) -> Cost | None:
        """What the rest costs at the least, with all alignments of the plan; None where there is no
        way on.
        """
        costs = self.least.costs
        return min(((one[0], costs.weight(*one)) for one in self.ends(state)), default=None)

    def bound(self, state: State, loads: int = 0, settled: int = 0) -> Cost:
        head = Head(self.next_items.height(state), state.stated)
        left = self.everything & ~state.done
        return self.least.cost(left, loads, settled, state.load, head, state.needs)


def is_honest_at_every_state(job: Job) -> None:
    machine = as_searched(job)
    if machine.topological is None:
        return
    states = _States(machine)
    count = 0
    for state in reached_states(states.next_items):
        count += 1
        cost, bound = states.cost(state), states.bound(state)
        assert cost is None or bound <= (cost[0], cost[1] + GUARD), state
        for move in states.next_items.following(state):
            onward = states.bound(move.after, move.loads, move.settings)
            assert bound <= (onward[0], onward[1] + GUARD), (state, move)
    event(f"states: {'many' if count > 20 else 'few'}")


@settings(max_examples=effort(80))
@given(hard_and_easy(jobs(stated_gaps_only=True, max_passes=4, signs=False, sides=BOTH)))
def test_at_every_state_with_stated_gaps(job):
    is_honest_at_every_state(job)


@settings(max_examples=effort(60))
@given(open_jobs, spacers)
def test_at_every_state_with_open_gaps(job, gap):
    is_honest_at_every_state(with_spacers(job, gap))


@settings(max_examples=effort(60))
@given(hard_and_easy(jobs(max_passes=4, signs=False, sides=BOTH)), spacers)
def test_along_a_cheapest_plan(job, gap):
    machine = as_searched(with_spacers(job, gap))
    if machine.topological is None:
        return
    search = StepSearch(machine)
    found = search.cheapest(ENOUGH)
    if found.order is None:
        return
    state, loads, settled = State(), 0, 0
    for at in found.order:
        assert search._bound(state, loads, settled) <= found.bound
        wanted = found.choices.get(at)
        moves = [
            move
            for move in search.next_items.doing(state, at)
            if at not in found.choices or move.gap == wanted
        ]
        move = moves[0]
        state, loads, settled = move.after, loads + move.loads, settled + move.settings
    assert search._bound(state, loads, settled) == found.bound


# --- kept by one ----------------------------------------------------------------------------------

BRAILLE, LETTERS = Area(10, 5, 20, 5), Area(10, 12, 20, 5)


@st.composite
def painted_sheets(draw: st.DrawFn) -> Job:
    """Two or three alike sheets side by side: dots, then colour and varnish with one gap over the
    build-up.
    """
    gap = Gap(EXACT(draw(st.sampled_from([0.0, 0.2, 0.5, 1.0]))), "build-up")
    printer = Printer(
        bed=(5_000.0, 200.0),
        base_gap=EXACT(draw(st.sampled_from([0.6, 1.0, 1.5]))),
        min_clearance=draw(st.sampled_from([0.2, 0.5, 0.55, 0.6, 1.0])),
        gap=Spacers((0.5, 1.0, 1.5)),
        head_length=20.0,
        carriage_speed=800.0,
        drop_speed=6000.0,
        minutes=Minutes(4, 2, 12),
    )
    inks = (
        Ink("clear", EXACT(0.03), "clear"),
        Ink("flat", EXACT(draw(st.sampled_from([0.01, 0.05]))), "colour"),
    )
    layers = st.integers(1, 12)
    ordered = draw(st.booleans())
    passes = [
        Pass(
            "dots",
            "clear",
            areas=(BRAILLE,),
            layers=draw(layers),
            coverage=0.3,
            gap=Gap(EXACT(1.0), "media"),
        ),
        Pass(
            "colour", "flat", areas=(BRAILLE, LETTERS), layers=draw(layers), gap=gap, over=("dots",)
        ),
        Pass("varnish", "clear", layers=draw(layers), gap=gap, over=("colour",) if ordered else ()),
    ]
    give = draw(st.sampled_from([0.0, 0.02, 0.2]))
    sheet = Media(
        "sheet", Interval(3 - give, 3.0, 3 + give), (40.0, 20.0), (0.0, 0.0), hold="vacuum"
    )
    some = passes[draw(st.integers(0, 1)) :]
    if len(some) == 2:
        some[0] = evolve(some[0], over=())
    job = Job(printer, (sheet,), inks, tuple(some), name="invented sheets")
    return copies(
        job, "sheet", draw(st.integers(1, 2)) if len(some) == 2 else 1, step=(BESIDE_MM, 0.0)
    )


@settings(max_examples=effort(25))
@given(painted_sheets())
def test_at_most_one_keeps_its_plane(job):
    """In every safe order of all that there are; and the cheapest costs no less than the bound that
    follows.
    """
    machine = machine_of(job)
    groups = kept_by_one(machine, frozenset(range(len(machine.items))))
    event(f"groups: {len(groups)}")
    is_no_more_than_the_cheapest(job)
    for order in orders_of(machine) if groups else ():
        timeline = replay_items(machine, order, {})
        if not trouble_of_steps(machine, timeline):
            for group in groups:
                anew = [at for at in group.members if _is_set_anew(timeline, at)]
                assert len(anew) >= len(group.members) - 1
                heights = [timeline.printings[at].plane.height.nominal for at in anew]
                assert all(
                    group.anew[0] - GUARD <= height <= group.anew[1] + GUARD for height in heights
                )


def _is_set_anew(timeline: Timeline, at: int) -> bool:
    """Whether a pass has another plane than what a pass of the same gap and sheet just before it
    had.
    """
    passes, order = timeline.machine.job.passes, timeline.order
    place = timeline.positions[at]
    if not place:
        return True
    before = order[place - 1]
    if passes[before].gap != passes[at].gap or passes[before].media != passes[at].media:
        return True
    return timeline.printings[before].plane is not timeline.printings[at].plane
