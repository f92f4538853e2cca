"""Importing runs definitions and nothing else: it reads Python's own files, writes, starts and
calls nothing.
"""

from __future__ import annotations

import json
import os
import site
import subprocess
import sys
import sysconfig
from pathlib import Path
from typing import Any

import pytest

import signrules

HERE = Path(__file__).parent
PACKAGE = Path(signrules.__file__).parent
CODE = (".py", ".pyc", ".so", ".pyd", ".dll", ".pyi")


def modules() -> list[str]:
    """Every module under signrules, but for the one that runs the command."""
    paths = sorted(PACKAGE.rglob("*.py"))
    names = [".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts) for path in paths]
    return [name.removesuffix(".__init__") for name in names if not name.endswith("__main__")]


def audited(report: Path, *arguments: str, where: Path | None = None) -> tuple[dict[str, Any], str]:
    """What a fresh interpreter did, and what it printed."""
    shown = subprocess.run(
        [sys.executable, "-B", str(HERE / "audited.py"), str(report), *arguments],
        capture_output=True,
        cwd=where,
        env=os.environ | {"PYTHONPATH": str(PACKAGE.parent), "PYTHONUTF8": "1"},
        check=False,
    )
    assert report.exists(), shown.stderr.decode("utf-8", "replace")
    return dict(json.loads(report.read_text("utf-8"))), shown.stdout.decode("utf-8")


def python_paths() -> list[Path]:
    """Where Python and its libraries lie."""
    paths = [*sysconfig.get_paths().values(), *site.getsitepackages(), sys.base_prefix, sys.prefix]
    return [Path(path).resolve() for path in paths]


def done(tmp_path: Path, *names: str) -> dict[str, Any]:
    did, printed = audited(tmp_path / "report.json", "import", *names)
    assert printed == ""
    return did


def test_there_are_many_modules():
    assert len(modules()) > 100
    assert "signrules.cli.check_command" in modules()


@pytest.mark.thorough
def test_importing_every_module_does_nothing_else(tmp_path):
    pytest.importorskip("hypothesis")  # The testing kit needs it.
    did = done(tmp_path, *modules())
    assert did["read"], "nothing was seen"
    inside = [Path(path) for path in did["read"] if Path(path).is_relative_to(PACKAGE)]
    assert inside
    assert [path for path in inside if path.suffix not in CODE] == []
    roots = python_paths()
    outside = [
        path
        for path in did["read"]
        if not any(Path(path).resolve().is_relative_to(root) for root in roots)
    ]
    assert [path for path in outside if not Path(path).is_relative_to(PACKAGE)] == []
    assert did["written"] == did["changed"] == did["started"] == did["network"] == []


@pytest.mark.thorough
def test_importing_the_package_reads_none_of_its_data(tmp_path):
    did = done(tmp_path, "signrules", *(f"signrules.{home}" for home in signrules._HOMES))
    assert [
        path for path in did["read"] if not path.endswith(CODE) and "dist-info" not in path
    ] == []
    assert did["written"] == did["changed"] == did["started"] == did["network"] == []
