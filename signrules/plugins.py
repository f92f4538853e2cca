"""Loading plugins: a plain value that says what was loaded, from where, and what failed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

from attrs import evolve, field, frozen

from signrules import plugin_sources
from signrules.artwork.reader import ArtworkReader
from signrules.catalogue.materials import Material
from signrules.documents.plugin_tables import OwnData
from signrules.errors import PluginError
from signrules.events import INFO, WARNING, tell_event, work_stage
from signrules.hook_answers import (
    PluginPrecedence,
    cells_from,
    copied_job,
    demand_unchanged,
    numbers_from,
    pairs_from,
)
from signrules.model.handling_kinds import HandlingKind
from signrules.model.job import Job
from signrules.model.wording import nearest_ending, shown_value
from signrules.plugin_demands import (
    BroughtByName,
    demand_alike,
    demand_one_owner,
    tables_of,
)
from signrules.plugin_gathering import BUILT_IN, gather_plugins
from signrules.plugin_loading import Brought, Loaded
from signrules.plugin_order import in_answering_order
from signrules.plugin_sources import GROUP, Failed, Recipe
from signrules.report_formats import ReportFormat
from signrules.rules.containment import Contained, call_contained
from signrules.rules.declaration import Rule, RuleSet
from signrules.rules.engine import Fault, PlacedRule
from signrules.rules.known_values import known_values
from signrules.shop import Shop
from signrules.standards.dimension_tables import Standard, amended_tables
from signrules.standards.looser_tables import compared_tables

__all__ = ["BUILT_IN", "GROUP", "Failed", "Loaded", "Plugins", "load_plugins"]


@frozen(eq=False)
class Plugins:
    """What plugins bring, checked: rules, standards, printers, materials, readers of artwork by the
    suffix that they read, catalogues of each language by its tag, formats of reports and kinds of
    handling by their name; and those that failed.

    Rules are functions and cannot travel to another process. What is pickled is how they were
    loaded, and unpickling loads them again: PluginError where that gives others, or where a plugin
    is an object that cannot be pickled.
    """

    loaded: tuple[Loaded, ...]
    failed: tuple[Failed, ...]
    rule_sets: tuple[RuleSet, ...]
    rules: tuple[PlacedRule, ...]
    standards: Mapping[str, Standard]
    printers: Mapping[str, Mapping[str, Any]]
    materials: Mapping[str, Material]
    readers: Mapping[str, ArtworkReader] = field(factory=dict)
    languages: Mapping[str, tuple[str, ...]] = field(factory=dict)
    formats: Mapping[str, ReportFormat] = field(factory=dict)
    handling_kinds: Mapping[str, HandlingKind] = field(factory=dict)
    _later: tuple[Brought, ...] = field(repr=False, default=())
    _recipe: Recipe = field(repr=False, factory=Recipe)

    def __reduce__(self) -> tuple[object, ...]:
        recipe = self._recipe
        objects = tuple(plugin_sources.pack_plugin(plugin) for plugin in recipe.objects)
        return _loaded_alike, (
            recipe.entry_points,
            recipe.files,
            objects,
            recipe.block,
            self._brought(),
        )

    def __copy__(self) -> Plugins:
        # In the same process nothing need be loaded again.
        return self

    def __deepcopy__(self, memo: object) -> Plugins:
        return self

    def __repr__(self) -> str:
        failed = "".join(f"; {one.name} failed" for one in self.failed)
        names = ", ".join(one.name for one in self.loaded)
        return f"<Plugins: {names}; {len(self.rules)} rules{failed}>"

    def _brought(self) -> BroughtByName:
        """By name of the plugin, what must be the same wherever it is loaded."""
        return {one.name: (one.version, one.adds, one.digest) for one in self.loaded} | {
            # One that failed here must fail there too: else a result would depend on where it was
            # made.
            one.name: ()
            for one in self.failed
        }

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all plugins, those that failed too."""
        return (*(one.name for one in self.loaded), *(one.name for one in self.failed))

    @property
    def not_loaded(self) -> tuple[str, ...]:
        """The names of plugins that are installed and were not asked for."""
        if self._recipe.entry_points:
            return ()
        return tuple(sorted({name for name, _, _ in plugin_sources.installed_plugins()}))

    @property
    def blocked(self) -> tuple[str, ...]:
        """The names of plugins that were asked for and left out."""
        return tuple(sorted(self._recipe.block))

    def unloaded_words(self) -> str:
        """What to say where something is missing that a plugin might have brought: the plugins that
        failed, were not asked for or are blocked. Empty where there are none.
        """
        return plugin_sources.unloaded_words(self.failed, self.not_loaded, self.blocked)

    def rule_named(self, name: str) -> Rule:
        """The rule of that name.

        Raises PluginError, with the nearest known name, where there is none.
        """
        known = {placed.rule.name: placed.rule for placed in self.rules}
        if name not in known:
            near = nearest_ending(name, tuple(known))
            hint = f"; did you mean {near}?" if near else ""
            raise PluginError(f"no rule is called {name}{hint}")
        return known[name]

    @property
    def settings(self) -> Mapping[str, type[Any] | None]:
        """The classes of the settings of hooks, by plugin; None for a plugin without settings."""
        own = {
            one.loaded.name: type(one.settings) for one in self._later if one.settings is not None
        }
        return {one.name: own.get(one.name) for one in self.loaded}

    @property
    def data(self) -> Mapping[str, Mapping[str, type]]:
        """The classes of the data of plugins, by the name of the data and by place."""
        return {one.data.name: one.data.classes for one in self.loaded}

    @property
    def data_by_rule(self) -> Mapping[str, OwnData]:
        """The data that each rule may ask for: that of its own plugin, where this declares any."""
        own = {one.name: one.data for one in self.loaded if one.data.classes}
        return {
            placed.rule.name: own[placed.plugin] for placed in self.rules if placed.plugin in own
        }

    def configured(self, shop: Shop) -> Plugins:
        """These plugins, with the settings that a shop has set for their hooks.

        Raises Refused where these do not fit.
        """
        if not shop.plugin_settings:
            return self
        given = shop.with_whole_names(self.names).settings_of_plugins(self.settings)
        later = [
            evolve(one, settings=given.get(one.loaded.name, one.settings)) for one in self._later
        ]
        return evolve(self, later=tuple(later))

    def precedence(
        self, job: Job, seconds: float | None = None
    ) -> tuple[list[PluginPrecedence], list[Fault]]:
        """Extra precedence for a job, sorted, and the faults of plugins that failed."""
        ids = {item.id for item in job.items}
        pairs: list[PluginPrecedence] = []
        faults = []
        for one, hook in self.implementing("signrules_precedence"):
            given = copied_job(job)
            try:
                # Generators run while they are read, so reading is contained as well.
                found = call_contained(partial(pairs_from, hook, given, ids), seconds)
                demand_unchanged(given, job)
            except (Contained, PluginError) as error:
                faults.append(hook_fault("signrules_precedence", one, "job", error))
            else:
                pairs += (PluginPrecedence(*pair, one.name) for pair in found)
        return sorted(pairs), faults

    def translate(
        self,
        text: str,
        grade: str = "contracted",
        language: str = "en",
        *,
        seconds: float | None = None,
    ) -> tuple[str | None, list[Fault]]:
        """A line of text as braille cells, None where no plugin translates it; and the faults of
        those that failed.

        Plugins are asked in their order (`signrules_before`) until one answers; see the hook
        `signrules_translate_braille`.
        """
        faults: list[Fault] = []
        for one, hook in self.implementing("signrules_translate_braille"):
            try:
                asked = partial(hook, text=text, grade=grade, language=language)
                cells = call_contained(asked, seconds)
                if cells is not None:
                    return cells_from(cells), faults
            except (Contained, PluginError) as error:
                faults.append(
                    hook_fault("signrules_translate_braille", one, shown_value(text), error)
                )
        return None, faults

    def quantities(
        self,
        job: Job,
        order: tuple[str, ...],
        counted: Mapping[str, float],
        seconds: float | None = None,
    ) -> tuple[dict[str, float], list[Fault]]:
        """What plugins count besides, by name; and the faults of those that failed."""
        found: dict[str, float] = {}
        counted_by = dict.fromkeys(counted, BUILT_IN)
        faults = []
        for one, hook in self.implementing("signrules_quantities"):
            given = copied_job(job)
            try:
                asked = partial(
                    # None is shown what another has counted: their order would matter.
                    hook,
                    job=given,
                    order=order,
                    quantities=known_values(counted),
                )
                own = call_contained(partial(numbers_from, asked, counted_by), seconds)
                demand_unchanged(given, job)
            except (Contained, PluginError) as error:
                faults.append(hook_fault("signrules_quantities", one, "job", error))
            else:
                found |= own
                counted_by |= dict.fromkeys(own, one.name)
        return found, faults

    def implementing(self, hook: str) -> Iterator[tuple[Loaded, Callable[..., Any]]]:
        """The plugins that have a hook to be asked later, each with it."""
        for one in self._later:
            if hook in one.later:
                given = {"settings": one.settings, "data": one.loaded.data}
                yield one.loaded, partial(one.later[hook], **given)


def load_plugins(
    *,
    entry_points: bool = False,
    files: Sequence[str | Path] = (),
    objects: Sequence[object] = (),
    block: Sequence[str] = (),
) -> Plugins:
    """The built-in sets, and whatever else is asked for.

    `entry_points` looks for installed plugins in the group `signrules`; `files` are Python files;
    `objects` modules or instances with hook implementations, called by their `__name__` or their
    class; `block` names plugins to leave out. The order in which they are given changes nothing.
    A plugin that cannot be loaded stands in `failed`, and an evaluation with it is incomplete.
    Of two that read files of one suffix, one of `files` or `objects` goes before an installed one.
    Raises PluginError where two plugins, or what they bring, have the same name, where a name in
    `block` is that of none, with the nearest one, and where a text or a plugin stands for a list;
    TypeError where a path or a number stands among the objects.
    """
    recipe = plugin_sources.recipe_of(entry_points, files, objects, block)
    with work_stage("load_plugins"):
        if entry_points or recipe.files or recipe.objects or recipe.block:
            plugins = _loaded_from(recipe)
        else:
            plugins = _built_in_alone()
    for one in plugins.loaded[1:]:
        tell_event(INFO, "loaded the plugin %s %s (%s)", one.name, one.version, one.origin)
    for failed in plugins.failed:
        tell_event(WARNING, "the plugin %s was not loaded: %s", failed.name, failed.error)
    return plugins


@cache
def _built_in_alone() -> Plugins:
    return _loaded_from(Recipe())


def _loaded_from(recipe: Recipe) -> Plugins:
    each = gather_plugins(recipe)
    recipe = evolve(recipe, block=each.block)
    return evolve(_brought_together(each.brought, each.failed), recipe=recipe)


def _loaded_alike(
    entry_points: bool,
    files: tuple[tuple[str, Path], ...],
    packed: tuple[tuple[bool, Any], ...],
    block: tuple[str, ...],
    brought: BroughtByName,
) -> Plugins:
    """What `Plugins` are when they arrive in another process."""
    plugins = _loaded_from(
        Recipe(
            entry_points, files, tuple(plugin_sources.unpack_plugin(*one) for one in packed), block
        )
    )
    demand_alike(plugins._brought(), brought, plugins.failed)
    return plugins


def _brought_together(brought: Sequence[Brought], failed: Sequence[Failed]) -> Plugins:
    demand_one_owner(brought)
    everything = sorted(brought, key=lambda one: one.loaded.name)
    tables = tables_of(everything)
    rule_sets: list[RuleSet] = []
    rules: list[PlacedRule] = []
    printers: dict[str, Mapping[str, Any]] = {}
    materials: dict[str, Material] = {}
    readers: dict[str, ArtworkReader] = {}
    languages: dict[str, tuple[str, ...]] = {}
    formats: dict[str, ReportFormat] = {}
    kinds: dict[str, HandlingKind] = {}
    for one in everything:
        rule_sets += one.rule_sets
        for tag, text in one.languages.items():
            languages[tag] = (*languages.get(tag, ()), text)
        formats |= {each.name: each for each in one.formats}
        kinds |= {each.name: each for each in one.handling_kinds}
        rules += one.placed_rules(foreign=one.loaded.name != BUILT_IN)
        printers |= {id: MappingProxyType(table) for id, table in one.printers.items()}
        materials |= {each.id: each for each in one.materials}
        readers |= {suffix: each for each in one.readers for suffix in each.suffixes}
    return Plugins(
        tuple(one.loaded for one in brought),
        tuple(failed),
        tuple(rule_sets),
        tuple(rules),
        MappingProxyType(compared_tables(amended_tables(tables), tables)),
        MappingProxyType(printers),
        MappingProxyType(materials),
        MappingProxyType(readers),
        MappingProxyType(languages),
        MappingProxyType(formats),
        MappingProxyType(kinds),
        tuple(one for one in in_answering_order(brought) if one.later or one.settings is not None),
    )


def hook_fault(hook: str, plugin: Loaded, subject: str, error: Exception) -> Fault:
    """What is told of a hook that failed when it was asked of a subject."""
    return Fault(hook, plugin.name, plugin.version, subject, str(error))
