"""Trying laws on jobs that are drawn, and shrinking what breaks one."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from hypothesis import HealthCheck, Phase, Verbosity, given, settings
from hypothesis import strategies as st

from signrules.model.job import Job
from signrules.rules.containment import describe_error, interrupt_in
from signrules.testing.broken import ContractBroken
from signrules.testing.work_bounds import TooMuchWork

Problems = Callable[[Job, int, ContractBroken | None], Iterator[ContractBroken]]
"""What speaks against a job and a number to pick by; where something is broken already, only it
counts.
"""


WORK = "its work stays in bounds"
"""The law that is broken by what is stopped; what takes long is not shrunk."""


def jobs_tried(jobs: st.SearchStrategy[Job], max_examples: int, problems: Problems) -> list[Job]:
    """Try laws on drawn jobs; returns these.

    Raises ContractBroken with what the first failure shrinks to.
    """
    seen: list[Job] = []
    broken: list[ContractBroken] = []

    @settings(
        max_examples=max_examples,
        deadline=None,
        # No examples of an earlier run and no chance: a contract that held yesterday holds today.
        database=None,
        derandomize=True,
        report_multiple_bugs=False,
        print_blob=False,
        verbosity=Verbosity.quiet,
        # A rule may be slow or seldom apply; a law of its own looks at work.
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    @given(jobs, st.integers(0, 10_000))
    def trials(job: Job, pick: int) -> None:
        # Each attempt to shrink it would be stopped as late as the first.
        if broken and broken[-1].law == WORK:
            return
        for problem in problems(job, pick, broken[-1] if broken else None):
            broken.append(problem)
            raise problem
        seen.append(job)

    try:
        trials()
    # A rule may raise what is no Exception, as a test that fails does.
    except BaseException:
        # What answers otherwise each time does not fail each time: hypothesis complains of that.
        if not broken:
            raise
    if broken:
        # The smallest that was seen, whichever hypothesis came upon last.
        raise min(broken, key=lambda one: one.size) from None
    return seen


def problems_told(problems: Iterator[str]) -> Iterator[str]:
    """The problems; where looking for them fails, that is one: what is tried has odd answers."""
    try:
        yield from problems
    # Work out of bounds breaks a law of its own, wherever it shows.
    except (GeneratorExit, TooMuchWork):
        raise
    except BaseException as error:
        if (interrupt := interrupt_in(error)) is not None:
            raise interrupt from None
        yield f"while this was tried, it came to {describe_error(error)}"
