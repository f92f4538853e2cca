"""Which candidate changes are computed for which rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from signrules.remedies import gaps
from signrules.remedies.changes import Change, Judged, Maker
from signrules.rules.checks import Check

CLEARING: tuple[Maker, ...] = (gaps.larger_gap, gaps.planned_gap, gaps.fewer_layers, gaps.load_apart)

MAKERS: Mapping[str, tuple[Maker, ...]] = MappingProxyType(
    {
        "clearance.strike": CLEARING,
        "clearance.margin": CLEARING,
    }
)
"""For each rule what computes its candidates, in the order in which they are tried."""


def changes_for(check: Check, judged: Judged) -> Iterator[Change]:
    """Candidate changes for a check that is not met."""
    for maker in MAKERS.get(check.rule, ()):
        yield from maker(check, judged)


def changes_for_conflict(judged: Judged) -> Iterator[Change]:
    """Candidate changes where there is no safe order."""
    yield from ()
