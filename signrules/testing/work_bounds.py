"""A bound on the work of what an author wrote, counted in steps of Python and not in time."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any, TypeVar

import signrules
from signrules.rules.deadline import OutOfTime

MOST_STEPS = 2_000_000
"""As many steps as judging one job may take: some seconds where an endless loop takes for ever."""

T = TypeVar("T")
_HOME = str(Path(signrules.__file__).parent)


class TooMuchWork(OutOfTime):
    """More steps than may be.

    Whatever contains what code raises lets it pass, as it does the end of a time.
    """

    def __str__(self) -> str:
        return (
            f"it took more than {MOST_STEPS:,} steps for one job and was stopped: a loop may have"
            " no end"
        )


def call_bounded(call: Callable[[], T], most: int = MOST_STEPS) -> T:
    """What the call gives back. Raises TooMuchWork where it takes more than so many steps.

    A step is a call, or a line of what is not signrules itself. What compiled code does is none.
    Where a debugger or a tracer is at work nothing is counted, since there can be only one.
    """
    return call() if sys.gettrace() is not None else _call_counted(call, most)


def _call_counted(call: Callable[[], T], most: int) -> T:  # pragma: no cover
    count = 0
    own_code: dict[CodeType, bool] = {}

    def watch(frame: FrameType, event: str, argument: Any) -> Any:
        nonlocal count
        count += 1
        if count > most:
            raise TooMuchWork
        code = frame.f_code
        if code not in own_code:
            own_code[code] = code.co_filename.startswith(_HOME)
        return None if own_code[code] else watch

    sys.settrace(watch)
    try:
        return call()
    finally:
        sys.settrace(None)
