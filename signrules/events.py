"""What signrules tells those who listen: lines of `logging` under the name "signrules", and spans
of OpenTelemetry.

Neither is imported here. A program that has not imported `logging` has nobody who listens, and one
that has not imported `opentelemetry.trace` no place for spans: then all of this does nothing.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from contextvars import ContextVar
from typing import Any

NAME = "signrules"
DEBUG, INFO, WARNING = 10, 20, 30
"""The levels of `logging` that are used."""

MOST_OF_A_TEXT = 500
"""Characters of one text, such as the name of a job, that a line shows."""

_untold: ContextVar[bool] = ContextVar("untold", default=False)


def tell_event(level: int, text: str, *values: object) -> None:
    """A line for whoever listens; `text` has places for the values, as `logging` takes them."""
    if is_heard(level):
        _logger().log(level, text, *map(_on_one_line, values))


def is_heard(level: int) -> bool:
    """Whether anybody listens to lines of a level: else their values need not be worked out."""
    logger = None if _untold.get() else _logger()
    return logger is not None and bool(logger.isEnabledFor(level))


@contextmanager
def untold_work() -> Iterator[None]:
    """Work that makes neither lines nor spans: trials, of which there are many."""
    token = _untold.set(True)
    try:
        yield
    finally:
        _untold.reset(token)


@contextmanager
def work_stage(name: str, **facts: str | int) -> Iterator[None]:
    """A stage of the work: a span with these facts, and a line that says how long it took."""
    if _untold.get():
        yield
        return
    timed = is_heard(DEBUG)
    began = time.perf_counter() if timed else 0.0
    with _span(name, facts):
        yield
    if timed:
        tell_event(DEBUG, "%s took %.3f s", name, time.perf_counter() - began)


def _on_one_line(value: object) -> object:
    """A value for a line: a name can neither begin another line nor steer a terminal."""
    if not isinstance(value, str):
        return value
    shown = "".join(
        char if char.isprintable() else "\N{REPLACEMENT CHARACTER}"
        for char in value[:MOST_OF_A_TEXT]
    )
    return shown if len(value) <= MOST_OF_A_TEXT else f"{shown}... ({len(value)} characters)"


def _logger() -> Any:
    logging = sys.modules.get("logging")
    # One that is only being imported has nobody who listens either.
    if logging is None or not hasattr(logging, "NullHandler"):
        return None
    logger = logging.getLogger(NAME)
    if not logger.handlers:
        # Without one, Python writes warnings of a silent library to standard error.
        logger.addHandler(logging.NullHandler())
    return logger


def _span(name: str, facts: dict[str, str | int]) -> AbstractContextManager[Any]:
    api = sys.modules.get("opentelemetry.trace")
    if api is None or not hasattr(api, "get_tracer"):
        return nullcontext()
    attributes = {f"{NAME}.{key}": value for key, value in facts.items()}
    span: AbstractContextManager[Any] = api.get_tracer(NAME).start_as_current_span(
        f"{NAME}.{name}", attributes=attributes
    )
    return span
