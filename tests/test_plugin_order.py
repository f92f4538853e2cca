"""Plugins say before and after which others they answer."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

import pytest

from signrules import hookimpl, load_plugins
from signrules.cli import main


def translating(name, **order):
    hook = hookimpl(lambda text, grade, language: "⠁" * len(name))
    return SimpleNamespace(__name__=name, signrules_translate_braille=hook, **order)


def heard(*plugins):
    """How long the name of the plugin is that answers."""
    cells, faults = load_plugins(objects=plugins).translate("x")
    assert not faults
    return len(cells)


def test_by_name_where_none_says_so():
    assert heard(translating("bb"), translating("a"), translating("ccc")) == 1


@pytest.mark.parametrize(
    "order",
    [
        {"ccc": {"signrules_before": ["a"]}},
        {"a": {"signrules_after": ("bb",)}, "bb": {"signrules_after": ("ccc",)}},
        {"a": {"signrules_after": ["bb", "ccc"]}, "ccc": {"signrules_before": ["bb"]}},
    ],
)
def test_as_they_say_in_whatever_order_they_are_given(order):
    plugins = [translating(name, **order.get(name, {})) for name in ("a", "bb", "ccc")]
    told = order == {"ccc": {"signrules_before": ["a"]}}
    for given in itertools.permutations(plugins):
        # With the first order `bb` is free, and goes by its name.
        assert heard(*given) == (2 if told else 3)


def test_the_short_name_of_a_distribution_will_do():
    tables = translating("signrules-tables")
    assert heard(tables, translating("z", signrules_before=["tables"])) == 1


def test_a_circle_is_named_and_takes_nobody_else_down():
    first = translating("a", signrules_before=["bb"])
    second = translating("bb", signrules_before=["a"])
    plugins = load_plugins(objects=[first, second, translating("ccc")])
    assert [failed.name for failed in plugins.failed] == ["a", "bb"]
    for failed in plugins.failed:
        assert "in a circle: a answers after bb, bb answers after a" in failed.error
    assert plugins.translate("x") == ("⠁⠁⠁", [])


def test_a_name_that_is_not_loaded_is_told_with_the_nearest():
    lost = translating("a", signrules_before=["harbour"], signrules_after=["qay"])
    plugins = load_plugins(objects=[lost, translating("quay")])
    (notes,) = [one.order_notes for one in plugins.loaded if one.name == "a"]
    assert notes == (
        "answers before harbour, which is not loaded",
        "answers after qay, which is not loaded; did you mean quay?",
    )


@pytest.mark.parametrize("stated", ["bb", [5], [""], ["a"], {"bb": 1}, None])
def test_what_names_no_other_plugins_is_refused(stated):
    plugins = load_plugins(objects=[translating("a", signrules_before=stated)])
    assert "signrules_before is" in plugins.failed[0].error
    assert "expected names of other plugins" in plugins.failed[0].error


def test_the_command_lists_the_order(tmp_path, capsys):
    file = tmp_path / "quay.py"
    file.write_text("signrules_after = ['pier']\n", "utf-8")
    assert main(["plugins", "--plugin", str(file)]) == 0
    shown = capsys.readouterr().out
    assert "  answers after pier\n  answers after pier, which is not loaded\n" in shown
