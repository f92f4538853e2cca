"""Calling what someone else wrote: whatever it raises comes back as words, and it may be given a
time to finish in.

A plugin is code with the rights of whoever runs it. This contains mistakes, not malice: code that
ends the process, or that catches the end of its time and goes on, cannot be held.
"""

from __future__ import annotations

import dis
import os
import signal
from collections.abc import Callable
from typing import TypeVar

from signrules.rules.deadline import OutOfTime, Overdue, call_within
from signrules.rules.plugin_output import OutputAside

T = TypeVar("T")
_LONGEST = 500
_ASIDE = OutputAside()
_SIGNRULES = os.path.dirname(os.path.dirname(__file__)) + os.sep
_CALLS_HOOKS = os.sep + "pluggy" + os.sep
_PYTHON = os.path.dirname(os.__file__) + os.sep
_INSTALLED = os.sep + "site-packages" + os.sep
"""What others have installed lies within the folder of Python itself."""
_RAISES = dis.opmap["RAISE_VARARGS"]


class Contained(Exception):
    """What was called has failed; the text says how."""


def call_contained(call: Callable[[], T], seconds: float | None = None) -> T:
    """What the call gives back. Raises Contained for whatever it raises, except an interrupt from
    the keyboard; see `interrupt_in`.

    What it writes to standard output goes to standard error. With `seconds` it is stopped when
    these have passed, see `call_within`. Left out, nothing depends on time.
    """
    with _ASIDE:
        try:
            return call() if seconds is None else call_within(call, seconds)
        except Overdue:
            assert seconds is not None
            raise Contained(f"stopped: it took longer than {seconds:.3g} s") from None
        # SystemExit too: a plugin that ends the process would take the whole run with it.
        except BaseException as error:
            raise failure_of(error) from error


def failure_of(error: BaseException) -> Contained:
    """What a call has raised, in words.

    Raises it again where it is the end of the time of a call around this one, which is not for this
    one to swallow, and the interrupt where it is one.
    """
    if isinstance(error, OutOfTime):
        raise error
    if (interrupt := interrupt_in(error)) is not None:
        raise interrupt from None
    return Contained(describe_error(error))


def interrupt_in(error: BaseException) -> KeyboardInterrupt | None:
    """The interrupt from outside that an exception is, or answers to; None where there is none.

    Python raises what comes from the keyboard between two instructions, or in the handler of the
    signal. A KeyboardInterrupt that code raises by `raise` is a mistake of its own.
    """
    cause: BaseException | None = error
    seen: set[int] = set()
    # Causes may form a circle, since code can set them to anything.
    while cause is not None and id(cause) not in seen:
        if isinstance(cause, KeyboardInterrupt) and not _is_raised_by_code(cause):
            return cause
        seen.add(id(cause))
        cause = cause.__cause__ or cause.__context__
    return None


def _is_raised_by_code(error: KeyboardInterrupt) -> bool:
    """Whether the innermost frame raised it, and no frame is that of the handler of the signal."""
    handler: object = signal.getsignal(signal.SIGINT)
    # A handler may be a partial or a bound method: what it runs is the function within.
    for wrapped in ("func", "__func__"):
        handler = getattr(handler, wrapped, handler)
    of_handler = getattr(handler, "__code__", None)
    traceback = error.__traceback__
    innermost = traceback
    while traceback is not None:
        if traceback.tb_frame.f_code is of_handler:
            return False
        innermost, traceback = traceback, traceback.tb_next
    # Never raised at all, so no frame says anything of it.
    if innermost is None:
        return False
    return innermost.tb_frame.f_code.co_code[innermost.tb_lasti] == _RAISES


def describe_error(error: BaseException) -> str:
    """An exception in words that can be written anywhere, even one that fails when it is asked for
    its text.
    """
    try:
        text = str(error)
    except BaseException as worse:
        if (interrupt := interrupt_in(worse)) is not None:
            raise interrupt from None
        # An exception whose own text fails still has a name.
        text = f"(no text: {type(worse).__name__})"
    return printable_line(f"{type(error).__name__}: {text}") + _place_of(error)


def _place_of(error: BaseException) -> str:
    """The file and the line of someone else's code where it failed, in brackets; nothing where the
    library found fault with an answer.

    What this code has called in turn is passed over: the mistake is in the call.
    """
    # A traceback begins with the library's own frames; authors need a line of theirs.
    own_place: tuple[str, int] | None = None
    traceback = error.__traceback__
    while traceback is not None:
        file, line, traceback = (
            traceback.tb_frame.f_code.co_filename,
            traceback.tb_lineno,
            traceback.tb_next,
        )
        if _is_of_library(file):
            continue
        # The innermost line of the folder in which their code was entered.
        if own_place is None or os.path.dirname(file) == os.path.dirname(own_place[0]):
            own_place = (file, line)
    if own_place is None:
        return ""
    return printable_line(f" (line {own_place[1]} of {os.path.basename(own_place[0])})")


_IMPORTING = "<frozen importlib"
"""How Python calls the code by which it imports a file: none of that file's lines stands there."""


def _is_of_library(file: str) -> bool:
    """Whether a file is of signrules, of what calls hooks for it, or of Python itself."""
    if file.startswith((_SIGNRULES, _IMPORTING)) or _CALLS_HOOKS in file:
        return True
    return file.startswith(_PYTHON) and _INSTALLED not in file


def printable_line(text: str) -> str:
    """A text of any length and of any characters as one line that can be printed and encoded."""
    short = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."
    return "".join(map(_printable, short))


def _printable(character: str) -> str:
    if character.isprintable():
        return character
    if character in "\n\t":
        return " "
    return f"\\u{ord(character):04x}"
