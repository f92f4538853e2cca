"""Loading plugins: a plain value that says what was loaded, from where, and what failed."""

from __future__ import annotations

import difflib
import importlib.util
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pluggy
from attrs import field, frozen

import signrules.builtin
from signrules import hookspecs
from signrules.catalogue.tables import Material
from signrules.errors import PluginError
from signrules.model.job import Job
from signrules.rules.declaration import Rule, RuleSet
from signrules.rules.engine import Fault, PlacedRule
from signrules.standards.tables import Standard, amended

BUILT_IN = "signrules"
GROUP = "signrules"


@frozen
class Loaded:
    """One plugin that was loaded: its name and version, where it came from, which hooks it implements."""

    name: str
    version: str
    origin: str
    hooks: tuple[str, ...]


@frozen
class Failed:
    """One plugin that was asked for and could not be used."""

    name: str
    version: str
    origin: str
    error: str

    def fault(self) -> Fault:
        """The same as a fault of an evaluation."""
        return Fault("(loading)", self.name, self.version, self.origin, self.error)


@frozen(eq=False)
class Plugins:
    """What plugins bring, checked: rules, standards, printers, materials; and the plugins that failed."""

    loaded: tuple[Loaded, ...]
    failed: tuple[Failed, ...]
    rule_sets: tuple[RuleSet, ...]
    rules: tuple[PlacedRule, ...]
    standards: Mapping[str, Standard]
    printers: Mapping[str, Mapping[str, Any]]
    materials: Mapping[str, Material]
    _precedence: tuple[tuple[Loaded, Callable[..., Any]], ...] = field(repr=False, default=())
    _translators: tuple[tuple[Loaded, Callable[..., Any]], ...] = field(repr=False, default=())

    def rule_named(self, name: str) -> Rule:
        """The rule of that name. Raises PluginError, with the nearest known name, where there is none."""
        for placed in self.rules:
            if placed.rule.name == name:
                return placed.rule
        near = difflib.get_close_matches(name, [placed.rule.name for placed in self.rules], n=1)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise PluginError(f"no rule is called {name}{hint}")

    def precedence(self, job: Job) -> tuple[list[tuple[str, str, str, str]], list[Fault]]:
        """Extra pairs (first, then, reason, plugin) for a job, sorted, and the faults of plugins that failed."""
        ids = {item.id for item in job.items}
        pairs: list[tuple[str, str, str, str]] = []
        faults = []
        for plugin, hook in self._precedence:
            try:
                pairs.extend((*_pair(pair, ids), plugin.name) for pair in hook(job) or ())
            except (Exception, SystemExit) as error:
                text = f"{type(error).__name__}: {error}"
                faults.append(Fault("signrules_precedence", plugin.name, plugin.version, "job", text))
        return sorted(pairs), faults

    def translate(self, text: str, grade: str = "contracted", language: str = "en") -> tuple[str | None, list[Fault]]:
        """A line of text as braille cells, None where no plugin translates it; and the faults of those that failed.

        Plugins are asked in the order of their names until one answers; see the hook `signrules_translate_braille`.
        """
        faults: list[Fault] = []
        for plugin, hook in self._translators:
            try:
                cells = hook(text, grade, language)
                if cells is not None:
                    return _cells(cells), faults
            except (Exception, SystemExit) as error:
                said = f"{type(error).__name__}: {error}"
                faults.append(Fault("signrules_translate_braille", plugin.name, plugin.version, repr(text), said))
        return None, faults


def load_plugins(
    *,
    entry_points: bool = False,
    files: Sequence[str | Path] = (),
    objects: Sequence[object] = (),
    block: Sequence[str] = (),
) -> Plugins:
    """The built-in sets, and whatever else is asked for.

    `entry_points` looks for installed plugins in the group `signrules`; `files` are Python files; `objects` modules or
    instances with hook implementations; `block` names plugins to leave out. A plugin that cannot be loaded stands in
    `failed`, and an evaluation with it is incomplete. Raises PluginError where two plugins bring the same name.
    """
    loading = _Loading(block)
    loading.add(BUILT_IN, _own_version(), "built in", lambda: signrules.builtin)
    for name, version, load in _installed() if entry_points else ():
        loading.add(name, version, "entry point", load)
    for file in files:
        path = Path(file)
        loading.add(path.stem, "", str(file), partial(_module_from, path))
    for number, plugin in enumerate(objects):
        name = getattr(plugin, "__name__", None) or f"{type(plugin).__name__}-{number}"
        loading.add(str(name), str(getattr(plugin, "__version__", "")), "object", partial(_itself, plugin))
    return loading.result()


@frozen(eq=False)
class _Brought:
    """What one plugin brings."""

    loaded: Loaded
    rule_sets: list[RuleSet]
    standards: list[Standard]
    printers: dict[str, Any]
    materials: list[Material]

    def names(self) -> Iterable[str]:
        """Every name that no other plugin may bring too."""
        yield from (f"rule {one.name}" for some in self.rule_sets for one in some.rules)
        yield from (f"standard {one.id}" for one in self.standards)
        yield from (f"printer {one}" for one in self.printers)
        yield from (f"material {one.id}" for one in self.materials)


class _Loading:
    def __init__(self, block: Sequence[str]) -> None:
        self.block = frozenset(block)
        self.loaded: list[Loaded] = []
        self.failed: list[Failed] = []
        self.brought: list[_Brought] = []
        self.precedence: list[tuple[Loaded, Callable[..., Any]]] = []
        self.translators: list[tuple[Loaded, Callable[..., Any]]] = []

    def add(self, name: str, version: str, origin: str, load: Callable[[], Any]) -> None:
        if name in self.block and name != BUILT_IN:
            return
        if any(name == other.name for other in self.loaded):
            raise PluginError(f"two plugins are called {name}: give one another name or block it")
        try:
            manager = pluggy.PluginManager(hookspecs.PROJECT)
            manager.add_hookspecs(hookspecs)
            plugin = load()
            manager.register(plugin, name)
            manager.check_pending()
            hooks = sorted(caller.name for caller in manager.get_hookcallers(plugin) or ())
            rule_sets = [_expect(item, RuleSet) for item in _flat(manager.hook.signrules_rule_sets())]
            standards = [_expect(item, Standard) for item in _flat(manager.hook.signrules_standards())]
            printers = {k: v for table in manager.hook.signrules_printers() for k, v in dict(table).items()}
            materials = [_expect(item, Material) for item in _flat(manager.hook.signrules_materials())]
        except (Exception, SystemExit) as error:
            self.failed.append(Failed(name, version, origin, f"{type(error).__name__}: {error}"))
            return
        loaded = Loaded(name, version, origin, tuple(hooks))
        self.loaded.append(loaded)
        self.brought.append(_Brought(loaded, rule_sets, standards, printers, materials))
        for implementation in manager.hook.signrules_precedence.get_hookimpls():
            self.precedence.append((loaded, implementation.function))
        if manager.hook.signrules_translate_braille.get_hookimpls():
            self.translators.append((loaded, _asked(manager.hook.signrules_translate_braille)))

    def result(self) -> Plugins:
        owners: dict[str, str] = {}
        for one in self.brought:
            for name in one.names():
                if name in owners:
                    raise PluginError(f"{name} is brought by two plugins: {owners[name]} and {one.loaded.name}")
                owners[name] = one.loaded.name
        everything = sorted(self.brought, key=lambda one: one.loaded.name)
        return Plugins(
            tuple(self.loaded),
            tuple(self.failed),
            tuple(some for one in everything for some in one.rule_sets),
            tuple(
                PlacedRule(rule, one.loaded.name, one.loaded.version)
                for one in everything
                for some in one.rule_sets
                for rule in some.rules
            ),
            MappingProxyType(_standards(everything)),
            MappingProxyType({k: v for one in everything for k, v in one.printers.items()}),
            MappingProxyType({each.id: each for one in everything for each in one.materials}),
            tuple(sorted(self.precedence, key=lambda one: one[0].name)),
            tuple(sorted(self.translators, key=lambda one: one[0].name)),
        )


def _standards(everything: Iterable[_Brought]) -> dict[str, Standard]:
    try:
        return amended(each for one in everything for each in one.standards)
    except ValueError as error:
        raise PluginError(str(error)) from None


def _flat(results: Iterable[Iterable[Any]]) -> list[Any]:
    return [item for some in results for item in some]


def _expect(item: Any, kind: type[Any]) -> Any:
    if not isinstance(item, kind):
        raise PluginError(f"expected {kind.__name__}, got {type(item).__name__}")
    return item


def _pair(pair: Any, ids: set[str]) -> tuple[str, str, str]:
    if not (isinstance(pair, tuple) and len(pair) == 3 and all(isinstance(part, str) for part in pair)):
        raise PluginError("expected tuples (id that comes first, id that comes after it, reason)")
    if pair[0] == pair[1]:
        raise PluginError(f"{pair[0]!r} cannot come before itself")
    for name in pair[:2]:
        if name not in ids:
            raise PluginError(f"the job has no pass or handling {name!r}")
    return pair


def _asked(hook: Any) -> Callable[..., Any]:
    """A translator that may leave out parameters which it does not need, as pluggy allows."""
    return lambda text, grade, language: hook(text=text, grade=grade, language=language)


def _cells(cells: Any) -> str:
    if not (isinstance(cells, str) and all(each == " " or "\u2800" <= each <= "\u28ff" for each in cells)):
        raise PluginError(f"expected Unicode braille patterns, got {cells!r}")
    return cells


def _itself(plugin: object) -> object:
    return plugin


def _own_version() -> str:
    from signrules import __version__

    return __version__


def _installed() -> list[tuple[str, str, Callable[[], Any]]]:
    from importlib.metadata import entry_points

    found = [(ep.name, ep.dist.version if ep.dist else "", ep.load) for ep in entry_points(group=GROUP)]
    return sorted(found, key=lambda one: one[:2])


def _module_from(path: Path) -> Any:
    if not path.is_file():
        raise PluginError(f"there is no file {path}")
    spec = importlib.util.spec_from_file_location(f"signrules_plugin_{path.stem}", path)
    if spec is None or spec.loader is None:
        raise PluginError(f"{path} is not a Python file")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
