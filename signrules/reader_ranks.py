"""Which plugin reads files of a suffix that two can read: one that is named goes before one that is
merely installed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import evolve

from signrules.plugin_loading import Brought
from signrules.plugin_sources import INSTALLED


def readers_ranked(brought: Sequence[Brought]) -> list[Brought]:
    """What plugins bring, without readers of installed ones for suffixes that a named one reads.

    A plugin is named by its file, or given as an object. What passes over is told of the plugin.
    """
    named = {
        suffix: one.loaded.name
        for one in brought
        if one.loaded.origin != INSTALLED
        for reader in one.readers
        for suffix in reader.suffixes
    }
    return [_without(one, named) if one.loaded.origin == INSTALLED else one for one in brought]


def _without(one: Brought, named: Mapping[str, str]) -> Brought:
    own = [suffix for reader in one.readers for suffix in reader.suffixes]
    taken = [suffix for suffix in own if suffix in named]
    readers = [
        evolve(reader, suffixes=tuple(each for each in reader.suffixes if each not in named))
        for reader in one.readers
    ]
    gone = {f"reader of {suffix}" for suffix in taken}
    loaded = evolve(
        one.loaded,
        adds=tuple(each for each in one.loaded.adds if each not in gone),
        passed_over=tuple(
            f"{suffix} is read by {named[suffix]}, which is named, and not by this plugin"
            for suffix in taken
        ),
    )
    # A reader of which every suffix is taken reads nothing any more.
    kept = tuple(reader for reader in readers if reader.suffixes)
    return evolve(one, loaded=loaded, readers=kept)
