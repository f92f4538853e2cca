"""The fixtures of the testing kit, with this plugin under test."""

from __future__ import annotations

import pytest
import signrules_artwork.plugin as plugin

pytest_plugins = ["signrules.testing.plugin"]


@pytest.fixture(scope="session")
def signrules_plugins():
    return [plugin]
