"""Orders that can be told at once, each by a simple rule: the floor under every search.

Each keeps the precedence. Passes on the front come before the flips and those on the back after
them, or, where sheets are turned over, the other way round; loads are taken one after another. None
of them is sure to be safe: that is for the replay to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from attrs import evolve

from signrules.model.passes import Handling, Pass
from signrules.physics.machine import Machine
from signrules.planning.gaps.plane_reaches import plane_reaches
from signrules.planning.order.settling import settled_machine

Key = tuple[Any, ...]
Order = tuple[int, ...]


def constructive_orders(machine: Machine) -> Iterator[Order]:
    """The order of each rule; `machine` stands in canonical order."""
    rules = _Rules(machine)
    # From the habits of a shop to what set-up asks for: each is the cheapest on some beds and far
    # off on others.
    yield rules.order_by(rules.by_sheet)
    yield rules.order_by(rules.by_kind)
    yield rules.order_by(rules.by_plane)
    yield rules.order_by(rules.by_thickness)
    if machine.turning:
        yield rules.order_by(rules.by_kind, backs_first=True)
        yield rules.order_by(rules.by_plane, backs_first=True)


class _Rules:
    def __init__(self, machine: Machine) -> None:
        self.machine = settled_machine(machine) or machine
        self.depth = _depths_of_items(self.machine)
        self.reaches = plane_reaches(machine)
        self.loads = {load: number for number, load in enumerate(_loads_in_order(machine))}
        self.kinds = _kinds_of_passes(machine)

    def order_by(self, rule: Callable[[int], Key], *, backs_first: bool = False) -> Order:
        """The items in the order of a rule, as far as the precedence allows."""
        items = range(len(self.machine.items))
        return self.machine.sorted_by(
            [self._key(item_index, rule, backs_first) for item_index in items]
        )

    def _key(self, item_index: int, rule: Callable[[int], Key], backs_first: bool) -> Key:
        load = self.machine.load_of[item_index]
        number = -1 if load is None else self.loads[load]
        item = self.machine.items[item_index]
        if isinstance(item, Handling):
            # A pause comes as soon as it may; so does what turns sheets where their backs are
            # printed first.
            if load is None or backs_first:
                return (number, 0)
            return (number, 2)
        if (item.side == "back") == backs_first:
            return (number, 1, *rule(item_index))
        return (number, 3, *rule(item_index))

    def by_sheet(self, pass_index: int) -> Key:
        """All of one sheet together, as it stands in canonical order."""
        return ()

    def by_kind(self, item_index: int) -> Key:
        """All that is alike on all sheets together, the kinds with the lowest planes first."""
        # By depth first, so that kinds come in the order in which they lie on each other.
        return (self.depth[item_index], *self.by_plane(item_index))

    def by_plane(self, pass_index: int) -> Key:
        """The lowest head plane first, and what is alike together."""
        low, high = self.reaches[pass_index]
        return (round(low, 6), round(high, 6), self.kinds[pass_index])

    def by_thickness(self, pass_index: int) -> Key:
        """The thinnest ink first, and what is alike together."""
        return (round(self.machine.heights.thickest(pass_index), 9), self.kinds[pass_index])


def _depths_of_items(machine: Machine) -> list[int]:
    """How many items must follow each other before each one."""
    depths = [0] * len(machine.items)
    for item_index in machine.topological or ():
        depths[item_index] = max(
            (depths[earlier] + 1 for earlier in machine.before[item_index]), default=0
        )
    return depths


def _loads_in_order(machine: Machine) -> list[str]:
    """The bed loads, by the first of their items in canonical order."""
    loads = (load for load in machine.load_of if load is not None)
    return list(dict.fromkeys(loads))


def _kinds_of_passes(machine: Machine) -> list[int]:
    """The kind of each pass: what it is, wherever it lies; numbered in canonical order."""
    numbers: dict[Pass, int] = {}
    kinds = []
    for item in machine.job.passes:
        kind = evolve(
            item,
            id="",
            media=None,
            areas=None,
            over=(),
            after=(),
            registers_to=None,
            builds=(),
            artwork=(),
            data=(),
        )
        kinds.append(numbers.setdefault(kind, len(numbers)))
    return kinds
