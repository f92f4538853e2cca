"""Commands reach no network, start nothing, and write only the file that they were told to."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from effort import first_quick
from fuzz.texts import RATES
from supply.test_import import audited

ROOT = Path(__file__).parents[2]
READING = [
    ["check", "clinic.toml"],
    ["check", "clinic-scrapes.toml", "--all", "--format", "json"],
    ["check", "clinic.toml", "clinic-scrapes.toml", "--format", "sarif"],
    ["check", ".", "--format", "junit"],
    ["order", "two-thicknesses.toml", "--why"],
    ["estimate", "clinic.toml", "--rates", "rates.toml"],
    ["graph", "clinic.toml"],
    ["graph", "clinic.toml", "--plan", "--format", "mermaid"],
    ["rules"],
    ["explain", "clearance.strike"],
    ["standards"],
    ["plugins"],
    ["schema", "job"],
]
WRITING = [
    ["sheet", "clinic.toml", "-o", "out/made"],
    ["graph", "clinic.toml", "-o", "out/made"],
    ["graph", "clinic.toml", "--plan", "--format", "mermaid", "-o", "out/made"],
    ["check", "clinic-scrapes.toml", "--mend", "out/made.toml"],
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "jobs"
    (folder / "out").mkdir(parents=True)
    for path in (ROOT / "docs" / "examples").glob("*.toml"):
        shutil.copy(path, folder)
    (folder / "rates.toml").write_text(RATES, "utf-8")
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.mark.thorough
@pytest.mark.parametrize("arguments", first_quick(1, READING), ids=" ".join)
def test_a_command_that_prints_writes_nothing(tmp_path, folder, arguments):
    before = contents(folder)
    did, printed = audited(tmp_path / "report.json", "command", *arguments, where=folder)
    assert printed
    assert did["written"] == did["changed"] == did["started"] == did["network"] == []
    assert contents(folder) == before


@pytest.mark.thorough
@pytest.mark.parametrize("arguments", first_quick(1, WRITING), ids=" ".join)
def test_a_command_that_writes_writes_what_it_was_told_to(tmp_path, folder, arguments):
    before = contents(folder)
    target = folder / arguments[-1]
    did, _ = audited(tmp_path / "report.json", "command", *arguments, where=folder)
    # A temporary file beside it takes the target's name once it is whole.
    assert did["written"]
    for path in map(Path, did["written"]):
        assert path.parent == target.parent
        assert path == target or (
            path.name.startswith(".") and path.name.endswith((".tmp", ".part"))
        )
    for _, *paths in did["changed"]:
        assert {Path(path).parent for path in paths} == {target.parent}
    assert did["started"] == did["network"] == []
    after = contents(folder)
    assert after.pop(str(target.relative_to(folder)))
    assert after == before


@pytest.mark.thorough
def test_the_watch_sees_what_is_forbidden(tmp_path):
    """The tests above would fail if something were done."""
    (tmp_path / "mischief.py").write_text(
        "import pathlib, socket, subprocess, sys, threading\n"
        "pathlib.Path('left.txt').write_text('x')\n"
        "socket.socket().close()\n"
        "threading.Thread(target=print).start()\n"
        "subprocess.run([sys.executable, '-c', ''])\n",
        "utf-8",
    )
    plugin = ["check", str(ROOT / "docs" / "examples" / "clinic.toml"), "--plugin", "mischief.py"]
    did, _ = audited(tmp_path / "report.json", "command", *plugin, where=tmp_path)
    assert [Path(path).name for path in did["written"] if path.endswith(".txt")] == ["left.txt"]
    assert any(event.startswith("_thread.start") for event in did["started"])
    assert "subprocess.Popen" in did["started"]
    assert "socket.__new__" in did["network"]
