"""Stacks of ink: every one is a count of layers for each ink, and equal stacks are one.

A stack goes by its number. A cover (see `zones`) says which passes lie on a place, a stack what ink
they come to: covers of as many layers of each ink are one stack. A bed full of signs has thousands
of places and only a handful of different stacks, so heights are computed for stacks and not for
places.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.physics.forms import Form, Unknown

BARE = 0
"""The number of the stack without ink."""

Ends = tuple[float, float, float]
"""A height of ink in mm: its low, nominal and high value."""


class Stacks:
    """The stacks of ink that a job can bring about, numbered as they come up."""

    def __init__(self, job: Job) -> None:
        ink_numbers = {ink.id: number for number, ink in enumerate(job.inks)}
        # One unknown for an ink and not for a pass: a bottle that cures thin does so in every pass.
        self._layers = [Unknown(f"inks.{ink.id}.layer", ink.layer) for ink in job.inks]
        self._ink_of = [ink_numbers[item.ink] for item in job.passes]
        self._layers_of = [item.layers for item in job.passes]
        self._numbers: dict[tuple[int, ...], int] = {}
        self._grown: dict[tuple[int, int, int], int] = {}
        self._tops: dict[frozenset[int], tuple[int, ...]] = {}
        # The rest has an entry for each stack, in the order of their numbers.
        self.counts: list[tuple[int, ...]] = []
        self.forms: list[Form] = []
        self.heights: list[Interval] = []
        self.lows: list[float] = []
        self.nominals: list[float] = []
        self.highs: list[float] = []
        self._number((0,) * len(job.inks))

    def _number(self, counts: tuple[int, ...]) -> int:
        """The number of the stack with so many layers of each ink, given to it when it comes up."""
        if counts not in self._numbers:
            self._numbers[counts] = len(self.counts)
            self.counts.append(counts)
            form = Form({self._layers[ink]: count for ink, count in enumerate(counts) if count})
            self.forms.append(form)
            height = form.interval()
            self.heights.append(height)
            self.lows.append(height.low)
            self.nominals.append(height.nominal)
            self.highs.append(height.high)
        return self._numbers[counts]

    def with_pass(self, stack: int, pass_index: int) -> int:
        """The stack with the layers of one more pass."""
        return self.with_layers(stack, pass_index, self._layers_of[pass_index])

    def with_layers(self, stack: int, pass_index: int, layers: int) -> int:
        """The stack with so many layers of the ink of a pass."""
        ink = self._ink_of[pass_index]
        key = (stack, ink, layers)
        grown_stack = self._grown.get(key)
        if grown_stack is None:
            counts = list(self.counts[stack])
            counts[ink] += layers
            grown_stack = self._grown[key] = self._number(tuple(counts))
        return grown_stack

    def of_passes(self, passes: Iterable[int]) -> int:
        """The stack that some passes make."""
        stack = BARE
        for pass_index in passes:
            stack = self.with_pass(stack, pass_index)
        return stack

    def highest(self, stacks: Iterable[int], known: Ends = (0.0, 0.0, 0.0)) -> Ends:
        """The ends of the highest of some stacks and of one that is known already."""
        low, nominal, high = known
        lows, nominals, highs = self.lows, self.nominals, self.highs
        # Spelled out, since it is asked for every pass of every order, and calls of `max` add up.
        for stack in stacks:
            if lows[stack] > low:
                low = lows[stack]
            if nominals[stack] > nominal:
                nominal = nominals[stack]
            if highs[stack] > high:
                high = highs[stack]
        return low, nominal, high

    def lowest(self, stacks: Collection[int]) -> Ends:
        """The ends of the lowest of some stacks."""
        # Each end by itself: which stack is lowest may differ between the bad ends of their inks.
        low = min([self.lows[stack] for stack in stacks])
        nominal = min([self.nominals[stack] for stack in stacks])
        high = min([self.highs[stack] for stack in stacks])
        return low, nominal, high

    def tops(self, stacks: Iterable[int]) -> tuple[int, ...]:
        """Those of some stacks that can be the highest.

        Of these no other one has as much of every ink and more of one.
        """
        key = frozenset(stacks)
        if key not in self._tops:
            # Whatever outdoes a stack has more layers, so it has been looked at before.
            ordered = sorted(key, key=lambda stack: (-sum(self.counts[stack]), self.counts[stack]))
            kept: list[int] = []
            for stack in ordered:
                own_counts = self.counts[stack]
                if not any(
                    all(
                        layers <= other_layers
                        for layers, other_layers in zip(own_counts, self.counts[other], strict=True)
                    )
                    for other in kept
                ):
                    kept.append(stack)
            self._tops[key] = tuple(kept)
        return self._tops[key]
