"""Results of jobs kept in a folder, so that work that was interrupted goes on where it stopped.

Each is a file of its own, written whole or not at all, whose name is a fingerprint of all that the
result depends on. Nothing there is ever out of date: what has changed has another name.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import pickle
from collections.abc import Callable, Mapping
from collections.abc import Set as AbstractSet
from enum import Enum
from functools import partial
from pathlib import Path
from typing import Any

import attrs
from attrs import frozen

from signrules.documents.whole_files import made_folder, put_in_place
from signrules.errors import SignrulesError
from signrules.model.job import Job
from signrules.plugins import Plugins

SUFFIX = ".kept"
"""Not that of a job document: the folder may hold both."""


@frozen
class KeptResults:
    """The results in a folder, of jobs that are evaluated in one way.

    `way` is the fingerprint of that way: shop, plugins, day and options.
    """

    folder: Path
    way: str

    def path_of(self, job: Job, *beside: Any) -> Path:
        """Where the result of a job is, or will be; `beside` it is what else it depends on."""
        return self.folder / f"{fingerprint(self.way, job, *beside)}{SUFFIX}"

    def result_at(self, path: Path) -> Any:
        """The result that is kept there. Raises LookupError where there is none that is whole."""
        try:
            kept = json.loads(path.read_bytes())
            result, stated = kept["result"], kept["sha256"]
        except (OSError, ValueError, TypeError, LookupError, RecursionError):
            raise LookupError(path) from None
        # A file that was damaged is made again, and is no error.
        if _digest(_as_json(result)) != stated:
            raise LookupError(path)
        return result

    def keep(self, path: Path, result: Any) -> Any:
        """Write a result; what comes back is what will be read from there.

        Raises TypeError or ValueError where it is no plain data, OSError where it cannot be
        written.
        """
        text = _as_json(result)
        put_in_place(path, f'{{"result":{text},"sha256":"{_digest(text)}"}}\n'.encode())
        # What was read from there another time, so that both runs go on with the same.
        return json.loads(text)


def kept_results(folder: Path, *way: Any) -> KeptResults:
    """The results in a folder, which is made where it is not there.

    Raises SignrulesError where it cannot be made.
    """
    made_folder(folder, "a folder to keep results in", parents=True)
    return KeptResults(folder.absolute(), fingerprint(*way))


def fingerprint(*parts: Any) -> str:
    """A SHA-256 that is the same for equal parts in every process."""
    return _digest(json.dumps([plain_value(part) for part in parts]))


def plugins_as_plain(plugins: Plugins) -> list[Any]:
    """What tells plugins apart: names, versions, what they add, and the bytes of which plugin files
    were loaded.
    """
    # Not the bytes that the file holds by now: they may say something else.
    loaded = [
        [one.name, one.version, list(map(str, one.adds)), one.origin, one.digest]
        for one in plugins.loaded
    ]
    return [loaded, [[one.name, one.error] for one in plugins.failed]]


def name_of_function(function: Callable[..., Any]) -> list[Any]:
    """The module and name of a function, and what is filled in of its arguments.

    Raises SignrulesError for one that has no name of its own: another could have the same.
    """
    if isinstance(function, partial):
        filled = [list(function.args), dict(function.keywords)]
        return [name_of_function(function.func), plain_value(filled)]
    name = getattr(function, "__qualname__", "<")
    if "<" in name:
        raise SignrulesError(
            f"`reduce` is {function!r}, expected a function at the top of a module: results are"
            " kept under its name"
        )
    return [function.__module__, name]


def _as_json(result: Any) -> str:
    return json.dumps(result, separators=(",", ":"))


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def plain_value(value: Any) -> Any:
    """A value as JSON that differs wherever the value does."""
    if value is None or type(value) in (bool, int, float, str):
        return value
    if attrs.has(type(value)):
        fields = [
            [each.name, plain_value(getattr(value, each.name))]
            for each in attrs.fields(type(value))
        ]
        # The class as well: two classes may have fields of the same names and values.
        return [type(value).__qualname__, fields]
    if isinstance(value, Enum):
        return [type(value).__qualname__, value.name]
    if isinstance(value, Mapping):
        return ["mapping", [[plain_value(key), plain_value(each)] for key, each in value.items()]]
    if isinstance(value, AbstractSet):
        return ["set", sorted(json.dumps(plain_value(each)) for each in value)]
    if isinstance(value, tuple | list):
        return ["list", [plain_value(each) for each in value]]
    return _plain_scalar(value)


def _plain_scalar(value: Any) -> Any:
    kind = type(value).__qualname__
    if isinstance(value, datetime.date):
        return [kind, value.isoformat()]
    # Data of a plugin's own class. Should the bytes differ between two runs, the job is evaluated.
    return [kind, pickle.dumps(value).hex()]
