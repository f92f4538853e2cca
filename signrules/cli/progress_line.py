"""A line on standard error that says what is done, on a terminal, once it takes over a second."""

from __future__ import annotations

import shutil
import sys
import threading
import time
from types import TracebackType
from typing import TextIO

PATIENCE_S = 1.0
"""Seconds that pass before anything is said."""

AGAIN_S = 0.5
"""Seconds after which it is said anew."""

CLEAR_LINE = "\r\x1b[K"


class ProgressLine:
    """A line that is there while something is waited for, and gone before anything else is printed.

    Nothing is written where standard error is no terminal, nor within the first second. To be used
    with `with`.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._on = self._stream.isatty()
        self._text = ""
        self._part = ""
        self._written = False
        self._lock = threading.Lock()
        self._ended = threading.Event()
        self._began = time.monotonic()
        # A daemon, so that a run that is interrupted does not wait for its progress line.
        self._thread = threading.Thread(target=self._run, daemon=True)

    def __enter__(self) -> ProgressLine:
        if self._on:
            self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        # Before the thread ends, while no other text stands on the line.
        self.hide()
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()

    def show(self, text: str) -> None:
        """Says what is being done from now on."""
        with self._lock:
            self._text, self._part = text, ""

    def hide(self) -> None:
        """Takes the line away, until the next `show`."""
        with self._lock:
            self._text = ""
            if self._written:
                self._write(CLEAR_LINE)
                self._written = False

    def trials(self, spent: int, total: int) -> None:
        """Says how much of the budget of trials is used up."""
        with self._lock:
            self._part = f", {min(100, 100 * spent // max(total, 1))} % of the trials"

    def _run(self) -> None:
        wait = PATIENCE_S
        while not self._ended.wait(wait):
            wait = AGAIN_S
            with self._lock:
                if self._text:
                    self._write(CLEAR_LINE + self._line())
                    self._written = True

    def _line(self) -> str:
        seconds = f", {time.monotonic() - self._began:.0f} s"
        # Asked each time, as windows change; a full line would wrap, and could not be cleared.
        room = shutil.get_terminal_size().columns - len(self._part) - len(seconds) - 1
        return self._text[: max(room, 0)] + self._part + seconds

    def _write(self, text: str) -> None:
        try:
            self._stream.write(text)
            self._stream.flush()
        except OSError:
            self._ended.set()  # Whoever looked on is gone; the status says what came of it.
