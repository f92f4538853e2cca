"""How many states the planner opens for one job: a count that is the same on every machine."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from attrs import define


@define
class Tally:
    """A count that goes up."""

    states: int = 0


_CURRENT: ContextVar[Tally | None] = ContextVar("states that are counted", default=None)


@contextmanager
def counted_states() -> Iterator[Tally]:
    """Counts the states that are opened inside, for this thread alone."""
    tally = Tally()
    token = _CURRENT.set(tally)
    try:
        yield tally
    finally:
        _CURRENT.reset(token)


def count_states(states: int) -> None:
    """So many more states were opened."""
    tally = _CURRENT.get()
    if tally is not None:
        tally.states += states
