"""Layers of a PDF: optional content groups, membership dictionaries, processing steps.

ISO 32000-1, 8.11 (from memory). The names of processing steps are those of ISO 19593-1 (second
hand).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pikepdf
from attrs import frozen

from signrules_artwork.faults import Reading
from signrules_artwork.pdf.objects import entry, object_key, plain_name, text_of

Chain = tuple[str, ...]
"""Keys of the groups that an object lies in, outermost first."""


@frozen
class LayerGroup:
    """An optional content group: its key, name, processing step, and whether it is off at first."""

    key: str
    name: str
    step: str | None
    step_type: str | None
    hidden: bool


@frozen
class LayerGroups:
    """The groups of a file by key; objects that need a group to be off have its key after "-"."""

    by_key: dict[str, LayerGroup]

    def chains_of(self, value: Any, reading: Reading) -> tuple[Chain, ...]:
        """The groups that an optional content entry puts an object on: one chain, or several
        where it shows with any of several groups.
        """
        if plain_name(entry(value, "/Type")) != "OCMD":
            key = object_key(value)
            return ((key,),) if key in self.by_key else ((),)
        if entry(value, "/VE") is not None:
            reading.note("a layer is given by an expression: taken as any of the groups in it")
            keys = list(dict.fromkeys(self._keys_in(value["/VE"], depth=0)))
            return tuple((key,) for key in keys) or ((),)
        keys = list(dict.fromkeys(self._keys_in(entry(value, "/OCGs"), depth=0)))
        policy = plain_name(entry(value, "/P")) or "AnyOn"
        if policy in {"AnyOff", "AllOff"}:
            keys = [f"-{key}" for key in keys]
        if policy in {"AllOn", "AllOff"}:
            return (tuple(keys),)
        return tuple((key,) for key in keys) or ((),)

    def _keys_in(self, value: Any, depth: int) -> Iterable[str]:
        """Keys of the groups that a group, or arrays of them, names."""
        if isinstance(value, pikepdf.Array):
            if depth < 32:
                for each in value:
                    yield from self._keys_in(each, depth + 1)
        elif isinstance(value, pikepdf.Dictionary) and object_key(value) in self.by_key:
            yield object_key(value)

    def name_of(self, chain: Chain) -> str:
        """The name of the innermost layer of a chain."""
        last = chain[-1]
        if last.startswith("-"):
            return f"without {self.by_key[last[1:]].name}"
        return self.by_key[last].name

    def step_of(self, chain: Chain) -> tuple[str | None, str | None]:
        """The processing step of the innermost layer that has one."""
        for key in reversed(chain):
            group = self.by_key.get(key)
            if group is not None and group.step is not None:
                return group.step, group.step_type
        return None, None

    def is_hidden(self, chain: Chain) -> bool:
        """Whether the file shows nothing of what lies in a chain when it is opened."""
        return any(self._is_off(key) for key in chain)

    def _is_off(self, key: str) -> bool:
        if key.startswith("-"):
            return not self.by_key[key[1:]].hidden
        return self.by_key[key].hidden


def layer_groups(pdf: pikepdf.Pdf, reading: Reading) -> LayerGroups:
    """The groups that the catalogue of a file lists."""
    properties = entry(pdf.Root, "/OCProperties")
    groups = entry(properties, "/OCGs")
    if not isinstance(groups, pikepdf.Array):
        return LayerGroups({})
    off = _keys_off(entry(properties, "/D"), groups)
    found = {}
    for group in groups:
        if isinstance(group, pikepdf.Dictionary) and object_key(group):
            layer = _layer_group(group, hidden=object_key(group) in off)
            found[layer.key] = layer
            _note_print_state(group, layer, reading)
    return LayerGroups(found)


def _layer_group(group: Any, *, hidden: bool) -> LayerGroup:
    marks = entry(group, "/GTS_Metadata")
    step = plain_name(entry(marks, "/GTS_ProcStepsGroup")) or None
    step_type = plain_name(entry(marks, "/GTS_ProcStepsType")) or None
    name = text_of(entry(group, "/Name"))
    return LayerGroup(object_key(group), name, step, step_type, hidden)


def _keys_off(default: Any, groups: Any) -> set[str]:
    """Keys of the groups that are off in the default configuration."""
    off = set()
    if plain_name(entry(default, "/BaseState")) == "OFF":
        off = {object_key(group) for group in groups}
    for key, change in (("/ON", off.discard), ("/OFF", off.add)):
        listed = entry(default, key)
        for group in listed if isinstance(listed, pikepdf.Array) else ():
            change(object_key(group))
    return off


def _note_print_state(group: Any, layer: LayerGroup, reading: Reading) -> None:
    state = plain_name(entry(entry(entry(group, "/Usage"), "/Print"), "/PrintState"))
    if state == "OFF" and not layer.hidden:
        reading.note(f"layer '{layer.name}' is shown but marked as not printed: it is read")
