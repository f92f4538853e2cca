"""Sign types whose artwork says what is printed: the file of a row becomes passes and measures.

What the type, or the row, states as well is taken if the file says the same. Lengths in mm, from
the lower left corner of the sign.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from attrs import define, evolve, field, frozen

from signrules.artwork.choices import ArtworkChoices
from signrules.artwork.drawing import Artwork
from signrules.artwork.job_making import document_from_artwork
from signrules.artwork_files import BringsReaders, read_artwork
from signrules.braille.cells import BLANK
from signrules.documents.fields import fields_by_key
from signrules.documents.figures import split_figures
from signrules.documents.refusal import Refused
from signrules.documents.stock import Stock
from signrules.documents.table_reader import read_table
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.passes import FEATURES
from signrules.model.quantities import Interval
from signrules.model.sign_types import SignType, TypePass
from signrules.model.wording import NOTHING, counted_things, number_text, shown_value
from signrules.rules.drawn_parts import Agreement
from signrules.schedules.cells import Translate, shown_text
from signrules.schedules.filling import FilledType
from signrules.schedules.placing import DECIMALS

AGREE_MM = Agreement().rounding
"""A length that is stated may lie so far from the one that is drawn, as where rules hold the two
against each other.
"""

SECTIONS_DRAWN = ("braille", "raised", "visual", "pictogram")
"""The tables of a sign that artwork fills."""

_OF_THE_JOB = ("media", "artwork")
"""Keys of a pass of a job that a pass of a type has not."""


@define
class ArtworkShelf:
    """The files of artwork that types name, each read once.

    `folder` is where their paths start, `jobs` the folder from which jobs name them.
    """

    folder: Path
    jobs: Path
    plugins: object
    notes: list[str] = field(factory=list)
    _read: dict[str, Artwork] = field(factory=dict)

    def opened(self, file: str) -> Artwork:
        """A file as its reader reads it. Raises ArtworkError."""
        if file not in self._read:
            brought: Mapping[str, Any] = getattr(self.plugins, "readers", {})
            plugins: BringsReaders = SimpleNamespace(readers=brought)
            path = self.folder / file
            read = read_artwork(path, plugins=plugins)
            self._read[file] = evolve(read, file=name_from(self.jobs, path))
        return self._read[file]


def name_from(folder: Path, path: Path) -> str:
    """A file as jobs in a folder name it."""
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # Another drive.
        return str(path.absolute())


@frozen
class DrawnSign:
    """What a job says of the one sign of a file."""

    file: str
    size: tuple[float, float]
    sign: Mapping[str, Any]
    passes: Sequence[Mapping[str, Any]]
    read_notes: tuple[str, ...] = ()

    @property
    def builds(self) -> set[str]:
        """The features that its passes build."""
        return {_feature_of(each) for row in self.passes for each in row.get("builds", ())}


def with_artwork(
    filled: FilledType, shelf: ArtworkShelf, stock: Stock, translate: Translate
) -> FilledType:
    """A filled type with the passes, the size and the sections of its file of artwork.

    `stock` says what becomes of layers. Raises Refused, with paths into the shop file, where the
    file cannot be read, holds no single sign, or says something else than the type; SignrulesError
    where shapely is not installed.
    """
    if filled.sign_type.artwork is None:
        return filled
    with _told_of_artwork(filled):
        drawn = _drawn_sign(filled, shelf, stock, translate)
    faults = list(_disagreements(filled, drawn))
    if faults:
        raise Refused(faults)
    return _filled_with(filled, drawn)


@contextmanager
def _told_of_artwork(filled: FilledType) -> Iterator[None]:
    """Raises Refused, with the path of the artwork of a type, for what is wrong with its file."""
    try:
        yield
    except ArtworkError as error:
        file = filled.sign_type.artwork
        raise Refused(
            DocumentFault(
                f"{filled.path}.artwork",
                ", ".join(filter(None, (file, fault.path))) + f": {fault.found}",
                fault.expected,
            )
            for fault in error.faults
        ) from None


def _drawn_sign(
    filled: FilledType, shelf: ArtworkShelf, stock: Stock, translate: Translate
) -> DrawnSign:
    """The sign that a file draws. Raises ArtworkError."""
    sign_type = filled.sign_type
    assert sign_type.artwork is not None
    artwork = shelf.opened(sign_type.artwork)
    sheet = sign_type.sheet[0]
    # Without a size the sheet is as large as the sign, and its corner is that of the sign.
    plain = {key: value for key, value in stock.sheets[sheet].items() if key != "size"}
    printer = next(iter(stock.printers))
    language = "en" if sign_type.braille is None else sign_type.braille.language
    choices = ArtworkChoices(
        printer=printer,
        sheet=sheet,
        text=sign_type.text,
        translate=lambda grade, line: translate(line, grade, language),
    )
    shop = SimpleNamespace(stock=evolve(stock, sheets={sheet: plain}))
    _demand_one_page(artwork)
    made = document_from_artwork(artwork, shop, choices)
    signs, media = made.document["signs"], made.document["media"]
    if len(signs) > 1:
        raise _several(f"{len(signs)} signs, each within a cut edge")
    shelf.notes += made.notes
    width, height = media[0]["size"]
    return DrawnSign(
        sign_type.artwork,
        (round(width, 3), round(height, 3)),
        signs[0],
        made.document["passes"],
        tuple(made.document.get("read_notes", ())),
    )


def _demand_one_page(artwork: Artwork) -> None:
    if len(artwork.pages) > 1:
        raise _several(counted_things(len(artwork.pages), "page"))


def _several(found: str) -> ArtworkError:
    expected = "one sign: `signrules read` takes files of several"
    return ArtworkError([DocumentFault("", found, expected)])


def _feature_of(name: str) -> str:
    """The feature in the name of one, "room-214.braille"."""
    return name.rpartition(".")[2]


def _disagreements(filled: FilledType, drawn: DrawnSign) -> Iterator[DocumentFault]:
    """What a type or its row states and its file draws otherwise, or not at all."""
    size = filled.sign_type.size
    if size is not None and not _near(size, drawn.size):
        yield _otherwise(filled, "size", _size_text(size), _size_text(drawn.size), drawn)
    for name in FEATURES:
        if name in filled.table and name not in drawn.builds:
            expected = f"a layer of {drawn.file} that builds it, or no such table"
            yield DocumentFault(f"{filled.path}.{name}", "what nothing of the file draws", expected)
    for name in SECTIONS_DRAWN:
        if name in filled.table and name in drawn.sign:
            yield from _of_section(filled, name, drawn)
    yield from _of_cells(filled, drawn)


def _of_section(filled: FilledType, name: str, drawn: DrawnSign) -> Iterator[DocumentFault]:
    """Keys of a section that type and file both state, and not alike."""
    stated: Any = getattr(filled.sign_type, name)
    cls: Any = type(stated)
    measured = _read_section(name, drawn.sign[name])
    for key, (attribute, _) in fields_by_key(cls).items():
        if key not in filled.table[name] or key not in drawn.sign[name] or key == "cells":
            continue
        one, other = getattr(stated, attribute), getattr(measured, attribute)
        if not _agree(one, other):
            own = shown_value(_bare(filled.table[name][key]))
            read = shown_value(_bare(drawn.sign[name][key]))
            yield _otherwise(filled, f"{name}.{key}", own, read, drawn)


def _of_cells(filled: FilledType, drawn: DrawnSign) -> Iterator[DocumentFault]:
    """Cells that a column or the type states and that are not those of the dots drawn."""
    read = drawn.sign.get("braille", {}).get("cells", "")
    braille = filled.sign_type.braille
    for key, stated in (
        ("cells", "\n".join(filled.sign_type.cells)),
        ("braille.cells", (braille and braille.cells) or ""),
    ):
        if stated and _plain_cells(stated) != _plain_cells(read):
            said = shown_text(read.split("\n")) or NOTHING
            yield _otherwise(filled, key, shown_text(stated.split("\n")), said, drawn)


def _plain_cells(cells: str) -> list[str]:
    """Lines of cells, their blanks written in one way."""
    return [line.replace(" ", BLANK).strip(BLANK) for line in cells.split("\n")]


def _otherwise(
    filled: FilledType, key: str, stated: str, read: str, drawn: DrawnSign
) -> DocumentFault:
    expected = f"{read}, as {drawn.file} has it: leave out what is stated, or mend the file"
    return DocumentFault(f"{filled.path}.{key}", stated, expected)


def _bare(value: object) -> object:
    """A value without how it came about."""
    return value["is"] if isinstance(value, Mapping) and "is" in value else value


def _size_text(size: Iterable[float]) -> str:
    return " x ".join(number_text(length) for length in size) + " mm"


def _near(one: Sequence[float], other: Sequence[float]) -> bool:
    return all(abs(a - b) <= AGREE_MM for a, b in zip(one, other, strict=True))


def _agree(stated: Any, read: Any) -> bool:
    """Whether a value is the one that is drawn; of lengths, whether one lies within the other."""
    if isinstance(stated, Interval) and isinstance(read, Interval):
        return stated.low <= read.high + AGREE_MM and read.low <= stated.high + AGREE_MM
    return bool(stated == read)


def _read_section(name: str, table: Mapping[str, Any]) -> Any:
    """A section of a sign as the class that it is of."""
    cls = next(iter(fields_by_key(SignType)[name][1].tables.values()))
    return read_table(split_figures(table, cls).document, cls)


def _filled_with(filled: FilledType, drawn: DrawnSign) -> FilledType:
    """A type with what its file draws; what the type states itself stays as it is stated."""
    sign_type = filled.sign_type
    size = sign_type.size or drawn.size
    rows = [_type_row(row, size) for row in drawn.passes]
    sources = {row["id"]: row["artwork"] for row in drawn.passes}
    table: dict[str, Any] = {**filled.table, "passes": rows}
    changed: dict[str, Any] = {}
    for name in SECTIONS_DRAWN:
        if name not in drawn.sign:
            continue
        own = dict(drawn.sign[name])
        if "area" in own:
            own["area"] = _within(own["area"], size)
        table[name] = own | dict(filled.table.get(name, {}))
        changed[name] = _read_section(name, table[name])
    if not sign_type.text and "text" in drawn.sign:
        table["text"] = drawn.sign["text"]
        changed["text"] = tuple(drawn.sign["text"])
    passes = tuple(read_table(row, TypePass) for row in rows)
    return evolve(
        filled,
        table=table,
        sign_type=evolve(sign_type, passes=passes, size=size, **changed),
        sources=sources,
        read_notes=drawn.read_notes,
    )


def _type_row(row: Mapping[str, Any], size: Sequence[float]) -> dict[str, Any]:
    """A pass of a job of one sign as a pass of a type."""
    own = {key: value for key, value in row.items() if key not in _OF_THE_JOB}
    own["areas"] = [_within(area, size) for area in row["areas"]]
    if "builds" in row:
        own["builds"] = [_feature_of(each) for each in row["builds"]]
    return own


def _within(area: Sequence[float], size: Sequence[float]) -> list[float]:
    """An area without what rounding has moved over the edge of the sign."""
    found = []
    for start, length, room in zip(area[:2], area[2:], size, strict=True):
        low, high = max(start, 0.0), min(start + length, room)
        found += [low, high - low]
    left, width, bottom, height = found
    return [round(each, DECIMALS) for each in (left, bottom, width, height)]
