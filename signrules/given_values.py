"""What the functions of the library are given, looked at once at the door."""

from __future__ import annotations

import reprlib
from types import MappingProxyType, UnionType
from typing import get_args

MAKERS = MappingProxyType(
    {
        "Job": "job_from_dict makes one of a document, read_job of a file",
        "Shop": "shop_from_dict makes one of a document, read_shop of a file",
        "Plugins": "load_plugins makes them",
    }
)
"""How to come by what is expected."""


def demand_given(function: str, *given: tuple[object, type | UnionType]) -> None:
    """Raises TypeError where a value is none of the class that a function takes.

    Each value comes with its class, `Shop | None` where it may be left out.
    """
    for value, expected in given:
        if not isinstance(value, expected):
            cls = expected if isinstance(expected, type) else get_args(expected)[0]
            raise TypeError(
                f"{function} takes a {cls.__name__}, found {reprlib.repr(value)}:"
                f" {MAKERS[cls.__name__]}"
            )
