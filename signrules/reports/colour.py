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

    With `auto` the variable NO_COLOR, set to anything but empty text, says no (the convention of
    that name), and so does TERM=dumb.
    """
    if environment is None:
        environment = os.environ
    if choice != "auto":
        return choice == "always"
    return not environment.get("NO_COLOR") and environment.get("TERM") != "dumb" and stream.isatty()


def painted_text(text: str, style: str, *, on: bool) -> str:
    """Text in a style (`bad`, `doubt`, `good`, `title`, `faint`), by the SGR sequences of ECMA-48;
    as it is if off.
    """
    return f"\x1b[{_STYLES[style]}m{text}\x1b[0m" if on and text else text
