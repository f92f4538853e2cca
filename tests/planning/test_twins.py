"""Sheets that are alike are exchanged for nothing, and sheets that differ in anything are not
called alike.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cache
from typing import Any

import pytest
from attrs import evolve
from drawn_beds import BESIDE_MM, FAR_MM, copies, easier, is_worse, machine_of, reached_states
from effort import effort
from hypothesis import event, given, settings
from hypothesis import strategies as st
from reference import BruteForce
from strategies import jobs

from signrules.model import (
    Area,
    Dial,
    Gap,
    Handling,
    Ink,
    Interval,
    Job,
    Media,
    Pass,
    Printer,
    Spacers,
)
from signrules.model.plugin_data import plugin_data
from signrules.physics.machine import Machine
from signrules.planning.order import twins
from signrules.planning.order.canonical import canonical_machine
from signrules.planning.order.next_items import NextItems, State
from signrules.planning.order.step_search import StepSearch
from signrules.planning.order.twins import TwinStates, alike_sheets

EXACT = Interval.exact
ENOUGH = 10**7
PASSES_TOGETHER = 6
BESIDE, APART = (BESIDE_MM, 0.0), (0.0, FAR_MM)


@st.composite
def alike_beds(draw: st.DrawFn, *, most: int = PASSES_TOGETHER) -> Job:
    """Two or three sheets alike of a few passes, with all that may tie them to each other."""
    job = draw(
        jobs(max_passes=3, max_media=1, max_inks=2, signs=False, sides=("front", "back"), loads=1)
    )
    job = evolve(job, handling=job.handling[:1])
    if draw(st.booleans()):
        job = easier(job)
    if draw(st.booleans()):
        job = evolve(job, handling=(Handling("wait", "pause", after=(job.passes[0].id,)),))
    spacers = draw(st.sampled_from([(), (0.8,), (0.4, 1.2)]))
    job = evolve(job, printer=evolve(job.printer, gap=Spacers(spacers)))
    number = draw(st.integers(1, 2)) if 3 * len(job.items) <= most else 1
    job = copies(
        job,
        job.media[0].id,
        number,
        step=draw(st.sampled_from([BESIDE, BESIDE, BESIDE, BESIDE, APART])),
    )
    first = [item.id for item in job.passes if item.id.partition("~")[0] == job.passes[0].id]
    if draw(st.integers(0, 3)) == 0:
        # All others register with the first pass of each sheet, of whichever sheet they are.
        tied = [
            evolve(p, registers_to=tuple(first)) if p.id not in first else p for p in job.passes
        ]
        job = evolve(job, passes=tuple(tied))
    if draw(st.integers(0, 3)) == 0:
        # Every other sheet comes with another bed load.
        loads = [evolve(sheet, load=str(1 + at % 2)) for at, sheet in enumerate(job.media)]
        job = evolve(job, media=tuple(loads))
    return job


def in_canonical_order(job: Job) -> Machine | None:
    """The machine; None where a circle holds passes back."""
    machine = machine_of(job)
    return None if machine.topological is None else canonical_machine(machine).machine


def without_twins(machine: Machine) -> StepSearch:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(twins, "alike_sheets", lambda machine: ())
        return StepSearch(machine)


# --- the same cost --------------------------------------------------------------------------------


@settings(max_examples=effort(40))
@given(alike_beds())
def test_the_cost_is_the_same_with_twins_switched_off(job):
    machine = in_canonical_order(job)
    if machine is None:
        return
    event(f"groups: {len(alike_sheets(machine))}")
    found, reference = StepSearch(machine).cheapest(ENOUGH), without_twins(machine).cheapest(ENOUGH)
    assert not reference.ended or found.ended
    event("an order" if reference.order else "none")
    assert (found.order is None) == (reference.order is None)
    assert found.bound == reference.bound


@settings(max_examples=effort(15))
@given(alike_beds(most=5))
def test_the_cost_is_that_of_a_brute_force(job):
    machine = in_canonical_order(job)
    if machine is None:
        return
    found, expected = StepSearch(machine).cheapest(ENOUGH), BruteForce(job).run()
    assert (found.order is None) == (expected is None)
    if expected is not None:
        assert found.bound == pytest.approx(expected, abs=1e-6)


# --- the states that are one ----------------------------------------------------------------------


class _Rest:
    """The ways to the end from a state, by loads, settings and the alignments that are needed."""

    def __init__(self, search: StepSearch) -> None:
        self.next_items, self.search = search.next_items, search
        self.ends = cache(self._ends)

    def _ends(self, state: State) -> frozenset[tuple[int, int, int]]:
        if state.done == self.search.active:
            return frozenset({(0, 0, self.search.least._alignments(0, state.needs))})
        found = {
            (loads + move.loads, settled + move.settings, alignments)
            for move in self.next_items.following(state)
            for loads, settled, alignments in self.ends(move.after)
        }
        return frozenset(one for one in found if not any(is_worse(one, other) for other in found))


@settings(max_examples=effort(40))
@given(alike_beds())
def test_states_of_one_name_have_one_rest(job):
    """All the states that there are: where two have the same key, what is left costs the same."""
    machine = in_canonical_order(job)
    if machine is None or not alike_sheets(machine):
        return
    search = StepSearch(machine)
    rest = _Rest(search)
    named: dict[Hashable, State] = {}
    shared = 0
    for state in reached_states(rest.next_items):
        first = named.setdefault(search.twins.key(state), state)
        shared += first != state
        assert rest.ends(first) == rest.ends(state), (first, state)
    event("shared" if shared else "all different")


def exchanged(order: list[int], one: tuple[int, ...], other: tuple[int, ...]) -> list[int]:
    swap = {**dict(zip(one, other, strict=True)), **dict(zip(other, one, strict=True))}
    return [swap.get(at, at) for at in order]


@settings(max_examples=effort(40))
@given(alike_beds(), st.data())
def test_an_exchange_of_alike_sheets_changes_neither_name_nor_rest(job, data):
    """Walk at random, and once more with two alike sheets exchanged: same safe moves, same key at
    each step.
    """
    machine = in_canonical_order(job)
    groups = () if machine is None else alike_sheets(machine)
    if not groups:
        return
    one, other = data.draw(st.permutations(data.draw(st.sampled_from(groups))))[:2]
    search = StepSearch(machine)
    states = State(), State()
    for _ in machine.items:
        assert search.twins.key(states[0]) == search.twins.key(states[1])
        moves = list(search.next_items.following(states[0]))
        if not moves:
            assert not list(search.next_items.following(states[1]))
            return
        move = data.draw(st.sampled_from(moves))
        (wanted,) = exchanged([move.item_index], one, other)
        ways = [its for its in search.next_items.doing(states[1], wanted) if its.gap == move.gap]
        assert [(its.loads, its.settings) for its in ways][:1] == [(move.loads, move.settings)]
        states = move.after, ways[0].after
    assert search.twins.key(states[0]) == search.twins.key(states[1])


# --- what is never called alike -------------------------------------------------------------------


def pair() -> Job:
    """Two alike sheets of two passes and a flip each, a pause, and a pass on a third sheet."""
    printer = Printer(
        bed=(5_000.0, 5_000.0),
        base_gap=EXACT(1.5),
        min_clearance=0.5,
        gap=Dial(3.0, 0.5),
        head_length=20.0,
        carriage_speed=800.0,
        drop_speed=6000.0,
        landing_tolerance=0.06,
        locating=(("pins", 0.1), ("stops", 0.5)),
    )
    sheets = (
        Media("left", EXACT(3.0), (100.0, 60.0), (0.0, 0.0), hold="vacuum"),
        Media("right", EXACT(3.0), (100.0, 60.0), (200.0, 0.0), hold="vacuum"),
        Media("third", EXACT(3.0), (100.0, 60.0), (400.0, 0.0), hold="vacuum"),
    )
    inks = (Ink("clear", EXACT(0.03), "clear"), Ink("flat", EXACT(0.01), "colour"))
    area, gap = (Area(10.0, 10.0, 50.0, 20.0),), Gap(EXACT(1.0))
    passes: list[Pass] = []
    for name in ("left", "right"):
        passes.append(Pass(f"{name}-dots", "clear", name, area, 10, 1.0, gap))
        passes.append(
            Pass(f"{name}-colour", "flat", name, area, 2, 1.0, gap, after=(f"{name}-dots",))
        )
    passes.append(
        Pass("third-dots", "clear", "third", (Area(20.0, 0.0, 50.0, 20.0),), 10, 1.0, gap)
    )
    handling = (
        Handling("left-flip", "flip", "left", "pins", ("left-colour",)),
        Handling("right-flip", "flip", "right", "pins", ("right-colour",)),
        Handling("wait", "pause", after=("left-dots", "right-dots")),
    )
    return Job(printer, sheets, inks, tuple(passes), handling, name="an invented pair")


def with_sheet(**changes: Any) -> Callable[[Job], Job]:
    return lambda job: evolve(
        job, media=tuple(evolve(one, **changes) if one.id == "right" else one for one in job.media)
    )


def with_pass(name: str, **changes: Any) -> Callable[[Job], Job]:
    return lambda job: evolve(
        job, passes=tuple(evolve(one, **changes) if one.id == name else one for one in job.passes)
    )


def with_handling(name: str, **changes: Any) -> Callable[[Job], Job]:
    return lambda job: evolve(
        job,
        handling=tuple(evolve(one, **changes) if one.id == name else one for one in job.handling),
    )


DIFFERENT = {
    "thickness": with_sheet(thickness=EXACT(3.1)),
    "tolerance": with_sheet(thickness=Interval(2.9, 3.0, 3.1)),
    "bow": with_sheet(bow=EXACT(0.1)),
    "place in y": with_sheet(at=(200.0, 5.0)),
    "size": with_sheet(size=(100.0, 61.0)),
    "width": with_sheet(size=(101.0, 60.0)),
    "hold": with_sheet(hold="none"),
    "load": with_sheet(load="2"),
    "gap": with_pass("right-dots", gap=Gap(EXACT(1.5))),
    "tolerance of a gap": with_pass("right-dots", gap=Gap(Interval(0.9, 1.0, 1.1))),
    "reference of a gap": with_pass("right-colour", gap=Gap(EXACT(1.0), "build-up")),
    "open gap": with_pass("right-colour", gap=None),
    "layers": with_pass("right-dots", layers=11),
    "ink": with_pass("right-dots", ink="flat"),
    "coverage": with_pass("right-dots", coverage=0.3),
    "areas": with_pass("right-dots", areas=(Area(10.0, 10.0, 50.0, 21.0),)),
    "areas, all of the sheet": with_pass("right-dots", areas=None),
    "directions": with_pass("right-dots", directions=1),
    "where crisp": with_pass("right-dots", crisp_on="highest"),
    "side": with_pass("right-colour", side="back"),
    "temperature": with_pass("right-dots", sheet_temperature=40.0),
    "order within": with_pass("right-colour", after=()),
    "registration within": with_pass("right-colour", over=("right-dots",)),
    "registers to nothing": with_pass("right-colour", registers_to=()),
    "comes after another sheet": with_pass("right-dots", after=("third-dots",)),
    "comes before another sheet": with_pass("third-dots", after=("right-dots",)),
    "registers across": with_pass("third-dots", registers_to=("right-dots",)),
    "registers across to its twin's": with_pass("right-colour", registers_to=("left-dots",)),
    "after its twin": with_pass("right-dots", after=("left-dots",)),
    "kind of handling": with_handling("right-flip", does="reload"),
    "way of locating": with_handling("right-flip", locates_by="stops"),
    "when it is handled": with_handling("right-flip", after=("right-dots",)),
    "a pause for one alone": with_handling("wait", after=("left-dots",)),
    "no handling": lambda job: evolve(job, handling=(job.handling[0], job.handling[2])),
    "a pass less": lambda job: evolve(
        with_handling("right-flip", after=("right-dots",))(job),
        passes=tuple(one for one in job.passes if one.id != "right-colour"),
    ),
}
"""What makes the right one of two sheets another than the left one."""


def alike_names(job: Job) -> list[set[str]]:
    machine = canonical_machine(machine_of(job)).machine
    return [
        {machine.job.media_of(machine.items[block[0]]).id for block in group}
        for group in alike_sheets(machine)
    ]


def test_they_are_alike_to_begin_with():
    """With registration across, the third sheet could be no twin: it has one pass and no flip."""
    assert alike_names(pair()) == [{"left", "right"}]


@pytest.mark.parametrize("change", DIFFERENT.values(), ids=DIFFERENT)
def test_sheets_that_differ_are_not_alike(change):
    assert alike_names(change(pair())) == []


def test_the_same_said_of_both_leaves_them_alike():
    job = pair()
    for name in ("left", "right"):
        job = with_pass(f"{name}-dots", after=("third-dots",), layers=12)(job)
    assert alike_names(job) == [{"left", "right"}]


def test_what_one_says_to_plugins_leaves_them_alike():
    """Data make no two passes different to the planner (docs/decisions.md)."""
    data = plugin_data({"ourshop": {"wrap": "foil"}})
    assert alike_names(with_sheet(data=data)(pair())) == [{"left", "right"}]
    assert alike_names(with_pass("left-dots", data=data)(pair())) == [{"left", "right"}]


def test_what_a_rule_adds_to_one_alone_makes_it_another():
    """A precedence that no document states: a plugin may bring it."""
    job = pair()
    plain = machine_of(job)
    edge = plain.precedence[0]
    added = evolve(
        edge, before=plain.index["third-dots"], then=plain.index["right-dots"], kind="a plugin"
    )
    machine = canonical_machine(Machine(plain.heights, (added,))).machine
    assert alike_sheets(machine) == ()


def test_names_of_states_are_states_where_nothing_is_alike():
    machine = canonical_machine(machine_of(DIFFERENT["thickness"](pair()))).machine
    active = (1 << len(machine.items)) - 1
    moves = NextItems(machine, active, thorough=True)
    state = State()
    assert TwinStates(machine, active, moves).key(state) == state
