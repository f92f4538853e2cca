"""A small binding to the shared library liblouis: translate a line, name the version, and nothing
else.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import os
import threading
from functools import cache

LIBRARY = "SIGNRULES_LIBLOUIS"
"""The environment variable that names the shared library where it is not found by its name."""

NAMES = ("liblouis.so.20", "liblouis.20.dylib", "liblouis.dll")
LONGEST = 10_000
"""As many characters as one line may have."""

_SILENT = 60_000
_GROWTH, _ROOM = 8, 64
"""Cells for each character, and besides: indicators make a line longer."""


class LiblouisError(Exception):
    """The library is missing, or it could not translate."""


class Liblouis:
    """The library, loaded. liblouis keeps its tables in global memory, so one call is made at a
    time.
    """

    def __init__(self) -> None:
        """Load the library.

        Raises LiblouisError, which says what to install, where it cannot be loaded.
        """
        self._library = _load()
        self._lock = threading.Lock()
        try:
            self._library.lou_version.restype = ctypes.c_char_p
            self._library.lou_charSize.restype = ctypes.c_int
            self._library.lou_translateString.restype = ctypes.c_int
            self._library.lou_setLogLevel(_SILENT)
            self._width = self._library.lou_charSize()
        except AttributeError as error:
            raise LiblouisError(f"this is no liblouis that can be used: {error}") from None
        if self._width not in (2, 4):
            raise LiblouisError(f"liblouis has characters of {self._width} bytes, expected 2 or 4")

    @property
    def version(self) -> str:
        """The version as the library gives it."""
        return str(self._library.lou_version().decode())

    def translate(self, text: str, tables: str) -> str:
        """A line of text through a list of tables, separated by commas.

        Raises LiblouisError where the text is too long or the library fails, as it does for a table
        it does not find.
        """
        if len(text) > LONGEST:
            raise LiblouisError(f"expected a line of at most {LONGEST} characters, got {len(text)}")
        encoding = {2: "utf-16-le", 4: "utf-32-le"}[self._width]
        given = text.encode(encoding, "replace")
        room = _GROWTH * len(given) // self._width + _ROOM
        made = ctypes.create_string_buffer(room * self._width)
        taken, length = ctypes.c_int(len(given) // self._width), ctypes.c_int(room)
        wanted = taken.value
        with self._lock:
            done = self._library.lou_translateString(
                tables.encode(),
                given,
                ctypes.byref(taken),
                made,
                ctypes.byref(length),
                None,
                None,
                0,
            )
        if not done:
            raise LiblouisError(
                f"liblouis could not translate {text!r} with {tables}: are its tables installed?"
            )
        if taken.value != wanted:
            raise LiblouisError(f"liblouis stopped in the middle of {text!r}")
        return made.raw[: length.value * self._width].decode(encoding)


@cache
def liblouis() -> Liblouis:
    """The library, loaded at the first call. Raises LiblouisError where it is missing."""
    return Liblouis()


def _load() -> ctypes.CDLL:
    stated = os.environ.get(LIBRARY)
    found = ctypes.util.find_library("louis")
    names = (stated,) if stated else (*NAMES, *((found,) if found else ()))
    for name in names:
        try:
            return ctypes.CDLL(name)
        except OSError:
            continue
    raise LiblouisError(
        f"liblouis is not installed (looked for {', '.join(names)}): on Debian, apt-get install"
        f" liblouis20 liblouis-data; elsewhere, name the shared library in {LIBRARY}"
    )
