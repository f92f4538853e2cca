"""The standard output of the command, kept for the command alone."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress


@contextmanager
def own_output() -> Iterator[None]:
    """While it lasts, `sys.stdout` is standard output, and descriptor 1 standard error.

    What a plugin writes past `sys.stdout`, from compiled code or from a program that it starts, is
    no part of a report then. Where `sys.stdout` is not that of the process, nothing changes.
    """
    stdout = sys.stdout
    if stdout is not sys.__stdout__ or not isinstance(stdout, io.TextIOWrapper):
        yield
        return
    try:
        beneath, errors = stdout.fileno(), sys.stderr.fileno()
        # What waits in the stream would otherwise come out where the descriptor leads by then.
        stdout.flush()
        kept = os.dup(beneath)
        os.dup2(errors, beneath)
    except (OSError, ValueError):  # One of them has no descriptor, or takes nothing.
        yield
        return
    sys.stdout = _stream_like(stdout, kept)
    try:
        yield
    finally:
        # A reader that is gone has been told of by then; the descriptor must go back all the same.
        with suppress(OSError):
            sys.stdout.flush()
        os.dup2(kept, beneath)
        sys.stdout = stdout


def _stream_like(stream: io.TextIOWrapper, descriptor: int) -> io.TextIOWrapper:
    """A stream on another descriptor that writes as one does."""
    return io.TextIOWrapper(
        open(descriptor, "wb"),
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )
