"""What lacks a plugin names those that are installed and not loaded, and those that are blocked."""

from __future__ import annotations

import pickle
from pathlib import Path
from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import HandlingKind, PluginError, hookimpl, load_plugins

WIPE = HandlingKind("wipe", "the sheet is wiped", "Wipe down", moves=False)
WIPING = SimpleNamespace(signrules_handling_kinds=hookimpl(lambda: [WIPE]))


@pytest.fixture
def installed(monkeypatch):
    """One invented plugin is installed, which brings the kind `wipe`."""
    monkeypatch.setattr(
        "signrules.plugin_sources.installed_plugins",
        lambda: [("signrules-harb", "1", lambda: WIPING)],
    )


def wiped_job():
    return sign_job() | {"handling": [{"id": "clean", "does": "wipe", "media": "panel"}]}


def why_refused(call, *given, **options):
    with pytest.raises(signrules.SignrulesError) as told:
        call(*given, **options)
    return str(told.value)


@pytest.mark.usefixtures("installed")
def test_a_kind_of_an_installed_plugin_says_how_to_load_it():
    told = why_refused(signrules.job_from_dict, wiped_job(), plugins=load_plugins())
    loading = "load_plugins(entry_points=True)"
    assert told.endswith(f"; installed and not loaded: signrules-harb: {loading}")
    (many,) = signrules.evaluate_many([wiped_job()])
    assert f"installed and not loaded: signrules-harb: {loading}" in str(many.error)
    assert f"plugins={loading}" in why_refused(signrules.job_from_dict, wiped_job())
    job = signrules.job_from_dict(wiped_job(), plugins=load_plugins(entry_points=True))
    assert job.handling[0].does == "wipe"


@pytest.mark.usefixtures("installed")
@pytest.mark.parametrize("name", ["harb", "signrules-harb"])
def test_a_kind_of_a_blocked_plugin_says_so(name):
    plugins = load_plugins(entry_points=True, block=[name])
    for each in (plugins, pickle.loads(pickle.dumps(plugins))):
        assert each.blocked == ("signrules-harb",)
        told = why_refused(signrules.job_from_dict, wiped_job(), plugins=each)
        assert told.endswith("; blocked: signrules-harb")


@pytest.mark.usefixtures("installed")
def test_formats_tables_and_printers_say_it_too():
    plugins = load_plugins()
    note = "; installed and not loaded: signrules-harb: load_plugins(entry_points=True)"
    assert why_refused(signrules.plugin_report, plugins, "board", {}).endswith(note)
    job = signrules.job_from_dict(sign_job() | {"standards": ["harbour"]})
    assert why_refused(signrules.evaluate, job).endswith(note)
    document = sign_job() | {"printer": {"use": "harbour"}}
    assert note in why_refused(signrules.job_from_dict, document, plugins=plugins)


@pytest.mark.usefixtures("installed")
def test_what_is_installed_is_looked_for_once_for_a_document(monkeypatch):
    plugins = load_plugins()
    found = []
    monkeypatch.setattr(
        "signrules.plugin_sources.installed_plugins",
        lambda: found.append(1) or [("signrules-harb", "1", None)],
    )
    rows = [{"id": f"clean-{number}", "does": "wipe"} for number in range(20)]
    told = why_refused(signrules.job_from_dict, sign_job() | {"handling": rows}, plugins=plugins)
    assert "signrules-harb" in told
    assert len(found) <= 2
    found.clear()
    # A sound document asks for nothing that is not there.
    signrules.job_from_dict(sign_job(), plugins=plugins)
    assert found == []


def test_nothing_is_said_where_nothing_is_left_out(monkeypatch):
    monkeypatch.setattr("signrules.plugin_sources.installed_plugins", list)
    assert load_plugins().unloaded_words() == ""


@pytest.mark.parametrize(
    ("option", "given", "expected"),
    [
        ("files", "quay.py", 'files=["shop_rules.py"]'),
        ("files", Path("quay.py"), 'files=["shop_rules.py"]'),
        ("objects", WIPING, "objects=[module]"),
        ("block", "signrules-harb", 'block=["signrules-quay"]'),
        ("files", None, 'files=["shop_rules.py"]'),
    ],
)
def test_one_thing_in_place_of_a_list_is_told(option, given, expected):
    with pytest.raises(PluginError) as told:
        load_plugins(**{option: given})
    assert str(told.value).startswith(f"{option} is ")
    assert str(told.value).endswith(f", expected a list: {expected}")


@pytest.mark.parametrize("given", ["quay.py", Path("quay.py"), b"quay.py"])
def test_the_path_of_a_file_is_no_object_to_load(given):
    with pytest.raises(TypeError) as told:
        load_plugins(objects=[WIPING, given])
    assert str(told.value) == (
        f"objects[1] is {given!r}, expected a module or an object with hooks;"
        ' the path of a file goes into files=["shop_rules.py"]'
    )


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        (3, "3"),
        (None, "None"),
        ([WIPING], "of the class list"),
        ({"quay": WIPING}, "of the class dict"),
        (sign_job, "of the class function"),
        (load_plugins(), "of the class Plugins"),
    ],
)
def test_what_has_no_hooks_is_no_object_to_load(given, shown):
    with pytest.raises(TypeError) as told:
        load_plugins(objects=[given])
    expected = "expected a module or an object with hooks"
    assert str(told.value) == f"objects[0] is {shown}, {expected}"


def test_a_rule_or_a_rule_set_is_told_which_hook_gives_it():
    for built_in in load_plugins().rule_sets[:1]:
        for given in (built_in, built_in.rules[0]):
            with pytest.raises(TypeError, match=r"with hooks: signrules_rule_sets gives rule sets"):
                load_plugins(objects=[given])
