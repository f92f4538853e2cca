"""What lies off the page: it is left out, and told with its place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from attrs import define, field

from signrules_artwork.clipping import Bounds

MOST_PLACES = 3
"""So many places of a layer are told; the others are counted."""


@define
class OffPage:
    """What was painted off a page, by the key of its layer. `page` are the bounds of the page."""

    page: Bounds
    found: dict[Any, list[Bounds]] = field(factory=lambda: defaultdict(list))

    def look_at(self, region: Any, layers: Iterable[Any]) -> None:
        """Keeps where a region lies, in mm, if nothing of it is on the page."""
        if region.is_empty or not _are_apart(region.bounds, self.page):
            return
        for layer in layers:
            self.found[layer].append(region.bounds)

    def told(self, name_of: Callable[[Any], str]) -> Iterator[str]:
        """A sentence on each layer of which something lies off the page. `name_of` names a layer
        by its key, and is empty for what is on none.
        """
        for layer, boxes in self.found.items():
            name = name_of(layer)
            start = f"layer '{name}', " if name else ""
            yield f"{start}off the page and left out: what lies {places_in_words(boxes)}"


def places_in_words(boxes: Sequence[Bounds]) -> str:
    """The first of some places, and how many more there are."""
    places = "; ".join(map(_in_words, boxes[:MOST_PLACES]))
    rest = len(boxes) - MOST_PLACES
    return f"{places}; and {rest:,} more" if rest > 0 else places


def _are_apart(one: Bounds, other: Bounds) -> bool:
    apart_across = one[2] <= other[0] or one[0] >= other[2]
    return apart_across or one[3] <= other[1] or one[1] >= other[3]


def _in_words(box: Bounds) -> str:
    left, low, right, high = box
    return f"between ({left:.1f}, {low:.1f}) and ({right:.1f}, {high:.1f}) mm"
