"""Why dots lie in no cell: lines of unlike spacing, words that are moved, a wrong scale.

Each is tried on the dots of one block; what reads as cells then is the explanation. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from statistics import median

from attrs import evolve, frozen

from signrules.artwork.braille_blocks import (
    USUAL_LINE_STEPS,
    BrailleBlock,
    block_at,
    spread_of,
)
from signrules.artwork.dots import Dot, DotFault
from signrules.artwork.geometry import turned
from signrules.artwork.lattice import (
    CELL_STEPS,
    OFF_LATTICE,
    USUAL_CELL_STEPS,
    USUAL_DOT_STEP,
    Row,
    dot_steps,
    near_dot_distances,
    rows_of,
    turned_marks,
)
from signrules.model.quantities import Interval

WITHIN_LINE = 1.25
"""Rows of a line lie no further apart than so many distances of dots."""

BETWEEN_WORDS = 1.5
"""Columns further apart than so many cells have a blank cell between them."""

FEWEST_COLUMNS = 2
"""Fewer columns are no part of a line that is moved: then each dot is told."""

EVEN_WITHIN = 0.05
"""Of dots whose distances differ by more in mm no part is told as moved: two parts may seem to lie
further apart than any dot is off.
"""

USUAL_DOT_STEPS = (2.2, 2.6)
"""About those of the 2010 ADA Standards, table 703.3.1, and a little wider: some standards of other
countries have 2.5 mm.
"""

USUAL_DIAMETERS = (1.5, 1.6)
"""Those of the 2010 ADA Standards, table 703.3.1: 0.059 to 0.063 in."""

WRONG_UNITS = {
    "72 units to the inch read as 96": 72 / 96,
    "96 units to the inch read as 72": 96 / 72,
}
"""By which factor a drawing is off whose unit is taken for another. Geometry."""


@frozen
class LineReading:
    """Dots read by themselves, and those that lie in no cell even so."""

    block: BrailleBlock
    strays: tuple[Dot, ...]


def lines_by_themselves(dots: Sequence[Dot], degrees: float) -> list[LineReading]:
    """The lines of a block, each read as if it were alone, from the top down."""
    marks = turned_marks(dots, degrees)
    steps = dot_steps(marks)
    step = median(steps) if steps else USUAL_DOT_STEP
    groups: list[list[Dot]] = []
    last = math.inf
    for row in reversed(rows_of(marks, along_u=False)):
        if last - row.at > WITHIN_LINE * step:
            groups.append([])
        groups[-1] += [mark.dot for mark in row.marks]
        last = row.at
    return [_read_alone(group, degrees) for group in groups]


def _read_alone(dots: Sequence[Dot], degrees: float) -> LineReading:
    block, strays = block_at(dots, degrees)
    return LineReading(block, tuple(strays))


def lines_together(lines: Sequence[LineReading], degrees: float) -> BrailleBlock:
    """Lines that were read one by one as one block, which says how their spacings differ."""
    blocks = [line.block for line in lines]
    starts = [start for block in blocks for start in block.starts]
    heights = [turned(start, -degrees)[1] for start in starts]
    dots = tuple(dot for block in blocks for dot in block.dots)
    assumed = dict.fromkeys(words for block in blocks for words in block.assumed)
    return BrailleBlock(
        lines=tuple(text for block in blocks for text in block.lines),
        starts=tuple(starts),
        dots=dots,
        dot_diameter=_around([block.dot_diameter for block in blocks]),
        dot_spacing=_around_known([block.dot_spacing for block in blocks]),
        cell_spacing=_around_known([block.cell_spacing for block in blocks]),
        line_spacing=spread_of([one - other for one, other in pairwise(heights)]),
        turned=degrees,
        assumed=(*assumed, _unlike_in_words(blocks)),
    )


def _around_known(values: Iterable[Interval | None]) -> Interval | None:
    known = [value for value in values if value is not None]
    return _around(known) if known else None


def _around(values: Sequence[Interval]) -> Interval:
    return Interval.between(min(each.low for each in values), max(each.high for each in values))


def _unlike_in_words(blocks: Iterable[BrailleBlock]) -> str:
    lines = []
    for block in blocks:
        x, y = block.starts[0]
        dots, cells = _in_mm(block.dot_spacing), _in_mm(block.cell_spacing)
        lines.append(f"at {x:.1f}, {y:.1f} mm, dots {dots} and cells {cells} apart")
    return f"its lines do not lie as lines of one block do; each is read alone: {'; '.join(lines)}"


def _in_mm(spacing: Interval | None) -> str:
    if spacing is None:
        return "an unknown distance"
    low, high = f"{spacing.low:.2f}", f"{spacing.high:.2f}"
    return f"{low} mm" if low == high else f"{low} to {high} mm"


def stray_faults(line: LineReading, degrees: float) -> Iterator[DotFault]:
    """Why dots of a line lie in no cell: a part of it is moved, or else each dot by itself."""
    moved = list(_moved_parts(line, degrees)) if line.strays else []
    yield from moved or map(_stray, line.strays)


def _stray(dot: Dot) -> DotFault:
    text = (
        f"the dot at {dot.x:.3f}, {dot.y:.3f} mm lies in no cell: more than {OFF_LATTICE:g} mm off"
        " the places of its neighbours"
    )
    return DotFault("stray", (dot.x, dot.y), text)


def _moved_parts(line: LineReading, degrees: float) -> Iterator[DotFault]:
    """The parts of a line that lie beside the cells of its longest one; none where no parts explain
    its strays: its words, or what stands before a column and from there on.
    """
    columns = rows_of(turned_marks(line.block.dots, degrees), along_u=True)
    for parts in _possible_parts(columns, line.block):
        blocks = _blocks_of_parts(parts, degrees)
        if len(blocks) > 1:
            longest = max(blocks, key=lambda block: len(block.dots))
            offsets = [(block, *_off_cells(block, longest, degrees)) for block in blocks]
            moved = [each for each in offsets if max(abs(each[1]), abs(each[2])) > OFF_LATTICE]
            if _is_even(longest):
                yield from (_moved(*each) for each in moved)
            return


def _is_even(block: BrailleBlock) -> bool:
    """Whether dots lie so evenly that they tell where the cells beside them should be."""
    spacing = block.dot_spacing
    return spacing is None or spacing.high - spacing.low <= EVEN_WITHIN


def _possible_parts(columns: Sequence[Row], block: BrailleBlock) -> Iterator[list[list[Row]]]:
    """Ways to part the columns of a line: at its blank cells, else at one place."""
    cell = block.cell_spacing.nominal if block.cell_spacing else USUAL_CELL_STEPS[0]
    words: list[list[Row]] = []
    last = -math.inf
    for column in columns:
        if column.at - last > BETWEEN_WORDS * cell:
            words.append([])
        words[-1].append(column)
        last = column.at
    yield words
    for at in range(FEWEST_COLUMNS, len(columns) - FEWEST_COLUMNS + 1):
        yield [list(columns[:at]), list(columns[at:])]


def _blocks_of_parts(parts: Iterable[Sequence[Row]], degrees: float) -> list[BrailleBlock]:
    """Parts of a line, each read alone; none where one of them does not read."""
    blocks = []
    for columns in parts:
        alone = _read_alone([mark.dot for row in columns for mark in row.marks], degrees)
        if alone.strays or len(alone.block.lines) > 1:
            return []
        blocks.append(alone.block)
    return blocks


def _off_cells(word: BrailleBlock, other: BrailleBlock, degrees: float) -> tuple[float, float]:
    """How far the cells of a word lie from those of another one, to the right and up.

    Where a word has dots on one side of its cells alone, or in few rows, it may be of the next.
    """
    x, y = turned(word.starts[0], -degrees)
    other_x, other_y = turned(other.starts[0], -degrees)
    cell = other.cell_spacing.nominal if other.cell_spacing else USUAL_CELL_STEPS[0]
    dot = other.dot_spacing.nominal if other.dot_spacing else USUAL_DOT_STEP
    across = [math.remainder(x - other_x - side * dot, cell) for side in (-1, 0, 1)]
    along = [y - other_y - row * dot for row in (-2, -1, 0, 1, 2)]
    return min(across, key=abs), min(along, key=abs)


def _moved(block: BrailleBlock, across: float, along: float) -> DotFault:
    x, y = block.starts[0]
    ways = []
    if abs(across) > OFF_LATTICE:
        ways.append(f"{abs(across):.2f} mm too far to the {'right' if across > 0 else 'left'}")
    if abs(along) > OFF_LATTICE:
        ways.append(f"{abs(along):.2f} mm too {'high' if along > 0 else 'low'}")
    text = (
        f"the braille {block.lines[0]} at {x:.3f}, {y:.3f} mm lies {' and '.join(ways)} beside"
        " the cells of its line"
    )
    return DotFault("moved", (x, y), text)


def faults_of_size(
    dots: Sequence[Dot], degrees: float, reach: float = CELL_STEPS[1]
) -> Iterator[DotFault]:
    """That dots are braille of a wrong size, where they lie in cells once they are enlarged.

    `reach` is how far in mm the nearest dot of each may lie.
    """
    nearest = near_dot_distances(dots, reach)
    if not nearest:
        return
    factor = USUAL_DOT_STEP / median(nearest)
    enlarged, strays = block_at([_enlarged(dot, factor) for dot in dots], degrees)
    share = _share_of_size(enlarged, factor)
    if strays or share is None or share.low <= 1 <= share.high:
        return
    x, y = dots[0].x, dots[0].y
    text = f"braille at {x:.1f}, {y:.1f} mm that is no cells as it is drawn: {_as_words(share)}"
    yield DotFault("size", (x, y), text)


def _enlarged(dot: Dot, factor: float) -> Dot:
    return evolve(dot, x=dot.x * factor, y=dot.y * factor, diameter=dot.diameter * factor)


def faults_of_lone_dots(blocks: Sequence[Sequence[Dot]]) -> Iterator[DotFault]:
    """That dots which lie too far from each other for any block are braille that is too large."""
    dots = [dot for block in blocks for dot in block]
    if len(blocks) < FEWEST_LONE_DOTS or len(blocks) * FEWEST_COLUMNS < len(dots):
        return
    if len(dots) <= MOST_LONE_DOTS:
        yield from faults_of_size(dots, 0.0, MOST_ENLARGED * USUAL_DOT_STEP)


FEWEST_LONE_DOTS, MOST_LONE_DOTS = 6, 500
"""Of fewer lone dots no scale is told; more are not looked at, since each is compared with all."""

MOST_ENLARGED = 26
"""Braille in a drawing is enlarged by no more: inches read as mm are 25.4."""


def size_in_words(block: BrailleBlock) -> str | None:
    """That all spacings of a block are off by one factor, in words; None where they are not, or
    where some of them and the diameter are usual ones.
    """
    share = _share_of_size(block, 1.0)
    if share is None or share.low <= 1 <= share.high:
        return None
    # One factor may explain a single spacing that is wrong, too: the others are as usual then.
    return _as_words(share) if _all_off(block) or _diameter_off(block, share) else None


def _all_off(block: BrailleBlock) -> bool:
    return all(not usual[0] <= value <= usual[1] for value, usual in _known_spacings(block))


def _diameter_off(block: BrailleBlock, share: Interval) -> bool:
    """Whether the dots are of an unusual size, which the same share explains."""
    diameter = block.dot_diameter.nominal
    low, high = diameter / USUAL_DIAMETERS[1], diameter / USUAL_DIAMETERS[0]
    usual = low <= 1 <= high
    return not usual and low <= share.high and high >= share.low


def _known_spacings(block: BrailleBlock) -> list[tuple[float, tuple[float, float]]]:
    """The spacings of a block that are known, each with its usual range."""
    spacings = (
        (block.dot_spacing, USUAL_DOT_STEPS),
        (block.cell_spacing, USUAL_CELL_STEPS),
        (block.line_spacing, USUAL_LINE_STEPS),
    )
    return [(value.nominal, usual) for value, usual in spacings if value is not None]


def _share_of_size(block: BrailleBlock, enlarged_by: float) -> Interval | None:
    """Which share of its usual size a block may have by all of its spacings; None where no one
    factor explains them, or where two do not tell.
    """
    known = _known_spacings(block)
    if len(known) < 2:
        return None
    low = max(value / usual[1] for value, usual in known) / enlarged_by
    high = min(value / usual[0] for value, usual in known) / enlarged_by
    return Interval.between(low, high) if low <= high else None


def _as_words(share: Interval) -> str:
    words = (
        f"its spacings are all {100 * share.low:.0f} to {100 * share.high:.0f} % of usual ones, so"
        " the drawing may have a wrong scale"
    )
    units = [name for name, factor in WRONG_UNITS.items() if share.low <= factor <= share.high]
    return f"{words}, as one with {units[0]} has" if units else words
