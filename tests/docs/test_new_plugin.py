"""The page on a new plugin, done as it says: from an empty folder to an installed plugin whose rule
fires.

Two things differ from what a reader does. `pip` is told to ask no index and to build with what is
here, so that no network is needed; and the new environment borrows the packages of the one that
runs the tests, since it cannot fetch them. Both packages are built and installed for real.
"""

from __future__ import annotations

import importlib.util
import os
import re
import runpy
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from signrules import load_plugins
from signrules.plugin_demands import OWN_SETS

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "new-plugin.md"
_STEP = re.compile(
    r"<!-- new-plugin -->\n```sh\n(?P<commands>.*?)```\n(?:\n```text\n(?P<shown>.*?)```\n)?", re.S
)


def steps():
    return [
        (m["commands"].splitlines(), m["shown"]) for m in _STEP.finditer(PAGE.read_text("utf-8"))
    ]


def agrees(shown: str, printed: str) -> bool:
    parts = [re.escape(part) for part in re.split(r"^\.\.\.\n", shown, flags=re.M)]
    return re.fullmatch("(?:.*\n)*?".join(parts), printed) is not None


def copy_of_the_checkout(folder: Path) -> None:
    folder.mkdir()
    ignored = shutil.ignore_patterns("__pycache__", ".venv")
    for name in ("signrules", "docs"):
        shutil.copytree(ROOT / name, folder / name, ignore=ignored)
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, folder / name)


def run(line: str, where: Path) -> str:
    """Run one line of the page; what it printed.

    The Python of the tests is the first on the path.
    """
    line = line.replace("pip install", "pip install --quiet --no-index --no-build-isolation")
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    environment = {
        key: value
        for key, value in os.environ.items()
        if key not in ("PYTHONPATH", "PYTEST_ADDOPTS")
    }
    environment |= {"PATH": path, "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        line,
        shell=True,
        cwd=where,
        env=environment,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, f"{line}\n{done.stdout}{done.stderr}"
    return done.stdout


def borrow_packages(venv: Path) -> None:
    (site,) = venv.glob("lib/python*/site-packages")
    (site / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="the page's commands are those of a POSIX shell")
@pytest.mark.skipif(
    importlib.util.find_spec("hatchling") is None,
    reason="hatchling is needed to build without a network; the extra 'test' brings it",
)
def test_the_page_done_as_it_says(tmp_path):
    copy_of_the_checkout(tmp_path / "signrules")
    where = tmp_path
    assert len(steps()) >= 6
    for commands, shown in steps():
        printed = ""
        for line in commands:
            if line.startswith("cd "):
                where = where / line.removeprefix("cd ")
                continue
            printed += run(line, where)
            if line.endswith("-m venv .venv"):
                borrow_packages(where / ".venv")
        assert shown is None or agrees(shown, printed), (
            f"the page shows for {commands}\n{shown}\nit prints\n{printed}"
        )
    assert where == tmp_path / "signrules-lighthouse"
    code = (
        "import signrules, signrules_lighthouse as own; print(signrules.__file__);"
        " print(own.__file__)"
    )
    found = run(f".venv/bin/python -c '{code}'", where)
    of_signrules, of_plugin = found.splitlines()
    assert Path(of_signrules).is_relative_to(where / ".venv"), "signrules came from somewhere else"
    assert Path(of_plugin).is_relative_to(where)
    assert "ourshop" not in "".join(
        each.read_text("utf-8") for each in where.glob("*.*") if each.is_file()
    )


NEW = ROOT / "docs" / "plugin-template" / "new.py"


def new(*arguments: str, where: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(NEW), *arguments], cwd=where, capture_output=True, text=True
    )


@pytest.mark.parametrize("word", ["", "Light", "light-house", "../x", "2lights", "a b", "é"])
def test_a_word_that_will_not_do(word, tmp_path):
    refused = new(word, where=tmp_path)
    assert refused.returncode == 1
    assert "expected one word of small letters and digits" in refused.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_word_with_which_no_rule_could_load(tmp_path):
    refused = new("braille", where=tmp_path)
    assert refused.returncode == 1
    assert "the word of a set of rules that belongs to signrules" in refused.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_words_that_are_taken_are_the_sets_of_signrules():
    taken = runpy.run_path(str(NEW))["SETS_OF_SIGNRULES"]
    assert taken == sorted({*OWN_SETS, *(one.name for one in load_plugins().rule_sets)})


def test_a_folder_that_is_there_is_left_alone(tmp_path):
    there = tmp_path / "signrules-lighthouse"
    there.mkdir()
    (there / "mine.txt").write_text("mine", encoding="utf-8")
    refused = new("lighthouse", where=tmp_path)
    assert refused.returncode == 1
    assert "is there already" in refused.stderr
    assert [each.name for each in there.iterdir()] == ["mine.txt"]
    assert [each.name for each in tmp_path.iterdir()] == ["signrules-lighthouse"]


def test_without_a_word_it_says_how_it_is_used(tmp_path):
    assert "usage: python3 new.py WORD" in new(where=tmp_path).stderr


def test_the_word_is_everywhere(tmp_path):
    assert new("lighthouse", where=tmp_path).returncode == 0
    made = tmp_path / "signrules-lighthouse"
    files = {str(each.relative_to(made)) for each in made.rglob("*") if each.is_file()}
    assert {
        "pyproject.toml",
        "signrules_lighthouse/plugin.py",
        "tests/test_plugin.py",
        "example.toml",
    } <= files
    assert "new.py" not in files
    for each in files:
        assert "ourshop" not in each
        assert "ourshop" not in (made / each).read_text("utf-8")
