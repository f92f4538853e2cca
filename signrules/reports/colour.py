"""Colour on a terminal. Colour never says anything that the words do not say."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import IO

CHOICES = ("auto", "always", "never")

_STYLES = {"bad": "1;31", "doubt": "33", "good": "32", "title": "1", "faint": "2"}


def wants_colour(
    choice: str, stream: IO[str], environment: Mapping[str, str] | None = None
) -> bool:
    """Whether a stream gets colour: `always`, `never`, or `auto`, for a terminal that shows it.

    With `auto` the variables NO_COLOR and FORCE_COLOR decide where they are set to anything but
    empty text (no-color.org, force-color.org). Neither says what holds where both are set: no
    colour then, since colour adds nothing. TERM=dumb says no too, unless colour is forced.
    """
    if environment is None:
        environment = os.environ
    if choice != "auto":
        return choice == "always"
    if environment.get("NO_COLOR"):
        return False
    if environment.get("FORCE_COLOR"):
        return True
    return environment.get("TERM") != "dumb" and stream.isatty()


def painted_text(text: str, style: str, *, on: bool) -> str:
    """Text in a style (`bad`, `doubt`, `good`, `title`, `faint`), by the SGR sequences of ECMA-48;
    as it is if off.
    """
    return f"\x1b[{_STYLES[style]}m{text}\x1b[0m" if on and text else text
