"""What a plugin holds and does not bring: slips of the pen that nobody would notice."""

from __future__ import annotations

import ast
import inspect
import sys
import textwrap
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from difflib import SequenceMatcher
from types import ModuleType

from signrules.model.wording import listed_names, nearest_name
from signrules.rules.declaration import Rule

START = "signrules_"
"""Everything that is read of a plugin by its name begins so."""

# One letter off in a name of this length; common practice, no published source.
_ALIKE = 0.85
_MARKS = ("hookimpl", "rule")
_DRAFTS = ("check", "one_of", "missing")
_Definition = ast.FunctionDef | ast.AsyncFunctionDef


def overlooked_names(plugin: object, known: tuple[str, ...], hook_mark: str) -> Iterator[str]:
    """What would be passed over without a word: a name that is almost one that is read, a
    definition that another takes the place of.

    `known` are the names that are read of a plugin, `hook_mark` is the attribute that decorated
    functions have.
    """
    for name in dir(plugin):
        value = getattr(plugin, name)
        # A module that is imported has a name of its own; a marked function is told by pluggy.
        if isinstance(value, ModuleType) or hasattr(value, hook_mark):
            continue
        near_name = almost_known(name, known)
        if near_name is not None:
            advice = f"write {near_name}, or call it something else"
            yield f"{name} is called almost like {near_name}: {advice}"
    yield from _defined_twice(plugin, known)


def overlooked_hooks(plugin: object, known: Collection[str], hook_mark: str) -> Iterator[str]:
    """Hooks of a module that nobody asks: in a class, or where the module is run as a program."""
    if not isinstance(plugin, ModuleType):
        return
    classes = [
        value
        for value in vars(plugin).values()
        if isinstance(value, type) and value.__module__ == plugin.__name__
    ]
    for cls in classes:
        for name in known:
            if hasattr(vars(cls).get(name), hook_mark):
                yield (
                    f"{name} stands in the class {cls.__name__}, where it is never asked: write it"
                    " as a function of the module, or let the entry point name an instance"
                )
    for node in _run_as_program(plugin):
        if node.name in known and not hasattr(plugin, node.name):
            yield (
                f"{node.name} on line {node.lineno} is there only where the file is run as a"
                " program: write it outside of `if __name__`"
            )


def copied_version(plugin: object) -> Iterator[str]:
    """A version of the plugin API that is taken from whatever is installed; what comes with
    signrules may do that.
    """
    if str(getattr(plugin, "__name__", "")).startswith("signrules."):
        return
    for node in _written(plugin):
        if not isinstance(node, ast.Assign) or _mark_of(node.value) != "API_VERSION":
            continue
        if "signrules_api" in map(_mark_of, node.targets):
            yield (
                f"signrules_api on line {node.lineno} is that of whatever is installed: write the"
                ' version for which the plugin was written, such as "1.0"'
            )


def _run_as_program(plugin: ModuleType) -> Iterator[_Definition]:
    """The functions below `if __name__ == ...`, as they are written."""
    for node in _written(plugin):
        if isinstance(node, ast.If) and "__name__" in _names_in(node.test):
            yield from (
                definition for definition in ast.walk(node) if isinstance(definition, _Definition)
            )


def lost_checks(plugin: object) -> Iterator[str]:
    """Checks that rules make and do not yield."""
    for node in _written_functions(plugin):
        if not any(_mark_of(decorator) == "rule" for decorator in node.decorator_list):
            continue
        statements = (
            expression.value for expression in ast.walk(node) if isinstance(expression, ast.Expr)
        )
        for value in statements:
            if isinstance(value, ast.Call) and _mark_of(value) in _DRAFTS:
                yield (
                    f"{_mark_of(value)}(...) on line {value.lineno} is lost: write `yield` before"
                    " it"
                )


def _names_in(node: ast.AST) -> set[str]:
    return {name_node.id for name_node in ast.walk(node) if isinstance(name_node, ast.Name)}


def almost_known(name: str, known: tuple[str, ...]) -> str | None:
    """The known name for which a name looks like a slip; None for what is known, private, or like
    none of them.
    """
    if name in known or name.startswith("_"):
        return None
    small = name.lower()
    if small.startswith(START):
        near_rest = nearest_name(
            small.removeprefix(START), tuple(known_name.removeprefix(START) for known_name in known)
        )
        return None if near_rest is None else f"{START}{near_rest}"
    return next((known_name for known_name in known if _are_alike(small, known_name)), None)


def _are_alike(name: str, known_name: str) -> bool:
    matcher = SequenceMatcher(None, name, known_name)
    # The quick ones are never below the ratio itself, and mostly say enough.
    ratios = (matcher.real_quick_ratio, matcher.quick_ratio, matcher.ratio)
    return all(ratio() >= _ALIKE for ratio in ratios)


def _defined_twice(plugin: object, known: Collection[str]) -> Iterator[str]:
    """Hooks and rules of which a later definition of the same name has taken the place."""
    lines: dict[str, list[int]] = defaultdict(list)
    for node in _written_functions(plugin):
        if node.name in known or any(
            _mark_of(decorator) in _MARKS for decorator in node.decorator_list
        ):
            lines[node.name].append(node.lineno)
    for name, line_numbers in lines.items():
        if len(line_numbers) > 1:
            where = " and ".join(map(str, line_numbers))
            yield (
                f"{name} is defined on lines {where}: only the last counts, so give each a name of"
                " its own"
            )


def _written_functions(plugin: object) -> Iterator[_Definition]:
    """The functions at the top of a module, or in the class of an object, as they are written."""
    yield from (node for node in _written(plugin) if isinstance(node, _Definition))


def _written(plugin: object) -> list[ast.stmt]:
    """What stands at the top of a module, or in the class of an object, as it is written."""
    try:
        if isinstance(plugin, ModuleType):
            return ast.parse(inspect.getsource(plugin)).body
        owner = plugin if isinstance(plugin, type) else type(plugin)
        # A class may stand within a function, indented.
        (parsed,) = ast.parse(textwrap.dedent(inspect.getsource(owner))).body
        return parsed.body if isinstance(parsed, ast.ClassDef) else []
    except (OSError, TypeError, SyntaxError, ValueError):
        return []  # What was not written in a file has no lines to look at.


def _mark_of(decorator: ast.expr) -> str:
    called = decorator.func if isinstance(decorator, ast.Call) else decorator
    return called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")


def in_no_set(plugin: object, brought: Iterable[Rule]) -> Iterator[str]:
    """Rules that a plugin declares and does not give back in any set.

    Looked for in the plugin, and in those modules of its package from which it has other rules.
    """
    rules = tuple(brought)
    names = {rule.name for rule in rules}
    missed = {rule.name for rule in _declared(plugin, rules) if rule.name not in names}
    if missed:
        what = "the rule" if len(missed) == 1 else "the rules"
        yield (
            f"{what} {listed_names(sorted(missed))} would never run: give them back in a RuleSet by"
            " signrules_rule_sets, or take @rule away"
        )


def _declared(plugin: object, brought: Iterable[Rule]) -> Iterator[Rule]:
    if not isinstance(plugin, ModuleType):
        values = (getattr(plugin, name) for name in dir(plugin))
        yield from (value for value in values if isinstance(value, Rule))
        return
    package = plugin.__name__.partition(".")[0]
    names = {plugin.__name__, *(_module_of(member) for member in brought)}
    for name in sorted(name for name in names if name.partition(".")[0] == package):
        module = plugin if name == plugin.__name__ else sys.modules.get(name)
        own_rules = (value for value in vars(module).values() if isinstance(value, Rule))
        yield from (value for value in own_rules if _module_of(value) == name)


def _module_of(rule: Rule) -> str:
    return getattr(rule.function, "__module__", None) or ""
