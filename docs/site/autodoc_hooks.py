"""What the site does with docstrings: fields say what they mean by their declaration, and the names
in signatures lead to the public names.
"""

from __future__ import annotations

import builtins
from collections.abc import Sequence
from typing import Any

import attrs
from docutils import nodes
from reference import every_name
from sphinx.addnodes import pending_xref
from sphinx.application import Sphinx
from sphinx.environment import BuildEnvironment

from signrules.model.declared import DECLARATION


def connect(app: Sphinx) -> None:
    """Register the hooks."""
    app.connect("autodoc-process-docstring", say_meaning)
    app.connect("autodoc-process-signature", leave_out_factories)
    app.connect("doctree-read", keep_builtins)
    # Behind intersphinx, which has 500: what other documentation has is found there.
    app.connect("missing-reference", public_target, priority=600)


def say_meaning(
    app: Sphinx, what: str, name: str, thing: object, options: object, lines: list[str]
) -> None:
    """Give a field without a docstring the meaning that its declaration states."""
    if any(lines) or what != "attribute":
        return
    owner, _, attribute = name.rpartition(".")
    cls = _class_named(owner)
    if cls is None or not attrs.has(cls):
        return
    for each in attrs.fields(cls):
        if each.name == attribute and DECLARATION in each.metadata:
            lines[:] = [each.metadata[DECLARATION].meaning, ""]


def leave_out_factories(
    app: Sphinx,
    what: str,
    name: str,
    thing: object,
    options: object,
    arguments: str | None,
    returned: str | None,
) -> tuple[str | None, str | None]:
    """Show a default that is made anew for each object as left open: attrs says NOTHING for it."""
    shown = None if arguments is None else arguments.replace(" = NOTHING", " = ...")
    return shown, returned


def keep_builtins(app: Sphinx, doctree: nodes.document) -> None:
    """Have `type` and its like in a signature be the built-in one, not a field of that name."""
    for node in doctree.findall(pending_xref):
        if hasattr(builtins, str(node["reftarget"])):
            node.attributes.pop("refspecific", None)


def _class_named(path: str) -> type | None:
    found = {f"{each.package}.{each.name}": each.value for each in every_name()}.get(path)
    return found if isinstance(found, type) else None


def public_target(
    app: Sphinx, env: BuildEnvironment, node: pending_xref, inner: nodes.Element
) -> nodes.Element | None:
    """Lead a name in a signature to the public name, wherever its module is; others stay text."""
    if node.get("refdomain") != "py":
        return None
    last = str(node["reftarget"]).rpartition(".")[2]
    domain = env.domains["py"]
    packages: Sequence[str] = ("signrules", "signrules.testing")
    for package in packages:
        target = f"{package}.{last}"
        if target in domain.objects:  # type: ignore[attr-defined]
            made: Any = domain.resolve_xref(
                env, node["refdoc"], app.builder, "obj", target, node, inner
            )
            return made
    return inner
