"""What comes before an item in every order, however far back."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from signrules.physics.machine import Machine

LARGE = 12_000
"""Of more items only those next to each other are known: bitmasks of so many would no longer be
small.
"""


class Before:
    """Which of the `active` items come before which in every order.

    Of items that a circle holds back, and of very many items, only those next to them are known.
    """

    def __init__(self, machine: Machine, active: Collection[int]) -> None:
        self._near = machine.before
        self._active = frozenset(active)
        self._masks: list[int] | None = None
        if machine.topological is not None and len(machine.items) <= LARGE:
            self._masks = self._closure(machine, machine.topological)

    def _closure(self, machine: Machine, order: Iterable[int]) -> list[int]:
        # In topological order whatever comes before an earlier item is known when it is asked for.
        masks = [0] * len(machine.items)
        for item_index in order:
            for earlier in machine.before[item_index]:
                if earlier in self._active:
                    # One or for each edge: all that comes before the earlier item is in its mask
                    # already.
                    masks[item_index] |= masks[earlier] | 1 << earlier
        return masks

    def comes_before(self, earlier: int, item_index: int) -> bool:
        """Whether one item comes before another in every order."""
        if self._masks is None:
            return earlier in self._active and earlier in self._near[item_index]
        return bool(self._masks[item_index] >> earlier & 1)

    def among(self, item_index: int, items: Iterable[int]) -> frozenset[int]:
        """Those of some items that come before one."""
        return frozenset(other for other in items if self.comes_before(other, item_index))

    def not_after(self, item_index: int, items: Iterable[int]) -> frozenset[int]:
        """Those of some items that may come before one."""
        others = (other for other in items if other != item_index)
        return frozenset(other for other in others if not self.comes_before(item_index, other))
