"""Fixtures for the tests of a plugin: write `pytest_plugins = ["signrules.testing.plugin"]` into
your conftest.py.

It is no entry point of pytest on purpose: that would load hypothesis in the tests of everyone who
has signrules.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from signrules.catalogue import materials
from signrules.documents.document_changes import changed
from signrules.documents.reading import job_from_dict
from signrules.evaluation import Evaluation, evaluate
from signrules.plugins import Plugins, load_plugins
from signrules.testing.hook_contract import assert_hook_contract
from signrules.testing.rule_contract import assert_rule_contract
from signrules.testing.run_rules import Rules


@pytest.fixture
def sample_job() -> dict[str, Any]:
    """The sample job as a document, made again for each test, which may change it."""
    return materials.sample_job()


@pytest.fixture(scope="session")
def signrules_plugins() -> list[object]:
    """What is under test: modules or objects with hooks.

    Write a fixture of this name that gives yours.
    """
    return []


# Not for the whole session: a module may name other plugins than the one before it.
@pytest.fixture(scope="module")
def loaded_plugins(signrules_plugins: list[object]) -> Plugins:
    """The plugins under test beside the built-in one.

    Raises AssertionError where one of them does not load.
    """
    loaded = load_plugins(objects=signrules_plugins)
    assert not loaded.failed, "; ".join(
        f"{failure.name}: {failure.error}" for failure in loaded.failed
    )
    return loaded


@pytest.fixture
def evaluate_with(loaded_plugins: Plugins) -> Callable[..., Evaluation]:
    """`evaluate_with(changes, job=..., **options)`: a job evaluated with the plugins under test.

    The job is the sample job, or the document that is given, with changes such as
    `{"passes.dots.layers": 40}`; the options are those of `evaluate`.
    """

    def run(
        changes: Mapping[str, Any] | None = None,
        *,
        job: Mapping[str, Any] | None = None,
        **options: Any,
    ) -> Evaluation:
        # Made again for each call: changes of one test must not reach the next.
        document = materials.sample_job() if job is None else dict(job)
        job_made = job_from_dict(changed(document, changes or {}), plugins=loaded_plugins)
        return evaluate(job_made, plugins=loaded_plugins, **options)

    return run


@pytest.fixture
def check_rule(loaded_plugins: Plugins) -> Callable[..., None]:
    """`check_rule(rules, ...)`: `assert_rule_contract` with the plugins under test."""

    def check(rules: Rules, **options: Any) -> None:
        assert_rule_contract(rules, plugins=loaded_plugins, **options)

    return check


@pytest.fixture
def check_hooks(signrules_plugins: list[object]) -> Callable[..., None]:
    """`check_hooks(...)`: `assert_hook_contract` for each of the plugins under test, beside the
    others.
    """

    def check(**options: Any) -> None:
        assert signrules_plugins, "no plugin is under test: write a fixture `signrules_plugins`"
        for plugin in signrules_plugins:
            others = [other for other in signrules_plugins if other is not plugin]
            assert_hook_contract(plugin, beside=others, **options)

    return check
