"""The plugins that were asked for, each by itself: what it brings, or why it was not loaded."""

from __future__ import annotations

from functools import cache

from attrs import frozen

import signrules.builtin
from signrules.errors import PluginError
from signrules.language_ranks import with_language_notes
from signrules.plugin_demands import (
    amending_amiss,
    demand_each_once,
    demand_own_names,
    known_names,
    outcomes_amiss,
)
from signrules.plugin_loading import Brought, bring_plugin
from signrules.plugin_order import order_amiss, with_order_notes
from signrules.plugin_sources import Failed, Recipe, plugins_asked_for
from signrules.reader_ranks import readers_ranked
from signrules.rules.containment import Contained

BUILT_IN = "signrules"


@frozen(eq=False)
class Gathered:
    """What each plugin brings, those that failed, and the whole names of those left out."""

    brought: tuple[Brought, ...]
    failed: tuple[Failed, ...]
    block: tuple[str, ...]


def gather_plugins(recipe: Recipe) -> Gathered:
    """Each plugin that was asked for, and the built-in one. Two may bring something of one name.

    Raises PluginError where two have one name, and where a name to leave out is that of none.
    """
    asked = plugins_asked_for(recipe)
    block = known_names(recipe.block, tuple(dict.fromkeys(one[0] for one in asked)))
    brought = [_brought_built_in()]
    failed = []
    demand_each_once((one[0] for one in asked if one[0] not in block), BUILT_IN)
    for name, version, origin, load in asked:
        if name in block:
            continue
        try:
            one = bring_plugin(name, version, origin, load)
            demand_own_names(one, brought[0])
            brought.append(one)
        except (Contained, PluginError) as error:
            failed.append(Failed(name, version, origin, str(error)))
    # Again and again: taking one out may leave another that amends nothing.
    while amiss := amending_amiss(brought) or outcomes_amiss(brought) or order_amiss(brought):
        for one, why in amiss:
            brought.remove(one)
            failed.append(Failed(one.loaded.name, one.loaded.version, one.loaded.origin, why))
    ranked = with_language_notes(with_order_notes(readers_ranked(brought)))
    return Gathered(tuple(ranked), tuple(failed), block)


@cache
def _brought_built_in() -> Brought:
    """What the built-in plugin brings: the same for as long as the process runs."""
    own = signrules.builtin
    # A test looks at its numbers as at those of any plugin.
    return bring_plugin(BUILT_IN, _own_version(), "built in", lambda: own, known_sound=True)


def _own_version() -> str:
    from signrules import __version__

    return __version__
