"""Where plugins come from: distributions, files and objects, and how they travel to other
processes.
"""

from __future__ import annotations

import hashlib
import importlib
import importlib.util
import linecache
import pickle
import sys
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import partial
from importlib.machinery import SourceFileLoader
from numbers import Number
from os import PathLike
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

from attrs import frozen

from signrules.errors import PluginError
from signrules.model.wording import joined_names, shown_value
from signrules.rules.containment import Contained, call_contained, printable_line
from signrules.rules.declaration import Rule, RuleSet
from signrules.rules.engine import Fault

GROUP = "signrules"
"""The entry-point group."""

_EXAMPLES = {"files": '"shop_rules.py"', "objects": "module", "block": '"signrules-quay"'}
"""An entry of each list that `load_plugins` takes."""

INSTALLED = "entry point"
"""The origin of a plugin that nobody named: it is installed."""


def name_of(plugin: object) -> str:
    """What an object calls itself, or else its class."""
    try:
        # An object may do anything where it is asked for its name.
        name = call_contained(lambda: getattr(plugin, "__name__", None))
    except Contained:
        name = None
    return printable_line(name) if type(name) is str and name else type(plugin).__name__


@frozen
class Failed:
    """One plugin that was asked for and could not be used."""

    name: str
    version: str
    origin: str
    error: str

    @property
    def perhaps(self) -> str:
        """What to say where something is missing that this plugin might have brought."""
        return f"it may be one of the plugin {self.name}, which was not loaded: {self.error}"

    def fault(self) -> Fault:
        """The failed plugin as a fault of an evaluation."""
        return Fault("(loading)", self.name, self.version, self.origin, self.error)


def unloaded_words(
    failed: Iterable[Failed], not_loaded: Sequence[str], blocked: Sequence[str]
) -> str:
    """What to say where something is missing that a plugin might have brought.

    Empty where there is none that failed, was not asked for or is blocked.
    """
    words = [one.perhaps for one in failed]
    if not_loaded:
        advice = "load_plugins(entry_points=True)"
        words.append(f"installed and not loaded: {joined_names(not_loaded)}: {advice}")
    if blocked:
        words.append(f"blocked: {joined_names(blocked)}")
    return "".join(f"; {each}" for each in words)


@frozen(eq=False)
class Recipe:
    """What was asked of `load_plugins`, so that another process can do the same: the files with
    their whole paths.
    """

    entry_points: bool = False
    files: tuple[tuple[str, Path], ...] = ()
    objects: tuple[object, ...] = ()
    block: tuple[str, ...] = ()


def recipe_of(
    entry_points: bool,
    files: Sequence[str | Path],
    objects: Sequence[object],
    block: Sequence[str],
) -> Recipe:
    """What `load_plugins` is asked for.

    Raises PluginError where a text or a plugin stands for a list, TypeError where a path or a
    number stands among the objects.
    """
    _demand_lists(files=files, objects=objects, block=block)
    objects = tuple(objects)
    _demand_objects(objects)
    named = tuple((str(file), Path(file).absolute()) for file in files)
    return Recipe(entry_points, named, objects, tuple(block))


def plugins_asked_for(recipe: Recipe) -> list[tuple[str, str, str, Callable[[], Any]]]:
    """Name, version, origin and what loads it, of each plugin, those to leave out too.

    Sorted, so that it makes no difference in which order plugins were named.
    """
    asked: list[tuple[str, str, str, Callable[[], Any]]] = []
    if recipe.entry_points:
        for name, version, load in installed_plugins():
            asked.append((name, version, INSTALLED, load))
    for file, path in recipe.files:
        asked.append((path.stem, "", file, partial(module_from, path, file)))
    for plugin in recipe.objects:
        asked.append((name_of(plugin), "", "object", partial(_the_plugin_itself, plugin)))
    return sorted(asked, key=lambda one: one[:3])


def _the_plugin_itself(plugin: object) -> object:
    return plugin


def _demand_lists(**given: object) -> None:
    """Raises PluginError where what `load_plugins` was given is no list: a text or a path, of which
    each letter would be a plugin, or one object.
    """
    for name, value in given.items():
        if not isinstance(value, Iterable) or isinstance(value, str | bytes | Mapping):
            raise PluginError(
                f"{name} is {shown_value(value)}, expected a list: {name}=[{_EXAMPLES[name]}]"
            )


def _demand_objects(objects: Iterable[object]) -> None:
    """Raises TypeError for what is surely no plugin, such as a path, a rule set or a list of
    modules: nothing of it would be loaded, and nothing said.
    """
    for number, one in enumerate(objects):
        if _is_plain_value(one) or type(one).__module__.startswith("signrules."):
            raise TypeError(
                f"objects[{number}] is {_plainly_shown(one)}, expected a module or an object with"
                f" hooks{_where_it_belongs(one)}"
            )


def _is_plain_value(one: object) -> bool:
    plain_types = PathLike | Number | Collection | FunctionType
    return one is None or isinstance(one, plain_types)


def _plainly_shown(one: object) -> str:
    if one is None or isinstance(one, str | bytes | PathLike | Number):
        return shown_value(one)
    return f"of the class {type(one).__name__}"


def _where_it_belongs(one: object) -> str:
    if isinstance(one, Rule | RuleSet):
        return ": signrules_rule_sets gives rule sets"
    if isinstance(one, str | bytes | PathLike):
        return '; the path of a file goes into files=["shop_rules.py"]'
    return ""


def pack_plugin(plugin: object) -> tuple[bool, Any]:
    """A plugin that is an object, as it travels: a module by its name, anything else pickled."""
    # Modules cannot be pickled; the other process imports one by its name.
    if isinstance(plugin, ModuleType) and sys.modules.get(plugin.__name__) is plugin:
        return True, plugin.__name__
    try:
        return False, pickle.dumps(plugin)
    except Exception as error:
        name = name_of(plugin)
        advice = "pass a module that can be imported, or name a file"
        raise PluginError(
            f"the plugin {name} cannot be sent to another process ({error}): {advice}"
        ) from None


def unpack_plugin(by_name: bool, data: Any) -> object:
    """A plugin that has travelled."""
    return importlib.import_module(data) if by_name else pickle.loads(data)


def installed_plugins() -> list[tuple[str, str, Callable[[], Any]]]:
    """What distributions bring by the entry-point group: name, version, and what loads it."""
    from importlib.metadata import entry_points

    return [
        (each.name, each.dist.version if each.dist else "", each.load)
        for each in entry_points(group=GROUP)
    ]


class FromSource(SourceFileLoader):
    """Compiles a plugin file from its source each time it is loaded. `digest` is the SHA-256 of
    the bytes that it compiled.

    Python would take the bytecode that it keeps in `__pycache__` wherever the size and the second
    of the last change are the same, and a rule may be edited twice in one second.
    """

    digest = ""

    def get_code(self, fullname: str) -> CodeType:
        """The code of the file, named by its path for tracebacks."""
        source = self.get_data(self.path)
        self.digest = hashlib.sha256(source).hexdigest()
        return self.source_to_code(source, self.path)


def digest_of_source(plugin: object) -> str:
    """The SHA-256 of the bytes of which a plugin file was loaded; "" for any other plugin."""
    loader = getattr(plugin, "__loader__", None)
    return loader.digest if isinstance(loader, FromSource) else ""


def module_from(path: Path, name: str) -> Any:
    """The module in a file.

    Raises PluginError where there is none, and whatever the file raises.
    """
    if not path.is_file():
        raise PluginError(f"there is no file {name}")
    spec = importlib.util.spec_from_file_location(f"signrules_plugin_{path.stem}", path)
    if spec is None or not isinstance(spec.loader, SourceFileLoader):
        raise PluginError(f"{name} is not a Python file")
    spec.loader = FromSource(spec.name, str(path))
    # Lines of the file that were read before; slips are looked for in those of today.
    linecache.cache.pop(str(path), None)
    module = importlib.util.module_from_spec(spec)
    # Annotations as text are looked up in the module by its name, by dataclasses and for settings.
    before = sys.modules.get(spec.name)
    sys.modules[spec.name] = module
    try:
        spec.loader.exec_module(module)
    except BaseException:
        del sys.modules[spec.name]
        if before is not None:
            # A file that fails leaves no half of a module behind, and takes none away.
            sys.modules[spec.name] = before
        raise
    return module
