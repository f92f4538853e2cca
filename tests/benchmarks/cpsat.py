"""The changeover problem once more, as a model for CP-SAT (ortools): an oracle, and something to
compare times with.

It takes nothing from the planner but the numbers of the problem: classes, groups, what comes after
what, bars. Every change of class costs one, as a gap setting does.
"""

from __future__ import annotations

from typing import Any

from attrs import frozen

from signrules.planning.order.changeover import Bar, Changeover

WORKERS = 2


@frozen
class Answer:
    """What CP-SAT says: `proven` (also that there is no order), the cost of its order, what any
    order costs at least.

    `cost` is None where it has found no order.
    """

    proven: bool
    cost: int | None
    bound: int
    seconds: float


def fewest(problem: Changeover, runs: int, seconds: float) -> Answer:
    """The least number of settings among all orders of up to `runs` runs, each run being of one
    class and group.

    An item's place is its run and a step within it, so that the precedence and the bars of one run
    are exact.
    """
    from ortools.sat.python import cp_model

    model: Any = cp_model.CpModel()
    count, classes, groups = len(problem.classes), len(problem.start), problem.groups
    used = [model.new_bool_var("") for _ in range(runs)]
    of_class = [[model.new_bool_var("") for _ in range(classes)] for _ in range(runs)]
    change = [model.new_bool_var("") for _ in range(runs)]
    for at in range(runs):
        model.add(sum(of_class[at]) == used[at])
        if at:
            model.add_implication(used[at], used[at - 1])
        for one in range(classes):
            model.add(change[at] >= of_class[at][one] - (of_class[at - 1][one] if at else 0))
    run = [model.new_int_var(0, runs - 1, "") for _ in range(count)]
    place = [model.new_int_var(0, runs * count - 1, "") for _ in range(count)]
    for item in range(count):
        inside = [model.new_bool_var("") for _ in range(runs)]
        model.add_exactly_one(inside)
        model.add(run[item] == sum(at * inside[at] for at in range(runs)))
        model.add(place[item] >= run[item] * count)
        model.add(place[item] <= run[item] * count + count - 1)
        for at in range(runs):
            model.add_implication(inside[at], of_class[at][problem.classes[item]])
    for item, behind in enumerate(problem.after):
        for other in _members(behind):
            model.add(place[item] < place[other])
            model.add(run[item] + (problem.classes[item] != problem.classes[other]) <= run[other])
    before: dict[tuple[int, int], Any] = {}
    for item, bars in enumerate(problem.bars):
        for bar in bars:
            _add_bar(model, place, item, bar, before)
    _keep_groups_together(model, run, runs, groups)
    model.minimize(sum(change))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return Answer(
        status in (cp_model.OPTIMAL, cp_model.INFEASIBLE),
        round(solver.objective_value) if found else None,
        round(solver.best_objective_bound) if found else 0,
        solver.wall_time,
    )


def _add_bar(
    model: Any, place: list[Any], item: int, bar: Bar, before: dict[tuple[int, int], Any]
) -> None:
    for stack in bar.stacks:
        terms = []
        for weight, mask in stack.weights:
            for other in _members(mask):
                if other == item:
                    terms.append(weight)
                    continue
                if (other, item) not in before:
                    earlier = before[other, item] = model.new_bool_var("")
                    model.add(place[item] < place[other]).only_enforce_if(~earlier)
                terms.append(weight * before[other, item])
        model.add(sum(terms) <= bar.most)


def _keep_groups_together(model: Any, run: list[Any], runs: int, groups: tuple[int, ...]) -> None:
    stretches = []
    for group in sorted(set(groups)):
        members = [run[item] for item in range(len(groups)) if groups[item] == group]
        first, last = model.new_int_var(0, runs - 1, ""), model.new_int_var(0, runs - 1, "")
        for one in members:
            model.add(first <= one)
            model.add(one <= last)
        for other_first, other_last in stretches:
            earlier = model.new_bool_var("")
            model.add(last < other_first).only_enforce_if(earlier)
            model.add(other_last < first).only_enforce_if(~earlier)
        stretches.append((first, last))


def _members(mask: int) -> list[int]:
    return [item for item in range(mask.bit_length()) if mask >> item & 1]
