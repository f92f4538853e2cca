"""All procedures, in the order in which they are listed."""

from __future__ import annotations

from signrules.errors import DocumentFault, ReadingsError
from signrules.measuring.flatness_figures import FLATNESS_PROCEDURES
from signrules.measuring.flight_figures import FLIGHT_PROCEDURES
from signrules.measuring.ink_figures import INK_PROCEDURES
from signrules.measuring.judged_figures import JUDGED_PROCEDURES
from signrules.measuring.place_figures import PLACE_PROCEDURES
from signrules.measuring.procedure import Procedure
from signrules.measuring.time_figures import TIME_PROCEDURES
from signrules.model.wording import listed_names, nearest_name, shown_value

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
    near = nearest_name(figure, tuple(_BY_FIGURE))
    names = listed_names(list(_BY_FIGURE), most=30)
    expected = f"{near!r} perhaps" if near else f"one of {names}"
    raise ReadingsError([DocumentFault("figure", shown_value(figure), expected)])
