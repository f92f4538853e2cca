"""All braille of some shapes: blocks of cells, shapes that are no dots, and what is wrong."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import evolve, frozen

from signrules.artwork.braille_blocks import BrailleBlock, block_at
from signrules.artwork.braille_slips import (
    LineReading,
    faults_of_lone_dots,
    faults_of_size,
    lines_by_themselves,
    lines_together,
    size_in_words,
    stray_faults,
)
from signrules.artwork.dots import Dot, DotFault, found_dots
from signrules.artwork.drawing import Shape
from signrules.artwork.lattice import blocks_of, turn_of

LEAST_LINE_STEP = 8.5
"""Lines nearer to each other in mm are no lines: the block is turned."""

MOST_DOTS = 20_000
"""The most dots of one block that are read."""


@frozen
class BrailleReading:
    """Blocks of braille from the top down, shapes that are no dots, and what is wrong."""

    blocks: tuple[BrailleBlock, ...] = ()
    others: tuple[Shape, ...] = ()
    faults: tuple[DotFault, ...] = ()


def read_braille(shapes: Iterable[Shape]) -> BrailleReading:
    """The braille that shapes draw."""
    found = found_dots(shapes)
    # A block is read even where dots are at fault: whoever mends the file wants to know all of it.
    faults = list(found.faults)
    blocks = []
    together = blocks_of(found.dots) if len(found.dots) <= MOST_DOTS else []
    faults += faults_of_lone_dots(together)
    for dots in together:
        block, strays = _read_block(dots)
        faults += strays
        blocks.append(block)
    if len(found.dots) > MOST_DOTS:
        first = found.dots[0]
        text = f"there are {len(found.dots):,} dots, more than {MOST_DOTS:,}: no braille is read"
        faults.append(DotFault("too many", (first.x, first.y), text))
    return BrailleReading(tuple(blocks), found.others, tuple(faults))


def _read_block(dots: Sequence[Dot]) -> tuple[BrailleBlock, list[DotFault]]:
    """A block, and why some of its dots lie in no cell; or the one fault that it is turned."""
    degrees = turn_of(dots)
    block, strays = block_at(dots, degrees)
    if not strays and _has_wide_lines(block):
        return _with_its_size(block), []
    # A turn is told by straight rows, and columns are straight too, so the braille may run up the
    # page. What look like lines are then columns of cells, which stand nearer than lines ever do.
    upended, others = block_at(dots, turn_of(dots) + 90)
    if not others and _has_wide_lines(upended):
        first = upended.dots[0]
        text = f"the braille at {first.x:.3f}, {first.y:.3f} mm runs up or down and not along x"
        return upended, [DotFault("turned", (first.x, first.y), text)]
    lines = lines_by_themselves(dots, degrees)
    if len(lines) > 1 and not any(line.strays for line in lines):
        return _with_its_size(lines_together(lines, degrees)), []
    if wrong_size := list(faults_of_size(dots, degrees)):
        return block, wrong_size
    if sum(len(line.strays) for line in lines) > len(strays):
        lines = [LineReading(block, tuple(strays))]
    return block, [fault for line in lines for fault in stray_faults(line, degrees)]


def _has_wide_lines(block: BrailleBlock) -> bool:
    return block.line_spacing is None or block.line_spacing.low >= LEAST_LINE_STEP


def _with_its_size(block: BrailleBlock) -> BrailleBlock:
    """A block that says so where all its spacings are off by one factor."""
    words = size_in_words(block)
    return block if words is None else evolve(block, assumed=(*block.assumed, words))
