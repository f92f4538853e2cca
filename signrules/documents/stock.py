"""What a shop states once: its printers, inks, stock sheets and alignments, by id.

A job names them by `use`; what the job states itself wins, key by key.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from attrs import evolve, field, frozen

from signrules.catalogue.materials import Material
from signrules.documents.figures import split_figures
from signrules.documents.layer_rows import read_layer_rows
from signrules.documents.refusal import Refused, joined_path, nearest_known, path_label
from signrules.documents.sign_type_tables import (
    TypeTables,
    read_composition_use,
    read_schedule_use,
    read_sign_types,
)
from signrules.documents.table_reader import read_field, read_table, tables_by_id, unknown_key
from signrules.errors import DocumentFault
from signrules.model.job import Alignment
from signrules.model.layer_uses import LayerUse
from signrules.model.media import Ink, Media
from signrules.model.origins import Origin
from signrules.model.printer import Printer
from signrules.model.sign_types import (
    USUAL_COMPOSITION,
    USUAL_SCHEDULE,
    CompositionUse,
    ScheduleUse,
)
from signrules.model.wording import NOTHING, listed_names, nearest_name, shown_value

USE = "use"
"""The key by which a table of a job names one of the shop."""

OWNED = {"printers": Printer, "inks": Ink, "sheets": Media}
"""The tables of a shop file that are tables by id, and what each entry becomes."""

PLACED = ("id", "at", "load", "up")
"""Keys of a sheet that say where it lies in one job, which no stock sheet has."""

Tables = Mapping[str, Mapping[str, Any]]


@frozen
class Stock:
    """What a shop has, as plain tables by id; figures are written as their values alone.

    `origins` say by the path within the shop file where figures come from, `name` what the shop
    file is called in reports. `alignments` are those on record; one that names a `printer` belongs
    to it alone. `sign_types` are tables whose texts may hold placeholders, which the rows of a door
    schedule fill as `schedule` says; `composition` says how their signs are placed.
    """

    name: str = "shop file"
    printers: Tables = field(factory=dict)
    inks: Tables = field(factory=dict)
    sheets: Tables = field(factory=dict)
    alignments: tuple[Mapping[str, Any], ...] = ()
    materials: Mapping[str, Material] = field(factory=dict)
    origins: Mapping[str, Origin] = field(factory=dict)
    layers: tuple[LayerUse, ...] = ()
    sign_types: TypeTables = field(factory=dict)
    schedule: ScheduleUse = USUAL_SCHEDULE
    composition: CompositionUse = USUAL_COMPOSITION

    def origin_of(self, path: str) -> Origin:
        """Where a value of the shop file comes from."""
        return evolve(self.origins.get(path, Origin()), stated_in=self.name)


NO_STOCK = Stock()


def read_stock(document: Mapping[str, Any], name: str, faults: list[DocumentFault]) -> Stock:
    """The stock that the tables of a shop file describe; adds every fault to `faults`."""
    origins: dict[str, Origin] = {}
    owned = {
        table: _read_owned(document.get(table, {}), table, cls, origins, faults)
        for table, cls in OWNED.items()
    }
    alignments = _read_alignments(document.get("alignments", []), owned["printers"], faults)
    materials = _read_materials(document.get("materials", {}), name, faults)
    layers = read_layer_rows(document.get("layers", []), owned["inks"], faults)
    types = read_sign_types(document.get("sign_types", {}), owned["sheets"], owned["inks"], faults)
    schedule = read_schedule_use(document.get("schedule", {}), types, owned["printers"], faults)
    composition = read_composition_use(document.get("composition", {}), owned["sheets"], faults)
    return Stock(
        name,
        alignments=alignments,
        materials=materials,
        origins=origins,
        layers=layers,
        sign_types=types,
        schedule=schedule,
        composition=composition,
        **owned,
    )


def _read_owned(
    tables: object,
    name: str,
    cls: type,
    origins: dict[str, Origin],
    faults: list[DocumentFault],
) -> Tables:
    """Tables by id, each checked as far as it goes: what is missing may stand in the job."""
    tables_read: dict[str, Mapping[str, Any]] = {}
    for entry_id, path, table in tables_by_id(tables, name, faults):
        figures = split_figures(table, cls, path)
        faults += figures.faults
        origins |= figures.origins
        faults += _faults_of_entry(figures.document, cls, path)
        tables_read[str(entry_id)] = figures.document
    return tables_read


def _faults_of_entry(table: Mapping[str, Any], cls: type, path: str) -> Iterator[DocumentFault]:
    kept_out = PLACED if cls is Media else ("id",)
    for key in kept_out:
        if key in table:
            expected = "nothing: the id is the name of the table, and a job says where it lies"
            yield DocumentFault(f"{path}.{key}", shown_value(table[key]), expected)
    try:
        read_table({key: element for key, element in table.items() if key not in PLACED}, cls)
    except Refused as refused:
        # What an entry lacks the job may state; only what is wrong by itself is told here.
        yield from (fault for fault in refused.under(path) if fault.found != NOTHING)


def _read_alignments(
    rows: object, printers: Tables, faults: list[DocumentFault]
) -> tuple[Mapping[str, Any], ...]:
    if not isinstance(rows, list | tuple):
        expected = "a list of tables: [[alignments]] in TOML"
        faults.append(DocumentFault("alignments", shown_value(rows), expected))
        return ()
    rows_read = []
    for position, row in enumerate(rows):
        path = f"alignments[{position}]"
        if not isinstance(row, Mapping):
            faults.append(DocumentFault(path, shown_value(row), "a table"))
            continue
        printer = row.get("printer")
        if "printer" in row and not (isinstance(printer, str) and printer in printers):
            faults.append(_unknown_entry(f"{path}.printer", printer, "printers", printers))
        try:
            read_table(
                {key: element for key, element in row.items() if key != "printer"}, Alignment
            )
        except Refused as refused:
            faults += refused.under(path)
        rows_read.append(row)
    return tuple(rows_read)


MATERIAL_FIGURES = ("expansion", "density", "heat_capacity")
"""What a shop may say of a material, as a sheet may say it of itself."""


def _read_materials(
    tables: object, name: str, faults: list[DocumentFault]
) -> Mapping[str, Material]:
    materials = {}
    for material_id, path, table in tables_by_id(tables, "materials", faults, "tables"):
        figures = split_figures(table, Media, path)
        faults += figures.faults
        values, sources = {}, {}
        for key, value in figures.document.items():
            if key not in ("name", *MATERIAL_FIGURES):
                faults.append(unknown_key(key, path, ("name", *MATERIAL_FIGURES)))
            elif key != "name":
                try:
                    values[key] = read_field(value, Media, key)
                except Refused as refused:
                    faults += refused.under(f"{path}.{key}")
                origin = figures.origins.get(f"{path}.{key}", Origin())
                sources[key] = evolve(origin, stated_in=name).text
        materials[str(material_id)] = Material(
            str(material_id), str(table.get("name", "")), sources=sources, **values
        )
    return materials


@frozen
class Merged:
    """A job document in which what it names is filled in, and where those values come from.

    `unfilled` are the paths of rows that name what the shop does not have, `told` those of values
    that are among the faults already.
    """

    document: dict[str, Any]
    origins: dict[str, Origin]
    faults: list[DocumentFault]
    unfilled: list[str] = field(factory=list)
    told: list[str] = field(factory=list)


def with_stock(document: Mapping[str, Any], stock: Stock) -> Merged:
    """The document of a job with what it names of a shop filled in.

    `printer = "ID"` or `printer.use`, `use` of an ink or a sheet, or a text in place of an ink; an
    ink that a pass names and the job does not list is that of the shop. What a printer is to be
    that the shop does not have is left to those of plugins and the catalogue. Alignments are the
    shop's where the job states none.
    """
    merged = Merged(dict(document), {}, [])
    _merge_printer(merged, stock)
    _merge_rows(merged, "inks", "inks", _listed_inks(document, stock), stock)
    _suggest_inks(merged, stock)
    _merge_rows(merged, "media", "sheets", document.get("media"), stock)
    return merged


def _merge_printer(merged: Merged, stock: Stock) -> None:
    stated = merged.document.get("printer")
    if isinstance(stated, str):
        stated = {USE: stated}
        merged.document["printer"] = stated
    printer_id = stated.get(USE) if isinstance(stated, Mapping) else None
    if (
        not isinstance(stated, Mapping)
        or not isinstance(printer_id, str)
        or printer_id not in stock.printers
    ):
        return
    merged.document["printer"] = _filled_in(
        stated,
        f"printers.{path_label(printer_id)}",
        stock,
        merged,
        stock.printers[printer_id],
        "printer",
    )
    if "alignments" not in merged.document:
        rows = [row for row in stock.alignments if row.get("printer", printer_id) == printer_id]
        merged.document["alignments"] = [
            {key: element for key, element in row.items() if key != "printer"} for row in rows
        ]
        for position in range(len(rows)):
            merged.origins[f"alignments[{position}].extra"] = stock.origin_of("")
    # An empty list would be written into every job that is made of this one.
    if not merged.document.get("alignments"):
        merged.document.pop("alignments", None)


def _listed_inks(document: Mapping[str, Any], stock: Stock) -> object:
    """The inks of a job, and after them those of the shop that only its passes name."""
    rows = document.get("inks", [])
    passes = document.get("passes")
    if not isinstance(rows, list | tuple) or not isinstance(passes, list | tuple):
        return document.get("inks")
    listed: list[Any] = []
    for row in rows:
        listed.append({"id": row, USE: row} if isinstance(row, str) else row)
    known_inks = set(_texts_under("id", listed))
    for ink in _texts_under("ink", passes):
        if ink not in known_inks and ink in stock.inks:
            listed.append({"id": ink, USE: ink})
            known_inks.add(ink)
    # Without any the reader is to say what it finds there, or that there is nothing.
    return listed or document.get("inks")


def _suggest_inks(merged: Merged, stock: Stock) -> None:
    """A fault for each pass whose ink nobody has and the shop has one of nearly that name."""
    rows, passes = merged.document.get("inks"), merged.document.get("passes")
    if not stock.inks or not isinstance(passes, list | tuple):
        return
    known_inks = set(_texts_under("id", rows if isinstance(rows, list | tuple) else ()))
    names = tuple(dict.fromkeys((*known_inks, *stock.inks)))
    for pass_index, row in enumerate(passes):
        ink = row.get("ink") if isinstance(row, Mapping) else None
        if not isinstance(ink, str) or ink in known_inks:
            continue
        near_name = nearest_name(ink, names)
        if near_name is not None:
            expected = f"the id of an ink of this job or of {stock.name}; the nearest is"
            path = f"passes[{pass_index}].ink"
            fault = DocumentFault(path, shown_value(ink), f"{expected} {shown_value(near_name)}")
            merged.faults.append(fault)
            merged.told.append(path)


def _texts_under(key: str, rows: Iterable[Any]) -> Iterator[str]:
    """The texts that stand under a key in rows, which may be anything yet."""
    for row in rows:
        if isinstance(row, Mapping) and isinstance(row.get(key), str):
            yield row[key]


def _merge_rows(merged: Merged, name: str, table: str, rows: object, stock: Stock) -> None:
    """Fill in the rows of a table of the job that name an entry of a table of the shop."""
    if not isinstance(rows, list | tuple):
        return
    entries: Tables = getattr(stock, table)
    filled = []
    for position, row in enumerate(rows):
        if not isinstance(row, Mapping) or USE not in row:
            filled.append(row)
            continue
        entry_id = row[USE]
        named = row.get("id")
        path = f"{name}.{path_label(named)}" if isinstance(named, str) else f"{name}[{position}]"
        if not isinstance(entry_id, str) or entry_id not in entries:
            merged.faults.append(
                _unknown_entry(f"{name}[{position}].{USE}", entry_id, table, entries)
            )
            # All that the entry would have brought is missing now, and one fault says why.
            merged.unfilled.append(f"{name}[{position}].")
            filled.append({key: element for key, element in row.items() if key != USE})
            continue
        entry_path = f"{table}.{path_label(entry_id)}"
        filled.append(_filled_in(row, entry_path, stock, merged, entries[entry_id], path))
    merged.document[name] = filled


def _filled_in(
    row: Mapping[str, Any],
    where: str,
    stock: Stock,
    merged: Merged,
    entry: Mapping[str, Any],
    path: str,
) -> dict[str, Any]:
    """A row with the keys of an entry that it does not state itself, and their origins."""
    for key, value in entry.items():
        # What is said to plugins is no figure.
        if key in row or key == "data":
            continue
        inside = joined_path(where, path_label(key))
        outside = joined_path(path, path_label(key))
        for leaf in _leaves_of(value):
            merged.origins[outside + leaf] = stock.origin_of(inside + leaf)
    return {**entry, **{key: element for key, element in row.items() if key != USE}}


def _leaves_of(value: object) -> Iterator[str]:
    """The paths within a value to what are no tables, each with the sign that joins it."""
    if not isinstance(value, Mapping):
        yield ""
        return
    for key, element in value.items():
        yield from (f".{path_label(key)}{leaf}" for leaf in _leaves_of(element))


def _unknown_entry(path: str, id: object, table: str, entries: Tables) -> DocumentFault:
    if not entries:
        return DocumentFault(path, shown_value(id), f"a shop file with a table [{table}.ID]")
    expected = f"one of the {table} of the shop file: {listed_names(list(entries))}"
    near_name = nearest_known(id, entries)
    if near_name:
        expected += f"; the nearest is {shown_value(near_name)}"
    return DocumentFault(path, shown_value(id), expected)
