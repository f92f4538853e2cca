"""Character maps embedded in a PDF: from codes to CIDs, or to Unicode (ISO 32000-1, 9.7.5 and
9.10.3, from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from attrs import field, frozen

MOST_MAPPED = 200_000

_BLOCK = re.compile(rb"begin(codespacerange|cidrange|cidchar|bfrange|bfchar)(.*?)end\1", flags=re.S)
_TOKEN = re.compile(rb"<([0-9A-Fa-f\s]*)>|(\[)|(\])|(-?\d+)")


@frozen
class CharacterMap:
    """What codes stand for: CIDs (`cids`) or text (`texts`). `lengths` are the bytes of a code by
    ranges: (bytes, first, last).
    """

    cids: dict[int, int] = field(factory=dict)
    texts: dict[int, str] = field(factory=dict)
    lengths: tuple[tuple[int, int, int], ...] = ()

    def codes(self, data: bytes) -> Iterator[tuple[int, int]]:
        """The codes in a string, each with its number of bytes."""
        at = 0
        while at < len(data):
            size = self._length_at(data, at)
            yield int.from_bytes(data[at : at + size], "big"), size
            at += size

    def _length_at(self, data: bytes, at: int) -> int:
        for size, first, last in self.lengths:
            code = int.from_bytes(data[at : at + size], "big")
            if first <= code <= last:
                return size
        return max((size for size, _, _ in self.lengths), default=2)


def character_map(data: bytes) -> CharacterMap:
    """The map that a stream says, as far as it can be read."""
    found = CharacterMap()
    lengths: list[tuple[int, int, int]] = []
    for kind, body in _BLOCK.findall(data):
        tokens = list(_tokens(body))
        if kind == b"codespacerange":
            lengths += [
                (len(low), int.from_bytes(low, "big"), int.from_bytes(high, "big"))
                for low, high in zip(tokens[::2], tokens[1::2], strict=False)
                if isinstance(low, bytes) and isinstance(high, bytes) and low
            ]
        elif kind in {b"cidchar", b"bfchar"}:
            for code, value in zip(tokens[::2], tokens[1::2], strict=False):
                _put(found, code, value)
        else:
            for low, high, value in zip(tokens[::3], tokens[1::3], tokens[2::3], strict=False):
                _put_range(found, low, high, value)
    return CharacterMap(found.cids, found.texts, tuple(sorted(lengths)))


def _tokens(body: bytes) -> Iterator[Any]:
    """Codes as bytes, numbers, and arrays as lists of them."""
    array: list[Any] | None = None
    for match in _TOKEN.finditer(body):
        if match[2]:
            array = []
            continue
        if match[3]:
            yield array or []
            array = None
            continue
        value = _value(match)
        if array is None:
            yield value
        else:
            array.append(value)


def _value(match: re.Match[bytes]) -> bytes | int:
    if match[4] is not None:
        return int(match[4])
    digits = re.sub(rb"\s", b"", match[1]).decode()
    return bytes.fromhex(digits + "0" * (len(digits) % 2))


def _put(found: CharacterMap, code: Any, value: Any) -> None:
    if not isinstance(code, bytes) or len(found.cids) + len(found.texts) > MOST_MAPPED:
        return
    number = int.from_bytes(code, "big")
    if isinstance(value, int):
        found.cids[number] = value
    elif isinstance(value, bytes):
        found.texts[number] = value.decode("utf-16-be", "replace")


def _put_range(found: CharacterMap, low: Any, high: Any, value: Any) -> None:
    if not isinstance(low, bytes) or not isinstance(high, bytes):
        return
    first, last = int.from_bytes(low, "big"), int.from_bytes(high, "big")
    size = len(low)
    for step, number in enumerate(range(first, min(last, first + 65_535) + 1)):
        code = number.to_bytes(max(size, 8), "big")[-size:] if size else b""
        if isinstance(value, int):
            _put(found, code, value + step)
        elif isinstance(value, list):
            if step < len(value):
                _put(found, code, value[step])
        elif value:
            _put(found, code, _stepped(value, step))


def _stepped(text: bytes, step: int) -> bytes:
    """A text whose last unit of two bytes is counted on."""
    last = (int.from_bytes(text[-2:], "big") + step) % 65_536
    return text[:-2] + last.to_bytes(2, "big")
