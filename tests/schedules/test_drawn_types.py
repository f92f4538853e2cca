"""Sign types whose artwork says what is printed: what is taken from a file, what is refused."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path
from types import SimpleNamespace

import pytest

from signrules import (
    Artwork,
    ArtworkLayer,
    ArtworkPage,
    ArtworkReader,
    ScheduleError,
    Shape,
    ShopError,
    TextRun,
    compose,
    hookimpl,
    jobs_from_schedule,
    judge_work_order,
    load_plugins,
    read_job,
    read_shop,
    write_composition,
)
from signrules.cli import main
from signrules.documents.toml import to_toml

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples" / "artwork"
PLUGINS = load_plugins(files=[EXAMPLES / "shapes.py"])

# The drawing of the documents: 200 x 200 mm with a cut edge from 40 to 160 mm, so the sign is 120
# mm wide and high and begins at 40, 40. Its letters stand from 65 to 90 mm below the top edge of
# the page, that is from 110 to 135 mm up the page and from 70 to 95 mm up the sign.
DRAWING = (EXAMPLES / "exit.svg").read_text("utf-8")
TYPE = {
    "sheet": "acrylic-200",
    "artwork": "{file}.svg",
    "text": ["{name}"],
    "kind": "permanent-room",
    "standards": ["us-ada-2010"],
}
TWO_ROWS = "room,name,file\nA.1,EXIT,exit\nA.2,EXIT,way\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "exit.svg").write_text(DRAWING, "utf-8")
    (tmp_path / "way.svg").write_text(DRAWING.replace("An invented", "Another"), "utf-8")
    return tmp_path


def shop_in(folder: Path, type=TYPE, **types):
    """The shop of the documents with a larger sheet, the type, and others beside it."""
    table = tomllib.loads((EXAMPLES / "signrules.toml").read_text("utf-8"))
    table["sheets"]["large"] = {"thickness": "3 mm", "size": [400, 300], "hold": "vacuum"}
    table["sign_types"] = {"door": type, **types}
    table["composition"] = {"margin": 5, "gutter": 4}
    (folder / "signrules.toml").write_text(to_toml(table), "utf-8")
    return read_shop(folder / "signrules.toml")


def made(folder, rows=TWO_ROWS, type=TYPE, plugins=PLUGINS):
    shop = shop_in(folder, type)
    return jobs_from_schedule(rows, shop, plugins=PLUGINS, folder=folder / "jobs")


def faults_of(folder, rows=TWO_ROWS, type=TYPE):
    with pytest.raises(ScheduleError) as caught:
        made(folder, rows, type)
    return [(fault.path, fault.found, fault.expected) for fault in caught.value.faults]


def test_a_file_says_passes_size_and_measures(folder):
    found = made(folder)
    first, second = (each.job for each in found.jobs)
    assert [item.id for item in first.passes] == ["ground", "letters", "dots"]
    assert first.media[0].size == (120.0, 120.0)
    assert first.signs[0].text == ("EXIT",)
    assert first.signs[0].braille.cells == "⠑⠭⠊⠞"
    assert first.signs[0].braille.dot_diameter.nominal == pytest.approx(1.55, abs=0.005)
    assert first.signs[0].raised.height.nominal == pytest.approx(25.0, abs=0.005)
    letters = first.passes[1]
    assert letters.builds == ("A-1.raised",)
    assert min(area.x for area in letters.areas) == pytest.approx(20.0, abs=0.01)
    assert min(area.y for area in letters.areas) == pytest.approx(70.0, abs=0.01)
    assert max(area.y + area.height for area in letters.areas) == pytest.approx(95.0, abs=0.01)
    assert first.passes[0].areas[0].width == 120.0
    assert second.signs[0].id == "A-2"
    assert any("layer 'Sizes' is left out" in note for note in found.notes)


def test_jobs_name_their_files_and_know_when_they_change(folder):
    found = made(folder)
    for each, name in zip(found.jobs, ("exit", "way"), strict=True):
        (source,) = each.job.passes[2].artwork
        data = (folder / f"{name}.svg").read_bytes()
        assert source.file == f"../{name}.svg"
        assert source.layer == "Dots"
        assert source.fingerprint == f"sha256:{hashlib.sha256(data).hexdigest()}"


def test_a_drawn_sign_lies_in_a_load_as_it_is_drawn(folder):
    shop = shop_in(folder, {**TYPE, "sheet": "large"})
    composition = compose(TWO_ROWS, shop, plugins=PLUGINS, folder=folder / "order")
    (load,) = composition.loads
    places = {sign.id: sign.at for sign in composition.order.signs}
    assert {sign.size for sign in composition.order.signs} == {(120.0, 120.0)}
    # Passes that print alike are one, read from the files of both.
    assert [item.id for item in load.job.passes] == ["ground", "letters", "dots"]
    for item, layer in zip(load.job.passes, ("Ground", "Raised letters", "Dots"), strict=True):
        named = [(source.file, source.layer) for source in item.artwork]
        assert named == [("../exit.svg", layer), ("../way.svg", layer)]
    left = min(area.x for area in load.job.passes[1].areas)
    low = min(area.y for area in load.job.passes[1].areas)
    assert left == pytest.approx(20.0 + min(x for x, _ in places.values()), abs=0.01)
    assert low == pytest.approx(70.0 + min(y for _, y in places.values()), abs=0.01)
    assert load.evaluate().plan is not None


@pytest.mark.parametrize("told", ["", "order", "elsewhere/deeper"])
def test_a_written_load_names_its_files_from_where_it_lies(folder, told):
    """Whichever folder `compose` was told, and from whichever it was called."""
    shop = shop_in(folder, {**TYPE, "sheet": "large"})
    expected = compose(TWO_ROWS, shop, plugins=PLUGINS, folder=folder / "order")
    composition = compose(TWO_ROWS, shop, plugins=PLUGINS, folder=folder / told if told else "")
    path, _ = write_composition(composition, folder / "order")
    assert read_job(path, shop=shop) == expected.loads[0].job
    assert judge_work_order(folder / "order", shop=shop, plugins=PLUGINS).changed == {}
    (folder / "way.svg").write_text(DRAWING.replace("An invented", "A third"), "utf-8")
    judged = judge_work_order(folder / "order", shop=shop, plugins=PLUGINS)
    assert set(judged.outdated) == {"load-01"}


def test_drawn_and_typed_signs_have_passes_of_their_own(folder):
    typed = {
        "sheet": "large",
        "size": [100, 50],
        "standards": ["us-ada-2010"],
        "passes": [{"id": "ground", "ink": "blue"}],
    }
    shop = shop_in(folder, {**TYPE, "sheet": "large"}, plate=typed)
    rows = "room,name,file,type\nA.1,EXIT,exit,door\nA.2,,,plate\n"
    (load,) = compose(rows, shop, plugins=PLUGINS, folder=folder).loads
    grounds = [item for item in load.job.passes if item.ink == "blue"]
    assert [len(item.artwork) for item in grounds] == [1, 0]


@pytest.mark.parametrize(
    ("stated", "path", "found", "expected"),
    [
        ({"size": [120, 110]}, "size", "120 x 110 mm", "120 x 120 mm, as exit.svg has it"),
        ({"raised": {"height": "20 mm"}}, "raised.height", "'20 mm'", "25.0, as exit.svg has it"),
        ({"raised": {"case": "mixed"}}, "raised.case", "'mixed'", "'upper', as exit.svg has it"),
        ({"braille": {"cells": "⠑⠭⠊"}}, "braille.cells", "⠑⠭⠊", "⠑⠭⠊⠞, as exit.svg has it"),
        ({"visual": {"height": "9 mm"}}, "visual", "what nothing of the file draws", "a layer of"),
    ],
)
def test_what_is_stated_and_drawn_otherwise_is_an_error(folder, stated, path, found, expected):
    type = {**TYPE, "artwork": "exit.svg", **stated}
    ((where, what, wanted),) = faults_of(folder, "room,name\nA.1,EXIT\n", type)
    assert where == f"row 2, sign_types.door.{path}"
    assert what == found
    assert wanted.startswith(expected)


def test_what_is_stated_as_it_is_drawn_stays(folder):
    stated = {
        "size": ["120 mm", "120 mm"],
        "raised": {"height": "25.01 mm", "style": "sans-serif"},
        "braille": {"dot_diameter": "1.5 mm .. 1.6 mm", "shape": "domed"},
        "cells": ["{cells}"],
    }
    rows = "room,name,file,cells\nA.1,EXIT,exit,⠑⠭⠊⠞\n"
    sign = made(folder, rows, {**TYPE, **stated}).jobs[0].job.signs[0]
    assert sign.raised.height.nominal == 25.01
    assert sign.raised.style == "sans-serif"
    assert (sign.braille.dot_diameter.low, sign.braille.dot_diameter.high) == (1.5, 1.6)
    assert sign.braille.shape == "domed"
    assert sign.braille.cell_spacing.nominal == pytest.approx(6.2, abs=0.005)


def test_cells_of_a_column_that_are_not_drawn(folder):
    rows = "room,name,file,cells\nA.1,EXIT,exit,⠺⠁⠽\n"
    ((where, found, expected),) = faults_of(folder, rows, {**TYPE, "cells": ["{cells}"]})
    assert where == "row 2, column cells (sign_types.door.cells)"
    assert found == "⠺⠁⠽"
    assert expected.startswith("⠑⠭⠊⠞, as exit.svg has it")


def test_a_file_that_is_not_there(folder):
    ((where, found, _),) = faults_of(folder, "room,name,file\nA.1,EXIT,lost\n")
    assert where == "row 2, column file (sign_types.door.artwork)"
    assert found == "lost.svg: no such file or directory"


def test_a_file_that_no_plugin_reads(folder):
    ((where, found, _),) = faults_of(folder, type={**TYPE, "artwork": "exit.pdf"})
    assert where == "rows 2 and 3, sign_types.door.artwork"
    assert found == "exit.pdf: the suffix '.pdf', which no plugin reads"


def test_a_layer_that_nothing_maps(folder):
    (folder / "way.svg").write_text(DRAWING.replace('id="Ground"', 'id="Backing"'), "utf-8")
    ((where, found, expected),) = faults_of(folder)
    assert where == "row 3, column file (sign_types.door.artwork)"
    assert found.startswith("way.svg, page 1, layer 'Backing': a layer that no row of [[layers]]")
    assert expected.startswith("a row [[layers]] with name = 'Backing'")


def test_a_file_with_several_signs(folder):
    # The cut edge of the drawing and one beside it.
    second = '<rect x="165" y="40" width="30" height="120"/></g>\n<g id="Sizes">'
    two = DRAWING.replace('</g>\n<g id="Sizes">', second)
    assert two != DRAWING
    (folder / "exit.svg").write_text(two, "utf-8")
    type = {**TYPE, "artwork": "exit.svg", "text": []}
    ((where, found, _),) = faults_of(folder, "room\nA.1\n", type)
    assert where == "row 2, sign_types.door.artwork"
    assert found == "exit.svg: 2 signs, each within a cut edge"


@pytest.mark.parametrize(
    ("stated", "path"),
    [
        ({"passes": [{"id": "ground", "ink": "blue"}]}, "passes"),
        ({"dots": {"at": [10, 10]}, "braille": {}}, "dots"),
        ({"raised": {"area": [0, 0, 10, 10]}}, "raised.area"),
    ],
)
def test_places_belong_to_the_file_alone(folder, stated, path):
    with pytest.raises(ShopError) as caught:
        shop_in(folder, {**TYPE, **stated})
    assert [fault.path for fault in caught.value.faults] == [f"sign_types.door.{path}"]


def test_a_type_needs_passes_or_artwork(folder):
    with pytest.raises(ShopError) as caught:
        shop_in(folder, {"sheet": "acrylic-200"})
    (fault,) = caught.value.faults
    assert fault.path == "sign_types.door.passes"
    assert "artwork" in fault.expected


@pytest.mark.thorough
def test_the_commands_write_jobs_that_tell_of_a_changed_file(folder, capsys):
    shop_in(folder)
    (folder / "doors.csv").write_text(TWO_ROWS, "utf-8")
    plugin = ["--plugin", str(EXAMPLES / "shapes.py")]
    for command in ("schedule", "compose"):
        target = folder / command
        assert main([command, str(folder / "doors.csv"), "-o", str(target), *plugin]) in (0, 1)
        capsys.readouterr()
        main(["check", str(target), *plugin])
        assert "has changed" not in capsys.readouterr().err
    (folder / "exit.svg").write_text(DRAWING + "\n", "utf-8")
    for command in ("schedule", "compose"):
        assert main(["check", str(folder / command), *plugin]) == 1
        assert "../exit.svg has changed" in capsys.readouterr().err


@hookimpl
def signrules_read_artwork():
    """A reader of files whose every byte is a page with a square on it."""

    def read(name, data):
        square = Shape(((0, 0), (50, 0), (50, 50), (0, 50)))
        layer = ArtworkLayer("ground", (square,))
        pages = tuple(ArtworkPage(number, 50, 50, (layer,)) for number in range(1, len(data) + 1))
        return Artwork(name, "", pages)

    return [ArtworkReader((".pages",), read)]


SQUARES = load_plugins(
    objects=[SimpleNamespace(__name__="squares", signrules_read_artwork=signrules_read_artwork)]
)
PAGE = {"sheet": "acrylic-200", "artwork": "sign.pages"}


def test_a_file_with_several_pages(folder):
    (folder / "sign.pages").write_bytes(b"12")
    with pytest.raises(ScheduleError, match=r"found sign.pages: 2 pages, expected one sign"):
        jobs_from_schedule("room\nA.1\n", shop_in(folder, PAGE), plugins=SQUARES)


def test_a_file_on_another_drive_is_named_whole(folder, monkeypatch):
    (folder / "sign.pages").write_bytes(b"1")
    monkeypatch.setattr("os.path.relpath", raise_value_error)
    found = jobs_from_schedule("room\nA.1\n", shop_in(folder, PAGE), plugins=SQUARES)
    (source,) = found.jobs[0].job.passes[0].artwork
    assert source.file == str(folder / "sign.pages")
    # A page without a cut line is the sign, which jobs say wherever they are read.
    assert "no cut line is drawn" in found.jobs[0].job.read_notes[0]


def raise_value_error(*_):
    raise ValueError("path is on mount 'C:', start on mount 'D:'")


def changed_shop(folder, type, change):
    """The shop with a change of its layers."""
    shop_in(folder, type)
    table = tomllib.loads((folder / "signrules.toml").read_text("utf-8"))
    change(table["layers"])
    (folder / "signrules.toml").write_text(to_toml(table), "utf-8")
    return read_shop(folder / "signrules.toml")


def test_layers_that_wait_for_each_other(folder):
    def in_a_circle(layers):
        layers[0]["over"] = ["letters"]
        layers[1]["over"] = ["dots"]

    shop = changed_shop(folder, {**TYPE, "artwork": "exit.svg"}, in_a_circle)
    with pytest.raises(ScheduleError) as caught:
        jobs_from_schedule("room,name\nA.1,EXIT\n", shop, plugins=PLUGINS)
    (fault,) = caught.value.faults
    assert fault.path == "row 2, sign_types.door.artwork"
    assert fault.found == "letters -> dots -> letters at passes[1] of the job"


def test_dots_and_letters_of_one_layer_have_areas_on_the_sign(folder):
    # The dots are drawn among the letters: from 80 to 100.94 mm along the page, whose sign begins
    # at 40, with a radius of 0.775 mm.
    together = DRAWING.replace('</g>\n<g id="Dots" data-step="Braille">\n', "")
    assert together != DRAWING
    (folder / "exit.svg").write_text(together, "utf-8")

    def of_both(layers):
        layers[1]["builds"] = ["braille", "raised"]

    shop = changed_shop(folder, {**TYPE, "artwork": "exit.svg"}, of_both)
    rows = "room,name\nA.1,EXIT\nA.2,EXIT\n"
    for each in jobs_from_schedule(rows, shop, plugins=PLUGINS).jobs:
        (sign,) = each.job.signs
        assert [item.id for item in each.job.passes] == ["ground", "letters"]
        area = sign.braille.area
        assert (area.x, area.x + area.width) == pytest.approx((39.225, 61.715), abs=0.05)
        assert sign.raised.area.y == pytest.approx(70.0, abs=0.05)


@hookimpl(specname="signrules_read_artwork")
def read_words():
    """A reader that gives a file of text as one line of it, each letter a bar."""

    def read(name, data):
        text = data.decode()
        bars = [10.0 * at for at in range(1, len(text) + 1)]
        shapes = tuple(Shape(((x, 10), (x + 3, 10), (x + 3, 30), (x, 30))) for x in bars)
        line = TextRun(text, (10.0, 10.0), 28.0, shapes=shapes)
        page = ArtworkPage(1, 100, 50, (ArtworkLayer("words", texts=(line,)),))
        return Artwork(name, "", (page,))

    return [ArtworkReader((".words",), read)]


def test_text_that_the_file_holds(folder):
    (folder / "a.words").write_text("ILL", "utf-8")
    reader = SimpleNamespace(__name__="words", signrules_read_artwork=read_words)
    plugins = load_plugins(objects=[reader])

    def of_words(layers):
        layers.append({"name": "words", "ink": "blue", "builds": "visual"})

    drawn = {"sheet": "large", "artwork": "a.words"}
    shop = changed_shop(folder, drawn, of_words)
    found = jobs_from_schedule("room\nA.1\n", shop, plugins=plugins)
    assert found.jobs[0].job.signs[0].text == ("ILL",)
    shop = changed_shop(folder, {**drawn, "text": ["{name}"]}, of_words)
    with pytest.raises(ScheduleError) as caught:
        jobs_from_schedule("room,name\nA.1,LIL\n", shop, plugins=plugins)
    (fault,) = caught.value.faults
    assert fault.found == "a.words, page 1, layer 'words': the text 'ILL'"
    assert fault.expected.startswith("the text that is stated, 'LIL'")
