"""The changeover core against all permutations, and on published sequential ordering problems."""

from __future__ import annotations

import itertools
import os
import random
import time

import pytest
import sop
from attrs import evolve

from signrules.planning.bitmasks import bits_of
from signrules.planning.conflict.shrinking import closed_part
from signrules.planning.order import solver
from signrules.planning.order.changeover import Bar, Changeover, Stack, closed_costs
from signrules.planning.order.solver import Solver


def stack(chance: random.Random, count: int) -> Stack:
    masks = (sum(1 << item for item in range(count) if chance.random() < 0.3) for _ in range(2))
    return Stack(tuple((chance.randint(1, 4), mask) for mask in masks))


def weighs_too_much(bar: Bar, standing: int) -> bool:
    return any(
        sum(weight for weight, mask in one.weights for item in bits_of(mask & standing)) > bar.most
        for one in bar.stacks
    )


def problem(chance: random.Random) -> Changeover:
    count, classes, groups = chance.randint(1, 6), chance.randint(1, 4), chance.randint(1, 3)
    order = list(range(count))
    chance.shuffle(order)
    after = [0] * count
    for first, then in itertools.combinations(range(count), 2):
        if chance.random() < 0.15:
            after[order[first]] |= 1 << order[then]
    # Stacks are shared by bars, and bars by items, as passes of one band share them.
    stacks = [stack(chance, count) for _ in range(chance.randint(1, 6))]
    pool = [
        Bar(chance.randint(0, 10), tuple(chance.choices(stacks, k=chance.randint(1, 2))))
        for _ in range(count)
    ]
    bars = [tuple(chance.choices(pool, k=chance.choice([0, 0, 1, 2]))) for _ in range(count)]
    unit = chance.random() < 0.5
    cost = [
        [0 if a == b else 1 if unit else chance.randint(0, 5) for b in range(classes)]
        for a in range(classes)
    ]
    start = [1 if unit else chance.randint(1, 3) for _ in range(classes)]
    return Changeover(
        tuple(chance.randrange(classes) for _ in range(count)),
        tuple(chance.randrange(groups) for _ in range(count)),
        tuple(after),
        tuple(bars),
        *closed_costs(cost, start),
    )


def cost_of(one: Changeover, order: tuple[int, ...]) -> int | None:
    """What an order costs, by the words of the problem alone; None where it is not allowed."""
    done = 0
    for item in order:
        if one.after[item] & done:
            return None
        done |= 1 << item
        if any(weighs_too_much(bar, done) for bar in one.bars[item]):
            return None
    stretches = [group for group, _ in itertools.groupby(one.groups[item] for item in order)]
    if len(stretches) != len(set(stretches)):
        return None
    kinds = [one.classes[item] for item in order]
    return one.start[kinds[0]] + sum(one.cost[a][b] for a, b in itertools.pairwise(kinds))


def cheapest(one: Changeover) -> int | None:
    costs = (cost_of(one, order) for order in itertools.permutations(range(len(one.classes))))
    return min((cost for cost in costs if cost is not None), default=None)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.slow
def test_against_all_permutations(seed):
    chance = random.Random(seed)
    without = 0
    for _ in range(100):
        one = problem(chance)
        best, solved = cheapest(one), Solver(one).solve(100_000)
        if best is None:
            without += 1
            assert solved.order is None
            assert solved.stuck
        else:
            assert cost_of(one, solved.order) == solved.cost == solved.bound == best
    assert without > 5


def test_a_short_budget_still_gives_an_order_and_a_bound_that_holds():
    chance = random.Random(11)
    for _ in range(500):
        one = problem(chance)
        best, solved = cheapest(one), Solver(one).solve(1)
        if best is not None and solved.order is not None:
            assert cost_of(one, solved.order) == solved.cost
            assert solved.bound <= best <= solved.cost


def test_a_stuck_set_is_a_proof():
    chance = random.Random(13)
    for _ in range(1_000):
        one = problem(chance)
        one = evolve(one, groups=(0,) * len(one.classes))
        stuck = Solver(one).stuck((1 << len(one.classes)) - 1)
        for item in bits_of(stuck):
            rest = stuck ^ 1 << item
            assert one.after[item] & rest or any(
                weighs_too_much(bar, stuck) for bar in one.bars[item]
            )


def own_bars(count: int) -> Changeover:
    """A row of items, each with a bar of its own that never bars."""
    bars = tuple((Bar(1, (Stack(((1, 1 << item),)),)),) for item in range(count))
    after = tuple(1 << item + 1 for item in range(count - 1))
    return Changeover((0,) * count, (0,) * count, (*after, 0), bars, ((0,),), (1,))


def test_a_bar_of_its_own_for_each_item_costs_little_more_than_one_for_all():
    def least_seconds(one: Changeover) -> float:
        found = []
        for _ in range(3):
            start = time.process_time()
            assert Solver(one).stuck((1 << 6_000) - 1) == 0
            found.append(time.process_time() - start)
        return min(found)

    own = own_bars(6_000)
    seconds, shared = least_seconds(own), least_seconds(evolve(own, bars=(own.bars[0],) * 6_000))
    # Going through all bars at each step would take some twenty times as long.
    assert seconds < 6 * shared


def test_the_part_of_a_stuck_set_from_which_a_conflict_is_made_is_stuck_itself():
    chance = random.Random(17)
    smaller = 0
    for _ in range(1_000):
        one = problem(chance)
        one = evolve(one, groups=(0,) * len(one.classes))
        solver = Solver(one)
        stuck = solver.stuck(solver.everything)
        if stuck:
            part = closed_part(one, stuck)
            assert part & ~stuck == 0
            assert solver.stuck(part) == part != 0
            smaller += part != stuck
    assert smaller > 50


PROVEN = [
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
]
OTHERS = ["ESC25", "ft70.4", "rbg050c"]


@pytest.mark.skipif(
    not os.path.isdir(sop.FOLDER),
    reason="SIGNRULES_SOP names no folder with the published instances",
)
@pytest.mark.parametrize("name", [*PROVEN, *OTHERS])
def test_published_instances_are_never_beaten_and_mostly_reached(name):
    """Sequential ordering problems of TSPLIB with their best known values."""
    one, best = sop.read(name), sop.best_known()[name]
    solved = Solver(one).solve(2_000_000 if name in PROVEN else 20_000)
    assert cost_of(one, solved.order) == solved.cost >= best
    assert solved.bound <= best
    if name in PROVEN:
        assert solved.cost == solved.bound == best


@pytest.mark.parametrize("seed", range(60))
def test_a_short_memory_of_the_solver_costs_time_and_nothing_else(seed, monkeypatch):
    one = problem(random.Random(seed))
    expected = Solver(one).solve(10_000)
    monkeypatch.setattr(solver, "ARCHIVE", 1)
    found = Solver(one).solve(10_000)
    assert (found.order is None) == (expected.order is None)
    assert found.cost == expected.cost


def test_the_beam_that_has_tried_all_its_widths(monkeypatch):
    monkeypatch.setattr(solver, "WIDTHS", (1,))
    unproven = 0
    for seed in range(200):
        one = problem(random.Random(seed))
        expected = Solver(one).solve(10_000)
        found = Solver(one).solve(0)
        if found.order is not None:
            assert cost_of(one, found.order) == found.cost >= expected.cost >= found.bound
            unproven += found.cost > found.bound
    assert unproven


@pytest.mark.parametrize("widths", [(100_000,), (1, 100_000)])
def test_a_beam_that_keeps_every_state_finds_the_cheapest_order(monkeypatch, widths):
    """Some orders are complete after fewer runs than others that are cheaper; and what a narrow
    beam found before is given up for what is cheaper.
    """
    monkeypatch.setattr(solver, "WIDTHS", widths)
    monkeypatch.setattr(solver, "BEAM_STATES", 10_000_000)
    orders = 0
    for seed in range(300):
        one = problem(random.Random(seed))
        best, found = cheapest(one), Solver(one).solve(0)
        assert (found.order is None) == (best is None)
        if best is not None:
            orders += 1
            assert cost_of(one, found.order) == found.cost == best
    assert orders > 100


def test_item_by_item_the_first_costs_its_start_and_nothing_before_it():
    """2 for the start and 1 for each change: whatever leads back from the last item to the first
    costs nothing.
    """
    cost = ((0, 1, 9), (9, 0, 1), (9, 9, 0))
    one = Changeover((0, 1, 2), (0, 0, 0), (0, 0, 0), ((), (), ()), cost, (2, 9, 9))
    solved = Solver(one).solve(100)
    assert (solved.order, solved.cost, solved.bound) == ((0, 1, 2), 4, 4)


def test_item_by_item_against_all_permutations():
    """Each item is a class of its own, at costs that need not obey the triangle inequality."""
    chance = random.Random(19)
    barred = orders = 0
    for _ in range(80):
        one = problem(chance)
        count = len(one.classes)
        cost = tuple(tuple(chance.randint(0, 9) for _ in range(count)) for _ in range(count))
        start = tuple(chance.randint(1, 9) for _ in range(count))
        one = evolve(one, classes=tuple(range(count)), cost=cost, start=start)
        best, solved = cheapest(one), Solver(one).solve(100_000)
        assert (solved.order is None) == (best is None)
        if best is not None:
            orders += 1
            assert cost_of(one, solved.order) == solved.cost == solved.bound == best
            barred += best != cheapest(evolve(one, bars=((),) * count))
    assert orders > 30
    assert barred > 3


@pytest.mark.parametrize("classes", [(0, 1, 2), (0, 1, 1, 2, 2, 2), (0, 0, 0)])
def test_where_each_class_comes_once_the_bound_is_the_cost_before_anything_is_searched(classes):
    """Each class takes a setting of 2, and none of its items need wait for another class."""
    count = len(classes)
    cost = [[2 * (a != b) for b in range(3)] for a in range(3)]
    one = Changeover(
        classes, (0,) * count, (0,) * count, ((),) * count, *closed_costs(cost, [2] * 3)
    )
    solved = Solver(one).solve(0)
    assert cost_of(one, solved.order) == solved.cost == solved.bound == 2 * len(set(classes))


def test_groups_that_each_need_the_other_between():
    # Items 0 and 2 of one group, item 1 of another, in the order 0, 1, 2: no group comes and goes
    # once.
    one = Changeover(
        (0, 0, 0), (0, 1, 0), (0, 1 << 0, 1 << 1), ((), (), ()), *closed_costs([[0]], [1])
    )
    found = Solver(one).solve(1_000)
    assert found.order is None
