"""Words from lists that grow: one that no list has is said, with the nearest that one has."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from signrules.model.wording import listed_names, nearest_name, shown_value
from signrules.rules.checks import Draft, one_of

_SHORTEST_PART = 4
"""Parts of a known word that are shorter are found in too many others."""


def known_word(what: str, found: str, known: Iterable[str], *, unknown: str) -> Draft:
    """A check whether a word is one that is known; `unknown` says in words that it is not.

    `allowed` of the check is the word itself where it is known, else the nearest, else all of them.
    """
    words = tuple(dict.fromkeys(known))
    if found in words:
        return one_of(what, found=found, allowed=(found,))
    plain = found.strip().casefold()
    near_word = nearest_name(plain, words) or _sharing_a_part(plain, words)
    likeness = (
        "Nothing is like it" if near_word is None else f"The nearest is {shown_value(near_word)}"
    )
    advice = f"{likeness}; known are {listed_names(sorted(words), most=12)}."
    allowed = words if near_word is None else (near_word,)
    draft = one_of(what, found=shown_value(found), allowed=allowed, advice=advice)
    return evolve(draft, limit_text=unknown)


def unknown_word(what: str, found: str, known: Iterable[str]) -> str:
    """That a word is none that is known, with the nearest that is: a part of a sentence."""
    words = tuple(dict.fromkeys(known))
    plain = found.strip().casefold()
    near_word = nearest_name(plain, words) or _sharing_a_part(plain, words)
    hint = "" if near_word is None else f"; the nearest is {shown_value(near_word)}"
    return f"knows no {what} {shown_value(found)}{hint}"


def _sharing_a_part(plain: str, words: tuple[str, ...]) -> str | None:
    """The first word of which a part stands in another: `permanent-room` for restroom."""
    for word in words:
        # Letters alone would find no likeness: "restroom" has few of those of "permanent-room".
        if any(len(part) >= _SHORTEST_PART and part in plain for part in word.split("-")):
            return word
    return None
