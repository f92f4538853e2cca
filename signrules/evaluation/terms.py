"""On which terms a job was judged: what the shop accepts, and what it has set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from signrules.rules.engine import Fault
from signrules.shop import Shop


def on_terms(accepted: Iterable[tuple[Fault, str]], shop: Shop) -> Iterator[tuple[str, list[str]]]:
    """The terms on which a job was judged, for every report to show: a title, and the lines under
    it.

    They are the shop file that was read, the failures that the shop accepts, and what it has set. A
    title without lines is left out.
    """
    terms = {
        "Shop file": [shop.origin],
        "Accepted as absent": [in_full(*accepted_fault) for accepted_fault in accepted],
        "Set by the shop": list(shop.in_words()),
    }
    for title, lines in terms.items():
        if any(lines):
            yield title, lines


def in_full(fault: Fault, reason: str) -> str:
    """A failure that the shop accepts, with its reason."""
    return f"{str(fault).removesuffix('.')}. Accepted: {reason}"
