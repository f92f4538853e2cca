"""The fixtures of the testing kit, with our plugin under test."""

from __future__ import annotations

import pytest
import signrules_ourshop.plugin as plugin

pytest_plugins = ["signrules.testing.plugin"]


@pytest.fixture(scope="session")
def signrules_plugins():
    """What is under test."""
    return [plugin]
