"""Calling what someone else wrote: whatever it raises comes back as words, and it may be given a time to finish in.

A plugin is code with the rights of whoever runs it. This contains mistakes, not malice: code that ends the process,
or that catches the end of its time and goes on, cannot be held.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from types import FrameType
from typing import Any, TypeVar

T = TypeVar("T")
_LONGEST = 500


class Contained(Exception):
    """What was called has failed; the text says how."""


class OutOfTime(BaseException):
    """The time that was given has passed. No `Exception`, so that `except Exception` does not swallow it."""


def contained(call: Callable[[], T], seconds: float | None = None) -> T:
    """What the call gives back. Raises Contained for whatever it raises, but for an interrupt from the keyboard.

    With `seconds` it is stopped when these have passed, at the next line of Python that it runs; a single long call
    into compiled code ends first. Left out, nothing depends on time.
    """
    try:
        return call() if seconds is None else _timed(call, seconds)
    except OutOfTime:
        raise Contained(f"stopped: it took longer than the {seconds:.3g} s that were left to it") from None
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        raise Contained(described(error)) from error


def described(error: BaseException) -> str:
    """An exception in words that can be written anywhere, even one that fails when it is asked for its text."""
    try:
        text = str(error)
    except KeyboardInterrupt:
        raise
    except BaseException as worse:
        text = f"(no text: {type(worse).__name__})"
    return printable(f"{type(error).__name__}: {text}")


def printable(text: str) -> str:
    """A text of any length and of any characters as one line that can be printed and encoded."""
    short = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."
    return "".join(each if each.isprintable() else " " if each in "\n\t" else f"\\u{ord(each):04x}" for each in short)


def _timed(call: Callable[[], T], seconds: float) -> T:
    end = time.monotonic() + seconds

    def watch(frame: FrameType, event: str, argument: Any) -> Any:
        if time.monotonic() > end:
            raise OutOfTime
        return watch

    def run() -> T:
        result = call()
        if time.monotonic() > end:
            raise OutOfTime
        return result

    before = sys.gettrace()
    sys.settrace(watch)
    try:
        return run()
    finally:
        sys.settrace(before)
