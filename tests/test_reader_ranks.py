"""A reader of artwork that is named goes before an installed one for the same suffix."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

import signrules
from signrules import Artwork, ArtworkLayer, ArtworkPage, ArtworkReader, hookimpl, load_plugins

NAMED = """
from signrules import Artwork, ArtworkReader, hookimpl

@hookimpl
def signrules_read_artwork():
    return [ArtworkReader((".svg",), lambda name, data: Artwork("named", "", ()))]
"""


def reader_of(*suffixes, name="own"):
    def read(file, data):
        return Artwork(name, "", (ArtworkPage(1, 1, 1, (ArtworkLayer("a", ()),)),))

    hook = hookimpl(lambda: [ArtworkReader(suffixes, read)])
    return SimpleNamespace(__name__=name, signrules_read_artwork=hook)


def drawers():
    """An invented plugin that is installed."""
    yield "drawers", "1.0", lambda: reader_of(".svg", ".boxes", name="drawers")


def test_a_named_file_goes_before_an_installed_plugin(tmp_path, monkeypatch):
    monkeypatch.setattr("signrules.plugins.plugin_sources.installed_plugins", drawers)
    file = tmp_path / "named.py"
    file.write_text(NAMED)
    plugins = load_plugins(entry_points=True, files=[file])
    assert plugins.readers[".svg"].read("a.svg", b"").file == "named"
    # What the named one does not read, the installed one still does.
    assert plugins.readers[".boxes"].read("a.boxes", b"").file == "drawers"
    (passed_over,) = [one for one in plugins.loaded if one.name == "drawers"]
    assert passed_over.adds == ("reader of .boxes",)
    (said,) = passed_over.passed_over
    assert said == ".svg is read by named, which is named, and not by this plugin"


def test_two_named_readers_of_one_suffix_are_refused():
    with pytest.raises(
        signrules.PluginError, match=r"reader of \.svg is brought twice, by a and b"
    ):
        load_plugins(objects=[reader_of(".svg", name="a"), reader_of(".svg", name="b")])


def test_two_installed_readers_of_one_suffix_are_refused(monkeypatch):
    def two():
        for name in ("a", "b"):
            yield name, "1.0", lambda name=name: reader_of(".svg", name=name)

    monkeypatch.setattr("signrules.plugins.plugin_sources.installed_plugins", two)
    with pytest.raises(
        signrules.PluginError, match=r"reader of \.svg is brought twice, by a and b"
    ):
        load_plugins(entry_points=True)


def test_the_command_says_which_reader_is_passed_over(tmp_path, monkeypatch, capsys):
    from signrules.cli import main

    monkeypatch.setattr("signrules.plugins.plugin_sources.installed_plugins", drawers)
    file = tmp_path / "named.py"
    file.write_text(NAMED)
    assert main(["plugins", "--plugin", str(file)]) == 0
    shown = capsys.readouterr().out
    assert "  .svg is read by named, which is named, and not by this plugin" in shown
