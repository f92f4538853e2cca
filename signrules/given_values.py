"""What the functions of the library are given, looked at once at the door."""

from __future__ import annotations

import datetime
import math
import os
import reprlib
from types import MappingProxyType, UnionType
from typing import get_args

MAKERS = MappingProxyType(
    {
        "Job": "job_from_dict makes one of a document, read_job of a file",
        "Shop": "shop_from_dict makes one of a document, read_shop of a file",
        "Plugins": "load_plugins makes them",
        "Evaluation": "evaluate makes one of a Job",
        "Rates": "rates_from_dict makes one of a document, read_rates of a file",
        "Plan": "Evaluation.plan is one, where there is an order",
        "Remedy": "Check.remedies are such",
        "Language": "language_of makes one of a tag such as 'de'",
        "Mapping": "evaluations, or errors, by the names of their files",
    }
)
"""How to come by what is expected."""


LONGEST_FOUND = 80
"""Characters of what was found, so that what to do stays in sight."""


def demand_given(function: str, *given: tuple[object, type | UnionType]) -> None:
    """Raises TypeError where a value is none of the class that a function takes.

    Each value comes with its class, `Shop | None` where it may be left out.
    """
    for value, expected in given:
        if not isinstance(value, expected):
            cls = expected if isinstance(expected, type) else get_args(expected)[0]
            article = "an" if cls.__name__[0] in "AEIO" else "a"
            raise TypeError(
                f"{function} takes {article} {cls.__name__}, found {_shown(value)}:"
                f" {MAKERS[cls.__name__]}"
            )


def demand_path(function: str, path: object, otherwise: str) -> None:
    """Raises TypeError where the path of a file is none; `otherwise` says what takes a document."""
    if not isinstance(path, str | os.PathLike):
        raise TypeError(
            f"{function} takes the path of a file, found {_shown(path)}: {otherwise} makes one of"
            " a document"
        )


def demand_bounds(*, budget: object = 0, seconds: object = None) -> None:
    """Raises TypeError or ValueError for a number of states of the planner, or a time, that is
    none.
    """
    if not isinstance(budget, int) or isinstance(budget, bool):
        raise TypeError(f"budget is {_shown(budget)}, expected a whole number of states")
    if budget < 0:
        raise ValueError(f"budget is {budget}, expected 0 or more states")
    if seconds is None:
        return
    if not isinstance(seconds, int | float) or isinstance(seconds, bool):
        raise TypeError(f"seconds is {_shown(seconds)}, expected a number, or None for no limit")
    if not 0 < seconds < math.inf:
        raise ValueError(f"seconds is {seconds}, expected more than 0, or None for no limit")


def day_or_today(today: object) -> datetime.date:
    """The day that a function is given, or that of this machine where it is left out.

    Raises TypeError for what is no day, and for a time of a day: it cannot be compared with one.
    """
    if today is None:
        return datetime.date.today()
    if not isinstance(today, datetime.date) or isinstance(today, datetime.datetime):
        raise TypeError(
            f"today is {_shown(today)}, expected a datetime.date, or None for the day it is"
        )
    return today


def _shown(value: object) -> str:
    text = " ".join(reprlib.repr(value).split())
    return text if len(text) <= LONGEST_FOUND else f"{text[: LONGEST_FOUND - 3]}..."
