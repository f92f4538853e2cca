"""Which rows of a table bind a sign, by their level."""

from __future__ import annotations

from signrules.model.sign import Sign
from signrules.rules.binding_rows import limited_quantities
from signrules.standards.dimension_tables import LEVELS, Row, Standard


def test_rows_of_one_level_are_those_of_no_other():
    quantities = ("raised.height", "raised.depth", "raised.spacing")
    rows = tuple(
        Row(quantity, "1", "invented", "read", level=level)
        for quantity, level in zip(quantities, LEVELS, strict=True)
    )
    table = Standard("house", "An invented house", "nobody", "mm", rows)
    for quantity, level in zip(quantities, LEVELS, strict=True):
        assert limited_quantities(Sign("door"), table, level) == [quantity]
