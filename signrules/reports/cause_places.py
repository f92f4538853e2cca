"""Where a cause is found, in words: signs by their ids, and beside them loads where ids repeat."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePath
from typing import Any

from signrules.model.wording import counted_things
from signrules.reports.id_runs import SHORTEST_RUN, runs_of_ids

Report = Mapping[str, Any]

ALL = "all"
"""What every sign of a load is called."""

MOST_PLACES = 40
"""So many loads, or groups of loads of which the same is said, are named; the rest are counted."""


def where_words(cause: Report, report: Report) -> str:
    """The signs of a cause with the rows of their schedule, else its loads: "on 12 signs: K-01 to
    K-08, K-11 (rows 3 to 9)". Where several loads use the same ids, with their loads: "on 3 signs:
    K-01, K-02 of north.toml; K-01 of south.toml".
    """
    loads = [each["load"] for each in report["sequence"]]
    if not cause["signs"]:
        return _counted_ids(cause["loads"], "load", loads)
    if ids_repeat(report):
        count = counted_things(len(cause["signs"]), "sign")
        words = f"on {count}: {_signs_of_loads(cause, report, loads)}"
    else:
        signs = [each["id"] for each in report["signs"]]
        words = _counted_ids(cause["signs"], "sign", signs) + _rows_words(cause["rows"])
    bare = [load for load, ids in cause["by_load"].items() if not ids]
    return f"{words}, and {_counted_ids(bare, 'load', loads)}" if bare else words


def ids_repeat(report: Report) -> bool:
    """Whether several loads have a sign of the same id."""
    ids = [each["id"] for each in report["signs"]]
    return len(set(ids)) < len(ids)


def _signs_of_loads(cause: Report, report: Report, loads: Sequence[str]) -> str:
    """The signs of each load, and once for all loads of which the same is said."""
    every = {each["load"]: each["signs"] for each in report["sequence"]}
    alike: dict[str, list[str]] = {}
    for load, ids in cause["by_load"].items():
        if ids:
            alike.setdefault(_signs_words(ids, every[load]), []).append(load)
    groups = list(alike.items())
    told = [_place_words(words, which, loads) for words, which in groups[:MOST_PLACES]]
    rest = [load for _, which in groups[MOST_PLACES:] for load in which]
    if rest:
        signs = sum(len(cause["by_load"][load]) for load in rest)
        told.append(f"{counted_things(signs, 'sign')} of {counted_things(len(rest), 'more load')}")
    return "; ".join(told)


def _place_words(signs: str, which: Sequence[str], loads: Sequence[str]) -> str:
    """Signs with the loads that have them."""
    if len(which) < len(loads) or len(loads) < SHORTEST_RUN:
        return f"{signs} of {runs_of_ids(which, loads)}"
    return signs if signs == ALL else f"{signs} of all loads"


def _signs_words(ids: Sequence[str], every: Sequence[str]) -> str:
    """Signs of one load."""
    # So that loads of different sizes are told together: forty of them in a few words.
    if len(ids) == len(every) >= SHORTEST_RUN:
        return ALL
    return runs_of_ids(ids, every)


def _counted_ids(ids: Iterable[str], thing: str, order: Sequence[str]) -> str:
    every = tuple(ids)
    return f"on {counted_things(len(every), thing)}: {runs_of_ids(every, order)}"


def _rows_words(rows: Sequence[int]) -> str:
    if not rows:
        return ""
    numbers = map(str, range(min(rows), max(rows) + 1))
    noun = "row" if len(rows) == 1 else "rows"
    return f" ({noun} {runs_of_ids(map(str, rows), list(numbers))})"


def short_names(loads: Iterable[str]) -> dict[str, str]:
    """What loads are called for short: without the folder that all of them lie in."""
    paths = {load: PurePath(load) for load in loads}
    folders = [PurePath(load).parents for load in paths]
    shared = [each for each in folders[0] if all(each in own for own in folders)] if folders else []
    # The nearest comes first; the ids of a work order lie in no folder.
    if not shared or not shared[0].parts:
        return {load: load for load in paths}
    return {load: str(path.relative_to(shared[0])) for load, path in paths.items()}


def with_short_loads(report: Report, names: Mapping[str, str]) -> dict[str, Any]:
    """The report, with loads called as said."""
    causes = {kind: _all_renamed(group, names) for kind, group in report["causes"].items()}
    parts = {key: _all_renamed(report[key], names) for key in ("failed", "sequence", "signs")}
    return {**report, **parts, "causes": causes}


def _all_renamed(parts: Iterable[Report], names: Mapping[str, str]) -> list[dict[str, Any]]:
    return [_renamed(part, names) for part in parts]


def _renamed(part: Report, names: Mapping[str, str]) -> dict[str, Any]:
    """A part of the report, with loads called as said."""
    made = dict(part)
    for key in ("load", "example_load"):
        if key in made:
            made[key] = names[made[key]]
    if "loads" in made:
        made["loads"] = [names[load] for load in made["loads"]]
    if "by_load" in made:
        made["by_load"] = {names[load]: ids for load, ids in made["by_load"].items()}
    return made
