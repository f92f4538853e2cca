"""What the sdist and the wheel hold: all that is needed, and nothing else."""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from email import message_from_bytes
from email.message import Message
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PARTS = ("signrules", "tests", "docs", "plugins")
pytestmark = [
    pytest.mark.skipif(
        importlib.util.find_spec("hatchling") is None, reason="hatchling is needed to build"
    ),
    pytest.mark.skipif(
        not (ROOT / "pyproject.toml").exists(), reason="there is no checkout to build from"
    ),
]


def ours(part: str) -> set[str]:
    """The files of one part of the checkout, but for what tools leave behind."""
    left = {"__pycache__", "build", "dist"}
    found = (path.relative_to(ROOT) for path in (ROOT / part).rglob("*") if path.is_file())
    return {
        path.as_posix()
        for path in found
        if not any(
            name in left or name.startswith(".") or name.endswith(".egg-info")
            for name in path.parts
        )
    }


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with both, built from a copy: a build leaves nothing in the checkout."""
    copy, made = tmp_path_factory.mktemp("checkout"), tmp_path_factory.mktemp("dist")
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", ".gitignore"):
        if (ROOT / name).exists():
            shutil.copy(ROOT / name, copy)
    for part in PARTS:
        shutil.copytree(ROOT / part, copy / part)
    build = [sys.executable, "-m", "hatchling", "build", "-d", str(made)]
    shown = subprocess.run(build, cwd=copy, capture_output=True, text=True, check=False)
    assert shown.returncode == 0, shown.stderr
    return made


@pytest.mark.thorough
def test_the_wheel_holds_the_package_and_all_its_data(built):
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        metadata = next(
            archive.read(name).decode("utf-8") for name in names if name.endswith("/METADATA")
        )
    inside = {name for name in names if ".dist-info/" not in name}
    assert inside == ours("signrules")
    kinds = {Path(name).suffix for name in inside}
    assert {".py", ".pyi", ".toml", ".json", ".css", ".j2"} <= kinds
    assert "signrules/py.typed" in inside
    # Lower bounds, and nothing but the four without an extra.
    needed = [
        line.split(" ", 1)[1] for line in metadata.splitlines() if line.startswith("Requires-Dist:")
    ]
    bare = sorted(line for line in needed if "extra ==" not in line)
    assert [line.split(">=")[0] for line in bare] == ["attrs", "cattrs", "networkx", "pluggy"]


def metadata_of(built: Path) -> Message:
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        (name,) = [name for name in archive.namelist() if name.endswith(".dist-info/METADATA")]
        return message_from_bytes(archive.read(name))


def test_the_text_on_an_index_page_has_no_link_that_leads_nowhere(built):
    text = str(metadata_of(built).get_payload())
    assert text.startswith("# signrules\n")
    assert "[" in (ROOT / "README.md").read_text("utf-8")
    links = re.findall(r"\]\(([^)]*)\)", text)
    assert [link for link in links if not link.startswith("https://")] == []
    # What a link said is still said.
    assert "All pages: to begin" in text
    assert text.rstrip().endswith("in the source distribution and in the checkout.")


def test_an_index_gets_words_of_its_own_and_nothing_that_nobody_decided(built):
    metadata = metadata_of(built)
    classifiers = metadata.get_all("Classifier")
    trove = pytest.importorskip("trove_classifiers", reason="trove-classifiers is not installed")
    assert set(classifiers) <= set(trove.classifiers)
    assert "Typing :: Typed" in classifiers
    assert "braille" in metadata["Keywords"]
    for undecided in ("License", "License-Expression", "License-File", "Project-URL", "Home-page"):
        assert undecided not in metadata
    assert not any(each.startswith("License") for each in classifiers)
    assert "## Licence\n\nNone is stated yet" in (ROOT / "README.md").read_text("utf-8")


def test_the_sdist_holds_tests_docs_and_plugins(built):
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        names = {
            name.partition("/")[2]
            for name in archive.getnames()
            if not archive.getmember(name).isdir()
        }
    for part in PARTS:
        assert {name for name in names if name.startswith(f"{part}/")} == ours(part)
    beside = {name for name in names if "/" not in name}
    assert {"README.md", "DEVELOPERS.md", "pyproject.toml", "PKG-INFO"} <= beside
