"""The alignments that are still to be made, as the offsets at which each would serve."""

from __future__ import annotations

from signrules.physics.landing import Window

Needs = frozenset[Window]
"""For each alignment the offsets over a bare sheet at which it serves."""


def with_window(needs: Needs, wanted: Window) -> Needs:
    """The needs with one more, without any that holds another one: what serves the inner serves the outer."""
    if any(wanted.low <= need.low and need.high <= wanted.high for need in needs):
        return needs
    inner = (need for need in needs if not (need.low <= wanted.low and wanted.high <= need.high))
    return frozenset({wanted, *inner})
