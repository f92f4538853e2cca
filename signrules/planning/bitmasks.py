"""Sets of items as bitmasks: item 3 is bit 3.

Sums and comparisons are exact, and no order of hashing matters.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from operator import or_


def all_of(count: int) -> int:
    """All of so many items."""
    return (1 << count) - 1


def as_mask(items: Iterable[int]) -> int:
    """Items as a bitmask."""
    return union_of(1 << item for item in items)


def union_of(masks: Iterable[int]) -> int:
    """The bitmask of all that is in any of the bitmasks."""
    return reduce(or_, masks, 0)


def bits_of(mask: int) -> Iterator[int]:
    """The items of a bitmask, ascending."""
    if not mask:
        return
    first = lowest_bit(mask)
    # As text the mask is gone through once; bit by bit, each bit would take as long as all of it.
    text = f"{mask >> first:b}"[::-1]
    position = 0
    while position >= 0:
        yield first + position
        position = text.find("1", position + 1)


def lowest_bit(mask: int) -> int:
    """The first item of a bitmask that has any."""
    return (mask & -mask).bit_length() - 1


def masks_of(of: Sequence[int], count: int) -> list[int]:
    """For each of `count` classes the bitmask of the items that are of it."""
    masks = [0] * count
    for item, number in enumerate(of):
        masks[number] |= 1 << item
    return masks
