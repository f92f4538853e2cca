"""Whose texts stand where several bring a catalogue of one language: those of the library, then
those of the plugin whose name comes first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from attrs import evolve

from signrules.errors import SignrulesError
from signrules.model.wording import shown_value
from signrules.page_languages import read_catalogue, shipped_texts, texts_without_effect
from signrules.plugin_loading import Brought

OWN_CATALOGUE = "signrules"
"""Who brings the catalogues that are shipped."""


def with_language_notes(brought: Sequence[Brought]) -> list[Brought]:
    """What plugins bring, each with the texts of its catalogues that have no effect among what
    wants a look.
    """
    catalogues: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for one in sorted(brought, key=lambda one: one.loaded.name):
        for tag, text in one.languages.items():
            catalogues[tag].append((one.loaded.name, text))
    notes: dict[str, list[str]] = defaultdict(list)
    for tag, owned in catalogues.items():
        shipped = [(OWN_CATALOGUE, text) for text in shipped_texts(tag)]
        # Alone nobody is in the way, and reading a catalogue takes time.
        if len(shipped) + len(owned) > 1:
            for owner, note in _notes_on(tag, [*shipped, *owned]):
                notes[owner].append(note)
    return [_noted(one, notes[one.loaded.name]) for one in brought]


def _notes_on(tag: str, owned: Sequence[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Owners and what is said to them of their catalogue of a language."""
    readable = []
    for owner, text in owned:
        try:
            readable.append((owner, read_catalogue(tag, text)))
        except SignrulesError as error:
            # Without Babel the catalogue of the library cannot be read either: nobody's slip.
            if owner != OWN_CATALOGUE:
                yield owner, str(error)
    for owner, text, standing in texts_without_effect(readable):
        told = f"{shown_value(text)} is translated by {standing} already, and stays so"
        yield owner, f"language {tag}: {told}"


def _noted(one: Brought, notes: Sequence[str]) -> Brought:
    if not notes:
        return one
    return evolve(one, loaded=evolve(one.loaded, unusual=(*one.loaded.unusual, *notes)))
