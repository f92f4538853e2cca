"""What a shop sets: settings and levels of rules, which are off, whose failing it accepts.

Everything that a shop changes stands in each report, with the reason.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

import attrs
from attrs import evolve, field, frozen

from signrules.documents.refusal import Refused, path_label
from signrules.documents.stock import NO_STOCK, Stock
from signrules.documents.toml import inline_value
from signrules.errors import DocumentFault, ShopError
from signrules.model.plugin_data import nearest_plugin, whole_name
from signrules.model.wording import listed_names, nearest_name, shown_value
from signrules.rules.checks import Level
from signrules.rules.engine import Fault, PlacedRule
from signrules.rules.settings import settings_from

Classes = Mapping[str, type[Any] | None]
"""The classes of the settings of hooks, by plugin; None for a plugin that has none."""

NO_SETTINGS: Classes = MappingProxyType({})
REASONS = ("reason", "off", "accept_absence")
"""The keys of a rule that hold a reason."""
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
        """This shop, with the absence of further rules and plugins accepted, each with a reason.

        `rules` are the names of the rules that there are; any other name is a plugin's. Raises
        ShopError for a reason that says nothing.
        """
        for name, why in names.items():
            if not why.strip():
                raise ShopError([DocumentFault(f"--accept {name}", shown_value(why), REASON)])
        own = set(rules)
        changed, others = dict(self.rules), dict(self.accepted_plugins)
        for name, why in names.items():
            if name in own:
                changed[name] = evolve(changed.get(name, RuleChange()), accept_absence=why)
            else:
                others[name] = why
        return evolve(self, rules=changed, accepted_plugins=others)

    def with_whole_names(self, plugins: Iterable[str]) -> Shop:
        """This shop, in which each plugin goes by its whole name: `quay` becomes `signrules-quay`
        where a plugin of that name is there and none that is called `quay`.

        Raises ShopError where one plugin stands there by both names.
        """
        known = frozenset(plugins)
        accepted = _by_whole_name(self.accepted_plugins, known)
        settings = _by_whole_name(self.plugin_settings, known)
        return evolve(self, accepted_plugins=accepted, plugin_settings=settings)

    def placed(
        self,
        rules: Iterable[PlacedRule],
        plugins: Iterable[str],
        settings: Classes = NO_SETTINGS,
    ) -> tuple[PlacedRule, ...]:
        """The rules that are to run, with settings and levels set. `settings` are the classes of
        those of plugins.

        A plugin without an entry there could not be loaded; a rule of a set that is not there may
        then be one of its own, see `faults_of_unknown`. Raises ShopError for any other rule or
        plugin that is not there, settings that do not fit, a change without a reason, and for
        turning down a rule that decides whether an order is safe.
        """
        known = {one.rule.name: one for one in rules}
        names = tuple(plugins)
        # With a plugin missing, an unknown rule may be one of its own, and is a fault of the
        # evaluation.
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
        faults += self._unfounded_absences(known.values())
        try:
            self.settings_of_plugins(settings)
        except Refused as refused:
            faults += refused.faults
        if faults:
            raise ShopError(faults)
        off = {name for name, change in self.rules.items() if change.off}
        return tuple(one for name, one in placed.items() if name not in off)

    def _unfounded_absences(self, known: Iterable[PlacedRule]) -> Iterator[DocumentFault]:
        """The plugins whose absence is accepted without a reason, or is not to be accepted."""
        paths = {
            name: f"plugins.{path_label(name)}.accept_absence" for name in self.accepted_plugins
        }
        for name, why in self.accepted_plugins.items():
            if not why.strip():
                yield DocumentFault(paths[name], shown_value(why), REASON)
        # Accepting that head clearance is not judged would let the head strike.
        built_in = {one.plugin for one in known if not one.foreign}
        for name in sorted(built_in & paths.keys()):
            found = "what is built in, without which no order is safe"
            yield DocumentFault(paths[name], found, "another plugin")

    def faults_of_unknown(self, rules: Iterable[PlacedRule], failed: Sequence[str]) -> list[Fault]:
        """A fault for each rule that the shop sets something for and that is not loaded, while
        plugins failed to load.

        These may be rules of the failed plugins, or misspelt names. Each fault is assigned to a
        plugin that failed, if possible one whose absence is not accepted, so that it counts as
        accepted only where all of them are.
        """
        known = tuple(placed.rule.name for placed in rules)
        # False sorts first: one whose absence nobody has accepted.
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
        """The settings of plugins, made of their classes.

        A plugin that could not be loaded has no class. Raises Refused for all that does not fit.
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
        if change is not None and change.accept_absence:
            return change.accept_absence
        return self.accepted_plugins.get(fault.plugin, "")

    def to_dict(self) -> dict[str, Any]:
        """What reports show: what is set, turned down and off, each with its reason."""
        rules = sorted(self.rules.items())
        return {
            "file": self.origin,
            "settings": [
                {"rule": name, "settings": dict(change.settings)}
                for name, change in rules
                if change.settings
            ],
            "levels": [
                {"rule": name, "level": change.level.value, "reason": change.reason}
                for name, change in rules
                if change.level
            ],
            "off": [{"rule": name, "reason": change.off} for name, change in rules if change.off],
            "plugin_settings": [
                {"plugin": name, "settings": dict(given)}
                for name, given in sorted(self.plugin_settings.items())
            ],
        }

    def in_words(self) -> Iterator[str]:
        """What the shop has set, in words, a line each."""
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
                near = nearest_name(name, tuple(rules))
                yield _not_there(f"rules.{path_label(name)}", "rule", near)
        for name in {**self.accepted_plugins, **self.plugin_settings}:
            if name not in plugins:
                near = nearest_plugin(name, plugins)
                yield _not_there(f"plugins.{path_label(name)}", "plugin", near)


T = TypeVar("T")


def _by_whole_name(given: Mapping[str, T], known: Collection[str]) -> dict[str, T]:
    found: dict[str, T] = {}
    for name, value in given.items():
        whole = whole_name(name, known)
        if whole in found:
            expected = f"one table for {whole}, by one of its names"
            path = f"plugins.{path_label(name)}"
            raise ShopError([DocumentFault(path, f"the plugin {whole} twice", expected)])
        found[whole] = value
    return found


def _listed_settings(settings: Mapping[str, Any]) -> str:
    return ", ".join(f"{key} = {inline_value(value)}" for key, value in settings.items())


def _unfounded_change(name: str, change: RuleChange, placed: PlacedRule) -> Iterable[DocumentFault]:
    path = f"rules.{path_label(name)}"
    for key in REASONS:
        # One made in Python: a file is held to it as it is read.
        text = getattr(change, key)
        if text and not text.strip():
            yield DocumentFault(f"{path}.{key}", shown_value(text), REASON)
    if change.level is not None and not change.reason:
        yield DocumentFault(f"{path}.reason", "nothing", "the reason for another level")
    if change.reason and change.level is None and not change.settings:
        expected = "a level beside it, of which it is the reason; to leave the rule out, off"
        yield DocumentFault(f"{path}.reason", shown_value(change.reason), expected)
    # No shop may turn down what keeps the head off the work.
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
    if rule.settings is None:
        return evolve(placed, settings=None, level=change.level)
    settings = settings_from(rule.settings, change.settings)
    return evolve(placed, settings=settings, level=change.level)


def _perhaps_of(failed: Sequence[str], near: str | None) -> str:
    them = "one of the plugins that were not loaded"
    if len(failed) == 1:
        them = "a plugin that was not loaded"
    text = f"no such rule is known here; it may belong to {them}, {listed_names(list(failed))}"
    if near:
        text += f", or {near!r} is meant"
    return text


def _not_there(path: str, kind: str, near: str | None) -> DocumentFault:
    expected = f"{near!r} perhaps" if near else f"a {kind} that is loaded"
    return DocumentFault(path, f"an unknown {kind}", expected)
