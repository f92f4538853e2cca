"""The law that what a rule makes of a job it also says."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

from attrs import evolve

from signrules.rules.checks import Draft, check, missing, one_of
from signrules.rules.engine import Facts, PlacedRule
from signrules.testing.run_rules import drafts_of

Line = tuple[str, int]
"""A file, and a line in it."""

_MAKERS = {make.__code__ for make in (check, one_of, missing)}


def makes_no_check_in_vain(placed: PlacedRule, jobs: Iterable[Facts]) -> Iterator[str]:
    """Of each line that makes checks one at least is yielded, in some job.

    What chooses the worst of several makes each of them with one line, and keeps the law.
    """
    if sys.getprofile() is not None:
        return  # There can be only one.
    is_said: dict[Line, bool] = {}
    for facts in jobs:
        if not _watch_lines(placed, facts, is_said):
            return
        # Nothing more to learn, and each job takes a replay.
        if all(is_said.values()):
            return
    for (file, line), is_used in is_said.items():
        if not is_used:
            yield (
                f"the check that line {line} of {Path(file).name} makes is yielded in none of the"
                " jobs that were tried: yield it, or take it away"
            )


def _watch_lines(placed: PlacedRule, facts: Facts, is_said: dict[Line, bool]) -> bool:
    """Whether it is known of all that a rule says which line has made it; notes which lines do."""
    drafts_made: dict[int, tuple[Draft, Line]] = {}

    def watch(frame: FrameType, event: str, value: Any) -> None:
        caller = frame.f_back
        if event == "return" and frame.f_code in _MAKERS and caller and isinstance(value, Draft):
            line = (caller.f_code.co_filename, caller.f_lineno)
            # The draft itself is kept too: the number of one that is gone may be given to another.
            drafts_made[id(value)] = (value, line)
            is_said.setdefault(line, False)

    own_placed = (
        placed if placed.settings is None else evolve(placed, settings=evolve(placed.settings))
    )
    sys.setprofile(watch)
    try:
        drafts = [draft for _, draft in drafts_of(own_placed, facts)]
    finally:
        sys.setprofile(None)
    # A check that was changed afterwards is another one, and nothing is known of its line.
    if not all(id(draft) in drafts_made for draft in drafts):
        return False
    is_said |= {drafts_made[id(draft)][1]: True for draft in drafts}
    return True
