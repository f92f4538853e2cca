"""`-` in place of a file: what comes by standard input, and what goes to standard output."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from attrs import frozen

from signrules.errors import DocumentError, SignrulesError

DASH = "-"
STANDARD_INPUT = "standard input"
"""What messages and reports call what came by it."""

SPOOLED_KEY = "spooled_input"
"""The option that says in which file it is kept while the command runs; None where it is not."""

MOST_BYTES = 64 * 1024 * 1024
"""So much of it is read; each reader of files has a lower limit of its own."""


@frozen
class StandardInput:
    """Standard input where a file is asked for, and the suffix that tells what a file of it is."""

    suffix_of: Callable[[bytes], str]


def _document_suffix(data: bytes) -> str:
    """JSON documents are tables, and no TOML document begins with a brace (TOML 1.0.0, keys)."""
    return ".json" if data.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"{") else ".toml"


def _schedule_suffix(data: bytes) -> str:
    """A workbook is a ZIP file, which begins so (PKWARE, ZIP File Format Specification, 4.3.7)."""
    return ".xlsx" if data.startswith(b"PK\x03\x04") else ".csv"


def _readings_suffix(data: bytes) -> str:
    """The first line of TOML that is no comment states a key; that of CSV names columns."""
    lines = data.removeprefix(b"\xef\xbb\xbf").splitlines()
    stated = (line for line in lines if line.strip() and not line.lstrip().startswith(b"#"))
    return ".toml" if b"=" in next(stated, b"") else ".csv"


def _no_suffix(data: bytes) -> str:
    return ""


def _input_type(suffix_of: Callable[[bytes], str]) -> Callable[[str], Any]:
    def file_or_standard_input(text: str) -> str | StandardInput:
        return StandardInput(suffix_of) if text == DASH else text

    return file_or_standard_input


document_input = _input_type(_document_suffix)
schedule_input = _input_type(_schedule_suffix)
readings_input = _input_type(_readings_suffix)
other_input = _input_type(_no_suffix)


def named_file(text: str) -> str:
    """A file that must have a name. Raises ArgumentTypeError for `-`."""
    if text == DASH:
        raise argparse.ArgumentTypeError(
            "found -, expected the name of a file: what it is called or what lies beside it counts"
        )
    return text


def named_folder(text: str) -> str:
    """A folder to write to. Raises ArgumentTypeError for `-`."""
    if text == DASH:
        raise argparse.ArgumentTypeError(
            "found -, expected a folder: each job is a file of its own"
        )
    return text


@contextmanager
def standard_input_kept(options: argparse.Namespace) -> Iterator[None]:
    """While it lasts, options that ask for standard input name a file that holds it.

    A job is read several times: to be judged, mended, and for the lines of its findings. Errors of
    that file are raised as those of standard input. Raises SignrulesError where several options
    ask for it, or it cannot be read.
    """
    setattr(options, SPOOLED_KEY, None)
    asked = _asked_for(options)
    if not asked:
        yield
        return
    if len(asked) > 1:
        raise SignrulesError(f"{STANDARD_INPUT}: found - {len(asked)} times, expected it once")
    data = _data_of_input()
    with tempfile.TemporaryDirectory(prefix="signrules-") as folder:
        path = Path(folder) / f"input{asked[0].suffix_of(data)}"
        path.write_bytes(data)
        _put_path(options, str(path))
        try:
            yield
        except DocumentError as error:
            if error.origin != str(path):
                raise
            raise type(error)(error.faults, STANDARD_INPUT) from None


def _asked_for(options: argparse.Namespace) -> list[StandardInput]:
    values: list[object] = []
    for value in vars(options).values():
        values += value if isinstance(value, list) else [value]
    return [value for value in values if isinstance(value, StandardInput)]


def _put_path(options: argparse.Namespace, path: str) -> None:
    def replaced(value: object) -> object:
        return path if isinstance(value, StandardInput) else value

    for name, value in list(vars(options).items()):
        put = [replaced(each) for each in value] if isinstance(value, list) else replaced(value)
        setattr(options, name, put)
    setattr(options, SPOOLED_KEY, path)


def _data_of_input() -> bytes:
    if sys.stdin is None:
        raise SignrulesError(f"{STANDARD_INPUT}: found it closed, expected a document")
    try:
        stream = getattr(sys.stdin, "buffer", None)
        # A byte more than may be: the readers refuse it then.
        return bytes(
            sys.stdin.read(MOST_BYTES + 1).encode()
            if stream is None
            else stream.read(MOST_BYTES + 1)
        )
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        raise SignrulesError(f"{STANDARD_INPUT}: found {found}, expected a document") from None


def shown_path(options: argparse.Namespace, path: str) -> str:
    """What a file of the options is called, which is also what its folder is told by."""
    return STANDARD_INPUT if is_spooled(options, path) else path


def is_spooled(options: argparse.Namespace, path: object) -> bool:
    """Whether a file holds what came by standard input."""
    return path is not None and path == getattr(options, SPOOLED_KEY, None)


def write_to_output(text: str) -> None:
    """A file, as it would be written, on standard output: UTF-8 whatever the terminal shows."""
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:
        sys.stdout.write(text)
        return
    sys.stdout.flush()
    stream.write(text.encode())
    stream.flush()


def say_beside(target: str | None, text: str) -> None:
    """What is told of a file that was written; beside a file on standard output, on standard
    error.
    """
    print(text, file=sys.stderr if target == DASH else sys.stdout)
