"""The heads of folders tell a reader where to begin: what they name exists."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import signrules

PACKAGE = Path(signrules.__file__).parent
FOLDERS = (
    "artwork",
    "continuing",
    "many_jobs",
    "planning",
    "planning/audit",
    "planning/conflict",
    "planning/gaps",
    "planning/order",
    "remedies",
)


def named_in_head(folder: Path) -> list[str]:
    """What stands between backticks at the head of a folder."""
    head = ast.get_docstring(ast.parse((folder / "__init__.py").read_text("utf-8"))) or ""
    return re.findall(r"`([^`]+)`", head)


def is_module(name: str, folder: Path) -> bool:
    """Whether a name is a module or a folder, seen from a folder or from the package."""
    places = [above / name for above in (folder, PACKAGE)]
    return any(
        place.with_suffix(".py").is_file() or (place / "__init__.py").is_file() for place in places
    )


@pytest.mark.parametrize("folder", FOLDERS)
def test_the_head_of_a_folder_says_where_to_begin(folder):
    text = (PACKAGE / folder / "__init__.py").read_text("utf-8")
    assert re.search(r"Begin with|ways in", text)
    assert len(set(named_in_head(PACKAGE / folder))) > 2


@pytest.mark.parametrize("folder", FOLDERS)
def test_each_module_that_a_head_names_exists(folder):
    names = named_in_head(PACKAGE / folder)
    assert [name for name in names if not is_module(name, PACKAGE / folder)] == []


def test_a_module_that_is_gone_would_be_noticed():
    assert is_module("finder", PACKAGE / "remedies")
    assert is_module("planning/pipeline", PACKAGE / "remedies")
    assert not is_module("no_such_module", PACKAGE / "remedies")
