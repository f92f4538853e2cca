"""The recipe for a container, built where a builder is at hand."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from signrules.cli import command_parser

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "command-line.md"
BUILDERS = ("docker", "podman")

pytestmark = pytest.mark.skipif(
    not (ROOT / "pyproject.toml").exists(), reason="there is no checkout to build from"
)


def recipe() -> str:
    found = re.search(
        r"<!-- file: Containerfile -->\n```dockerfile\n(.*?)```", PAGE.read_text("utf-8"), re.S
    )
    assert found is not None
    return found[1]


def test_it_names_extras_and_a_command_that_are_there():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    named = re.findall(r"\[([a-z,]+)\]'", recipe())
    assert len(named) == 2
    assert named[0] == named[1]
    assert set(named[0].split(",")) <= set(project["optional-dependencies"])
    (entry,) = re.findall(r"^ENTRYPOINT (.+)$", recipe(), re.M)
    assert json.loads(entry) == [command_parser().prog]
    (python, again) = re.findall(r"^FROM python:([0-9.]+)-slim", recipe(), re.M)
    assert python == again
    assert f"Programming Language :: Python :: {python}" in project["classifiers"]


@pytest.fixture
def builder() -> str:
    """A builder that works here; its service may be down."""
    for name in BUILDERS:
        if (
            shutil.which(name)
            and subprocess.run([name, "info"], capture_output=True).returncode == 0
        ):
            return name
    pytest.skip(f"none of {', '.join(BUILDERS)} is at hand with its service running")


@pytest.mark.slow
def test_it_is_built_and_judges(builder, tmp_path):
    source = tmp_path / "source"
    source.mkdir()
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, source)
    shutil.copytree(
        ROOT / "signrules", source / "signrules", ignore=shutil.ignore_patterns("__pycache__")
    )
    (source / "Containerfile").write_text(recipe(), "utf-8")
    base = re.findall(r"^FROM (\S+)", recipe(), re.M)[0]
    if subprocess.run([builder, "pull", base], capture_output=True).returncode != 0:
        pytest.skip(f"{base} cannot be had")
    tag = "signrules-trial"
    command = [builder, "build", "-f", "Containerfile", "-t", tag, "."]
    subprocess.run(command, cwd=source, check=True)
    try:
        with (ROOT / "docs" / "examples" / "clinic.toml").open("rb") as job:
            done = subprocess.run(
                [builder, "run", "--rm", "--network", "none", "-i", tag, "check", "-"],
                stdin=job,
                capture_output=True,
                text=True,
            )
    finally:
        subprocess.run([builder, "rmi", tag], capture_output=True)
    assert done.returncode == 0, done.stderr
    assert "CHECKS PASS" in done.stdout
