"""The folder of a work order: a job for each bed load, and the work order itself, written last."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from signrules.composing.composition import Composition
from signrules.documents.whole_files import NEW_FOLDER, made_folder
from signrules.documents.work_orders import FILE_NAME, read_work_order, write_work_order
from signrules.documents.writing import write_document, write_new_document
from signrules.errors import DocumentFault, SignrulesError, WorkOrderError
from signrules.schedules.drawn_types import name_from


def write_composition(
    composition: Composition, folder: str | os.PathLike[str], *, replace: bool = False
) -> tuple[Path, ...]:
    """Write the jobs of a composition and its work order into a folder; their paths.

    The folder is made where it is not there. Each file is written whole or not at all, the work
    order after all jobs. With `replace` it takes the place of an earlier work order, whose jobs
    are removed where they are no longer part of it. The jobs that are written name their files of
    artwork from that folder, whichever folder `compose` was told.

    Raises WorkOrderError where one is there already or where it cannot be read, SignrulesError
    where the folder cannot be made, JobError where a job cannot be written.
    """
    place = made_folder(Path(folder), NEW_FOLDER)
    earlier = _earlier_files(place, replace)
    # Writing anew refuses a file that is there: it may be a job that somebody changed by hand.
    write = write_document if replace else write_new_document
    paths = []
    for row, load in zip(composition.order.loads, composition.loads, strict=True):
        path = place / row.file
        document = load.document
        _name_artwork_from(place, document, composition.folder)
        write(document, path)
        paths.append(path)
    for path in earlier:
        if path not in paths:
            path.unlink(missing_ok=True)
    order_path = place / FILE_NAME
    # Last, so that an order that is there has all of its jobs, whatever stopped the writing.
    write_work_order(composition.order, order_path)
    return *paths, order_path


def _name_artwork_from(place: Path, document: Mapping[str, Any], before: Path) -> None:
    """Change a job that names its files of artwork from one folder to name them from another."""
    for item in document["passes"]:
        for source in item.get("artwork", ()):
            source["file"] = name_from(place, before / source["file"])


def _earlier_files(place: Path, replace: bool) -> list[Path]:
    """The jobs of the work order that is there already."""
    if not (place / FILE_NAME).exists():
        return []
    if not replace:
        expected = "a folder without one; --replace (replace=True) writes over it"
        raise WorkOrderError([DocumentFault("", "a work order", expected)], str(place))
    try:
        earlier = read_work_order(place)
    except SignrulesError:
        # What cannot be read names no files.
        return []
    files = [place / row.file for row in earlier.loads]
    # An order that names files elsewhere must not have them removed.
    return [file for file in files if file.resolve().parent == place.resolve()]
