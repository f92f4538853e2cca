"""`signrules shop`: what a shop states, where figures come from, what to measure next."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from signrules.cli import main

EXAMPLES = Path(__file__).parents[1] / "docs" / "examples"
JOB = str(EXAMPLES / "shop" / "room-214.toml")
SHOP = str(EXAMPLES / "shop" / "signrules.toml")


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(list(arguments)) == 0
    return capsys.readouterr().out


def test_the_shop_file_of_the_folder_is_found_and_named(capsys):
    report = told(capsys, "check", JOB)
    assert "Shop file:\n" in report
    assert "signrules.toml" in report
    data = json.loads(told(capsys, "check", JOB, "--format", "json"))
    assert data["shop"]["file"].endswith("signrules.toml")
    assert {figure["path"] for figure in data["figures"]} >= {
        "printer.drop_speed",
        "inks.clear.layer",
    }


def test_it_is_found_in_a_folder_above_and_not_beside_another_job(capsys, tmp_path):
    shutil.copy(SHOP, tmp_path / "signrules.toml")
    below = tmp_path / "monday" / "signs"
    below.mkdir(parents=True)
    shutil.copy(JOB, below / "room.toml")
    data = json.loads(told(capsys, "check", str(below / "room.toml"), "--format", "json"))
    assert Path(data["shop"]["file"]).resolve() == tmp_path / "signrules.toml"
    data = json.loads(told(capsys, "check", str(EXAMPLES / "clinic.toml"), "--format", "json"))
    assert data["shop"]["file"] == ""


def test_a_shop_that_is_named_counts_instead(capsys, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text(
        Path(SHOP).read_text("utf-8").replace('3 mm", data_sheet', '5 mm", data_sheet')
    )
    data = json.loads(told(capsys, "check", JOB, "--shop", str(other), "--format", "json"))
    assert data["shop"]["file"] == str(other)
    (reach,) = [figure for figure in data["figures"] if figure["path"] == "printer.max_throw"]
    assert reach["value"] == 5


def test_what_a_shop_file_states(capsys):
    text = told(capsys, "shop", "--shop", SHOP)
    assert "printers: flatbed" in text
    assert "alignments on record: 1" in text
    data = json.loads(told(capsys, "shop", "--shop", SHOP, "--format", "json"))
    assert data["inks"] == ["blue", "clear"]


def test_without_a_shop_file_it_says_how_to_make_one(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["shop"]) == 2
    assert "signrules shop --new signrules.toml" in capsys.readouterr().err
    assert main(["shop", "--new", "signrules.toml"]) == 0
    written = (tmp_path / "signrules.toml").read_text("utf-8")
    assert main(["shop", "--new", "signrules.toml"]) == 2
    assert (tmp_path / "signrules.toml").read_text("utf-8") == written
    capsys.readouterr()
    assert "printers: none" in told(capsys, "shop")


def test_where_each_figure_of_a_job_comes_from(capsys):
    text = told(capsys, "shop", JOB)
    assert "printer.base_gap = 0.75 mm: shop file signrules.toml, measured 2027-02-03" in text
    data = json.loads(told(capsys, "shop", JOB, "--format", "json"))
    assert data["figures"][0]["stated_in"] == "shop file signrules.toml"


@pytest.mark.thorough
def test_what_to_measure_next(capsys, tmp_path):
    shop = tmp_path / "signrules.toml"
    text = Path(SHOP).read_text("utf-8")
    measured = 'measured = 2027-02-03, readings = 5, from = "feeler gauge at five places"'
    assert measured in text
    shop.write_text(text.replace(measured, 'assumed = "as on the old printer"'))
    shutil.copy(JOB, tmp_path / "room.toml")
    (found,) = json.loads(told(capsys, "shop", str(tmp_path), "--next", "--format", "json"))[:1]
    assert (found["path"], found["why"]) == ("printer.base_gap", "doubtful")
    assert "printer.base_gap" in told(capsys, "shop", str(tmp_path / "room.toml"), "--next")


def test_it_says_how_each_is_measured():
    from signrules.measuring.figure_list import procedures_for

    expected = {
        "printer.drop_speed": "drop-speed",
        "printer.locating.pins": "locating-error",
        "inks.clear.layer": "layer-by-stacks",
        "media.panel.thickness": "sheet-thickness",
    }
    for path, figure in expected.items():
        assert figure in [procedure.figure for procedure in procedures_for(path)]
    assert procedures_for("signs.room.raised.depth") == ()
