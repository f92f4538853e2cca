"""A mended job as a document beside the one that it came from."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from signrules.documents.json_patch import apply_patch
from signrules.documents.reading import job_from_dict, plain_data, text_of
from signrules.documents.writing import job_to_dict, write_new_document
from signrules.errors import SignrulesError
from signrules.plugins import Plugins
from signrules.shop import Shop
from signrules.whatif.mending import Mended


def write_mended(
    mended: Mended,
    source: str | os.PathLike[str],
    path: str | os.PathLike[str],
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
) -> None:
    """Writes a mended job to a new file, as its author wrote it except for what was changed;
    comments are lost, but for a first line that names the schema for an editor, where both files
    lie in one folder.

    `source` is the document of the job as it was, and is left alone; so is any file that is there
    already. Raises ValueError where nothing was mended, JobError where the file is there or
    cannot be written.
    """
    if mended.job is None:
        raise ValueError("expected a job that was mended")
    document = _as_written(mended, Path(source), plugins, shop)
    write_new_document(document, path, first_line=_schema_line(Path(source), Path(path)))


def _schema_line(source: Path, target: Path) -> str:
    """The line of a TOML document that names its schema for editors; empty where it has none, or
    where the path in it would lead elsewhere.
    """
    if source.suffix.lower() != ".toml" or source.absolute().parent != target.absolute().parent:
        return ""
    first, _, _ = text_of(source).partition("\n")
    return f"{first.rstrip()}\n\n" if first.startswith("#:schema ") else ""


def _as_written(
    mended: Mended, source: Path, plugins: Plugins | None, shop: Shop | None
) -> Mapping[str, Any]:
    """The author's document with the patch; where the two do not fit, one made from the job."""
    assert mended.job is not None
    try:
        document = apply_patch(plain_data(source), mended.patch)
        # The patch is one on the document that signrules writes. On the author's, with entries of
        # the shop and defaults left out, it may miss or mean something else.
        if job_from_dict(document, plugins=plugins, shop=shop) == mended.job:
            part: Mapping[str, Any] = document
            return part
    except SignrulesError:
        pass
    return job_to_dict(mended.job)
