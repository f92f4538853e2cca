"""The hook for pre-commit names a command that is there, and takes jobs and nothing else."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import pytest

from signrules.cli import command_parser, main

ROOT = Path(__file__).parents[2]


@pytest.fixture
def hook():
    yaml = pytest.importorskip("yaml", reason="PyYAML comes with the extra docs")
    (hook,) = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text("utf-8"))
    return hook


def test_its_entry_is_the_installed_command(hook, capsys):
    name, *words = shlex.split(hook["entry"])
    scripts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["scripts"]
    assert name in scripts
    assert hook["language"] == "python"
    # pre-commit puts the names of files behind it.
    clinic = str(ROOT / "docs" / "examples" / "clinic.toml")
    assert command_parser().parse_args([*words, clinic, clinic]).jobs == [clinic, clinic]
    assert main([*words, clinic]) == 0
    assert main([*words, str(ROOT / "docs" / "examples" / "clinic-scrapes.toml")]) == 1
    capsys.readouterr()


@pytest.mark.parametrize(
    ("path", "is_taken"),
    [
        ("jobs/clinic.toml", True),
        ("signs/jobs/2027/clinic.json", True),
        ("pyproject.toml", False),
        ("myjobs/clinic.toml", False),
        ("jobs/signrules.toml", False),
        ("jobs/day/work-order.toml", False),
        ("jobs/.signrules.schema.json", False),
        ("jobs/old-signrules.toml", True),
    ],
)
def test_which_files_it_takes(hook, path, is_taken):
    """pre-commit searches for `files` and `exclude` anywhere in the path (its own documents)."""
    taken = re.search(hook["files"], path) and not re.search(hook["exclude"], path)
    assert bool(taken) is is_taken


def test_the_page_names_the_hook(hook):
    page = (ROOT / "docs" / "command-line.md").read_text("utf-8")
    assert f"- id: {hook['id']}\n" in page


def test_pre_commit_takes_the_file():
    clientlib = pytest.importorskip("pre_commit.clientlib", reason="pre-commit is not installed")
    (hook,) = clientlib.load_manifest(str(ROOT / ".pre-commit-hooks.yaml"))
    assert hook["id"] == "signrules-check"
