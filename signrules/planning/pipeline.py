"""From a machine to a plan or a conflict, stage by stage, in the order of `Pipeline.run`.

1. Describe: the job in canonical order (`order/canonical`), and what any safe order costs at the
   least (`order/bounds`).
2. What needs no search: a circle of items that come before each other, a side that nothing turns up
   (`conflict/finding`).
3. Orders that are known: a sequence of the job's own, the plan of an earlier job.
4. Constructive orders: told at once, by the changeover core (`order/reduction`,
   `order/plane_runs`), of very many passes from the end (`order/peeling`), by simple rules
   (`order/constructive`), and the declared one. Open gaps get the gaps first to hand
   (`gaps/cheapest`).
5. Improvement: small changes to the best of them (`order/improvement`).
6. A closer look: all gaps that may make an order of the fourth stage cheaper, and small changes to
   the best again.
7. Each sheet by itself, where no order was found: does one of several sheets have any?
8. Exact search: for anything cheaper, or for any order where none was found yet
   (`order/step_search`).
9. Ties: of orders that cost the same, the one nearest to the declared order (`order/ties`), each
   plane set over the sheet that is printed on (`gaps/own_sheet`).

Then comes the plan; or the conflict (`conflict/`); or, where the budget ends before either is
known, "none found".

No stage makes the plan dearer, and each ends as soon as an order costs what any order costs at the
least. Budgets count states and not time, so that no answer depends on the machine.

Most jobs are proven by the fourth stage: a later one loads what it needs when it is reached.

Alignments are no items of an order. They are made before the first load, so a plan counts them and
nothing here tells when one is made. Loads are the first part of what a plan costs; how many a shop
allows is for a rule on the plan to say.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from signrules.events import DEBUG, tell_event
from signrules.physics.machine import Machine
from signrules.planning.bitmasks import all_of
from signrules.planning.conflict.finding import (
    deadlock_of_circle,
    deadlock_of_one_sheet,
    deadlock_of_roomy,
    deadlock_of_side,
    deadlock_of_stuck,
)
from signrules.planning.conflict.shrinking import Deadlock, smallest_deadlock
from signrules.planning.gaps.cheapest import WAYS, WAYS_A_STATE, WIDE, Choices
from signrules.planning.gaps.own_sheet import over_own_sheet
from signrules.planning.order.attempts import Attempt, Attempts, Order
from signrules.planning.order.bounds import LeastLeft
from signrules.planning.order.plane_runs import order_of_runs
from signrules.planning.order.reduction import reduced_problems, setup_classes
from signrules.planning.order.solver import Solver
from signrules.planning.order.ties import just_above, nearest_to_declared
from signrules.planning.predecessors import LARGE
from signrules.planning.setup_cost import Cost

if TYPE_CHECKING:
    from signrules.planning.order.step_search import StepSearch

BUDGET = 10_000
"""States that the stages reach for one job before no further one is begun.

The first constructive order and the declared one are tried however small the budget is, and ties
are not counted. What explains that there is no order has as many states again.
"""

IMPROVEMENT_SHARE = 10
"""One part in so many of the budget goes to the improvement of constructive orders."""


SHEETS_SHARE = 4
"""One part in so many of the states that are left goes to a look at each sheet by itself."""


class Pipeline:
    """The stages for one machine in canonical order.

    Each stage changes what is known: `best`, the cheapest safe order so far; `least`, what any safe
    order costs at the least; or why there is none, `deadlock`, of very many items `stuck_of_many`.
    The declared order takes part where it is cheaper than what was constructed, and in ties.
    Otherwise nothing depends on it, not even how many states are reached.
    """

    def __init__(self, machine: Machine, declared: Order, budget: int) -> None:
        self.machine, self.declared, self.budget = machine, declared, budget
        self.best: Attempt | None = None
        self.stuck_of_many: tuple[int, ...] = ()
        self.bounds = LeastLeft(machine, range(len(machine.items)))
        self.least: Cost = self.bounds.of_everything()
        self._tried: list[Order] = []
        self.attempts = Attempts(machine, self.least)
        self.deadlock: Deadlock | None = None
        self._room_is_known = False
        self._searched = 0

    @property
    def states(self) -> int:
        """How many states were reached so far."""
        return self._searched + self.attempts.states

    def run(self, known: Iterable[Order]) -> Attempt | None:
        """The best order that the stages find; None leaves the reason, if known, in `deadlock`.

        `known` orders are tried first.
        """
        stages = {
            "circle": self._look_for_a_circle,
            "side never up": self._look_for_a_side_never_up,
            "known orders": lambda: self._try_orders(known),
            "core": self._ask_the_core,
            "peeling": self._peel,
            "rules": self._follow_the_rules,
            "declared order": self._try_the_declared_order,
            "improvement": self._improve,
            "closer look": self._look_closer,
            "each sheet": self._look_at_each_sheet,
            "exact search": self._search,
        }
        for name, stage in stages.items():
            # Checked before each stage and not within: stages know nothing of each other.
            if self.deadlock is None and not self._is_proven():
                stage()
                tell_event(DEBUG, "planner stage %s: %d states so far", name, self.states)
        if self.best is not None:
            self._settle_ties()
            self._set_over_own_sheets()
        return self.best

    @property
    def _is_large(self) -> bool:
        """Whether there are so many items that nothing is searched."""
        return len(self.machine.items) > LARGE

    def _is_proven(self) -> bool:
        return self.best is not None and self.best.cost <= self.least

    def _take(self, attempt: Attempt | None) -> None:
        if attempt is not None and (self.best is None or attempt.cost < self.best.cost):
            self.best = attempt

    def _has_none(self, deadlock: Deadlock | None) -> None:
        """Take note of items that have no order, if there are any."""
        self.deadlock = deadlock
        if deadlock is not None:
            self._searched += deadlock.states

    def _look_for_a_circle(self) -> None:
        """See whether items must come before each other in a circle."""
        self._has_none(deadlock_of_circle(self.machine, self.budget))

    def _look_for_a_side_never_up(self) -> None:
        """See whether a pass prints on a side that nothing turns up: no search is needed for it."""
        self._has_none(deadlock_of_side(self.machine))

    # --- constructive orders -------------------------------------------------------------------

    def _try_orders(self, orders: Iterable[Order]) -> None:
        for order in orders:
            self._take(self.attempts.of_order(order))

    def _ask_the_core(self) -> None:
        """Stated gaps: the order of the changeover core, a bound, or a deadlock."""
        if self._is_large:
            return
        problem = reduced_problems(self.machine)
        if problem is None:
            return
        runs = order_of_runs(problem, self.budget)
        self._searched += runs.states
        if runs.stuck:
            self._has_none(deadlock_of_stuck(self.machine, problem, runs.stuck, self.budget))
        # The core may prove more settings than the bounds see, also where it found no order.
        if runs.settings is not None:
            self.least = max(self.least, self.bounds.of_everything(runs.settings))
        if runs.order is not None:
            self._attempt(runs.order)

    def _peel(self) -> None:
        """Very many passes with stated gaps: an order from its end, or the passes left stuck."""
        if not self._is_large:
            return
        kinds = setup_classes(self.machine)
        if kinds is None:
            return
        from signrules.planning.order.peeling import peel_from_end

        peeled = peel_from_end(self.machine, kinds.classes, kinds.watched)
        self.least = max(self.least, self.bounds.of_everything(kinds.fewest))
        if peeled.order is not None:
            self._attempt(peeled.order)
        # Of several loads it proves only that they cannot each be put on once.
        elif len({sheet.load for sheet in self.machine.job.media}) == 1:
            self.stuck_of_many = peeled.stuck

    def _follow_the_rules(self) -> None:
        """Try the orders of simple rules until one is proven or the budget ends."""
        if self._is_large and not self.machine.has_open_gaps:
            return
        from signrules.planning.order.constructive import constructive_orders

        for order in constructive_orders(self.machine):
            if self.best is not None and not self._states_left():
                return
            self._attempt(order)
            if self.deadlock is not None or self._is_proven():
                return

    def _attempt(self, order: Order) -> None:
        """Try an order with the gaps first to hand; if none is safe yet, ask for room at all."""
        # Without ways: a first look costs a hundredth of a close one and mostly finds as much.
        self._take(self.attempts.of_order(order, ways=0, below=self._cost_to_beat()))
        self._tried.append(order)
        if self.best is None and self.deadlock is None:
            self._look_for_too_little_room()

    def _cost_to_beat(self) -> Cost | None:
        """What an order must cost less than, so that most need no replay; None for any cost.

        Also None with open gaps: a limit would change which of them are looked at.
        """
        if self.best is None or self.machine.has_open_gaps:
            return None
        return self.best.cost

    def _settle_ties(self) -> None:
        """The declared order where it costs no more, else the one nearest to it.

        No states are counted for that.
        """
        states = self.states
        assert self.best is not None
        # With every gap stated an order has one replay, which is known.
        if self.best.order == self.declared and not self.machine.has_open_gaps:
            return
        # A person knows the order of the document: another one must be cheaper to be worth
        # learning.
        declared = self.attempts.of_order(self.declared, below=just_above(self.best.cost))
        if declared is not None:
            self.best = declared
        else:
            self.best = nearest_to_declared(self.attempts, self.best, self.declared)
        self._searched += states - self.states

    def _set_over_own_sheets(self) -> None:
        """Keep no plane from another sheet where setting it anew costs nothing.

        No states are counted for that.
        """
        assert self.best is not None
        order, choices = self.best.order, self.best.choices
        own_choices = over_own_sheet(self.machine, order, choices, self.best.timeline)
        if own_choices == choices:
            return
        states = self.states
        attempt = self.attempts.with_gaps(order, own_choices)
        self._searched += states - self.states
        if attempt is not None and attempt.cost <= self.best.cost:
            self.best = attempt

    # --- improvement and search ----------------------------------------------------------------

    def _improve(self, ways: int = 0) -> None:
        if self.best is not None and self._states_left():
            from signrules.planning.order.improvement import improved_order

            share = self.budget // IMPROVEMENT_SHARE
            self.best = improved_order(self.attempts, self.best, self.least, share, ways)

    def _try_the_declared_order(self) -> None:
        """Where no rule found an order that is proven, the document may know a better one.

        No states are counted.
        """
        states = self.states
        self._take(self.attempts.of_order(self.declared, ways=0, below=self._cost_to_beat()))
        self._searched += states - self.states

    def _look_closer(self) -> None:
        """Open gaps: all ways through the orders tried, and through the declared one for free."""
        if not self.machine.has_open_gaps:
            return
        for order in dict.fromkeys(self._tried):
            if not self._states_left() or self._is_proven():
                break
            self._try_closely(order)
        if not self._is_proven():
            states = self.states
            self._try_closely(self.declared)
            self._searched += states - self.states
        if not self._is_proven():
            self._improve(WIDE)

    def _try_closely(self, order: Order) -> None:
        ways = max(1, min(WAYS, self._states_left() * WAYS_A_STATE))
        below = None if self.best is None else self.best.cost
        self._take(self.attempts.of_order(order, ways, below))

    def _look_for_too_little_room(self) -> None:
        """Where an order is not safe, see once whether open gaps can have one at all."""
        if self._room_is_known or not self.machine.has_open_gaps:
            return
        self._room_is_known = True
        if self._is_large:
            return
        from signrules.planning.gaps.most_room import with_most_room

        # What is stuck even with the most room that its gaps can have has no order with any gaps.
        roomy = with_most_room(self.machine)
        if roomy is None:
            return
        problem = reduced_problems(roomy)
        # With several loads a stuck set proves nothing: loads may be put on again.
        if problem is None or problem.groups > 1:
            return
        stuck = Solver(problem.loose).stuck(all_of(self.machine.pass_count))
        if stuck:
            self._has_none(deadlock_of_roomy(self.machine, problem, stuck, self.budget))

    def _look_at_each_sheet(self) -> None:
        """Where no order was found, see whether what is done to one of several sheets has any."""
        if self.best is not None or self._is_large or len(self.machine.job.media) == 1:
            return
        # A share only, since the search for all sheets together must still have its turn.
        share = self._states_left() // SHEETS_SHARE
        deadlock, states = deadlock_of_one_sheet(self.machine, share)
        self._searched += states
        self._has_none(deadlock)

    def _search(self) -> None:
        """Look for anything cheaper, first with the usual gaps, then with all worth trying."""
        if not self._search_comes_to_an_order():
            return
        from signrules.planning.order.step_search import StepSearch

        # The usual gaps are few and mostly hold the best, so that the second search has less to
        # look at.
        ways = (False, True) if self.machine.has_open_gaps else (True,)
        for thorough in ways:
            if not self._is_proven():
                self._search_with(StepSearch(self.machine, thorough=thorough), thorough)

    def _search_comes_to_an_order(self) -> bool:
        """Whether the budget suffices for a search that never takes a wrong turn."""
        items = len(self.machine.items)
        # A search that never errs still tries every item that is left at each step: n + (n - 1) +
        # ... states. With fewer to spend it cannot reach the end.
        return not self._is_large and items * items // 2 <= self._states_left()

    def _states_left(self) -> int:
        return max(0, self.budget - self.states)

    def _search_with(self, search: StepSearch, thorough: bool) -> None:
        # Without a plan nothing can be left out as too dear: any order at all is looked for first,
        # with half of the budget.
        states_left = self._states_left()
        if self.best is None:
            any_order = search.any_order(states_left // 2)
            self._searched += any_order.states
            if any_order.order is not None:
                self._take_found(any_order.order, any_order.choices)
                self._improve()
            elif any_order.ended and thorough:
                everything = all_of(len(self.machine.items))
                self._has_none(smallest_deadlock(self.machine, self.budget, everything))
        if self.best is None or self._is_proven():
            return
        searched = search.cheapest(self._states_left(), self.best.cost)
        self._searched += searched.states
        if searched.order is not None:
            self._take_found(searched.order, searched.choices)
        # Only where all gaps were tried that can matter is it proven that nothing is cheaper.
        proves = thorough and search.next_items.open_gaps.are_all
        if proves and searched.bound is not None:
            # A search that ended proves its limit, which is the cost of the best; nothing can cost
            # more than that at the least.
            self.least = max(self.least, min(searched.bound, self.best.cost))

    def _take_found(self, order: Order, choices: Choices) -> None:
        """Take what the search found: its steps were safe, so the replay must say the same."""
        attempt = self.attempts.with_gaps(order, choices)
        if attempt is None:
            raise AssertionError("the replay refuses an order that the search calls safe")
        self._take(attempt)
