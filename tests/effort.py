"""How many examples the slower laws try: a tenth of what `SIGNRULES_LONG=1` makes them try."""

from __future__ import annotations

import os

LONG = bool(os.environ.get("SIGNRULES_LONG"))


def effort(count: int) -> int:
    """As many as are worth their time in each run; ten times as many in a long one."""
    return count * 10 if LONG else count
