"""The shop file: from TOML, JSON or plain data to what a shop states and sets."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from attrs import evolve

from signrules.documents.reading import plain_data, text_of
from signrules.documents.refusal import joined_path, path_label
from signrules.documents.stock import OWNED, read_stock
from signrules.documents.toml import from_toml
from signrules.errors import DocumentFault, JobError, ShopError
from signrules.events import INFO, tell_event
from signrules.model.limits import is_number
from signrules.model.wording import listed_names, nearest_name, shown_value
from signrules.rules.checks import Level
from signrules.shop import REASON, REASONS, RuleChange, Shop

VERSION = 1
KEYS = (
    "signrules",
    "rules",
    "plugins",
    *OWNED,
    "materials",
    "alignments",
    "layers",
    "sign_types",
    "schedule",
    "composition",
    "rates",
)
RULE_KEYS = ("settings", "level", *REASONS)
PLUGIN_KEYS = ("accept_absence", "settings")


def read_shop(path: str | os.PathLike[str]) -> Shop:
    """The shop file at a path, TOML or JSON. Raises ShopError, with the file's name, for all that
    is wrong in it.
    """
    origin = os.fspath(path)
    try:
        shop = shop_from_dict(_shop_data(Path(path)), name=f"shop file {Path(path).name}")
    except (JobError, ShopError) as error:
        raise ShopError(error.faults, origin) from None
    tell_event(INFO, "read the shop file %s", origin)
    return evolve(shop, origin=origin)


def _shop_data(path: Path) -> object:
    """The plain data of a shop file, prices exactly as they are written."""
    data = plain_data(path)
    if path.suffix.lower() == ".toml" and isinstance(data, dict) and "rates" in data:
        # A price of 0.1 is no binary float; all other numbers of the file are, as in a job.
        data["rates"] = from_toml(text_of(path), parse_float=Decimal)["rates"]
    return data


def shop_from_dict(document: object, *, name: str = "shop file") -> Shop:
    """The shop that plain data describes; `name` is what reports call it.

    `signrules = 1`; `[rules.SET.RULE]` with `settings`, `level` and `reason`, `off`,
    `accept_absence`;
    `[plugins.NAME]` with `accept_absence` and `settings`; `[printers.ID]`, `[inks.ID]`,
    `[sheets.ID]`, `[materials.ID]`, `[[alignments]]`, `[[layers]]`, `[sign_types.ID]`,
    `[schedule]`, `[composition]` and `[rates]`. Raises ShopError with every fault.
    """
    faults: list[DocumentFault] = []
    if not _can_be_written(document):
        faults.append(
            DocumentFault("", "half of a surrogate pair", "text that can be written in UTF-8")
        )
    table = _read_section(document, "", KEYS, faults)
    # Not `true`, which is 1 to Python.
    if type(table.get("signrules")) is not int or table["signrules"] != VERSION:
        faults.append(
            DocumentFault(
                "signrules",
                shown_value(table.get("signrules")),
                f"the version of the format, {VERSION}",
            )
        )
    changes = {}
    for set_name, rules in _read_section(table.get("rules", {}), "rules", None, faults).items():
        of_set = f"rules.{path_label(set_name)}"
        for name, entry in _read_section(rules, of_set, None, faults).items():
            path = f"{of_set}.{path_label(name)}"
            row = _read_section(entry, path, RULE_KEYS, faults)
            changes[f"{set_name}.{name}"] = _rule_change(row, path, faults)
    accepted: dict[str, str] = {}
    settings: dict[str, Mapping[str, Any]] = {}
    for name, entry in _read_section(table.get("plugins", {}), "plugins", None, faults).items():
        path = f"plugins.{path_label(name)}"
        row = _read_section(entry, path, PLUGIN_KEYS, faults)
        if "accept_absence" in row:
            accepted[name] = _read_text(row, "accept_absence", path, faults)
        if "settings" in row:
            settings[name] = _read_settings(row["settings"], f"{path}.settings", faults)
    stock = read_stock(table, name, faults)
    rates = table.get("rates")
    if rates is not None and not isinstance(rates, Mapping):
        faults.append(DocumentFault("rates", shown_value(rates), "a table: [rates]"))
    if faults:
        raise ShopError(faults)
    return Shop(changes, accepted, settings, stock, rates)


def _rule_change(row: Mapping[str, Any], path: str, faults: list[DocumentFault]) -> RuleChange:
    settings = _read_settings(row.get("settings", {}), f"{path}.settings", faults)
    level = row.get("level")
    if level is not None and level not in tuple(Level):
        faults.append(
            DocumentFault(f"{path}.level", shown_value(level), f"one of {', '.join(Level)}")
        )
        level = None
    texts = {key: _read_text(row, key, path, faults) for key in REASONS}
    return RuleChange(settings, level, **texts)


def _read_settings(value: object, path: str, faults: list[DocumentFault]) -> Mapping[str, Any]:
    """Settings by name: whether they fit the plugin is seen once it is there, whether a report can
    hold them is now.
    """
    table = _read_section(value, path, None, faults)
    for name, each in table.items():
        if not all(map(_is_plain, each if isinstance(each, list | tuple) else [each])):
            expected = "true or false, a finite number, a text, or a list of these"
            faults.append(
                DocumentFault(joined_path(path, path_label(name)), shown_value(each), expected)
            )
    return table


def _is_plain(value: object) -> bool:
    return isinstance(value, str | bool) or is_number(value)


def _read_section(
    value: object, path: str, keys: tuple[str, ...] | None, faults: list[DocumentFault]
) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        faults.append(DocumentFault(path, shown_value(value), "a table"))
        return {}
    for key in value:
        if keys is not None and key not in keys:
            near = nearest_name(str(key), keys)
            expected = f"{near!r} perhaps" if near else f"one of {listed_names(list(keys))}"
            faults.append(
                DocumentFault(joined_path(path, path_label(key)), "an unknown key", expected)
            )
    return value


def _can_be_written(document: object) -> bool:
    try:
        json.dumps(document, ensure_ascii=False, default=str).encode()
    except UnicodeEncodeError:
        return False
    except (TypeError, ValueError, RecursionError):
        return True  # Something else is wrong with it, and is told elsewhere.
    return True


def _read_text(row: Mapping[str, Any], key: str, path: str, faults: list[DocumentFault]) -> str:
    text = row.get(key, "")
    if key in row and not (isinstance(text, str) and text.strip()):
        faults.append(DocumentFault(f"{path}.{key}", shown_value(text), REASON))
        return ""
    return str(text)
