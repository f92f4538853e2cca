"""Which pieces share a bed load, and where each lies on the bed.

Pieces of two thicknesses never share a stretch along y: over the thin one the head would pass low
beside the thick one. Between them stays the length of the head, over which it reaches beyond what
it prints.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve, frozen

from signrules.composing.filled_sheets import FilledSheet, Sheets, each_panel
from signrules.composing.grouping import Likeness, Room, Settings, all_settings, grouped
from signrules.composing.panels import Size
from signrules.composing.rectangles import Frame, Packed, Rectangle
from signrules.composing.units import Unit, lying_on, micrometres_up
from signrules.model.work_order import TURNED, UPRIGHT


@frozen
class Piece:
    """What lies on the bed as one sheet, in micrometres.

    `signs` are those on it, each with its lower left corner and the way it lies. Of the stock sheet
    with a number it takes the part at `cut_at`, on which it lay `cut`. `ways` are those in which it
    may lie on the bed, of which `size` is the upright one.
    """

    stock: str
    stock_number: int
    size: Size
    cut_at: Size
    cut: str
    signs: tuple[tuple[str, Size, str], ...]
    settings: Settings
    ways: tuple[str, ...] = (UPRIGHT,)


@frozen
class LaidPiece:
    """A piece at its place on the bed, upright or turned."""

    piece: Piece
    at: Size
    way: str


@frozen
class Loading:
    """Pieces in bed loads, and a bound on the number of loads."""

    loads: tuple[tuple[LaidPiece, ...], ...]
    at_least: int


def pieces_of(filling: Sequence[FilledSheet], units: Sequence[Unit], sheets: Sheets) -> list[Piece]:
    """What is laid on the bed: each panel with its signs, or each sign on a blank of its own."""
    found: list[Piece] = []
    for filled, number, part in each_panel(filling):
        if sheets.stock.composition.print_on == "blanks":
            found += _blanks_of(filled, number, units, sheets)
        else:
            found.append(_whole_panel(filled, number, part))
    return found


def _whole_panel(filled: FilledSheet, number: int, part: int) -> Piece:
    panels = filled.panels
    signs = tuple((spot.rectangle.id, (spot.x, spot.y), spot.way) for spot in filled.spots)
    return Piece(
        panels.stock,
        number,
        panels.size,
        panels.corners[part],
        panels.cut,
        signs,
        all_settings(filled.spots),
    )


def _blanks_of(
    filled: FilledSheet, number: int, units: Sequence[Unit], sheets: Sheets
) -> Iterator[Piece]:
    """Each sign of a stock sheet on a blank of its own, which may turn on the bed as the sign may
    turn on a sheet without a grain.
    """
    by_id = {unit.id: unit for unit in units}
    lying = lying_on(sheets.stock, "")
    for spot in filled.spots:
        unit = by_id[spot.rectangle.id]
        width, height = (micrometres_up(side) for side in unit.sign.size)
        yield Piece(
            filled.panels.stock,
            number,
            (width, height),
            (spot.x, spot.y),
            spot.way,
            ((unit.id, (0, 0), UPRIGHT),),
            unit.settings,
            lying.ways(unit),
        )


def bed_loads(pieces: Sequence[Piece], sheets: Sheets, head_length: int) -> Loading | None:
    """Pieces of one list of standards in bed loads: the fewest found, then the fewest settings.

    None where a piece does not lie on the bed.
    """
    use = sheets.stock.composition
    margin, gutter = micrometres_up(use.bed_margin), micrometres_up(use.bed_gutter)
    # Each piece brings its gutter, and so does the last one of a row, where nothing needs it.
    width, height = (side + gutter for side in sheets.bed_room)
    # The gutter above the lower band is there already. At least 1, because 0 stands for no bands.
    room = Room((Frame(width, height, margin, margin),), max(head_length - gutter, 1))
    rectangles = [
        _rectangle_of(number, piece, sheets, gutter) for number, piece in enumerate(pieces)
    ]
    found = grouped(rectangles, room)
    if found is None:
        return None
    return Loading(_laid_pieces(found.bins, pieces), found.at_least)


def spread_load(
    load: Sequence[LaidPiece], sheets: Sheets, head_length: int
) -> tuple[LaidPiece, ...] | None:
    """The same pieces with the length of the head between them along y, so that none lies in the
    band of another; None where the bed has no room for that.
    """
    use = sheets.stock.composition
    margin, gutter = micrometres_up(use.bed_margin), micrometres_up(use.bed_gutter)
    between = max(head_length, gutter)
    width, height = sheets.bed_room
    room = Room((Frame(width + gutter, height + between, margin, margin),))
    rectangles = []
    for number, laid in enumerate(load):
        own = _rectangle_of(number, laid.piece, sheets, gutter)
        # It lies as it lies: a turned one would have the gap along x.
        wide, high = own.size(laid.way)
        rectangles.append(
            evolve(own, width=wide, height=high - gutter + between, ways=(UPRIGHT,), kind=None)
        )
    spots = room.place(rectangles)
    if spots is None:
        return None
    moved = [evolve(load[int(spot.rectangle.id)], at=(spot.x, spot.y)) for spot in spots]
    return tuple(sorted(moved, key=_from_below))


def _from_below(laid: LaidPiece) -> tuple[int, int]:
    return laid.at[1], laid.at[0]


def _rectangle_of(number: int, piece: Piece, sheets: Sheets, gutter: int) -> Rectangle:
    width, height = piece.size
    likeness = Likeness(piece.settings, sheets.thickness(piece.stock))
    # Seven digits, so that ids sort as the numbers do.
    return Rectangle(f"{number:07}", width + gutter, height + gutter, piece.ways, likeness)


def _laid_pieces(bins: Packed, pieces: Sequence[Piece]) -> tuple[tuple[LaidPiece, ...], ...]:
    loads = []
    for spots in bins:
        laid = (
            LaidPiece(pieces[int(spot.rectangle.id)], (spot.x, spot.y), spot.way) for spot in spots
        )
        loads.append(tuple(sorted(laid, key=_from_below)))
    # By the stock sheet that is needed first: it is cut once, and its parts come one after another.
    return tuple(sorted(loads, key=lambda load: _first_number(load)))


def _first_number(load: Sequence[LaidPiece]) -> tuple[int, Size]:
    return min((each.piece.stock_number, each.piece.cut_at) for each in load)


def lies_turned(laid: LaidPiece, way: str) -> bool:
    """Whether a sign that lies some way on a piece lies turned on the bed."""
    return (laid.way == TURNED) != (way == TURNED)
