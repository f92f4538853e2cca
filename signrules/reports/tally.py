"""Of many jobs that were checked: how many there are, and which fail and why."""

from __future__ import annotations

import os
from collections.abc import Iterator

from signrules.model.wording import counted_things
from signrules.reports.text_report import one_line

MOST_NAMED = 40
"""Jobs that fail are named up to so many; of more it is said how many."""


class Tally:
    """Counts jobs as they are judged."""

    def __init__(self) -> None:
        self.jobs = self.jobs_not_judged = 0
        self._failing: list[tuple[str, str]] = []
        self._not_judged: list[str] = []
        self._unfit: set[str] = set()

    def take(self, path: str, report: str, *, is_fine: bool) -> None:
        """One job that was judged; the first line of its report ends in its verdict."""
        self.jobs += 1
        # A work order names its loads from its folder, a command as it was typed.
        if os.path.normpath(path) in self._unfit:
            self._failing.append((path, "does not fit its work order, see above"))
        elif not is_fine:
            self._failing.append((path, report.partition("\n")[0]))

    def take_unfit(self, path: str) -> None:
        """One, still to be judged, that its work order has otherwise; how was told."""
        self._unfit.add(os.path.normpath(path))

    def take_error(self, path: str) -> None:
        """One that could not be judged; why was told when it was found."""
        self._not_judged.append(path)
        # A folder without jobs is none itself.
        self.jobs_not_judged += not os.path.isdir(path)

    def text(self) -> str:
        """The tally, below an empty line."""
        return "\n".join(("", *self._lines())) + "\n"

    def _lines(self) -> Iterator[str]:
        yield ", ".join(self._counts()) + "."
        for path, line in self._failing[:MOST_NAMED]:
            yield f"  {one_line(path)}: {line}"
        if len(self._failing) > MOST_NAMED:
            yield f"  {len(self._failing) - MOST_NAMED} more"
        for path in self._not_judged[:MOST_NAMED]:
            yield f"  {one_line(path)}: not judged, see above"
        if len(self._not_judged) > MOST_NAMED:
            yield f"  {len(self._not_judged) - MOST_NAMED} more not judged"

    def _counts(self) -> Iterator[str]:
        every = self.jobs + self.jobs_not_judged
        yield f"{counted_things(every, 'job')}: {self.jobs - len(self._failing)} pass"
        if self._failing:
            yield f"{len(self._failing)} not"
        if self.jobs_not_judged:
            yield f"{self.jobs_not_judged} not judged"
