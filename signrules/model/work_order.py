"""What becomes of a list of doors: signs on pieces, pieces cut from stock sheets and laid on bed
loads, loads printed one after the other.

A *piece* is one rigid sheet as it lies on the bed: a whole stock sheet, a panel of one, or a blank
of the size of its sign.
"""

from __future__ import annotations

from attrs import field, frozen

from signrules.model.declared import declared_as
from signrules.model.declaring import (
    any_text,
    id_of,
    id_text,
    list_of,
    one_word_of,
    plain_length,
    table_of,
    two_lengths,
    whole_number,
)
from signrules.model.media import Media
from signrules.model.sign import Sign

MOST_ROWS = 10_000_000
"""More than any schedule has."""

PLACE_MM = 0.001
"""Work orders state places to a micrometre."""

LYING = UPRIGHT, TURNED = ("upright", "turned")
"""How a sign lies on its sheet: as its type is drawn, or turned by a quarter to the left."""

Pair = tuple[float, float]


def same_lengths(one: Pair, other: Pair) -> bool:
    """Whether two places or sizes in mm are the same to a micrometre."""
    return all(abs(a - b) <= PLACE_MM for a, b in zip(one, other, strict=True))


def distance_between(one: tuple[Pair, Pair], other: tuple[Pair, Pair]) -> float:
    """How far two rectangles, each a lower corner and a size, lie apart along the axis that parts
    them, in mm; negative where they overlap.
    """
    gaps = []
    for axis in (0, 1):
        (start, side), (other_start, other_side) = (
            (corner[axis], size[axis]) for corner, size in (one, other)
        )
        gaps += [other_start - (start + side), start - (other_start + other_side)]
    # Two rectangles are apart as soon as one axis parts them.
    return max(gaps)


@frozen
class OrderedSign:
    """One sign of the work order and where it lies on its piece, in mm from the piece's corner.

    `row` is that of the schedule. Of a row that asks for several there is one of these for each.
    """

    id: str = field(metadata=declared_as(Sign, "id", "as in the job of its load"))
    type: str = field(metadata=id_of("sign_types", "the sign type"))
    row: int = field(metadata=whole_number("a whole number", 1, MOST_ROWS, "of the schedule"))
    piece: str = field(metadata=id_of("pieces", "what it is printed on"))
    at: tuple[float, float] = field(
        metadata=two_lengths(plain_length(""), "its lower corner on the piece")
    )
    size: tuple[float, float] = field(
        metadata=declared_as(Media, "size", "along x and y, as its type is drawn")
    )
    lies: str = field(
        default=UPRIGHT,
        metadata=one_word_of(LYING, "`turned`: by a quarter to the left, as seen from above"),
    )

    @property
    def size_as_it_lies(self) -> tuple[float, float]:
        """Along x and y of its piece, in mm."""
        return self.size if self.lies == UPRIGHT else self.size[::-1]


@frozen
class OrderedPiece:
    """What lies on the bed as one sheet; its id is that of the sheet in the job of its load."""

    id: str = field(metadata=declared_as(Media, "id", "as in the job of its load"))
    load: str = field(metadata=id_of("loads", "the bed load that it lies in"))
    stock_sheet: str = field(metadata=id_of("stock_sheets", "what it is cut from"))
    size: tuple[float, float] = field(metadata=declared_as(Media, "size"))
    at: tuple[float, float] = field(
        metadata=two_lengths(plain_length(""), "lower corner on the bed")
    )
    cut_at: tuple[float, float] = field(
        metadata=two_lengths(plain_length(""), "lower corner on the stock sheet")
    )
    cut: str = field(
        default=UPRIGHT,
        metadata=one_word_of(LYING, "`turned`: it lies on the stock sheet turned by a quarter"),
    )

    @property
    def size_on_stock(self) -> tuple[float, float]:
        """Along x and y of the stock sheet, in mm."""
        return self.size if self.cut == UPRIGHT else self.size[::-1]


@frozen
class StockSheet:
    """One sheet to be taken from stock."""

    id: str = field(metadata=id_text("what its pieces name it by"))
    stock: str = field(metadata=id_of("sheets", "the sheet of the shop file"))
    size: tuple[float, float] = field(metadata=declared_as(Media, "size"))


@frozen
class OrderedLoad:
    """One bed load; its job is a file beside the work order."""

    id: str = field(metadata=id_text("what its pieces name it by"))
    file: str = field(metadata=any_text("its job, from the folder of the work order"))


@frozen
class PlacingBounds:
    """What no way of placing the signs can go below."""

    stock_sheets: int = field(
        metadata=whole_number("a whole number", 0, MOST_ROWS, "sheets taken from stock")
    )
    loads: int = field(metadata=whole_number("a whole number", 0, MOST_ROWS, "bed loads"))


@frozen
class WorkOrder:
    """All loads of a list of doors in the order of printing; signs in that of the schedule."""

    name: str = field(metadata=any_text("what the work is called"))
    printer: str = field(metadata=id_of("printers", "the printer of the shop"))
    at_least: PlacingBounds = field(
        metadata=table_of(PlacingBounds, "a table", "bounds: what no placing can go below")
    )
    loads: tuple[OrderedLoad, ...] = field(
        default=(),
        metadata=list_of(table_of(OrderedLoad, "a load"), "a list of loads", "in printing order"),
    )
    stock_sheets: tuple[StockSheet, ...] = field(
        default=(),
        metadata=list_of(
            table_of(StockSheet, "a stock sheet"), "a list of stock sheets", "what is used up"
        ),
    )
    pieces: tuple[OrderedPiece, ...] = field(
        default=(),
        metadata=list_of(table_of(OrderedPiece, "a piece"), "a list of pieces", "what is printed"),
    )
    signs: tuple[OrderedSign, ...] = field(
        default=(),
        metadata=list_of(table_of(OrderedSign, "a sign"), "a list of signs", "where each lies"),
    )
    notes: tuple[str, ...] = field(
        default=(),
        metadata=list_of(any_text(""), "a list of texts", "what was chosen, and what was not done"),
    )
