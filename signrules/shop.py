"""What a shop sets for the rules: their settings and levels, which are off, and whose failing it
accepts.

Everything that a shop changes stands in each report, with the reason.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

import attrs
from attrs import evolve, field, frozen

from signrules.documents.reading import plain_data, text_of
from signrules.documents.refusal import Refused, joined_path, path_label
from signrules.documents.stock import NO_STOCK, OWNED, Stock, read_stock
from signrules.documents.toml import from_toml, inline_value
from signrules.errors import DocumentFault, JobError, ShopError
from signrules.model.limits import is_number
from signrules.model.wording import listed_names, nearest_name, shown_value
from signrules.rules.checks import Level
from signrules.rules.engine import Fault, PlacedRule
from signrules.rules.settings import settings_from

VERSION = 1
Classes = Mapping[str, type[Any] | None]
"""The classes of the settings of hooks, by plugin; None for a plugin that has none."""

NO_SETTINGS: Classes = MappingProxyType({})
KEYS = ("signrules", "rules", "plugins", *OWNED, "materials", "alignments", "rates")
REASONS = ("reason", "off", "accept_absence")
"""The keys of a rule that hold a reason."""
RULE_KEYS = ("settings", "level", *REASONS)
PLUGIN_KEYS = ("accept_absence", "settings")
REASON = "the reason, as a text that is not blank"


@frozen
class RuleChange:
    """What a shop sets for one rule.

    `settings` are values by name; `level` replaces that of all its checks, for `reason`; `off` is
    the reason why the rule is not run at all; `accept_absence` the reason why an evaluation in
    which the rule fails counts all the same.
    """

    settings: Mapping[str, Any] = field(factory=dict)
    level: Level | None = field(default=None, converter=attrs.converters.optional(Level))
    reason: str = ""
    off: str = ""
    accept_absence: str = ""


@frozen
class Shop:
    """What a shop sets, by rule; the plugins whose failing it accepts, each with the reason;
    settings of plugins.

    `stock` is what jobs may name: printers, inks, stock sheets, materials, alignments on record.
    `rates` is a rate table as plain data, None where the shop file has none. `origin` is the path
    of the shop file, as it was given; empty for a shop that was made otherwise.
    """

    rules: Mapping[str, RuleChange] = field(factory=dict)
    accepted_plugins: Mapping[str, str] = field(factory=dict)
    plugin_settings: Mapping[str, Mapping[str, Any]] = field(factory=dict)
    stock: Stock = NO_STOCK
    rates: Mapping[str, Any] | None = None
    origin: str = ""

    def accepting(self, names: Mapping[str, str], rules: Iterable[str]) -> Shop:
        """The same, and the absence of further rules and plugins accepted, each name with a reason.

        `rules` are the names of the rules that there are; any other name is a plugin's. Raises
        ShopError for a reason that says nothing.
        """
        for name, why in names.items():
            if not why.strip():
                raise ShopError([DocumentFault(f"--accept {name}", shown_value(why), REASON)])
        own = set(rules)
        changed = {
            n: evolve(self.rules.get(n, RuleChange()), accept_absence=why)
            for n, why in names.items()
            if n in own
        }
        others = {name: why for name, why in names.items() if name not in own}
        return evolve(
            self,
            rules={**self.rules, **changed},
            accepted_plugins={**self.accepted_plugins, **others},
        )

    def placed(
        self,
        rules: Iterable[PlacedRule],
        plugins: Iterable[str],
        settings: Classes = NO_SETTINGS,
    ) -> tuple[PlacedRule, ...]:
        """The rules that are to run, with settings and levels set. `settings` are the classes of
        those of plugins.

        A plugin without an entry there could not be loaded; a rule of a set that is not there may
        then be one of its own, see `astray`. Raises ShopError for any other rule or plugin that is
        not there, settings that do not fit, a change without a reason, and for turning down a rule
        that decides whether an order is safe.
        """
        known = {one.rule.name: one for one in rules}
        names = tuple(plugins)
        whole = not settings or set(names) <= set(settings)
        faults = list(self._unknown(known, names, whole))
        placed = dict(known)
        for name, change in self.rules.items():
            if name in known:
                faults += _unfounded_change(name, change, known[name])
                try:
                    placed[name] = _changed_rule(known[name], change)
                except Refused as refused:
                    faults += refused.under(f"rules.{path_label(name)}.settings")
        faults += (
            DocumentFault(f"plugins.{path_label(name)}.accept_absence", shown_value(why), REASON)
            for name, why in self.accepted_plugins.items()
            if not why.strip()
        )
        for name in sorted(
            self.accepted_plugins.keys() & {one.plugin for one in known.values() if not one.foreign}
        ):
            path = f"plugins.{path_label(name)}.accept_absence"
            faults.append(
                DocumentFault(
                    path, "what is built in, without which no order is safe", "another plugin"
                )
            )
        try:
            self.settings_of_plugins(settings)
        except Refused as refused:
            faults += refused.faults
        if faults:
            raise ShopError(faults)
        return tuple(
            one
            for name, one in placed.items()
            if name not in self.rules or not self.rules[name].off
        )

    def astray(self, rules: Iterable[PlacedRule], failed: Sequence[str]) -> list[Fault]:
        """Where the shop sets something for rules that are not there while plugins failed to load:
        a fault for each.

        Whether they are rules of these plugins or slips of the pen cannot be told. A fault is that
        of a plugin that failed, one whose absence is not accepted if there is any, so that it is
        accepted where all of them are.
        """
        known = tuple(placed.rule.name for placed in rules)
        plugin = min(failed, key=lambda name: name in self.accepted_plugins, default="")
        return [
            Fault(
                "(shop)",
                plugin,
                "",
                f"rules.{path_label(name)}",
                _perhaps_of(failed, nearest_name(name, known)),
            )
            for name in sorted(self.rules.keys() - set(known))
        ]

    def settings_of_plugins(self, known: Classes) -> dict[str, Any]:
        """The settings of plugins, made of their classes; a plugin that could not be loaded has no
        class.

        Raises Refused for all that does not fit.
        """
        found: dict[str, Any] = {}
        faults: list[DocumentFault] = []
        for name, given in self.plugin_settings.items():
            path, settings = f"plugins.{path_label(name)}.settings", known.get(name)
            if settings is not None:
                try:
                    found[name] = settings_from(settings, given)
                except Refused as refused:
                    faults += refused.under(path)
            elif name in known:
                faults.append(
                    DocumentFault(
                        path, shown_value(dict(given)), "nothing: this plugin has no settings"
                    )
                )
        if faults:
            raise Refused(faults)
        return found

    def accepts(self, fault: Fault) -> str:
        """The reason why a fault is accepted; empty where it is not."""
        change = self.rules.get(fault.rule)
        return (change.accept_absence if change else "") or self.accepted_plugins.get(
            fault.plugin, ""
        )

    def to_dict(self) -> dict[str, Any]:
        """What reports show: what is set, turned down and off, each with its reason."""
        rules = sorted(self.rules.items())
        return {
            "file": self.origin,
            "settings": [
                {"rule": name, "settings": dict(c.settings)} for name, c in rules if c.settings
            ],
            "levels": [
                {"rule": name, "level": c.level.value, "reason": c.reason}
                for name, c in rules
                if c.level
            ],
            "off": [{"rule": name, "reason": c.off} for name, c in rules if c.off],
            "plugin_settings": [
                {"plugin": name, "settings": dict(given)}
                for name, given in sorted(self.plugin_settings.items())
            ],
        }

    def in_words(self) -> Iterator[str]:
        """The same for people, a line each."""
        for name, change in sorted(self.rules.items()):
            if change.off:
                yield f"{name} is off: {change.off}"
            if change.level is not None:
                yield f"{name} counts as {change.level.value}: {change.reason}"
            if change.settings:
                yield f"{name}: {_listed_settings(change.settings)}"
        yield from (
            f"plugin {name}: {_listed_settings(given)}"
            for name, given in sorted(self.plugin_settings.items())
        )

    def _unknown(
        self, rules: Mapping[str, PlacedRule], plugins: tuple[str, ...], whole: bool
    ) -> Iterable[DocumentFault]:
        sets = {name.partition(".")[0] for name in rules}
        for name in self.rules:
            if name not in rules and (whole or name.partition(".")[0] in sets):
                yield _not_there(f"rules.{path_label(name)}", name, "rule", tuple(rules))
        for name in {**self.accepted_plugins, **self.plugin_settings}:
            if name not in plugins:
                yield _not_there(f"plugins.{path_label(name)}", name, "plugin", plugins)


def read_shop(path: str | os.PathLike[str]) -> Shop:
    """The shop file at a path, TOML or JSON. Raises ShopError, with the file's name, for all that
    is wrong in it.
    """
    origin = os.fspath(path)
    try:
        shop = shop_from_dict(_shop_data(Path(path)), name=f"shop file {Path(path).name}")
        return evolve(shop, origin=origin)
    except (JobError, ShopError) as error:
        raise ShopError(error.faults, origin) from None


def _shop_data(path: Path) -> object:
    """The plain data of a shop file, prices exactly as they are written."""
    data = plain_data(path)
    if path.suffix.lower() == ".toml" and isinstance(data, dict) and "rates" in data:
        data["rates"] = from_toml(text_of(path), parse_float=Decimal)["rates"]
    return data


def shop_from_dict(document: object, *, name: str = "shop file") -> Shop:
    """The shop that plain data describes; `name` is what reports call it.

    `signrules = 1`; `[rules.SET.RULE]` with `settings`, `level` and `reason`, `off`,
    `accept_absence`;
    `[plugins.NAME]` with `accept_absence` and `settings`; `[printers.ID]`, `[inks.ID]`,
    `[sheets.ID]`, `[materials.ID]`, `[[alignments]]` and `[rates]`. Raises ShopError with every
    fault.
    """
    faults: list[DocumentFault] = []
    if not _can_be_written(document):
        faults.append(
            DocumentFault("", "half of a surrogate pair", "text that can be written in UTF-8")
        )
    table = _read_section(document, "", KEYS, faults)
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


def _listed_settings(settings: Mapping[str, Any]) -> str:
    return ", ".join(f"{key} = {inline_value(value)}" for key, value in settings.items())


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


def _unfounded_change(name: str, change: RuleChange, placed: PlacedRule) -> Iterable[DocumentFault]:
    path = f"rules.{path_label(name)}"
    for key in REASONS:
        # One made in Python: a file is held to it as it is read.
        text = getattr(change, key)
        if text and not text.strip():
            yield DocumentFault(f"{path}.{key}", shown_value(text), REASON)
    if change.level is not None and not change.reason:
        yield DocumentFault(f"{path}.reason", "nothing", "the reason for another level")
    if placed.rule.decides and (change.off or change.level is not None):
        what = "off" if change.off else f"level {change.level}"
        yield DocumentFault(
            path, what, "nothing of the kind: this rule decides whether an order is safe"
        )
    if placed.rule.decides and not placed.foreign and change.accept_absence:
        yield DocumentFault(
            f"{path}.accept_absence", "a rule without which no order is safe", "another rule"
        )


def _changed_rule(placed: PlacedRule, change: RuleChange) -> PlacedRule:
    rule = placed.rule
    if change.settings and rule.settings is None:
        raise Refused(
            [
                DocumentFault(
                    "", shown_value(dict(change.settings)), "nothing: this rule has no settings"
                )
            ]
        )
    settings = None if rule.settings is None else settings_from(rule.settings, change.settings)
    return evolve(placed, settings=settings, level=change.level)


def _perhaps_of(failed: Sequence[str], near: str | None) -> str:
    them = (
        "a plugin that was not loaded"
        if len(failed) == 1
        else "one of the plugins that were not loaded"
    )
    return f"no such rule is known here; it may belong to {them}, {listed_names(list(failed))}" + (
        f", or {near!r} is meant" if near else ""
    )


def _not_there(path: str, name: str, kind: str, known: tuple[str, ...]) -> DocumentFault:
    near = nearest_name(name, known)
    return DocumentFault(
        path, f"an unknown {kind}", f"{near!r} perhaps" if near else f"a {kind} that is loaded"
    )
