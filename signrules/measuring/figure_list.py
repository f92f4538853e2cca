"""All procedures, in the order in which they are listed."""

from __future__ import annotations

from collections.abc import Sequence

from signrules.errors import DocumentFault, ReadingsError
from signrules.measuring.flatness_figures import FLATNESS_PROCEDURES
from signrules.measuring.flight_figures import FLIGHT_PROCEDURES
from signrules.measuring.ink_figures import INK_PROCEDURES
from signrules.measuring.judged_figures import JUDGED_PROCEDURES
from signrules.measuring.place_figures import PLACE_PROCEDURES
from signrules.measuring.procedure import Procedure
from signrules.measuring.time_figures import TIME_PROCEDURES
from signrules.model.wording import expected_name, listed_names, shown_value

_PROCEDURES = (
    *FLIGHT_PROCEDURES,
    *JUDGED_PROCEDURES,
    *INK_PROCEDURES,
    *FLATNESS_PROCEDURES,
    *PLACE_PROCEDURES,
    *TIME_PROCEDURES,
)
_BY_FIGURE = {procedure.figure: procedure for procedure in _PROCEDURES}


def procedures() -> tuple[Procedure, ...]:
    """Every procedure by which a figure can be measured."""
    return _PROCEDURES


def procedure_of(figure: str) -> Procedure:
    """The procedure of a figure by its name. Raises ReadingsError for one that nobody knows."""
    if figure in _BY_FIGURE:
        return _BY_FIGURE[figure]
    names = listed_names(list(_BY_FIGURE), most=30)
    expected = expected_name(figure, tuple(_BY_FIGURE), f"one of {names}")
    raise ReadingsError([DocumentFault("figure", shown_value(figure), expected)])


_TABLE_OF_PART = {"printer": "printers", "inks": "inks", "media": "sheets"}
"""The table of a shop file that holds the figures of a part of a job."""


def procedures_for(path: str) -> tuple[Procedure, ...]:
    """The procedures that measure the figure at a path of a job, such as `inks.clear.layer`."""
    part, *further_parts = path.split(".")
    # A job has one printer; of inks and sheets an id comes first.
    keys = further_parts if part == "printer" else further_parts[1:]
    table = _TABLE_OF_PART.get(part)
    return tuple(
        procedure
        for procedure in _PROCEDURES
        if procedure.goes_to[:1] == (table,) and _same_keys(procedure.goes_to[1:], keys)
    )


def _same_keys(goes_to: Sequence[str], keys: Sequence[str]) -> bool:
    """Whether keys lead to where a procedure states its figure; METHOD stands for any name."""
    if len(goes_to) != len(keys):
        return False
    return all(goal in (key, "METHOD") for goal, key in zip(goes_to, keys, strict=True))
