"""The work order as a document: read with every fault by its path, written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from signrules.documents.order_places import faults_of_places
from signrules.documents.reading import plain_data
from signrules.documents.refusal import Refused
from signrules.documents.table_reader import read_table, write_table
from signrules.documents.writing import write_document
from signrules.errors import DocumentFault, JobError, WorkOrderError
from signrules.model.wording import NOTHING, shown_value
from signrules.model.work_order import WorkOrder

VERSION = 1
VERSION_KEY = "signrules_work_order"
FILE_NAME = "work-order.toml"
"""What a work order is called in the folder that holds its jobs."""

_REFERENCES = (
    ("pieces", "load", "loads"),
    ("pieces", "stock_sheet", "stock_sheets"),
    ("signs", "piece", "pieces"),
)
"""Tables whose rows name a row of another: the table, its key, and the other."""


def read_work_order(path: str | os.PathLike[str]) -> WorkOrder:
    """The work order in a TOML or JSON file, or the one in a folder.

    Raises WorkOrderError, with the file's name as its origin, for every fault of it.
    """
    file = Path(path)
    if file.is_dir():
        file = file / FILE_NAME
    origin = os.fspath(file)
    try:
        return work_order_from_dict(plain_data(file))
    except (JobError, WorkOrderError) as error:
        raise WorkOrderError(error.faults, origin) from None


def work_order_from_dict(document: object) -> WorkOrder:
    """The work order that plain data describes. Raises WorkOrderError with every fault."""
    if not isinstance(document, Mapping):
        raise WorkOrderError([DocumentFault("", shown_value(document), "a table")])
    faults = list(_faults_of_version(document))
    stated = {key: value for key, value in document.items() if key != VERSION_KEY}
    try:
        order: WorkOrder = read_table(stated, WorkOrder)
    except Refused as refused:
        raise WorkOrderError([*faults, *refused.faults]) from None
    faults += _faults_between(order)
    # Places on sheets that are not there say nothing.
    if not faults:
        faults += faults_of_places(order)
    if faults:
        raise WorkOrderError(faults)
    return order


def work_order_to_dict(order: WorkOrder) -> dict[str, Any]:
    """The work order as plain data, JSON-ready: `work_order_from_dict` makes the same of it."""
    return {VERSION_KEY: VERSION, **write_table(order)}


def write_work_order(order: WorkOrder, path: str | os.PathLike[str]) -> None:
    """Write a work order as TOML or JSON; all of it or nothing.

    Raises WorkOrderError where the file cannot be written.
    """
    try:
        write_document(work_order_to_dict(order), path)
    except JobError as error:
        raise WorkOrderError(error.faults, error.origin) from None


def _faults_of_version(document: Mapping[Any, Any]) -> Iterator[DocumentFault]:
    version = document.get(VERSION_KEY)
    if type(version) is not int or version != VERSION:
        found = shown_value(version) if VERSION_KEY in document else NOTHING
        yield DocumentFault(VERSION_KEY, found, f"the version of the work order, {VERSION}")


def _faults_between(order: WorkOrder) -> Iterator[DocumentFault]:
    """Ids that two rows have, and ids that no row has."""
    for table in ("loads", "stock_sheets", "pieces", "signs"):
        yield from _repeated_ids(table, [row.id for row in getattr(order, table)])
    for table, key, named in _REFERENCES:
        known = {row.id for row in getattr(order, named)}
        ids = [getattr(row, key) for row in getattr(order, table)]
        yield from _unknown_ids(table, key, ids, known)


def _repeated_ids(table: str, ids: Sequence[str]) -> Iterator[DocumentFault]:
    first: dict[str, int] = {}
    for position, id in enumerate(ids):
        if first.setdefault(id, position) != position:
            expected = f"an id that no other has; {table}[{first[id]}] has it too"
            yield DocumentFault(f"{table}[{position}].id", shown_value(id), expected)


def _unknown_ids(
    table: str, key: str, ids: Sequence[str], known: Collection[str]
) -> Iterator[DocumentFault]:
    for position, id in enumerate(ids):
        if id not in known:
            expected = f"the id of one of the {key.replace('_', ' ')}s"
            yield DocumentFault(f"{table}[{position}].{key}", shown_value(id), expected)
