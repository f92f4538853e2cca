"""The documentation site, built once for the tests that look at it."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
NEEDED = ("furo", "matplotlib", "myst_parser", "sphinx", "sphinx_copybutton")


def build_site(root: Path, target: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, str(root / "docs" / "site" / "build.py"), str(target)]
    return subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)


@pytest.fixture(scope="session")
def needs_site():
    missing = [name for name in NEEDED if importlib.util.find_spec(name) is None]
    if missing:
        pytest.skip(f"{', '.join(missing)} not installed; the extra 'docs' brings them")


@pytest.fixture(scope="session")
def site(needs_site, tmp_path_factory):
    target = tmp_path_factory.mktemp("site")
    done = build_site(ROOT, target)
    assert done.returncode == 0, done.stdout + done.stderr
    return target


@pytest.fixture
def site_modules(monkeypatch):
    """The modules of docs/site and of its page in the browser can be imported."""
    for folder in (ROOT / "docs" / "site", ROOT / "docs" / "site" / "browser"):
        monkeypatch.syspath_prepend(str(folder))
