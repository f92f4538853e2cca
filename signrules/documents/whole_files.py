"""Files that are there in full or not at all: written beside, under a name of their own, and then
put in place.
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Callable
from pathlib import Path

from signrules.errors import SignrulesError

NEW_FOLDER = "a folder that is there, or a new one in such a folder"
"""What `made_folder` expects where it makes none of the folders above."""


def made_folder(folder: Path, expected: str, *, parents: bool = False) -> Path:
    """A folder, made where it is not there; with `parents` those that it lies in as well.

    Raises SignrulesError where that cannot be done, with what was `expected`.
    """
    try:
        folder.mkdir(parents=parents, exist_ok=True)
    except (OSError, ValueError) as error:
        # ValueError: a name with a character that no file system takes.
        found = (getattr(error, "strerror", None) or str(error)).lower()
        raise SignrulesError(f"{folder}: found {found}, expected {expected}") from None
    return folder


def put_in_place(path: Path, data: bytes) -> None:
    """Write a file, in the place of one that stands there, whose permissions it keeps.

    Raises OSError where that cannot be done, also where a folder, a pipe or a device stands there.
    """
    path = Path(os.path.realpath(path))
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "no regular file")
    _put_in_place(path, data, os.replace)


def put_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet.

    Raises FileExistsError where it is, OSError where that cannot be done.
    """
    _put_in_place(path, data, _name_new)


def _put_in_place(path: Path, data: bytes, put: Callable[[Path, Path], None]) -> None:
    beside = path.with_name(f".signrules-{os.urandom(8).hex()}.tmp")
    try:
        with beside.open("xb") as file:
            if path.exists():
                shutil.copymode(path, beside)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        put(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def _name_new(beside: Path, path: Path) -> None:
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:
        # A file system without links: look first.
        if os.path.lexists(path):
            raise FileExistsError from None
        os.replace(beside, path)
