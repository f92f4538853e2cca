"""What the hooks that are asked for each job give back, checked before it is believed.

Each function raises PluginError for what does not fit.
"""

from __future__ import annotations

import pickle
import re
import sys
from collections.abc import Callable, Iterable, Mapping
from contextlib import closing
from itertools import islice
from typing import Any, NamedTuple

from signrules.documents.refusal import Refused
from signrules.documents.table_reader import read_table
from signrules.errors import PluginError
from signrules.model.job import Job
from signrules.model.price_line import PriceLine, faults_of_line
from signrules.model.wording import shown_value
from signrules.rules.containment import call_contained
from signrules.rules.sound_drafts import (
    LONGEST_TEXT,
    is_said_text,
    is_sound_text,
    nothing_returned,
)

MOST_PAIRS = 100_000
"""The most precedence pairs that one plugin may give."""

MOST_LINES = 1000
"""The most lines that one plugin may add to an estimate."""

_PAIRS = "tuples (id that comes first, id that comes after it, reason)"
_LINES = 'tables such as {"name": "rush", "share": "25 %"}'
_QUANTITY = re.compile(r"[a-z][a-z0-9_]*\Z")


class PluginPrecedence(NamedTuple):
    """What a plugin says of the order of a job: one item comes before another one, by their ids."""

    first: str
    later: str
    reason: str
    plugin: str


def pairs_from(hook: Callable[..., Any], job: Job, ids: set[str]) -> list[tuple[str, str, str]]:
    """What comes before what, and why, as `signrules_precedence` says of a job whose items have
    these ids.
    """
    found: list[tuple[str, str, str]] = []
    for answer in answers_of_hook("signrules_precedence", hook(job=job), _PAIRS):
        if isinstance(answer, str | Mapping) or not isinstance(answer, Iterable):
            raise PluginError(
                f"signrules_precedence gave back {shown_value(answer)}, expected {_PAIRS}"
            )
        # One more than may be: enough to tell that it is too many, of a generator that never ends.
        with closing(nothing_returned(answer)) as steps:
            found += (
                _checked_pair(pair, ids) for pair in islice(steps, MOST_PAIRS + 1 - len(found))
            )
    if len(found) > MOST_PAIRS:
        raise PluginError(f"signrules_precedence gave back more than {MOST_PAIRS} pairs")
    return found


def answers_of_hook(hook: str, answers: list[Any], expected: str) -> list[Any]:
    """What a hook gave back; raises PluginError where that is None, which pluggy leaves out."""
    if not answers:
        raise PluginError(
            f"{hook} gave back None, expected {expected}: a `yield` or a `return` may be missing"
        )
    return answers


def _checked_pair(pair: Any, ids: set[str]) -> tuple[str, str, str]:
    # By type and not isinstance: a subclass may do anything when it is compared.
    if not (type(pair) is tuple and len(pair) == 3 and all(is_sound_text(part) for part in pair)):
        raise PluginError(f"signrules_precedence gave back {shown_value(pair)}, expected {_PAIRS}")
    if not is_said_text(pair[2]):
        raise PluginError(
            f"signrules_precedence gives no reason why {pair[0]!r} comes before {pair[1]!r}:"
            " say why in a few words"
        )
    if pair[0] == pair[1]:
        raise PluginError(f"{pair[0]!r} cannot come before itself")
    for name in pair[:2]:
        if name not in ids:
            raise PluginError(f"the job has no pass or handling {name!r}")
    return pair


def cells_from(cells: Any) -> str:
    """A line of braille that `signrules_translate_braille` gave back."""
    if not (
        type(cells) is str and all(each == " " or "\u2800" <= each <= "\u28ff" for each in cells)
    ):
        raise PluginError(
            f"signrules_translate_braille gave back {shown_value(cells)}, expected Unicode braille"
            " patterns"
        )
    return cells


def numbers_from(ask: Callable[[], list[Any]], counted_by: Mapping[str, str]) -> dict[str, float]:
    """What `signrules_quantities` counts when it is asked, under names by which no other plugin
    counts; `counted_by` says which does.
    """
    found: dict[str, float] = {}
    for answer in answers_of_hook("signrules_quantities", ask(), "numbers by name"):
        if not isinstance(answer, Mapping):
            raise PluginError(
                f"signrules_quantities gave back {shown_value(answer)}, expected numbers by name"
            )
        for name, value in answer.items():
            if not (type(name) is str and len(name) <= LONGEST_TEXT and _QUANTITY.match(name)):
                raise PluginError(
                    f"signrules_quantities gave back {shown_value(name)}, expected a name such as"
                    " film_m2"
                )
            if name in counted_by or name in found:
                owner = counted_by.get(name, "this plugin itself")
                raise PluginError(
                    f"the quantity {name} is counted already by {owner}: give it another name"
                )
            if (
                type(value) not in (int, float)
                or not -sys.float_info.max <= value <= sys.float_info.max
            ):
                raise PluginError(
                    f"the quantity {name} is {shown_value(value)}, expected a finite number"
                )
            found[name] = float(value)
    return found


def price_lines_from(ask: Callable[[], list[Any]]) -> list[PriceLine]:
    """The lines that `signrules_price_lines` adds when it is asked."""
    found: list[PriceLine] = []
    for answer in answers_of_hook("signrules_price_lines", ask(), _LINES):
        if isinstance(answer, str | Mapping) or not isinstance(answer, Iterable):
            raise PluginError(
                f"signrules_price_lines gave back {shown_value(answer)}, expected {_LINES}"
            )
        with closing(nothing_returned(answer)) as steps:
            rows = enumerate(islice(steps, MOST_LINES + 1 - len(found)), start=len(found) + 1)
            found += [_read_line(row, _line_words(number, row)) for number, row in rows]
    if len(found) > MOST_LINES:
        raise PluginError(f"signrules_price_lines gave back more than {MOST_LINES} lines")
    return found


def _line_words(number: int, row: Any) -> str:
    """Which of several lines it is: by its number, and by its name where that can be told."""
    name = row.get("name") if type(row) is dict else None
    return f"line {number} ({shown_value(name)})" if is_said_text(name) else f"line {number}"


def _read_line(row: Any, which: str) -> PriceLine:
    try:
        line: PriceLine = read_table(row, PriceLine)
    except Refused as refused:
        raise PluginError(f"signrules_price_lines: {refused.under(which)[0]}") from None
    if not is_said_text(line.name):
        raise PluginError(
            f"signrules_price_lines: {which}: found the name {shown_value(line.name)}, expected"
            " one line of text"
        )
    for fault in faults_of_line(line):
        raise PluginError(f"signrules_price_lines: {which}: {fault}")
    return line


def copied_job(job: Job) -> Job:
    """What a plugin may see: it cannot reach the job that is judged."""
    # Deep and independent: a frozen class can still be changed by who means to.
    copy: Job = pickle.loads(pickle.dumps(job))
    return copy


def demand_unchanged(given: Job, job: Job) -> None:
    """Raises PluginError where a plugin has changed the job that it was given."""
    # What it put there may fail when it is compared.
    if call_contained(lambda: given != job):
        raise PluginError("it changed the job that it was given")
