"""From a document to a job: every fault of the document at once, each with its path."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from signrules.catalogue.materials import builtin_printers
from signrules.documents.figures import split_figures
from signrules.documents.plugin_tables import (
    NO_CLASSES,
    DataClasses,
    faults_of_tables,
    tables_of_document,
)
from signrules.documents.refusal import Refused, joined_path, nearest_known, path_label
from signrules.documents.stock import NO_STOCK, USE, Stock, with_stock
from signrules.documents.table_reader import (
    document_fields,
    read_field,
    read_table,
    read_what_can_be,
    unknown_key,
)
from signrules.documents.toml import from_toml
from signrules.errors import DocumentFault, JobError
from signrules.events import INFO, tell_event
from signrules.given_values import demand_path
from signrules.model.consistency import (
    NEEDED_TABLES,
    TABLES,
    Parts,
    Table,
    inconsistencies_of_parts,
)
from signrules.model.handling_kinds import (
    BUILTIN_KINDS,
    HandlingKind,
    kinds_known,
    kinds_named,
)
from signrules.model.job import Job
from signrules.model.origins import Origin
from signrules.model.printer import Printer
from signrules.model.wording import NOTHING, listed_names, shown_value

VERSION = 1
"""The version of the job document that this library reads and writes."""

MOST_BYTES = 32 * 1024 * 1024
"""The largest file that is read."""

_DEEPEST_PATH = 10
"""Paths of repeated keys end there, since there may be as many of them as characters, each as long
as all of them.
"""

KEYS = ("signrules", *document_fields(Job), "printer", *TABLES)
"""The keys of a job document."""


def job_from_dict(mapping: object, *, plugins: object = None, shop: object = None) -> Job:
    """The job that plain data describes, in the shape of a parsed TOML or JSON document.

    What it names by `use` is that of `shop` (an attribute `stock`: printers, inks, stock sheets,
    alignments), and what it states itself wins, key by key.

    Kinds of handling are the built-in ones and those of `plugins` (an attribute `handling_kinds`,
    by name). For `use = "id"` the printers are those of `plugins` (an attribute `printers`, a
    mapping of ids to printer tables); left out, those of the built-in catalogue. Where a printer or
    a kind is unknown, a method `unloaded_words` of `plugins` says what else might bring it. Tables
    under `data` are checked where their plugin is among those in an attribute `data`, and kept as
    they are where it is not. Raises JobError with every fault of the document.
    """
    brought = getattr(plugins, "handling_kinds", {})
    unloaded = _none_given if plugins is None else getattr(plugins, "unloaded_words", str)
    classes = getattr(plugins, "data", {})
    return _job_of(mapping, plugins, shop, {**BUILTIN_KINDS, **brought}, classes, unloaded)


def job_again(mapping: object, job: Job, classes: DataClasses = NO_CLASSES) -> Job:
    """The job that plain data describes which was made of another job and then changed: handling
    may be of any kind of that job. Tables under `data` are checked by `classes`. Raises JobError.
    """
    return _job_of(mapping, None, None, kinds_known(job.handling_kinds), classes)


def _none_given() -> str:
    return "; no plugins were given: plugins=load_plugins(entry_points=True) takes those installed"


def _job_of(
    mapping: object,
    plugins: object,
    shop: object,
    kinds: Mapping[str, HandlingKind],
    classes: DataClasses,
    unloaded: Callable[[], str] = str,
) -> Job:
    if not isinstance(mapping, Mapping):
        raise JobError(
            [DocumentFault("", shown_value(mapping), "a table: the keys of a job document")]
        )
    printers = None if plugins is None else getattr(plugins, "printers", {})
    if "$schema" in mapping and "signrules" not in mapping:
        raise _whole_document("a JSON Schema", "a job: a document with the key signrules")
    figures = split_figures(mapping, Job)
    stock: Stock = getattr(shop, "stock", NO_STOCK)
    merged = with_stock(figures.document, stock)
    reader = _Reader(merged.document, printers, unloaded, tuple(stock.printers))
    reader.faults += figures.faults + merged.faults
    reader.faults += faults_of_tables(tables_of_document(merged.document), classes)
    reader.kinds = kinds
    reader.unfilled, reader.told = tuple(merged.unfilled), tuple(merged.told)
    return reader.job(merged.origins | figures.origins)


def read_job(path: str | os.PathLike[str], *, plugins: object = None, shop: object = None) -> Job:
    """The job in a TOML or JSON file, told apart by the file's suffix; see `job_from_dict`.

    Raises JobError, with the file's name as its origin, for every fault of the file or of the
    document in it.
    """
    demand_path("read_job", path, "job_from_dict")
    origin = os.fspath(path)
    try:
        job = job_from_dict(plain_data(Path(path)), plugins=plugins, shop=shop)
    except JobError as error:
        raise JobError(error.faults, origin) from None
    tell_event(INFO, "read the job %s: %d passes", origin, len(job.passes))
    return job


def sheets_used(path: str | os.PathLike[str]) -> dict[str, str]:
    """The stock sheets that a job names, by the ids of its sheets; the job is one that was read.

    A job itself does not say it: what it took from the shop is its own from then on.
    """
    document: Any = plain_data(Path(path))
    return {row["id"]: row[USE] for row in document["media"] if USE in row}


class _Reader:
    """Reads one document, and collects its faults on the way."""

    def __init__(
        self,
        document: Mapping[Any, Any],
        printers: object,
        unloaded: Callable[[], str],
        of_shop: tuple[str, ...] = (),
    ) -> None:
        self._of_shop = of_shop
        self.unfilled: tuple[str, ...] = ()
        self.told: tuple[str, ...] = ()
        self.kinds = BUILTIN_KINDS
        self.document = document
        # Thousands of rows may ask, and looking for what is installed takes long.
        self._unloaded = cache(unloaded)
        self._stated_printers = printers
        self.faults: list[DocumentFault] = []

    def job(self, origins: Mapping[str, Origin]) -> Job:
        self._version()
        self.faults += [unknown_key(key, "", KEYS) for key in self.document if key not in KEYS]
        stated = {key: self._scalar(key) for key in document_fields(Job)}
        values: dict[str, Any] = {key: value for key, value in stated.items() if value is not None}
        printer = self._printer()
        tables = {name: self._table(name, cls) for name, cls in TABLES.items()}
        kinds_named_in_job = [item.does for item in tables["handling"].items.values()]
        if not self.faults and self.kinds.keys() >= set(kinds_named_in_job):
            values |= {name: tuple(table.items.values()) for name, table in tables.items()}
            brought = kinds_named(kinds_named_in_job, self.kinds)
            return Job(printer=printer, handling_kinds=brought, origins=origins, **values)
        # What does not fit between the parts that were read is told in the same go.
        parts = Parts(printer, tables, values.get("sequence"), self.kinds, self._unloaded)
        between = inconsistencies_of_parts(parts)
        # A fault of an entry of the shop was told there; its echo in the job would be a second one.
        untold = [fault for fault in between if fault.path not in self.told]
        raise JobError(self._own_faults() + untold)

    def _own_faults(self) -> list[DocumentFault]:
        """The faults, without what is missing where an entry of the shop was not found."""
        return [
            fault
            for fault in self.faults
            if fault.found != NOTHING or not fault.path.startswith(self.unfilled)
        ]

    def _version(self) -> None:
        version = self.document.get("signrules", NOTHING)
        # By type, since True equals 1.
        if type(version) is not int or version != VERSION:
            found = NOTHING if "signrules" not in self.document else shown_value(version)
            expected = (
                f"signrules = {VERSION}, the version of the job document that this library reads"
            )
            self.faults.append(DocumentFault("signrules", found, expected))

    def _scalar(self, key: str) -> Any:
        if key not in self.document:
            return None
        try:
            return read_field(self.document[key], Job, key)
        except Refused as refused:
            self.faults += refused.under(key)
            return None

    def _printer(self) -> Any:
        stated = self.document.get("printer")
        if "printer" not in self.document:
            self.faults.append(
                DocumentFault("printer", NOTHING, "the table printer, which is required")
            )
            return None
        is_known = True
        if isinstance(stated, Mapping) and "use" in stated:
            base = self._catalogue_printer(stated["use"])
            is_known = base is not None
            stated = {
                **(base or {}),
                **{key: value for key, value in stated.items() if key != "use"},
            }
        try:
            return read_table(stated, Printer)
        except Refused as refused:
            # What is missing may be in the printer that was not found.
            self.faults += [
                fault for fault in refused.under("printer") if is_known or fault.found != NOTHING
            ]
            if not isinstance(stated, Mapping):
                return None
            # What could be read is compared with the rest, so that those faults are told at once
            # too.
            return read_what_can_be(stated, Printer)[0]

    @cached_property
    def printers(self) -> Mapping[Any, Any]:
        """The printers that a job may use; the built-in catalogue is read when first needed."""
        if self._stated_printers is None:
            return builtin_printers()
        if isinstance(self._stated_printers, Mapping):
            return self._stated_printers
        return {}

    def _catalogue_printer(self, id: object) -> Mapping[Any, Any] | None:
        if isinstance(id, str) and id in self.printers:
            base = self.printers[id]
            if isinstance(base, Mapping):
                return base
            expected = "a printer whose catalogue entry is a table"
        elif self.printers:
            own_names = [name for name in self.printers if isinstance(name, str)]
            names = [*self._of_shop, *own_names]
            expected = f"a printer that is known: {listed_names(names)}"
            near_name = nearest_known(id, names)
            if near_name:
                expected += f"; the nearest is {shown_value(near_name)}"
        else:
            expected = "a printer that is known, but none are loaded"
        expected += self._unloaded()
        self.faults.append(DocumentFault("printer.use", shown_value(id), expected))
        return None

    def _table(self, name: str, cls: type) -> Table:
        if name not in self.document:
            if name in NEEDED_TABLES:
                self.faults.append(
                    DocumentFault(name, NOTHING, f"the list of tables {name}, which is required")
                )
            return Table(lost=name in NEEDED_TABLES)
        rows = self.document[name]
        if not isinstance(rows, list | tuple):
            self.faults.append(
                DocumentFault(name, shown_value(rows), f"a list of tables: [[{name}]] in TOML")
            )
            return Table(lost=True)
        items: dict[int, Any] = {}
        torn_rows: dict[int, Mapping[str, object]] = {}
        for position, row in enumerate(rows):
            try:
                items[position] = read_table(row, cls)
            except Refused as refused:
                self.faults += refused.under(f"{name}[{position}]")
                item: Any = None
                stated: dict[str, object] = {}
                if isinstance(row, Mapping):
                    item, stated = read_what_can_be(row, cls)
                if item is not None:
                    items[position] = item
                else:
                    torn_rows[position] = stated
        return Table(items, torn_rows)


def plain_data(path: Path) -> object:
    """The plain data in a TOML or JSON file. Raises JobError where there is none."""
    suffix = path.suffix.lower()
    if suffix not in (".toml", ".json"):
        expected = "a file name that ends in .toml or .json"
        # A folder that is not there has no suffix, and none would help.
        if not os.path.exists(path):
            raise _whole_document("no such file or folder", f"one that is there, or {expected}")
        raise _whole_document(f"the suffix {shown_value(path.suffix)}", expected)
    text = text_of(path)
    form = suffix[1:].upper()
    try:
        return from_toml(text) if suffix == ".toml" else _read_json(text)
    except RecursionError:
        raise _whole_document(
            "tables or lists nested too deeply", f"{form} nested a few levels deep"
        ) from None
    except json.JSONDecodeError as error:
        found = f"text that is no JSON at line {error.lineno}, column {error.colno} ({error.msg})"
        raise _whole_document(found, "JSON") from None
    except ValueError as error:
        # tomllib puts line and column into its message; a number of thousands of digits has
        # neither.
        last_line = f"at line {text.count(chr(10)) + 1}, the last"
        reason = str(error)[:200].replace("at end of document", last_line)
        raise _whole_document(f"text that is no {form}: {reason}", form) from None


def text_of(path: Path) -> str:
    """The text of a UTF-8 file of at most `MOST_BYTES`, without byte order mark; else JobError."""
    expected = f"a file of at most {MOST_BYTES // 1024 // 1024} MiB that can be read"
    try:
        # A device or a pipe may never end.
        if path.exists() and not path.is_file():
            raise _whole_document("no regular file", expected)
        size = path.stat().st_size
        with path.open("rb") as file:
            # A byte more than may be: a file may grow, and not each tells its size.
            data = file.read(MOST_BYTES + 1) if size <= MOST_BYTES else b""
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _whole_document(f"{reason}".lower(), expected) from None
    if max(size, len(data)) > MOST_BYTES:
        raise _whole_document(f"a file of {max(size, len(data))} bytes", expected)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _whole_document(f"a byte that is no UTF-8 on line {line}", "text in UTF-8") from None


def _read_json(text: str) -> object:
    repeated: list[tuple[dict[str, Any], str]] = []

    def table(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        # Of a key that stands twice the last would count, and nobody would be told.
        result = dict(pairs)
        if len(result) < len(pairs):
            seen_keys: set[str] = set()
            for key, _ in pairs:
                if key in seen_keys:
                    repeated.append((result, key))
                seen_keys.add(key)
        return result

    document = json.loads(text, object_pairs_hook=table)
    if repeated:
        paths = _paths_of_tables(document)
        raise JobError(
            DocumentFault(
                joined_path(paths.get(id(holder), ""), path_label(key)),
                "the same key twice",
                "each key once",
            )
            for holder, key in repeated
        )
    return document


def _paths_of_tables(document: object) -> dict[int, str]:
    """The path of every table of a document, by the identity of the table; of deep ones that of
    what they are in.
    """
    paths: dict[int, str] = {}
    waiting: list[tuple[str, int, object]] = [("", 0, document)]
    while waiting:
        path, depth, value = waiting.pop()
        if isinstance(value, dict):
            paths[id(value)] = path
            inner = [
                (joined_path(path, path_label(key)), inner_value)
                for key, inner_value in value.items()
            ]
        elif isinstance(value, list):
            inner = [(f"{path}[{index}]", inner_value) for index, inner_value in enumerate(value)]
        else:
            continue
        for step, inner_value in inner:
            reported_path = path if depth >= _DEEPEST_PATH else step
            waiting.append((reported_path, depth + 1, inner_value))
    return paths


def _whole_document(found: str, expected: str) -> JobError:
    return JobError([DocumentFault("", found, expected)])
