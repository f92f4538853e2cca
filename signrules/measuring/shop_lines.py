"""A measured figure in a shop file: one value is set, all else stays as it was written."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

from attrs import frozen

from signrules.documents.reading import text_of
from signrules.documents.toml import from_toml, inline_value
from signrules.documents.whole_files import put_in_place
from signrules.errors import DocumentFault, JobError, ShopError, SignrulesError
from signrules.measuring.measurement import Measurement
from signrules.measuring.procedure import States


@frozen
class StatedLine:
    """A line of a shop file: the table that it stands in, its keys there, and the value as TOML.

    Of more than one key, each but the last is a table of its own, written as a dotted key.
    """

    table: tuple[str, ...]
    keys: tuple[str, ...]
    value: str

    @property
    def path(self) -> tuple[str, ...]:
        """Table and keys."""
        return (*self.table, *self.keys)

    def __str__(self) -> str:
        table, key = (".".join(map(_key_text, names)) for names in (self.table, self.keys))
        return f"[{table}]\n{key} = {self.value}"


def stated_line(measurement: Measurement, part: str) -> StatedLine:
    """The line that states a measured figure of a printer, an ink, a sheet or a material by its id.

    Raises SignrulesError where no shop file holds the figure, it has no date, or its tolerance
    reaches below 0.
    """
    if not measurement.keys:
        raise SignrulesError(
            f"{measurement.figure}: found a figure that shop files do not hold, expected one that"
            " goes into a shop file; use --record to keep it"
        )
    if measurement.date is None:
        raise SignrulesError(
            f"{measurement.figure}: found no date, expected `date` in the readings or --date"
        )
    # The shop file would be refused whole from then on.
    if measurement.states is States.INTERVAL and measurement.value.low <= 0:
        raise SignrulesError(
            f"{measurement.figure}: found a tolerance that reaches below 0, expected more readings"
        )
    table, *keys = measurement.keys
    stated: dict[str, Any] = {
        "is": measurement.stated,
        "measured": measurement.date,
        "readings": measurement.count,
        "from": measurement.how,
    }
    return StatedLine((table, part), tuple(keys), inline_value(stated))


def state_in_shop(line: StatedLine, path: Path) -> None:
    """Set one line in a TOML shop file; comments and everything else stay.

    The file is written whole or not at all. Raises ShopError where it is no TOML that can be
    changed so, and SignrulesError where it cannot be written or tomlkit is not installed.
    """
    if path.suffix.lower() == ".json":
        fault = DocumentFault("", "a JSON file", "a shop file in TOML, which holds comments")
        raise ShopError([fault], str(path))
    try:
        before = text_of(path)
        # Some editors begin a file with a byte order mark; reading the text takes it off.
        has_mark = path.read_bytes().startswith(b"\xef\xbb\xbf")
    except JobError as error:
        raise ShopError(error.faults, str(path)) from None
    after = _changed_text(before, line, str(path))
    try:
        put_in_place(path, ("\ufeff" if has_mark else "").encode() + after.encode())
    except OSError as error:
        raise SignrulesError(
            f"{path}: found {error.strerror or error}, expected a file that can be written"
        ) from None


def _changed_text(text: str, line: StatedLine, origin: str) -> str:
    try:
        shop_before = from_toml(text)
    except (ValueError, RecursionError) as error:
        fault = DocumentFault("", f"text that is not TOML: {str(error)[:200]}", "TOML")
        raise ShopError([fault], origin) from None
    wanted = _with_line(shop_before, line, origin)
    after = _text_with_line(text, line, origin)
    if "\r\n" in text:
        # A file with mixed line ends shows as changed in every line.
        after = after.replace("\r\n", "\n").replace("\n", "\r\n")
    # What is written must say what it is meant to, and nothing else may have changed.
    if _data_of(after) != wanted:
        fault = DocumentFault(
            ".".join(line.path),
            "tables in an order that no line can be added to",
            f"its table in one place; write the line by hand: {line.value}",
        )
        raise ShopError([fault], origin)
    return after


def _data_of(text: str) -> object:
    try:
        return tomllib.loads(text)
    except ValueError:
        return None


def _text_with_line(text: str, line: StatedLine, origin: str) -> str:
    tomlkit = _tomlkit()
    try:
        return _edited_text(tomlkit, text, line)
    except (tomlkit.exceptions.TOMLKitError, RecursionError) as error:
        found = f"text that tomlkit cannot change: {str(error)[:200] or type(error).__name__}"
        fault = DocumentFault("", found, f"plainer TOML; or write the line by hand: {line.value}")
        raise ShopError([fault], origin) from None


def _edited_text(tomlkit: ModuleType, text: str, line: StatedLine) -> str:
    document = tomlkit.parse(text)
    holder: Any = document
    for name in line.table:
        if name not in holder:
            _append(holder, name, _empty_table(tomlkit, holder))
        holder = holder[name]
    value = tomlkit.value(line.value)
    keys = list(line.keys)
    # A table that is there already, whether it has a header or stands inline.
    while len(keys) > 1 and keys[0] in holder:
        holder = holder[keys.pop(0)]
    if keys[0] in holder:
        holder[keys[0]] = value
    elif len(keys) == 1:
        _append(holder, keys[0], value)
    else:
        _append_nested(tomlkit, holder, keys, value)
    after: str = tomlkit.dumps(document)
    return after


def _empty_table(tomlkit: ModuleType, holder: object) -> Any:
    """A table to put into another: an inline one holds no other kind."""
    if isinstance(holder, tomlkit.items.InlineTable):
        return tomlkit.inline_table()
    return tomlkit.table(is_super_table=True)


def _append_nested(tomlkit: ModuleType, holder: Any, keys: list[str], value: Any) -> None:
    """Put a key of a table that is not there yet: dotted, for a header would take what follows."""
    if not isinstance(holder, tomlkit.items.InlineTable):
        _append(holder, tomlkit.key(keys), value)
        return
    for key in reversed(keys[1:]):
        inner = tomlkit.inline_table()
        inner[key] = value
        value = inner
    _append(holder, keys[0], value)


def _append(holder: Any, key: Any, item: Any) -> None:
    """Put a key at the end of a table, before comments and blank lines that lead to the next."""
    body = getattr(getattr(holder, "value", holder), "body", None)
    tail: list[Any] = []
    # To tomlkit a comment before the next header ends this table, and the new line would follow it.
    while isinstance(body, list) and body and body[-1][0] is None:
        tail.insert(0, body.pop())
    if isinstance(key, str):
        holder[key] = item
    else:
        holder.append(key, item)
    if isinstance(body, list):
        body.extend(tail)


def _with_line(shop: Mapping[str, Any], line: StatedLine, origin: str) -> dict[str, Any]:
    """The plain data of the shop file with the line set."""
    wanted = dict(shop)
    holder = wanted
    for depth, name in enumerate(line.path[:-1]):
        inside = holder.get(name, {})
        if not isinstance(inside, dict):
            path = ".".join(line.path[: depth + 1])
            raise ShopError([DocumentFault(path, repr(inside)[:60], "a table")], origin)
        # A copy on the way down, so that the document before the change stays as it was.
        holder[name] = dict(inside)
        holder = holder[name]
    # Read as TOML, so that the two sides differ by nothing but what was written.
    holder[line.keys[-1]] = from_toml(f"x = {line.value}")["x"]
    return wanted


def _tomlkit() -> ModuleType:
    try:
        import tomlkit
    except ModuleNotFoundError:
        raise SignrulesError(
            "writing into a shop file needs the package tomlkit, which is not installed: pip"
            " install 'signrules[measure]'"
        ) from None
    return tomlkit


def _key_text(key: str) -> str:
    return inline_value({key: 0})[2:].rpartition(" = ")[0]
