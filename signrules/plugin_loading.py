"""What one plugin brings, asked for and checked: rule sets, standards, printers, materials, readers
of artwork, and hooks to ask later.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

import pluggy
from attrs import evolve, field, frozen

from signrules import hookspecs
from signrules.artwork.reader import ArtworkReader
from signrules.catalogue.materials import Material
from signrules.documents.plugin_tables import OwnData
from signrules.errors import PluginError
from signrules.load_answers import LoadAnswers
from signrules.model.handling_kinds import HandlingKind
from signrules.model.wording import listed_names, nearest_name, shown_value
from signrules.plugin_sources import digest_of_source
from signrules.report_formats import ReportFormat, demand_usable_format
from signrules.rules.checks import Level, Source
from signrules.rules.containment import Contained, call_contained, printable_line
from signrules.rules.declaration import READS, SUBJECTS, Rule, RuleSet
from signrules.rules.declared_data import data_of_plugin, demand_declared_data
from signrules.rules.engine import PlacedRule
from signrules.rules.overlooked_hooks import (
    copied_version,
    in_no_set,
    lost_checks,
    overlooked_hooks,
    overlooked_names,
)
from signrules.rules.settings import Setting, settings_of
from signrules.rules.sound_drafts import is_said_text, is_sound_text
from signrules.rules.unusual_numbers import unusual_numbers, why_contradictory, why_unusable
from signrules.standards.dimension_tables import Standard

LATER = (
    "signrules_precedence",
    "signrules_translate_braille",
    "signrules_quantities",
    "signrules_price_lines",
    "signrules_remedies",
)
"""Hooks that are called for each job or estimate and not when a plugin is loaded."""

NOTHING = object()
"""In place of a hook that a plugin does not have."""

BEFORE, AFTER = "signrules_before", "signrules_after"
"""The attributes that name the plugins before and after which one answers."""

_OWN_NAMES = (
    "signrules_api",
    "signrules_settings",
    "signrules_data",
    "signrules_data_name",
    BEFORE,
    AFTER,
)
"""What is read of a plugin beside its hooks."""

T = TypeVar("T")
_VERSION = re.compile(r"([0-9]+)\.([0-9]+)\Z")


@frozen
class Loaded:
    """One plugin that was loaded: its name and version, where it came from, the version of the API
    for which it was written ("" where it does not say), which hooks it implements, what it adds,
    the settings of its hooks, what of it wants a look (numbers like those of another unit, texts
    that are translated already), its data, and which of its readers another plugin goes before, in
    words.

    `before` and `after` are the plugins before and after which it answers, `order_notes` say in
    words which of these are not loaded. `digest` is the SHA-256 of the bytes of its file as they
    were when it was loaded, and "" for a plugin that is no file.
    """

    name: str
    version: str
    origin: str
    hooks: tuple[str, ...]
    api: str = ""
    adds: tuple[str, ...] = ()
    settings: tuple[Setting, ...] = ()
    unusual: tuple[str, ...] = ()
    data: OwnData = field(default=OwnData(""), hash=False)
    passed_over: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    order_notes: tuple[str, ...] = ()
    digest: str = ""


@frozen(eq=False)
class Brought:
    """What one plugin brings.

    `later` are its hooks that are asked for each job, `settings` what they are given.
    """

    loaded: Loaded
    rule_sets: tuple[RuleSet, ...]
    standards: tuple[Standard, ...]
    printers: Mapping[str, Mapping[str, Any]]
    materials: tuple[Material, ...]
    readers: tuple[ArtworkReader, ...]
    languages: Mapping[str, str]
    formats: tuple[ReportFormat, ...]
    handling_kinds: tuple[HandlingKind, ...]
    later: Mapping[str, Callable[..., Any]]
    settings: Any = None

    def placed_rules(self, *, foreign: bool) -> Iterator[PlacedRule]:
        """Its rules, each with where it comes from."""
        name, version = self.loaded.name, self.loaded.version
        for rule_set in self.rule_sets:
            for rule in rule_set.rules:
                yield PlacedRule(rule, name, version, foreign=foreign)


def bring_plugin(
    name: str, version: str, origin: str, load: Callable[[], Any], *, known_sound: bool = False
) -> Brought:
    """Load one plugin and ask what it brings.

    Of one that is `known_sound` the numbers of tables, printers and materials are not looked at.

    Raises Contained for whatever the plugin raises, PluginError for what does not fit: another
    version of the API, an unknown hook, a hook that gives back something of the wrong kind,
    settings that are none.
    """
    return _call_held(lambda: _brought_by(name, version, origin, load(), known_sound))


def _call_held(call: Callable[[], T]) -> T:
    """What the call gives back; whatever of a plugin's own making it raises comes back as
    Contained.
    """
    ours: list[PluginError] = []

    def run() -> T:
        try:
            return call()
        except PluginError as error:
            # Kept apart: what this module finds is told as it stands, and not as a failure of the
            # plugin.
            ours.append(error)
            raise

    try:
        return call_contained(run)
    except Contained:
        if ours:
            raise ours[0] from None
        raise


def _brought_by(name: str, version: str, origin: str, plugin: Any, known_sound: bool) -> Brought:
    # A distribution knows its version; of a file or an object only the module can say.
    version = version or printable_line(str(getattr(plugin, "__version__", "")))
    api = _api_version(plugin)
    settings = _hook_settings(plugin)
    data = _own_data(plugin, name)
    manager = pluggy.PluginManager(hookspecs.PROJECT)
    manager.add_hookspecs(hookspecs)
    hooks = _registered_hooks(manager, name, plugin)
    answers = LoadAnswers(manager)
    rule_sets = answers.listed("signrules_rule_sets", RuleSet)
    rules = [one for some in rule_sets for one in some.rules]
    for one in rules:
        _demand_sound_rule(one)
        demand_declared_data(one, data)
    for slip in in_no_set(plugin, rules):
        raise PluginError(slip)
    standards = answers.listed("signrules_standards", Standard)
    materials = answers.listed("signrules_materials", Material)
    printers = answers.tables("signrules_printers")
    readers = answers.listed("signrules_read_artwork", ArtworkReader)
    languages = answers.texts("signrules_languages")
    formats = answers.listed("signrules_report_formats", ReportFormat)
    handling_kinds = answers.listed("signrules_handling_kinds", HandlingKind)
    unusual: tuple[str, ...] = ()
    if not known_sound:
        _demand_usable(standards, printers)
        unusual = tuple(unusual_numbers(standards, printers, materials))
    for reader in readers:
        _demand_usable_reader(reader)
    for each in formats:
        demand_usable_format(each)
    adds = (
        *_names_brought(rule_sets, standards, printers, materials),
        *(f"reader of {suffix}" for reader in readers for suffix in reader.suffixes),
        *(f"language {tag}" for tag in languages),
        *(f"format {each.name}" for each in formats),
        *(f"handling kind {each.name}" for each in handling_kinds),
        *([f"data {data.name}"] if data.classes else []),
    )
    of_hooks = () if settings is None else settings_of(type(settings))
    loaded = Loaded(name, version, origin, hooks, api, adds, of_hooks, unusual, data)
    before, after = (_other_plugins(plugin, name, each) for each in (BEFORE, AFTER))
    digest = digest_of_source(plugin)
    loaded = evolve(loaded, before=before, after=after, digest=digest)
    later = {hook: getattr(manager.hook, hook) for hook in LATER if hook in hooks}
    listed = (rule_sets, standards, printers, materials, readers, languages, formats)
    return Brought(loaded, *listed, handling_kinds, later, settings)


def _registered_hooks(manager: pluggy.PluginManager, name: str, plugin: Any) -> tuple[str, ...]:
    """The hooks that a plugin implements.

    Raises PluginError for what would be passed over without a word.
    """
    hooks_there = {hook: caller.spec.argnames for hook, caller in vars(manager.hook).items()}
    for hook, known in hooks_there.items():
        _demand_hook(hook, known, getattr(plugin, hook, NOTHING))
    names = (*hooks_there, *_OWN_NAMES)
    mark = f"{hookspecs.PROJECT}_impl"
    slips = (
        *overlooked_names(plugin, names, mark),
        *overlooked_hooks(plugin, tuple(hooks_there), mark),
        *lost_checks(plugin),
        *copied_version(plugin),
    )
    for slip in slips:
        raise PluginError(slip)
    try:
        manager.register(plugin, name)
    except pluggy.PluginValidationError as error:
        raise PluginError(" ".join(str(error).split())) from None
    hooks = tuple(sorted(caller.name for caller in manager.get_hookcallers(plugin) or ()))
    for hook in hooks:
        if hook not in hooks_there:
            raise PluginError(f"there is no hook {hook}, expected {_hook_meant(hook, hooks_there)}")
    return hooks


def _hook_meant(hook: str, known: Iterable[str]) -> str:
    """Which hook is meant; all begin alike, so the rest of its name says which."""
    start = f"{hookspecs.PROJECT}_"
    rests = tuple(name.removeprefix(start) for name in known)
    near = nearest_name(hook.removeprefix(start), rests)
    return f"{start}{near} perhaps" if near else f"one of {', '.join(sorted(known))}"


def _demand_usable(
    standards: Iterable[Standard], printers: Mapping[str, Mapping[str, Any]]
) -> None:
    """Raises PluginError for a printer that no job can use, and a table that nothing can meet."""
    for id, table in printers.items():
        for why in why_unusable(table):
            raise PluginError(f"the printer {id} is one that no job can use: {why}")
    for standard in standards:
        for why in why_contradictory(standard):
            raise PluginError(f"the standard {standard.id} cannot be met: {why}")


def _demand_usable_reader(reader: ArtworkReader) -> None:
    """Raises PluginError for a reader of no suffix, or of one that no name ends in."""
    suffixes = reader.suffixes
    sound = isinstance(suffixes, tuple) and suffixes and callable(reader.read)
    if not sound or not all(
        is_sound_text(each) and each.startswith(".") and each == each.lower() for each in suffixes
    ):
        raise PluginError(
            f"signrules_read_artwork gave back a reader of {shown_value(suffixes)}, expected a"
            " tuple of suffixes in lower case such as '.pdf', and a function that reads"
        )


def _demand_hook(hook: str, known: Sequence[str], own: Any) -> None:
    """Raises PluginError where a plugin has a function of a hook's name that is no hook, or asks
    for what is not there.

    pluggy would pass over the one without a word, and tell the other in words of its own.
    """
    if own is NOTHING:
        return
    if not callable(own):
        raise PluginError(
            f"{hook} is {shown_value(own)}, expected a function with @hookimpl above it that gives"
            " that back"
        )
    if not hasattr(own, f"{hookspecs.PROJECT}_impl"):
        raise PluginError(f"{hook} is named like a hook: write @hookimpl above it")
    parameters = inspect.signature(own).parameters.values()
    asked = [
        one.name
        for one in parameters
        # pluggy passes only these: a parameter with a default is the plugin's own.
        if one.kind is one.POSITIONAL_OR_KEYWORD and one.default is one.empty
    ]
    for name in asked:
        if name not in (*known, "self"):
            expected = f"any of {listed_names(list(known))}" if known else "no parameters"
            raise PluginError(f"the hook {hook} asks for {name!r}, expected {expected}")


def _demand_sound_rule(rule: Any) -> None:
    """Raises PluginError for a rule that was not made with @rule, or was changed since."""
    sound = (
        type(rule) is Rule
        and type(rule.name) is str
        and rule.each in SUBJECTS
        # A frozen object can be changed by force, and the engine relies on all of this.
        and set(rule.reads) <= set(READS)
        and ("printing" not in rule.reads or rule.each == "pass")
        and type(rule.level) is Level
        and (not rule.decides or rule.level is Level.STOP)
        and type(rule.source) is Source
        and callable(rule.function)
    )
    if not sound:
        raise PluginError(
            f"signrules_rule_sets gave back {shown_value(rule)} as a rule, expected one made with"
            " @rule"
        )


def _api_version(plugin: object) -> str:
    stated = getattr(plugin, "signrules_api", "")
    if stated == "":
        return ""
    match = _VERSION.match(stated) if isinstance(stated, str) else None
    if match is None:
        raise PluginError(
            f"signrules_api is {shown_value(stated)}, expected a text such as"
            f' "{hookspecs.API_VERSION}"'
        )
    major, minor = (int(part) for part in hookspecs.API_VERSION.split("."))
    # Later versions of one first number only add, so an older plugin finds all that it needs.
    if int(match[1]) != major or int(match[2]) > minor:
        older = (int(match[1]), int(match[2])) < (major, minor)
        what = "get a newer version of the plugin" if older else "get a newer version of signrules"
        raise PluginError(
            f"written for version {stated} of the plugin API; this is {hookspecs.API_VERSION}:"
            f" {what}"
        )
    return match[0]


def _hook_settings(plugin: object) -> Any:
    """The settings of the plugin's hooks as they are where no shop has set anything, None where it
    has none.
    """
    stated = call_contained(lambda: getattr(plugin, "signrules_settings", None))
    if stated is None:
        return None
    try:
        call_contained(lambda: settings_of(stated))
        return call_contained(stated)
    except Contained as failure:
        raise PluginError(f"signrules_settings: {failure}") from None


def _other_plugins(plugin: object, own: str, attribute: str) -> tuple[str, ...]:
    """The names of other plugins that an attribute of a plugin lists."""
    stated = call_contained(lambda: getattr(plugin, attribute, ()))
    sound = isinstance(stated, tuple | list) and all(is_said_text(each) for each in stated)
    if not sound or own in stated:
        raise PluginError(
            f"{attribute} is {shown_value(stated)}, expected names of other plugins such as"
            ' ["signrules-quay"]'
        )
    return tuple(stated)


def _own_data(plugin: object, name: str) -> OwnData:
    """The data of a plugin: their name in documents, and their classes by place."""
    try:
        return call_contained(lambda: data_of_plugin(plugin, name))
    except Contained as failure:
        raise PluginError(f"signrules_data: {failure}") from None


def _names_brought(
    rule_sets: Iterable[RuleSet],
    standards: Iterable[Standard],
    printers: Iterable[str],
    materials: Iterable[Material],
) -> Iterator[str]:
    """Every name that no other plugin may bring too."""
    yield from (f"rule {one.name}" for some in rule_sets for one in some.rules)
    yield from (f"standard {one.id}" for one in standards)
    yield from (f"printer {one}" for one in printers)
    yield from (f"material {one.id}" for one in materials)
