"""What hooks give back when a plugin is loaded, checked before it is believed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import closing
from itertools import islice
from typing import Any

import pluggy

from signrules.errors import PluginError
from signrules.model.wording import shown_value
from signrules.rules.sound_drafts import is_sound_text, nothing_returned

MOST_ITEMS = 10_000
"""The most rule sets, standards or materials that one plugin may provide."""


class LoadAnswers:
    """What the hooks of one plugin give back."""

    def __init__(self, manager: pluggy.PluginManager) -> None:
        self._manager = manager

    def listed(self, hook: str, kind: type[Any]) -> tuple[Any, ...]:
        """A list of things of one kind."""
        found = []
        for answer in self._asked(hook):
            if isinstance(answer, str | Mapping) or not isinstance(answer, Iterable):
                raise PluginError(
                    f"{hook} gave back {shown_value(answer)}, expected a list of {kind.__name__}"
                )
            with closing(nothing_returned(answer)) as steps:
                items = list(islice(steps, MOST_ITEMS + 1))
            if len(items) > MOST_ITEMS:
                raise PluginError(f"{hook} gave back more than {MOST_ITEMS} of {kind.__name__}")
            for item in items:
                if type(item) is not kind:
                    raise PluginError(
                        f"{hook} gave back {shown_value(item)} in its list, expected"
                        f" {kind.__name__}"
                    )
                found.append(item)
        return tuple(found)

    def tables(self, hook: str) -> dict[str, Mapping[str, Any]]:
        """Tables by their ids."""
        found: dict[str, Mapping[str, Any]] = {}
        for answer in self._asked(hook):
            if not isinstance(answer, Mapping):
                raise PluginError(
                    f"{hook} gave back {shown_value(answer)}, expected a mapping of ids to tables"
                )
            for name, table in answer.items():
                if not (is_sound_text(name) and name and isinstance(table, Mapping)):
                    raise PluginError(
                        f"{hook} gave back {shown_value(name)}: {shown_value(table)}, expected an"
                        " id and a table"
                    )
                found[name] = dict(table)
        return found

    def texts(self, hook: str) -> dict[str, str]:
        """Texts by their names."""
        found: dict[str, str] = {}
        for answer in self._asked(hook):
            if not isinstance(answer, Mapping):
                raise PluginError(
                    f"{hook} gave back {shown_value(answer)}, expected a mapping of language tags"
                    " to texts of PO files"
                )
            for tag, text in answer.items():
                if not (is_sound_text(tag) and tag and type(text) is str):
                    raise PluginError(
                        f"{hook} gave back {shown_value(tag)}: {shown_value(text)}, expected a"
                        " language tag and the text of a PO file"
                    )
                found[tag] = text
        return found

    def _asked(self, hook: str) -> list[Any]:
        caller = getattr(self._manager.hook, hook)
        if not caller.get_hookimpls():
            return []
        return list(caller()) or [
            None
        ]  # pluggy leaves None out, which is what a forgotten return gives back.
