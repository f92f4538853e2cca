"""Packages of npm that some tests compare with, in the folder that SIGNRULES_NODE names."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest


def node_package(name: str) -> Path:
    """The folder of an installed package of npm; the test is skipped where it is not there."""
    folder = os.environ.get("SIGNRULES_NODE")
    if not folder:
        pytest.skip("SIGNRULES_NODE names no folder node_modules")
    package = Path(folder) / name
    if not package.is_dir():
        pytest.skip(f"{name} is not installed in the folder that SIGNRULES_NODE names")
    return package


def node_command(package: str, command: str) -> list[str]:
    """How a command of an installed package is run; the test is skipped where that cannot be."""
    node_package(package)
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is not installed")
    return [node, str(Path(os.environ["SIGNRULES_NODE"]) / ".bin" / command)]
