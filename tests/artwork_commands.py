"""Commands on artwork: SVG by another suffix, read by a plugin that knows circles and rectangles
alone.
"""

from __future__ import annotations

import json

import pytest
from drawn_artwork import SHOP

import signrules
from signrules.cli import main

PLUGIN = """
import math
from xml.etree import ElementTree

from signrules import hookimpl
from signrules.artwork.drawing import Artwork, ArtworkLayer, ArtworkPage, Shape
from signrules.artwork.reader import ArtworkReader
from signrules.errors import ArtworkError, DocumentFault

SVG = "{http://www.w3.org/2000/svg}"


def ring(element, height):
    if element.tag == f"{SVG}circle":
        x, y, r = (float(element.get(key)) for key in ("cx", "cy", "r"))
        turns = [2 * math.pi * at / 64 for at in range(64)]
        return tuple((x + r * math.cos(t), height - y + r * math.sin(t)) for t in turns)
    x, y, w, h = (float(element.get(key)) for key in ("x", "y", "width", "height"))
    return ((x, height - y - h), (x + w, height - y - h), (x + w, height - y), (x, height - y))


def read(name, data):
    if data == b"crash":
        raise ZeroDivisionError("crashed")
    if data == b"none":
        return None
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise ArtworkError([DocumentFault("line 1", str(error), "SVG")], name)
    width, height = (float(each) for each in root.get("viewBox").split()[2:])
    layers = tuple(
        ArtworkLayer(
            group.get("id"),
            tuple(Shape(ring(each, height)) for each in group),
            step="Braille" if group.get("id") == "Braille" else None,
        )
        for group in root.iter(f"{SVG}g")
    )
    return Artwork(name, "", (ArtworkPage(1, width, height, layers),), 0.002)


@hookimpl
def signrules_read_artwork():
    return [ArtworkReader((".drawn",), read)]
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder with a plugin, a shop file and the dots of the sample job as artwork."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "reader.py").write_text(PLUGIN, encoding="utf-8")
    shop = SHOP | {"layers": [*SHOP["layers"]]}
    shop["layers"][0] = shop["layers"][0] | {"id": "dots"}
    (tmp_path / "signrules.json").write_text(json.dumps(shop, default=str), encoding="utf-8")
    signrules.write_job(signrules.job_from_dict(signrules.sample_job()), tmp_path / "old.toml")
    return tmp_path


def run(*arguments):
    return main([*arguments, "--plugin", "reader.py", "--shop", "signrules.json"])


def drawn(place, name="art.drawn"):
    """The dots of the sample job, in a file of a suffix that no other plugin reads."""
    assert run("draw", "old.toml", "-o", "dots.svg") == 0
    (place / "dots.svg").rename(place / name)
    return name
