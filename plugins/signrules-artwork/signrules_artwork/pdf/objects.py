"""Small readings of PDF objects that may be anything."""

from __future__ import annotations

import math
import re
import zlib
from collections.abc import Sequence
from typing import Any

import pikepdf

from signrules_artwork.affine import IDENTITY, Matrix
from signrules_artwork.faults import Reading, artwork_error

MOST_STREAM_BYTES = 24_000_000
"""The most bytes of one stream of drawing operators or of one font, unpacked."""

_ESCAPED = re.compile(rb"#([0-9A-Fa-f]{2})")
_FLATE = ("FlateDecode", "Fl")
_ARRAYS = (pikepdf.Array, list, tuple)
_HOLDERS = (pikepdf.Dictionary, pikepdf.Stream)


def plain_name(value: Any) -> str:
    """A name without its slash; "" for what is no name. Names are UTF-8 (ISO 32000-1, 7.3.5, from
    memory); older programs write them as Windows does.
    """
    if not isinstance(value, pikepdf.Name):
        return ""
    try:
        return str(value)[1:]
    except UnicodeDecodeError:
        written = _ESCAPED.sub(lambda match: bytes.fromhex(match[1].decode()), value.unparse())
        return written[1:].decode("cp1252", "replace")


def text_of(value: Any) -> str:
    """A string of text; "" for what is none."""
    return str(value) if isinstance(value, pikepdf.String) else ""


def number_of(value: Any, otherwise: float = 0.0) -> float:
    """A finite number, or `otherwise` for what is none."""
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        return otherwise
    return number if math.isfinite(number) else otherwise


def numbers_of(values: Any) -> list[float]:
    """The numbers of an array."""
    if not isinstance(values, _ARRAYS):
        return []
    return [number_of(value) for value in values]


def matrix_of(value: Any) -> Matrix:
    """A matrix of six numbers; that which changes nothing for anything else."""
    numbers = numbers_of(value)
    if len(numbers) != 6:
        return IDENTITY
    a, b, c, d, e, f = numbers
    return (a, b, c, d, e, f)


def entry(holder: Any, key: Any) -> Any:
    """What stands under a key, or None; also where the holder holds nothing."""
    if isinstance(holder, _HOLDERS):
        return holder.get(key)
    return None


def object_key(value: Any) -> str:
    """What tells an indirect object from others; "" for a direct one, and for what is none."""
    if not isinstance(value, pikepdf.Object):
        return ""
    number, generation = value.objgen
    return f"{number} {generation}" if number else ""


def stream_bytes(stream: Any, reading: Reading, most: int = MOST_STREAM_BYTES) -> bytes:
    """The unpacked bytes of a stream. Raises ArtworkError for more than `most`, before they are
    unpacked, and for what cannot be unpacked.
    """
    refuse_swollen(stream, reading, most)
    try:
        data = bytes(stream.read_bytes())
    except (pikepdf.PdfError, RuntimeError, ValueError) as error:
        found = f"a stream that cannot be unpacked ({type(error).__name__})"
        raise artwork_error(reading.where, found, "a whole file: export it again") from None
    if len(data) > most:
        raise _too_large(reading, most)
    return data


def refuse_swollen(stream: Any, reading: Reading, most: int) -> None:
    """Raises ArtworkError for a stream that unpacks to more than `most` bytes."""
    try:
        data = bytes(stream.read_raw_bytes())
    except (pikepdf.PdfError, RuntimeError, ValueError):
        return
    for name in _filters(stream):
        if name not in _FLATE:
            break
        unpacker = zlib.decompressobj()
        try:
            data = unpacker.decompress(data, most + most // 4)
        except zlib.error:
            return
        if unpacker.unconsumed_tail:
            raise _too_large(reading, most)
    if len(data) > most + most // 4:
        raise _too_large(reading, most)


def _filters(stream: Any) -> Sequence[str]:
    given = stream.get("/Filter")
    if isinstance(given, pikepdf.Array):
        return [plain_name(each) for each in given]
    return [plain_name(given)]


def _too_large(reading: Reading, most: int) -> Exception:
    found = f"a stream that unpacks to more than {most:,} bytes"
    return artwork_error(reading.where, found, "less on one page: split the file")
