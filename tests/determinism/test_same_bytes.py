"""The same job gives the same bytes in every format: again, elsewhere, under other settings, by
another Python.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from determinism.outputs import all_outputs
from effort import LONG
from hypothesis import given, settings
from strategies import arbitrary_jobs

import signrules
from signrules import Job, write_job

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
SETTINGS = (
    {"PYTHONHASHSEED": "0", "TZ": "UTC", "LC_ALL": "C"},
    {"PYTHONHASHSEED": "1", "TZ": "Pacific/Kiritimati", "LC_ALL": "C.UTF-8", "PYTHONUTF8": "1"},
    {"PYTHONHASHSEED": "4242", "TZ": "America/Adak", "LC_ALL": "de_DE.UTF-8", "PYTHONUTF8": "0"},
)


def generated(count: int) -> list[Job]:
    """So many jobs of the kit, the same in every run."""
    found: list[Job] = []

    @settings(max_examples=count * 4, derandomize=True, database=None, deadline=None)
    @given(arbitrary_jobs())
    def collect(job: Job) -> None:
        found.append(job)

    collect()
    return sorted(found, key=lambda job: len(job.passes))[-count:]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("jobs")
    for path in (ROOT / "docs" / "examples").glob("*.toml"):
        shutil.copy(path, folder)
    for number, job in enumerate(generated(100 if LONG else 5)):
        write_job(job, folder / f"generated-{number}.json")
    return folder


@pytest.fixture(scope="module")
def made(folder: Path) -> dict[str, dict[str, str]]:
    return all_outputs(folder)


def by_another(python: str, folder: Path, **environment: str) -> dict[str, dict[str, str]]:
    """What another process makes of the folder: this Python's libraries, none of which is compiled
    for it alone.
    """
    import attrs

    path = os.pathsep.join(
        [str(Path(signrules.__file__).parents[1]), str(Path(attrs.__file__).parents[1])]
    )
    shown = subprocess.run(
        [python, "-B", str(HERE / "outputs.py"), str(folder)],
        capture_output=True,
        env=os.environ | {"PYTHONPATH": path} | environment,
        check=False,
    )
    assert shown.returncode == 0, shown.stderr.decode("utf-8", "replace")
    return dict(json.loads(shown.stdout))


def same(one: dict[str, dict[str, str]], other: dict[str, dict[str, str]]) -> None:
    """Says which output differs, and does not print both."""
    assert one.keys() == other.keys()
    pairs = [(job, name) for job in one for name in one[job] | other[job]]
    assert [(job, name) for job, name in pairs if one[job].get(name) != other[job].get(name)] == []


def test_everything_is_there(made):
    assert len(made) >= 8
    assert any(len(formats) == 14 for formats in made.values())
    assert all(text for formats in made.values() for text in formats.values())


def test_again_in_the_same_process(folder, made):
    same(all_outputs(folder), made)


@pytest.mark.parametrize("environment", SETTINGS, ids=lambda each: each["TZ"])
def test_in_another_process_under_other_settings(folder, made, environment):
    same(by_another(sys.executable, folder, **environment), made)


@cache
def other_pythons() -> dict[str, str]:
    """Every other release of CPython from 3.11 on that the machine offers, by its version."""
    folders = [Path(folder) for folder in os.environ.get("PATH", "").split(os.pathsep) if folder]
    names = [f"python3.{minor}" for minor in range(11, 20)]
    candidates = [
        str(folder / name)
        for folder in folders
        for name in names
        if os.access(folder / name, os.X_OK)
    ]
    root = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"))
    candidates += [str(path) for path in sorted(root.glob("versions/3.*/bin/python3"))]
    code = "import sys; print(sys.implementation.name, *sys.version_info[:3])"
    found = {}
    for python in candidates:
        shown = subprocess.run(
            [python, "-I", "-c", code], capture_output=True, text=True, check=False
        )
        name, *numbers = shown.stdout.split() or [""]
        if name == "cpython" and (3, 11) <= tuple(map(int, numbers)) != sys.version_info[:3]:
            found.setdefault(".".join(numbers), python)
    return found


@pytest.mark.skipif(
    not other_pythons(), reason="no other Python from 3.11 on was found on PATH or under pyenv"
)
@pytest.mark.parametrize("version", other_pythons() or ["none"])
def test_by_another_python(folder, made, version):
    same(by_another(other_pythons()[version], folder), made)
