"""How much the tests try: a little in the quick run, all of it with `SIGNRULES_FULL=1`, ten times
as much with `SIGNRULES_LONG=1`.
"""

from __future__ import annotations

import os

LONG = bool(os.environ.get("SIGNRULES_LONG"))
FULL = LONG or bool(os.environ.get("SIGNRULES_FULL"))
LESS, MORE = 5, 10
FEWEST = 3


def effort(count: int) -> int:
    """As many examples of so many as this run tries."""
    if LONG:
        return count * MORE
    if FULL:
        return count
    return min(count, max(FEWEST, count // LESS))
