"""What code asks besides the job: the time, chance, files, folders, the environment."""

from __future__ import annotations

import gc
import os
import random
import sys
import time
from collections.abc import Callable
from typing import Any

_ASKED = (
    *(time.time, time.time_ns, time.monotonic, time.monotonic_ns),
    *(time.perf_counter, time.perf_counter_ns, time.process_time, time.process_time_ns),
    *(time.thread_time, time.thread_time_ns),
    *(time.localtime, time.gmtime, time.ctime, time.asctime, time.strftime),
    *(os.urandom, os.getcwd, os.listdir, os.scandir, open),
)
_ASKED_BY_NAME = (
    "date.today",
    "datetime.now",
    "datetime.utcnow",
    "datetime.today",
    "Random.random",
    "Random.getrandbits",
)
# It is written in Python and calls nothing compiled that would show: its code object is looked for.
_ENVIRONMENT = type(os.environ).__getitem__.__code__


def asked_besides(call: Callable[[], object]) -> list[str]:
    """What of time, chance, files and the environment was asked while something was done; nothing
    where a profiler is at work.
    """
    if sys.getprofile() is not None:
        return []  # There can be only one.
    asked: set[str] = set()

    def watch(frame: Any, event: str, called: Any) -> None:
        if event == "c_call":
            name = getattr(called, "__qualname__", "")
            # By name where each look-up makes a new object: methods of classes written in C.
            is_known = any(called is known for known in _ASKED) or name in _ASKED_BY_NAME
            if is_known or _is_chance(called):
                asked.add(name)
        elif event == "call" and frame.f_code is _ENVIRONMENT:
            asked.add("os.environ")

    # Collecting garbage may call what others have hung on it, and some of that measures time.
    collecting = gc.isenabled()
    gc.disable()
    sys.setprofile(watch)
    try:
        call()
    finally:
        sys.setprofile(None)
        if collecting:
            gc.enable()
    return sorted(asked)


def _is_chance(called: Any) -> bool:
    return isinstance(getattr(called, "__self__", None), random.Random)
