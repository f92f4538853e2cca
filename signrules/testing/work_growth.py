"""How the work of a rule, in lines that are run, grows with the passes of a job."""

from __future__ import annotations

import copy
import sys
from collections.abc import Iterator, Mapping
from functools import partial
from types import FrameType
from typing import Any

from attrs import evolve

from signrules.rules.engine import Facts, PlacedRule
from signrules.testing.altered_documents import Document, with_other_signs
from signrules.testing.run_rules import drafts_of
from signrules.testing.work_bounds import MOST_STEPS, TooMuchWork

FEW, MANY = 3, 30
"""So many copies of a job are compared; of the sample job, which has four passes, 12 and 120
passes.
"""

GROWTH = 1.5 * (MANY / FEW) ** 2
"""As many times the work may be: the square, and half as much again."""

_ROWS = ("media", "passes", "handling", "signs")
_NAMES = ("media", "over", "after", "registers_to")


def grows_too_fast(placed: PlacedRule, few: Facts, many: Facts) -> bool:
    """Whether the work grows by more than a square where a job has ten times as much of everything.

    Where a debugger or a tracer is at work nothing is counted, since there can be only one.
    """
    if sys.gettrace() is not None:
        return False
    return _counted_too_fast(placed, few, many)


def _counted_too_fast(placed: PlacedRule, few: Facts, many: Facts) -> bool:  # pragma: no cover
    of_few = lines_run(placed, few, MOST_STEPS)
    return of_few is None or lines_run(placed, many, GROWTH * of_few) is None


def lines_run(placed: PlacedRule, facts: Facts, most: float | None = None) -> int | None:
    """How many lines of Python are run while a rule judges all of its subjects; None where there
    are more than `most`.

    Each turn of a loop counts, also on one line; what compiled code does counts as one.
    """
    count = 0

    def watch(frame: FrameType, event: str, argument: Any) -> Any:
        nonlocal count
        count += 1
        if most is not None and count > most:
            raise TooMuchWork
        return watch

    before = sys.gettrace()
    sys.settrace(watch)
    try:
        for _ in drafts_of(_with_own_settings(placed), facts):
            pass
    except TooMuchWork:  # pragma: no cover
        return None
    finally:
        sys.settrace(before)
    return count


def _with_own_settings(placed: PlacedRule) -> PlacedRule:
    return placed if placed.settings is None else evolve(placed, settings=evolve(placed.settings))


def copies_of(document: Mapping[str, Any], count: int) -> Document:
    """A job so many times, each copy in bed loads of its own, without waivers and a sequence."""
    left_out = (*_ROWS, "waivers", "sequence")
    copied: Document = {key: value for key, value in document.items() if key not in left_out}
    for name in _ROWS:
        rows = document.get(name, ())
        copied[name] = [
            row for number in range(count) for row in _copied_rows(rows, document, number)
        ]
    return copied


def chain_of(document: Mapping[str, Any], count: int) -> Document:
    """The first sheet of a job with so many passes, each over the two before it, and nothing else
    to do.

    What follows each of the two down twice does twice the work with each pass more.
    """
    left_out = ("passes", "handling", "signs", "waivers", "sequence")
    chained: Document = {key: value for key, value in document.items() if key not in left_out}
    sheet, ink = document["media"][0]["id"], document["inks"][0]["id"]
    chained["passes"] = [_chained_pass(number, sheet, ink) for number in range(count)]
    return chained


def _chained_pass(number: int, sheet: str, ink: str) -> Document:
    before = [f"pass-{lower}" for lower in range(max(0, number - 2), number)]
    row: Document = {"id": f"pass-{number}", "media": sheet, "ink": ink, "over": before}
    if number:
        row["after"] = before[-1:]
    return row


def _copied_rows(rows: Any, document: Mapping[str, Any], number: int) -> Iterator[Document]:
    for original in rows:
        row = copy.deepcopy(dict(original))
        row["id"] = _named_copy(row["id"], number)
        if original in document["media"]:
            row["load"] = _named_copy(row.get("load", "1"), number)
        elif len(document["media"]) == 1:
            row.setdefault("media", document["media"][0]["id"])
        for key in _NAMES:
            if isinstance(row.get(key), list):
                row[key] = [_named_copy(name, number) for name in row[key]]
            elif key in row:
                row[key] = _named_copy(row[key], number)
        if "builds" in row:
            row["builds"] = with_other_signs(row["builds"], partial(_named_copy, number=number))
        yield row


def _named_copy(name: str, number: int) -> str:
    return f"{name}-{number}"
