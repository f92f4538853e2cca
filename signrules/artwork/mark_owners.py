"""Marks shared out among the places that ask for one, so that as many as can be get theirs."""

from __future__ import annotations

from collections.abc import Sequence


def owners_of(options: Sequence[Sequence[int]]) -> dict[int, int]:
    """The place of each mark that gets one, by the places that it could have, the best first.

    No more marks can be placed (augmenting paths: Kuhn, 1955). A mark moves to its next place only
    where another would have none.
    """
    owner_of: dict[int, int] = {}
    for mark in range(len(options)):
        _find_place(mark, options, owner_of, set())
    return {mark: place for place, mark in owner_of.items()}


def _find_place(
    mark: int, options: Sequence[Sequence[int]], owner_of: dict[int, int], tried: set[int]
) -> bool:
    for place in options[mark]:
        if place in tried:
            continue
        tried.add(place)
        if place not in owner_of or _find_place(owner_of[place], options, owner_of, tried):
            owner_of[place] = mark
            return True
    return False
