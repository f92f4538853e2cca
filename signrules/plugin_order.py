"""In which order plugins answer: as they say themselves, and by their names where none says so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import evolve

from signrules.model.cycles import shortest_cycle
from signrules.model.plugin_data import whole_name
from signrules.model.wording import nearest_name
from signrules.plugin_loading import Brought


def in_answering_order(brought: Sequence[Brought]) -> list[Brought]:
    """The plugins, each after those that it has to come after; else by name.

    They must not be in a circle.
    """
    earlier = _earlier(brought)
    waiting = sorted(brought, key=lambda one: one.loaded.name)
    ordered: list[Brought] = []
    done: set[str] = set()
    while waiting:
        following = next(one for one in waiting if done.issuperset(earlier[one.loaded.name]))
        waiting.remove(following)
        ordered.append(following)
        done.add(following.loaded.name)
    return ordered


def order_amiss(brought: Sequence[Brought]) -> list[tuple[Brought, str]]:
    """The plugins of which each would have to answer before the other, and why; nothing where there
    are none.
    """
    circle = shortest_cycle(_earlier(brought))
    if circle is None:
        return []
    links = ", ".join(
        f"{name} answers after {first}"
        for name, first in zip(circle, circle[-1:] + circle[:-1], strict=True)
    )
    why = f"plugins wait for each other in a circle: {links}"
    return [(one, why) for one in brought if one.loaded.name in circle]


def with_order_notes(brought: Sequence[Brought]) -> list[Brought]:
    """The plugins, each with a note on every other that it names and that is not loaded."""
    known = tuple(one.loaded.name for one in brought)
    return [_with_notes(one, known) for one in brought]


def _with_notes(one: Brought, known: tuple[str, ...]) -> Brought:
    notes = []
    for word, names in (("before", one.loaded.before), ("after", one.loaded.after)):
        for name in names:
            if whole_name(name, known) not in known:
                near = nearest_name(name, known)
                hint = f"; did you mean {near}?" if near else ""
                notes.append(f"answers {word} {name}, which is not loaded{hint}")
    return evolve(one, loaded=evolve(one.loaded, order_notes=tuple(notes))) if notes else one


def _earlier(brought: Sequence[Brought]) -> Mapping[str, list[str]]:
    """By name of each plugin, which of the others answer before it."""
    known = sorted(one.loaded.name for one in brought)
    earlier: dict[str, list[str]] = {name: [] for name in known}
    for one in brought:
        own = one.loaded
        earlier[own.name] += [whole_name(name, known) for name in own.after]
        for name in own.before:
            if whole_name(name, known) in earlier:
                earlier[whole_name(name, known)].append(own.name)
    return {name: [first for first in firsts if first in known] for name, firsts in earlier.items()}
