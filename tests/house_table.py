"""An invented dimension table, for quantities that no built-in table limits."""

from __future__ import annotations

from types import SimpleNamespace

from signrules import hookimpl
from signrules.standards.dimension_tables import Standard, read_standard

HOUSE = read_standard(
    """
id = "house"
title = "An invented house"
publisher = "nobody"
unit = "mm"

[[rows]]
quantity = "raised.clear_space"
least = "5 mm"
clause = "1"
source = "invented"
standing = "read"
""",
    "house.toml",
)


def signrules_standards() -> list[Standard]:
    """The one table."""
    return [HOUSE]


HOUSE_TABLE = SimpleNamespace(
    __name__="house-table", signrules_standards=hookimpl(signrules_standards)
)
"""A plugin that brings it, to be loaded by the tests of rules."""
