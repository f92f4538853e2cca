"""Calling what someone else wrote: whatever it raises comes back as words, and it may be given a
time to finish in.

A plugin is code with the rights of whoever runs it. This contains mistakes, not malice: code that
ends the process, or that catches the end of its time and goes on, cannot be held.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from signrules.rules.deadline import OutOfTime, Overdue, call_within
from signrules.rules.plugin_output import OutputAside

T = TypeVar("T")
_LONGEST = 500
_ASIDE = OutputAside()


class Contained(Exception):
    """What was called has failed; the text says how."""


def call_contained(call: Callable[[], T], seconds: float | None = None) -> T:
    """What the call gives back. Raises Contained for whatever it raises, except for an interrupt
    from the keyboard.

    What it writes to standard output goes to standard error. With `seconds` it is stopped when
    these have passed, see
    `within`. Left out, nothing depends on time.
    """
    with _ASIDE:
        try:
            return call() if seconds is None else call_within(call, seconds)
        except Overdue:
            assert seconds is not None
            raise Contained(f"stopped: it took longer than {seconds:.3g} s") from None
        except (KeyboardInterrupt, OutOfTime):
            raise
        except BaseException as error:
            raise Contained(describe_error(error)) from error


def describe_error(error: BaseException) -> str:
    """An exception in words that can be written anywhere, even one that fails when it is asked for
    its text.
    """
    try:
        text = str(error)
    except KeyboardInterrupt:
        raise
    except BaseException as worse:
        text = f"(no text: {type(worse).__name__})"
    return printable_line(f"{type(error).__name__}: {text}")


def printable_line(text: str) -> str:
    """A text of any length and of any characters as one line that can be printed and encoded."""
    short = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."
    return "".join(
        each if each.isprintable() else " " if each in "\n\t" else f"\\u{ord(each):04x}"
        for each in short
    )
