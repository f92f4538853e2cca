"""What handling states that its kind has no place for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from signrules.errors import DocumentFault
from signrules.model.handling_kinds import HandlingKind
from signrules.model.passes import Handling
from signrules.model.wording import shown_value


def faults_beside_kinds(
    handling: Mapping[int, Handling], kinds: Mapping[str, HandlingKind]
) -> Iterator[DocumentFault]:
    """A sheet where the kind is done to none, a method of putting back where it moves none.

    `handling` is by its place in the document. What is of an unknown kind is left out.
    """
    for position, item in handling.items():
        kind = kinds.get(item.does)
        if kind is None:
            continue
        if item.media is not None and not kind.on_sheet:
            expected = f"nothing: {kind.name} is done to no sheet"
            yield DocumentFault(f"handling[{position}].media", shown_value(item.media), expected)
        if item.locates_by is not None and not kind.moves:
            expected = f"nothing: {kind.name} moves no sheet"
            path = f"handling[{position}].locates_by"
            yield DocumentFault(path, shown_value(item.locates_by), expected)
