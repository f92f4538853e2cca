"""A program that uses the wheel gets its types, by mypy and by pyright."""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest
from node_packages import node_command

ROOT = Path(__file__).parents[2]

PROGRAM = """\
from typing import assert_type

import signrules
from signrules import Evaluation, Job

job = signrules.read_job("job.toml")
assert_type(job, Job)
result = signrules.evaluate(job)
assert_type(result, Evaluation)
assert_type(result.ok, bool)
assert_type(result.order, tuple[str, ...])
for check in result.violations:
    assert_type(check.rule, str)
"""
WRONG = """\
import signrules

name: int = signrules.read_job("job.toml").name
signrules.evaluate(3)
signrules.no_such_name
"""

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        importlib.util.find_spec("hatchling") is None, reason="hatchling is needed to build"
    ),
    pytest.mark.skipif(
        not (ROOT / "pyproject.toml").exists(), reason="there is no checkout to build from"
    ),
]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of packages of a venv with the wheel in it; the rest is that of this Python."""
    folder = tmp_path_factory.mktemp("consumer")
    built = folder / "dist"
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(built)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    subprocess.run(
        [sys.executable, "-m", "venv", "--without-pip", str(folder / "venv")], check=True
    )
    (site,) = (folder / "venv").rglob("site-packages")
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    for name in ("attr", "attrs", "cattrs", "networkx", "pluggy", "typing_extensions.py"):
        found = Path(sysconfig.get_paths()["purelib"]) / name
        (site / name).symlink_to(found)
    return site


@pytest.fixture
def program(site):
    """The program and a wrong one, beside the venv."""
    folder = site
    while folder.name != "venv":
        folder = folder.parent
    (folder.parent / "program.py").write_text(PROGRAM, "utf-8")
    (folder.parent / "wrong.py").write_text(WRONG, "utf-8")
    return folder.parent


def site_python(folder: Path) -> Path:
    """The Python of the venv."""
    return folder / "venv" / ("Scripts" if sys.platform == "win32" else "bin") / "python"


def mypy(folder: Path, name: str) -> tuple[int, str]:
    pytest.importorskip("mypy", reason="mypy is not installed")
    python = site_python(folder)
    command = [sys.executable, "-m", "mypy", "--strict", "--config-file", ""]
    places = ["--python-executable", str(python), "--cache-dir", str(folder / "cache")]
    done = subprocess.run([*command, *places, name], cwd=folder, capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def pyright(folder: Path, name: str) -> list[tuple[str, int]]:
    """Its errors: the rule and the line of each."""
    command = node_command("pyright", "pyright")
    settings = {"venvPath": ".", "venv": "venv", "typeCheckingMode": "strict"}
    (folder / "pyrightconfig.json").write_text(json.dumps(settings), "utf-8")
    done = subprocess.run(
        [*command, "--outputjson", name], cwd=folder, capture_output=True, text=True
    )
    found = json.loads(done.stdout)["generalDiagnostics"]
    return [
        (each.get("rule", ""), each["range"]["start"]["line"] + 1)
        for each in found
        if each["severity"] == "error"
    ]


def test_mypy_sees_the_types(program):
    assert mypy(program, "program.py") == (0, "Success: no issues found in 1 source file\n")
    status, told = mypy(program, "wrong.py")
    assert status == 1
    assert [line.split(":")[1] for line in told.splitlines()[:-1]] == ["3", "4", "5"]


def test_without_the_marker_mypy_would_not(program, site):
    marker = site / "signrules" / "py.typed"
    shutil.move(marker, site / "kept")
    try:
        status, told = mypy(program, "program.py")
    finally:
        shutil.move(site / "kept", marker)
    assert status == 1
    assert "py.typed marker" in told


def test_pyright_sees_the_types(program):
    assert pyright(program, "program.py") == []
    assert {line for _, line in pyright(program, "wrong.py")} == {3, 4, 5}
