"""The reference of the public names as Markdown, written from the source: signatures, fields,
docstrings.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator
from importlib import import_module
from types import ModuleType

import signrules
import signrules.testing

_HEAD = """\
# Public names

This page is generated from the docstrings. Import each name from `signrules`; those of the last
section from `signrules.testing`, which needs the extra `testing`. What is not listed may change
without notice. A class lists its fields.
"""


_SUMS = ("__add__", "__sub__")
"""The arithmetic that a class may have; it is shown beside its methods."""


def reference() -> str:
    """A section for each module that public names live in, and a heading for each name."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield _HEAD
    for home, names in sorted(signrules._HOMES.items()):
        yield from _section(home, import_module(f"signrules.{home}"), names)
    yield from _section("testing", signrules.testing, signrules.testing.__all__)


def _section(title: str, module: ModuleType, names: tuple[str, ...] | list[str]) -> Iterator[str]:
    yield from (f"## {title}", "", (inspect.getdoc(module) or "").partition("\n")[0], "")
    for name in sorted(names, key=str.lower):
        node, text = _found(name, module)
        yield from (f"### `{name}`", "", *_block(_shown(name, node)), text, "")
        if isinstance(node, ast.ClassDef):
            for method in _methods(node):
                yield from (
                    f"#### `{name}.{method.name}`",
                    "",
                    *_block(_shown(method.name, method)),
                )
                yield from (ast.get_docstring(method) or "", "")


def _found(name: str, module: ModuleType) -> tuple[ast.stmt, str]:
    """The statement that makes a name, and the text that documents it: its docstring, or the text
    after a constant.
    """
    body = ast.parse(inspect.getsource(module)).body
    for at, node in enumerate(body):
        match node:
            case ast.ImportFrom(module=str(home)) if name in (each.name for each in node.names):
                return _found(name, import_module(home))
            case ast.ClassDef() | ast.FunctionDef() if node.name == name:
                return node, ast.get_docstring(node) or ""
            case ast.Assign() | ast.AnnAssign() if name in _targets(node):
                match body[at + 1 : at + 2]:
                    case [ast.Expr(ast.Constant(str(text)))]:
                        return node, inspect.cleandoc(text)
                return node, ""
    raise LookupError(f"{module.__name__} does not make {name}")


def _targets(node: ast.stmt) -> list[str]:
    targets = (
        node.targets
        if isinstance(node, ast.Assign)
        else [node.target]
        if isinstance(node, ast.AnnAssign)
        else []
    )
    return [target.id for target in targets if isinstance(target, ast.Name)]


def _methods(node: ast.ClassDef) -> list[ast.FunctionDef]:
    functions = [each for each in node.body if isinstance(each, ast.FunctionDef)]
    return [each for each in functions if each.name in _SUMS or not each.name.startswith("_")]


def _shown(name: str, node: ast.stmt) -> str:
    """How a name is used: a function with its parameters, a property with its type, a class with
    its fields.
    """
    match node:
        case ast.FunctionDef():
            returns = ast.unparse(node.returns) if node.returns else ""
            if any("property" in ast.unparse(each) for each in node.decorator_list):
                return f"{name}: {returns}"
            arrow = f" -> {returns}" if returns else ""
            one_line = f"{name}({ast.unparse(node.args)}){arrow}"
            if len(one_line) <= 100:
                return one_line
            return "\n".join(
                (f"{name}(", *(f"    {each}," for each in _parameters(node.args)), f"){arrow}")
            )
        case ast.ClassDef():
            bases = f"({', '.join(map(ast.unparse, node.bases))})" if node.bases else ""
            made = [
                each
                for each in node.body
                if isinstance(each, ast.FunctionDef) and each.name == "__init__"
            ]
            fields = [
                ast.unparse(each)
                for each in node.body
                if any(not t.startswith("_") for t in _targets(each))
            ]
            fields += [_shown("__init__", each) for each in made]
            return "\n".join(
                (f"class {name}{bases}", *(f"    {line}" for f in fields for line in f.split("\n")))
            )
        case _:
            return ast.unparse(node)


def _parameters(arguments: ast.arguments) -> list[str]:
    """Each parameter as it is written, `/` and `*` among them."""
    alone = []
    ordered = [*arguments.posonlyargs, *arguments.args]
    values = [None] * (len(ordered) - len(arguments.defaults)) + list(arguments.defaults)
    for at, (each, value) in enumerate(zip(ordered, values, strict=True), start=1):
        alone.append(_parameter(each, value))
        if at == len(arguments.posonlyargs):
            alone.append("/")
    if arguments.vararg or arguments.kwonlyargs:
        alone.append(f"*{_parameter(arguments.vararg, None) if arguments.vararg else ''}")
    alone += [
        _parameter(e, v) for e, v in zip(arguments.kwonlyargs, arguments.kw_defaults, strict=True)
    ]
    if arguments.kwarg:
        alone.append(f"**{_parameter(arguments.kwarg, None)}")
    return alone


def _parameter(argument: ast.arg, value: ast.expr | None) -> str:
    return ast.unparse(argument) + (f" = {ast.unparse(value)}" if value is not None else "")


def _block(code: str) -> Iterator[str]:
    yield from ("```python", code, "```", "")


if __name__ == "__main__":
    print(reference(), end="")
