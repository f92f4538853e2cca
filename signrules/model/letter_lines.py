"""What lines of characters measure, of a sign that has some of several sizes."""

from __future__ import annotations

from attrs import field, frozen

from signrules.model.declared import Metadata
from signrules.model.declaring import list_of, table_of, toleranced_length
from signrules.model.quantities import Interval


@frozen
class LetterLine:
    """One line of characters, where a sign has lines of several sizes: what is limited as a share
    of another of these is judged line by line then.
    """

    height: Interval = field(metadata=toleranced_length("of the capital I", usual=(3.0, 600.0)))
    stroke: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital I", usual=(0.3, 150.0))
    )
    width: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital O", usual=(2.0, 700.0))
    )
    spacing: Interval | None = field(
        default=None,
        metadata=toleranced_length("gap between neighbouring characters", usual=(0.2, 200.0)),
    )


def lines_of_sizes() -> Metadata:
    """The field of a section that holds them."""
    expected = "tables with height, stroke, width and spacing"
    return list_of(
        table_of(LetterLine, "a table with height, stroke, width and spacing"),
        f"a list of {expected}",
        "of lines of several sizes, what each measures; they count while their least and most are"
        " those that are stated beside them",
    )
