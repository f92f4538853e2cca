"""In which encoding a file of text is written: Unicode, or Windows-1252 as older programs write."""

from __future__ import annotations

import codecs

from signrules.documents.refusal import Refused
from signrules.errors import DocumentFault

UTF_8, UTF_16, WINDOWS = "UTF-8", "UTF-16", "Windows-1252"

_MARKS = (
    (codecs.BOM_UTF8, UTF_8, "utf-8"),
    (codecs.BOM_UTF16_LE, UTF_16, "utf-16-le"),
    (codecs.BOM_UTF16_BE, UTF_16, "utf-16-be"),
)
"""What a file may begin with, and the codec for what comes after it."""


def decoded_text(data: bytes) -> tuple[str, str]:
    """The text of a file and the name of its encoding.

    By its byte order mark, else as UTF-8, else as UTF-16 where every other byte is empty as in
    Western text, else as Windows-1252. Raises Refused where it is none of them.
    """
    for mark, name, codec in _MARKS:
        if data.startswith(mark):
            return _in_encoding(data.removeprefix(mark), name, codec), name
    codec = _likely_utf_16(data)
    if codec:
        return _in_encoding(data, UTF_16, codec), UTF_16
    try:
        return data.decode("utf-8"), UTF_8
    except UnicodeDecodeError:
        return _in_encoding(data, WINDOWS, "cp1252"), WINDOWS


def _likely_utf_16(data: bytes) -> str:
    """The codec of UTF-16 without a mark, by which bytes of the first characters are empty."""
    # The first characters are enough: a header row is Western text in most schedules.
    start = data[:200]
    low, high = start[0::2], start[1::2]
    if high and high.count(0) > len(high) // 2 and not low.count(0):
        return "utf-16-le"
    if low and low.count(0) > len(low) // 2 and not high.count(0):
        return "utf-16-be"
    return ""


def _in_encoding(data: bytes, name: str, codec: str) -> str:
    try:
        return data.decode(codec)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"a byte that is no {name} on line {line}"
        expected = f"text in {UTF_8}, {UTF_16} or {WINDOWS}"
        raise Refused([DocumentFault("", found, expected)]) from None
