"""The documentation site, built once for the tests that look at it."""

from __future__ import annotations

import importlib.util

import pytest
from docs.site_building import ROOT, build_site

NEEDED = ("furo", "matplotlib", "myst_parser", "sphinx", "sphinx_copybutton")


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
