"""The commands read, draw and font.

Artwork is SVG by another suffix here, read by a plugin of the test that knows circles and
rectangles alone.
"""

from __future__ import annotations

import json
import tomllib

import pytest
from artwork_commands import PLUGIN, drawn, place, run
from drawn_fonts import built_font

import signrules
from signrules.cli import main

__all__ = ["place"]


def test_dots_are_drawn_and_read_into_a_job(place, capsys):
    art = drawn(place)
    assert "dots of" in capsys.readouterr().out
    assert run("read", art, "-o", "new.toml", "--kind", "permanent-room") == 0
    out = capsys.readouterr().out
    assert "new.toml: 1 pass, 1 sign" in out
    assert "Not read from artwork: contrast" in out
    shop = signrules.read_shop("signrules.json")
    job = signrules.read_job("new.toml", shop=shop)
    old = signrules.read_job("old.toml")
    assert job.signs[0].braille.cells == old.signs[0].braille.cells
    assert job.signs[0].kind == "permanent-room"
    assert job.passes[0].artwork[0].file == "art.drawn"


def test_check_shows_what_was_taken_for_granted(place, capsys):
    run("read", drawn(place), "-o", "new.toml")
    notes = tomllib.loads((place / "new.toml").read_text("utf-8"))["read_notes"]
    capsys.readouterr()
    run("check", "new.toml")
    report = capsys.readouterr().out
    assert notes
    assert "Taken for granted when artwork was read:" in report
    assert all(note in report for note in notes)


@pytest.mark.thorough
def test_the_run_sheet_names_the_artwork_of_a_pass(place):
    run("read", drawn(place), "-o", "new.toml")
    run("sheet", "new.toml", "-o", "new.html")
    page = (place / "new.html").read_text("utf-8")
    assert "art.drawn" in page
    assert "layer Braille" in page


@pytest.mark.thorough
@pytest.mark.parametrize("workers", ["1", "2"])
def test_a_folder_gives_a_job_for_each_file(place, capsys, workers):
    (place / "art").mkdir()
    (place / "jobs").mkdir()
    for name in ("b", "a"):
        drawn(place, f"art/{name}.drawn")
    (place / "art" / "broken.drawn").write_text("<svg")
    capsys.readouterr()
    assert run("read", "art", "-o", "jobs", "--jobs", workers) == 2
    captured = capsys.readouterr()
    assert captured.out.index("a.toml: 1 pass") < captured.out.index("b.toml: 1 pass")
    assert "broken.drawn" in captured.err
    assert sorted(each.name for each in (place / "jobs").iterdir()) == ["a.toml", "b.toml"]
    shop = signrules.read_shop("signrules.json")
    job = signrules.read_job("jobs/a.toml", shop=shop)
    assert job.passes[0].artwork[0].file == "../art/a.drawn"


def test_nothing_is_written_over_a_job_unless_it_is_asked_for(place, capsys):
    art = drawn(place)
    before = (place / "old.toml").read_text()
    assert run("read", art, "-o", "old.toml") == 2
    assert "a name that is not taken" in capsys.readouterr().err
    assert (place / "old.toml").read_text() == before
    assert run("read", art, "-o", "old.toml", "--replace") == 0
    assert (place / "old.toml").read_text() != before


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("<svg", "line 1"),
        ("crash", "its reader fails on"),
        ("none", "NoneType"),
        (None, "no such file"),
    ],
)
def test_what_cannot_be_read_is_told(place, capsys, content, said):
    if content is not None:
        (place / "bad.drawn").write_text(content)
    assert run("read", "bad.drawn", "-o", "new.toml") == 2
    err = capsys.readouterr().err
    assert said in err
    assert "bad.drawn" in err
    assert not (place / "new.toml").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["art.other", "-o", "new.toml"], "'.other', which no plugin reads"),
        (["art.drawn", "-o", "nowhere"], "a folder that is there"),
        (["art.drawn", "other/art.drawn", "-o", "jobs"], "names that differ"),
        (["jobs", "-o", "new.toml"], "a folder without artwork"),
        (["art.drawn", "-o", "new.toml", "--sheet", "steel"], "acrylic"),
        (["art.drawn", "-o", "new.toml", "--page", "4"], "page 4"),
        (["art.drawn", "-o", "new.toml", "--standard", "us-ada"], "us-ada"),
    ],
)
def test_choices_that_cannot_be_are_told(place, capsys, arguments, said):
    drawn(place)
    (place / "jobs").mkdir()
    assert run("read", *arguments) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("suffix", ["txt", ""])
def test_other_kinds_of_drawings_are_refused(place, capsys, suffix):
    assert run("draw", "old.toml", "-o", f"dots.{suffix}") == 2
    assert "expected .svg or .pdf" in capsys.readouterr().err


def test_dots_are_drawn_as_pdf(place):
    pytest.importorskip("pikepdf")
    assert run("draw", "old.toml", "-o", "dots.pdf") == 0
    assert (place / "dots.pdf").read_bytes().startswith(b"%PDF-")


def test_dots_that_need_more_room_are_told(place, capsys):
    document = signrules.sample_job()
    document["signs"][0]["braille"]["cells"] *= 3
    signrules.write_job(signrules.job_from_dict(document), "long.toml")
    assert run("draw", "long.toml", "-o", "long.svg") == 0
    assert "need" in capsys.readouterr().out


def font_file(place, **tables):
    (place / "own.otf").write_bytes(built_font(**tables))
    return "own.otf"


def test_a_font_is_held_against_a_standard(place, capsys):
    assert main(["font", font_file(place), "--standard", "us-ada-2010"]) == 0
    assert "raised characters: can be met at sizes from 22.68 mm" in capsys.readouterr().out
    slanted = font_file(place, mac_style=2)
    assert main(["font", slanted, "--standard", "us-ada-2010", "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [use["possible"] for use in data["uses"]] == [False, False]


@pytest.mark.parametrize("name", ["nowhere.otf", "reader.py"])
def test_what_is_no_font_is_told(place, capsys, name):
    assert main(["font", name, "--standard", "us-ada-2010"]) == 2
    assert name in capsys.readouterr().err


def test_a_reader_needs_a_suffix(place, capsys):
    (place / "reader.py").write_text(PLUGIN.replace('(".drawn",)', '("drawn",)'), encoding="utf-8")
    assert run("read", "art.drawn", "-o", "new.toml") == 2
    plugins = signrules.load_plugins(files=["reader.py"])
    assert "suffixes in lower case" in str(plugins.failed[0].error)


def test_text_of_outlines_is_compared_with_the_braille(place, capsys):
    art = drawn(place)
    assert run("read", art, "-o", "new.toml", "--text", "Xyz") == 0
    shop = signrules.read_shop("signrules.json")
    assert signrules.read_job("new.toml", shop=shop).signs[0].text == ("Xyz",)
    svg = (place / art).read_text()
    (place / "far.drawn").write_text(
        svg.replace('<g id="Braille"', '<g id="Sizes"/><g id="Braille"')
    )
    capsys.readouterr()
    assert run("read", "far.drawn", "-o", "far.toml") == 0
    assert "'Sizes' is left out: dimensions for the customer" in capsys.readouterr().out


def test_huge_files_are_refused(place, capsys, monkeypatch):
    drawn(place)
    monkeypatch.setattr("signrules.artwork_files.MOST_BYTES", 10)
    assert run("read", "art.drawn", "-o", "new.toml") == 2
    assert "bytes, expected at most 0 MiB" in capsys.readouterr().err


def test_a_file_on_another_drive_is_named_in_full(place, monkeypatch):
    drawn(place)

    def refused(path, start):
        raise ValueError("another drive")

    with monkeypatch.context() as patched:
        patched.setattr("os.path.relpath", refused)
        assert run("read", "art.drawn", "-o", "new.toml") == 0
    shop = signrules.read_shop("signrules.json")
    [item] = signrules.read_job("new.toml", shop=shop).passes
    assert item.artwork[0].file == str(place / "art.drawn")


def test_cells_that_the_core_cannot_read_are_put_to_translators(place):
    document = signrules.sample_job()
    document["signs"][0]["braille"]["cells"] = "⠸⠼⠸⠼"
    signrules.write_job(signrules.job_from_dict(document), "old.toml")
    asked = place / "asked.py"
    asked.write_text(
        "from pathlib import Path\nfrom signrules import hookimpl\n\n\n@hookimpl\n"
        "def signrules_translate_braille(text):\n    Path('asked.txt').write_text(text)\n"
    )
    art = drawn(place)
    assert run("read", art, "-o", "new.toml", "--text", "Zzz", "--plugin", "asked.py") == 0
    assert (place / "asked.txt").read_text().lower() == "zzz"
