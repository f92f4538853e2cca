"""The rows `[[layers]]` of a shop file: what becomes of the layers of artwork."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from signrules.documents.refusal import Refused
from signrules.documents.table_reader import read_table
from signrules.errors import DocumentFault
from signrules.model.layer_uses import BRAILLE_DOTS, MATCHED_BY, USES, LayerUse
from signrules.model.wording import NOTHING, expected_name, listed_names, shown_value


def read_layer_rows(
    rows: object, inks: Collection[str], faults: list[DocumentFault]
) -> tuple[LayerUse, ...]:
    """The rows of a shop that has some inks; adds every fault to `faults`."""
    if not isinstance(rows, list | tuple):
        expected = "a list of tables: [[layers]] in TOML"
        faults.append(DocumentFault("layers", shown_value(rows), expected))
        return ()
    uses = []
    for position, row in enumerate(rows):
        try:
            layer_use: LayerUse = read_table(row, LayerUse)
        except Refused as refused:
            faults += refused.under(f"layers[{position}]")
            continue
        faults += _faults_of_row(layer_use, f"layers[{position}]", inks)
        uses.append(layer_use)
    faults += _unknown_rows(uses)
    return tuple(uses)


def _faults_of_row(use: LayerUse, path: str, inks: Collection[str]) -> Iterator[DocumentFault]:
    if all(getattr(use, key) is None for key in MATCHED_BY):
        expected = f"which layers it is for: {' or '.join(MATCHED_BY)}"
        yield DocumentFault(path, NOTHING, expected)
    stated = [key for key in USES if getattr(use, key) is not None]
    if len(stated) != 1:
        found = " and ".join(stated) or NOTHING
        yield DocumentFault(path, found, f"one of {', '.join(USES)}")
    if use.ink is not None and use.ink not in inks:
        otherwise = "the id of an ink of this file: [inks.ID]"
        expected = expected_name(use.ink, tuple(inks), otherwise)
        yield DocumentFault(f"{path}.ink", shown_value(use.ink), expected)
    if use.builds:
        yield from _faults_of_features(use, f"{path}.builds")


def _faults_of_features(use: LayerUse, path: str) -> Iterator[DocumentFault]:
    found = listed_names(list(use.builds))
    letters = [feature for feature in use.builds if feature != BRAILLE_DOTS]
    if use.ink is None:
        yield DocumentFault(path, found, "an ink beside it: what nothing prints builds nothing")
    if len(set(use.builds)) < len(use.builds):
        yield DocumentFault(path, found, "each feature once")
    elif len(letters) > 1:
        expected = (
            f"one feature, or {BRAILLE_DOTS} and one other: shapes tell dots from letters, and not"
            " which letters are raised"
        )
        yield DocumentFault(path, found, expected)


def _unknown_rows(uses: Collection[LayerUse]) -> Iterator[DocumentFault]:
    """Ids in `after` and `over` that no row has."""
    # All rows first, since one may name another that stands further down.
    known_ids = [layer_use.id for layer_use in uses if layer_use.id is not None]
    for position, layer_use in enumerate(uses):
        for key in ("after", "over"):
            for name in getattr(layer_use, key):
                if name not in known_ids:
                    path = f"layers[{position}].{key}"
                    yield DocumentFault(path, shown_value(name), "the id of a row of [[layers]]")
