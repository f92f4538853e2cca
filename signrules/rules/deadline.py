"""A time for code that someone else wrote: whoever exceeds it is stopped from another thread."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")

AGAIN_S = 0.05
"""After so many seconds code that has swallowed the end of its time hears of it again."""


class OutOfTime(BaseException):
    """The time that was given has passed.

    No `Exception`: `except Exception` does not swallow it.
    """


class Overdue(Exception):
    """A call took longer than it was given."""


def call_within(call: Callable[[], T], seconds: float) -> T:
    """What the call gives back. Raises Overdue where it takes longer than so many seconds.

    It is stopped between two instructions of Python, so a loop on one line is stopped too; a single
    long call into compiled code ends first.
    """
    alarm = _Alarm()
    try:
        try:
            alarm.start(seconds)
            result = call()
        finally:
            alarm.stop()
    except OutOfTime:
        alarm.stop()  # It may have rung while it was being stopped.
        if not alarm.rang:
            raise  # It is the end of the time of a call around this one.
    except Exception:
        if not alarm.rang:
            raise
    if alarm.rang:
        raise Overdue
    return result


class _Alarm:
    """Raises OutOfTime in the thread that made it, again and again: some code swallows it, and so
    does Python itself where it comes while garbage is collected.

    A lock of the thread that waits is all that tells it to stop: to let go of one is a single
    instruction, which an exception from outside cannot cut in half.
    """

    def __init__(self) -> None:
        self.rang = False
        self._seconds = 0.0
        self._thread = threading.get_ident()
        self._going_on = threading.Lock()
        # A daemon, so that a program that ends does not wait for it.
        self._ringer = threading.Thread(target=self._ring, daemon=True)

    def start(self, seconds: float) -> None:
        """Ring when so many seconds have passed."""
        # A lock refuses to wait for longer than this, which is centuries.
        self._seconds = min(max(0.0, seconds), threading.TIMEOUT_MAX)
        self._going_on.acquire()
        self._ringer.start()

    def _ring(self) -> None:
        wait = self._seconds
        while not self._going_on.acquire(timeout=wait):
            self.rang = True
            _raise_in(self._thread)
            wait = AGAIN_S

    def stop(self) -> None:
        """Ring no more; what has rung and was not heard yet is not heard."""
        if self._going_on.locked():
            self._going_on.release()
        if self._ringer.is_alive():
            self._ringer.join()
        if self.rang:
            _await_alarm(self._thread)


def _await_alarm(thread: int) -> None:
    """Wait for an exception that may be under way to this very thread, and swallow it.

    To take one back leaves the interpreter looking for it for ever, which some releases of Python
    do not survive while they profile. So another takes its place, which is sure to come.
    """
    try:
        _raise_in(thread)
        while True:
            pass
    except OutOfTime:
        pass


def _raise_in(thread: int) -> None:
    """Have OutOfTime raised in a thread, in place of an exception that waits there."""
    # Loaded here, since few callers ever give a time.
    import ctypes

    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), ctypes.py_object(OutOfTime))
