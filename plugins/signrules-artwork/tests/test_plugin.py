"""The plugin as signrules loads it, and what its readers keep of a file."""

from __future__ import annotations

import hashlib

import pytest
from drawn import BAR_OPERATORS, pdf_with
from pikepdf import new
from signrules_artwork.svg.reader import read_svg


def test_each_format_has_its_reader(loaded_plugins):
    suffixes = {".pdf", ".svg", ".tif", ".tiff", ".png"}
    assert set(loaded_plugins.readers) >= suffixes


def test_the_fingerprint_is_that_of_the_bytes():
    data = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>'
    artwork = read_svg("a.svg", data)
    assert artwork.fingerprint == "sha256:" + hashlib.sha256(data).hexdigest()
    assert artwork.file == "a.svg"


def test_reading_twice_gives_the_same(loaded_plugins):
    data = pdf_with(new(), BAR_OPERATORS)
    read = loaded_plugins.readers[".pdf"].read
    assert read("a.pdf", data) == read("a.pdf", data)


@pytest.mark.parametrize("suffix", [".pdf", ".svg", ".tif", ".png"])
def test_readers_open_nothing(loaded_plugins, suffix, monkeypatch):
    """Whatever they are given, no file is opened by its name."""

    def refused(*args, **kwargs):
        raise AssertionError(f"opened {args[0]}")

    monkeypatch.setattr("io.open", refused)
    monkeypatch.setattr("builtins.open", refused)
    from signrules import ArtworkError

    with pytest.raises(ArtworkError):
        loaded_plugins.readers[suffix].read("/etc/hostname", b"neither this nor that")
