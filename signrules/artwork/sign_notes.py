"""Notes on signs for whoever reads artwork: one of each kind, with the signs that it is on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from signrules.model.wording import listed_names


@frozen
class SignNote:
    """What is to be told of a sign, in words, and what of it differs from sign to sign."""

    words: str
    details: tuple[str, ...] = ()


def plain_notes(words: Iterable[str]) -> list[SignNote]:
    """Notes of which nothing is put together."""
    return [SignNote(each) for each in words]


def notes_with_signs(notes: Sequence[tuple[str, SignNote]], *, several: bool) -> list[str]:
    """Notes on signs, given by their ids, in words: those of one kind are one note. Of several
    signs, of which each detail is.
    """
    kinds: dict[str, dict[str, list[str]]] = {}
    for id, note in notes:
        details = kinds.setdefault(note.words, {})
        for detail in note.details or ("",):
            details.setdefault(detail, []).append(id)
    return [_in_words(words, details, several) for words, details in kinds.items()]


def _in_words(words: str, details: dict[str, list[str]], several: bool) -> str:
    told = [
        f"{detail} (of {listed_names(ids)})".strip() if several else detail
        for detail, ids in details.items()
    ]
    if list(details) == [""]:
        return f"{words} {told[0]}".strip()
    return f"{words}: {'; '.join(told)}"
