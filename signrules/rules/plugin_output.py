"""What plugins write to standard output goes to standard error, so that a report stays whole."""

from __future__ import annotations

import sys
import threading
from types import TracebackType
from typing import Any


class _Of(threading.local):
    """How many times this thread has asked for it."""

    depth = 0


class _ByThread:
    """Standard output while plugins run: standard error for their threads, and as ever for all
    others.
    """

    def __init__(self, stdout: Any) -> None:
        self._stdout = stdout

    def __getattr__(self, name: str) -> Any:
        return getattr(sys.stderr if _this.depth else self._stdout, name)


_this = _Of()
_lock = threading.Lock()
_threads = 0
_before: Any = None


class OutputAside:
    """While it is entered, what this thread writes to standard output goes to standard error.

    It reaches `sys.stdout` and not the descriptor beneath it: a program that a plugin starts writes
    where it likes.
    """

    def __enter__(self) -> None:
        global _threads, _before
        _this.depth += 1
        # A plugin may call what calls a plugin: only the outermost call changes anything.
        if _this.depth > 1:
            return
        with _lock:
            _threads += 1
            if _threads == 1:
                # The first thread in and the last one out: in between several may be inside.
                _before = sys.stdout
                sys.stdout = _ByThread(_before)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        global _threads, _before
        _this.depth -= 1
        if _this.depth:
            return
        with _lock:
            _threads -= 1
            if not _threads:
                # Whatever stands there: a plugin may have put a stream of its own in its place.
                sys.stdout, _before = _before, None
