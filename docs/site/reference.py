"""The pages of the public names: one for each part of the library, its names as autodoc objects,
and a list of them all with what each says in its first sentence.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator, Mapping
from importlib import import_module
from itertools import chain

from attrs import frozen

import signrules
import signrules.testing

_HEAD = """\
# Public names

Import each name from `signrules`; those of the part [testing](reference/testing.md) from
`signrules.testing`, which needs the extra `testing`. What is not listed may change without notice.
These pages are made of the docstrings.

Most programs begin with [`read_job`](#signrules.read_job) and [`evaluate`](#signrules.evaluate),
read an [`Evaluation`](#signrules.Evaluation) with its [`Plan`](#signrules.Plan) and each
[`Check`](#signrules.Check), and ask on with [`safe_order`](#signrules.safe_order),
[`headroom`](#signrules.headroom) and [`run_sheet`](#signrules.run_sheet). A plugin begins with
[`rule`](#signrules.rule) and [`check`](#signrules.check).
"""


_SUMS = ("__add__", "__sub__")
"""The arithmetic that a class may have; it is shown beside its methods."""


@frozen
class PublicName:
    """A public name: where it is imported from, and the module that makes it."""

    name: str
    package: str
    home: str

    @property
    def value(self) -> object:
        """What it stands for."""
        return getattr(import_module(self.package), self.name)

    @property
    def text(self) -> str:
        """What documents it: its docstring, or the text after a constant."""
        if inspect.isclass(self.value) or inspect.isfunction(self.value):
            return inspect.getdoc(self.value) or ""
        return text_after(self.name, self.home)


def public_names() -> Mapping[str, tuple[PublicName, ...]]:
    """The public names by the part of the library that makes them, in the order of the alphabet."""
    parts: dict[str, list[PublicName]] = {}
    for home, names in signrules._HOMES.items():
        part = parts.setdefault(home.partition(".")[0], [])
        part += [PublicName(name, "signrules", f"signrules.{home}") for name in names]
    parts["testing"] = [
        PublicName(name, "signrules.testing", "signrules.testing")
        for name in signrules.testing.__all__
    ]
    return {
        part: tuple(sorted(parts[part], key=lambda each: each.name.lower()))
        for part in sorted(parts)
    }


def every_name() -> tuple[PublicName, ...]:
    """The public names of all parts."""
    return tuple(chain.from_iterable(public_names().values()))


def reference_pages() -> dict[str, str]:
    """The text of each page by its path in the documents."""
    parts = public_names()
    pages = {
        f"reference/{part}.md": "\n".join(_part_lines(part, names)) for part, names in parts.items()
    }
    return {"reference.md": "\n".join(_overview_lines(parts)), **pages}


def _overview_lines(parts: Mapping[str, tuple[PublicName, ...]]) -> Iterator[str]:
    yield _HEAD
    yield from ("```{toctree}", ":hidden:", "", *(f"reference/{part}" for part in parts), "```", "")
    for part, names in parts.items():
        yield from (f"## [{part}](reference/{part}.md)", "", _first_sentence(_part_text(part)), "")
        for each in names:
            link = f"[`{each.name}`](#{each.package}.{each.name})"
            yield f"- {link}: {_first_sentence(each.text)}"
        yield ""


def _part_lines(part: str, names: tuple[PublicName, ...]) -> Iterator[str]:
    yield from (f"# {part}", "", _first_sentence(_part_text(part)), "", "```{eval-rst}")
    for each in names:
        yield from _directive(each)
    yield from ("```", "")


def _directive(each: PublicName) -> Iterator[str]:
    """The directive of autodoc that documents a name."""
    yield f".. currentmodule:: {each.package}"
    yield ""
    value = each.value
    if inspect.isfunction(value):
        yield f".. autofunction:: {each.name}"
    elif inspect.isclass(value) and issubclass(value, BaseException):
        yield f".. autoexception:: {each.name}"
        yield "   :members:"
    elif inspect.isclass(value):
        yield f".. autoclass:: {each.name}"
        yield "   :members:"
        yield "   :undoc-members:"
        sums = [name for name in _SUMS if name in vars(value)]
        if sums:
            yield f"   :special-members: {', '.join(sums)}"
    else:
        yield f".. py:data:: {each.name}"
        yield ""
        yield from (f"   {line}" for line in each.text.splitlines())
    yield ""


def _part_text(part: str) -> str:
    return inspect.getdoc(import_module(f"signrules.{part}")) or ""


def _first_sentence(text: str) -> str:
    paragraph = " ".join(text.partition("\n\n")[0].split())
    return re.split(r"(?<=\.)\s", paragraph, maxsplit=1)[0]


def text_after(name: str, home: str) -> str:
    """The text that stands after the constant of this name, in the module that makes it."""
    body = ast.parse(inspect.getsource(import_module(home))).body
    for node, after in zip(body, [*body[1:], None], strict=True):
        if isinstance(node, ast.ImportFrom) and name in [each.name for each in node.names]:
            return text_after(name, str(node.module))
        if isinstance(node, ast.Assign | ast.AnnAssign) and name in _targets(node):
            if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant):
                return inspect.cleandoc(str(after.value.value))
            return ""
    raise LookupError(f"{home} does not make {name}")


def _targets(node: ast.Assign | ast.AnnAssign) -> list[str]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    return [target.id for target in targets if isinstance(target, ast.Name)]
