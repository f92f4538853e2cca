"""The pages on plugins list what the code has: every hook with its signature, every key of a shop
file.
"""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest

from signrules import API_VERSION, hookspecs
from signrules.rules.engine import MOST_CHECKS
from signrules.shop_file import PLUGIN_KEYS, RULE_KEYS

ROOT = Path(__file__).parents[2]
PLUGINS = (ROOT / "docs" / "plugins.md").read_text("utf-8")
SHOP = (ROOT / "docs" / "shop-file.md").read_text("utf-8")
HOOKS = {
    name: hook
    for name, hook in vars(hookspecs).items()
    if name.startswith("signrules_") and callable(hook)
}


def section(name: str) -> str:
    """The part of the page on one hook."""
    start = PLUGINS.index(f"\n### {name}\n")
    return re.split(r"^##+ ", PLUGINS[start + 5 :], maxsplit=1, flags=re.M)[0]


def test_there_is_a_section_for_every_hook_and_none_besides():
    assert re.findall(r"^### (\w+)$", PLUGINS, flags=re.M) == re.findall(
        r"^\| \[`(\w+)`\]", PLUGINS, flags=re.M
    )
    assert set(re.findall(r"^### (\w+)$", PLUGINS, flags=re.M)) == set(HOOKS)


@pytest.mark.parametrize("name", sorted(HOOKS))
def test_a_section_states_the_signature(name):
    stated = " ".join(section(name).split()).split("`")[1]
    parameters = inspect.signature(HOOKS[name]).parameters.values()
    given = ", ".join(f"{each.name}: {each.annotation}" for each in parameters)
    assert stated.startswith(f"{name}({given}) -> "), stated


@pytest.mark.parametrize("name", sorted(HOOKS))
def test_a_section_has_an_example_that_implements_the_hook(name):
    (file, body) = re.search(
        r"<!-- file: (\w+\.py) -->\n```python\n(.*?)```", section(name), flags=re.S
    ).groups()
    assert f"@hookimpl\ndef {name}(" in body
    assert f'"{file}"' in section(name).split(body)[1], "the example is not loaded"


def test_the_page_states_the_version_and_the_most_checks():
    assert f'signrules_api = "{API_VERSION}"' in PLUGINS
    assert f"more than {MOST_CHECKS:,} checks" in PLUGINS


def test_the_shop_page_lists_every_key():
    listed = re.findall(r"^\| `(\w+)` \|", SHOP.split("## Keys")[1].split("## ")[0], flags=re.M)
    assert listed == [*RULE_KEYS, *PLUGIN_KEYS]


@pytest.mark.parametrize(
    "plugin", sorted((ROOT / "plugins").glob("signrules-*")), ids=lambda path: path.name
)
def test_a_plugin_here_states_the_api_and_its_entry_point(plugin):
    package = plugin.name.replace("-", "_")
    source = (plugin / package / "plugin.py").read_text("utf-8")
    assert f'signrules_api = "{API_VERSION}"' in source
    assert f'{plugin.name} = "{package}.plugin"' in (plugin / "pyproject.toml").read_text("utf-8")
    assert "<!-- test-command -->" in (plugin / "README.md").read_text("utf-8")
