"""Measured figures in a shop file: one value is set, everything else stays."""

from __future__ import annotations

import datetime
import os
import tomllib
from pathlib import Path

import pytest
from attrs import evolve
from measuring.examples import EXAMPLES, measured

from signrules import (
    ShopError,
    SignrulesError,
    evaluate,
    procedures,
    read_job,
    read_shop,
)
from signrules.documents.lengths import parse_length, parse_toleranced
from signrules.measuring.shop_lines import state_in_shop, stated_line

DAY = datetime.date(2027, 2, 3)
SHOP = """\
# An invented shop.
signrules = 1

[rules.contrast.reflectance]   # measured by the customer
off = "the customer measures contrast"

[printers.flatbed]   # the only one
drop_speed = "6 m/s"   # from the manual
minutes = { load = 4, gap = 2 }   # guessed

# --- inks ---

[inks.clear]
layer = "30 um"
"""


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_bytes(SHOP.encode())
    return path


def state(shop, figure, part):
    state_in_shop(stated_line(measured(figure), part), shop)
    return tomllib.loads(shop.read_text("utf-8"))


# --- the shop file --------------------------------------------------------------------------------


def test_a_figure_takes_the_place_of_one_and_everything_else_stays(shop):
    after = state(shop, "drop-speed", "flatbed")
    assert after["printers"]["flatbed"].pop("drop_speed") == {
        "is": measured("drop-speed").stated,
        "measured": DAY,
        "readings": 6,
        "from": "alignment steps at several gaps",
    }
    before = tomllib.loads(SHOP)
    assert before["printers"]["flatbed"].pop("drop_speed") == "6 m/s"
    assert after == before
    lines = zip(SHOP.splitlines(), shop.read_text("utf-8").splitlines(), strict=True)
    ((_, line),) = [(old, new) for old, new in lines if old != new]
    assert line.startswith('drop_speed = { is = "5.79 m/s +- 0.13 m/s", measured = 2027-02-03,')
    assert line.endswith("# from the manual")


def test_a_new_figure_is_one_line_at_the_end_of_its_table(shop):
    after = state(shop, "base-gap", "flatbed")
    assert after["printers"]["flatbed"]["base_gap"]["measured"] == DAY
    lines = shop.read_text("utf-8").splitlines()
    (at,) = [at for at, line in enumerate(lines) if line.startswith("base_gap = {")]
    assert lines[:at] + lines[at + 1 :] == SHOP.splitlines()
    assert lines[at - 1].startswith("minutes = ")
    assert lines[at + 1 : at + 3] == ["", "# --- inks ---"]


@pytest.mark.parametrize("figure", [each.figure for each in procedures() if each.goes_to])
def test_every_figure_finds_its_place(shop, figure):
    table, *keys = measured(figure).keys
    for part in ("flatbed", "clear", 'a "new" one. [x]'):
        found = state(shop, figure, part)[table][part]
        for key in keys:
            found = found[key]
        assert found["is"] == measured(figure).stated
        assert found["measured"] == DAY
    assert tomllib.loads(shop.read_text("utf-8"))["rules"] == tomllib.loads(SHOP)["rules"]


def test_a_shop_file_with_every_figure_is_read_and_serves_jobs(shop):
    folder = Path(__file__).parents[2] / "docs" / "examples" / "shop"
    shop.write_bytes((folder / "signrules.toml").read_bytes())
    parts = {"printers": "flatbed", "inks": "clear", "sheets": "acrylic-200", "materials": "ours"}
    stated = {}
    for figure in EXAMPLES:
        if keys := measured(figure).keys:
            state(shop, figure, parts[keys[0]])
            stated[keys] = measured(figure)
    job = read_job(folder / "room-214.toml", shop=read_shop(shop))
    printer = job.printer
    assert printer.base_gap == parse_toleranced(stated["printers", "base_gap"].stated)
    assert printer.max_throw == parse_length(stated["printers", "max_throw"].stated)
    assert printer.minutes.load == stated["printers", "minutes", "load"].stated
    assert printer.locating_error("pins") == parse_length(
        stated["printers", "locating", "pins"].stated
    )
    assert printer.locating_error("stops") == 0.5
    (panel,) = job.media
    assert panel.thickness == parse_toleranced(stated["sheets", "thickness"].stated)
    (clear,) = [ink for ink in job.inks if ink.id == "clear"]
    assert clear.layer == parse_toleranced(stated["inks", "layer"].stated)
    result = evaluate(job, shop=read_shop(shop))
    assert "alignment at" not in str(result.figures)
    assert "marks at several carriage speeds" in str(result.figures)


def test_a_nested_figure_takes_nothing_with_it(shop):
    # A header [printers.flatbed.locating] would take what is written beneath it later.
    commented = SHOP.replace("# --- inks", '# max_throw = "3 mm"\n\n# --- inks')
    shop.write_text(commented, encoding="utf-8")
    after = state(shop, "locating-error", "flatbed")
    assert set(after["printers"]["flatbed"]["locating"]) == {"pins"}
    text = shop.read_text("utf-8")
    lines = text.splitlines()
    (at,) = [at for at, line in enumerate(lines) if line.startswith("locating.pins = {")]
    assert lines[at - 1].startswith("minutes = ")
    assert lines[:at] + lines[at + 1 :] == commented.splitlines()
    shop.write_text(text.replace("# max_throw", "max_throw"), encoding="utf-8")
    after = state(shop, "locating-error", "flatbed")
    assert after["printers"]["flatbed"]["max_throw"] == "3 mm"


def test_a_line_is_shown_as_it_is_written():
    line = str(stated_line(measured("locating-error"), "flatbed"))
    assert line.startswith("[printers.flatbed]\nlocating.pins = { is = ")


def test_line_ends_and_the_mark_of_a_file_stay(shop):
    shop.write_bytes(b"\xef\xbb\xbf" + SHOP.replace("\n", "\r\n").encode())
    state_in_shop(stated_line(measured("base-gap"), "flatbed"), shop)
    written = shop.read_bytes()
    assert written.startswith(b"\xef\xbb\xbf# An invented shop.\r\n")
    assert written.count(b"\n") == written.count(b"\r\n") == SHOP.count("\n") + 1
    assert b"\r\r" not in written


@pytest.mark.parametrize(
    "text",
    [
        "",
        "signrules = 1",
        "printers = {}",
        'printers = { flatbed = { drop_speed = "6 m/s" } }\n',
        'printers.flatbed.drop_speed = "6 m/s"\n',
        '[printers.flatbed]\n[printers.flatbed.gap]\ncontrol = "dial"\n[inks.clear]\n',
        '[printers.flatbed.gap]\ncontrol = "dial"\n',
        "[printers]\n# none yet\n",
        "[printers.other]\nname = 'x'\n\n[inks.clear]\nlayer = 1\n\n[printers.third]\n",
    ],
)
def test_shop_files_of_any_build(shop, text):
    shop.write_text(text, encoding="utf-8")
    before = tomllib.loads(text)
    after = state(shop, "drop-speed", "flatbed")
    stated = after["printers"]["flatbed"].pop("drop_speed")
    assert stated["is"] == measured("drop-speed").stated
    before.setdefault("printers", {}).setdefault("flatbed", {}).pop("drop_speed", None)
    assert after == before


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("printers = 7\n", "printers: found 7, expected a table"),
        ("[printers]\nflatbed = [1]\n", "printers.flatbed: found [1], expected a table"),
        ("printers = {", "found text that is not TOML"),
    ],
)
def test_a_shop_file_that_cannot_be_changed_stays(shop, text, expected):
    shop.write_text(text, encoding="utf-8")
    with pytest.raises(ShopError) as caught:
        state(shop, "drop-speed", "flatbed")
    assert expected in str(caught.value)
    assert str(caught.value).startswith(f"{shop}: 1 fault")
    assert shop.read_text("utf-8") == text


def test_a_file_that_is_not_there_or_is_json(tmp_path):
    line = stated_line(measured("drop-speed"), "flatbed")
    with pytest.raises(ShopError, match="no such file"):
        state_in_shop(line, tmp_path / "none.toml")
    with pytest.raises(ShopError, match="found a JSON file, expected a shop file in TOML"):
        state_in_shop(line, tmp_path / "shop.json")


def test_a_file_that_cannot_be_written_is_left_whole(shop, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(SignrulesError, match="found No space left on device, expected a file"):
        state(shop, "drop-speed", "flatbed")
    assert shop.read_text("utf-8") == SHOP
    assert [path.name for path in shop.parent.iterdir()] == ["shop.toml"]


@pytest.mark.parametrize("dumped", [SHOP, "no TOML"])
def test_a_change_that_tomlkit_would_get_wrong_is_not_written(shop, monkeypatch, dumped):
    import tomlkit

    monkeypatch.setattr(tomlkit, "dumps", lambda document: dumped)
    with pytest.raises(ShopError, match=r"write the line by hand: \{ is = "):
        state(shop, "drop-speed", "flatbed")
    assert shop.read_text("utf-8") == SHOP


def test_a_change_that_tomlkit_refuses_is_told(shop, monkeypatch):
    import tomlkit

    def refuses(text):
        raise tomlkit.exceptions.TOMLKitError("no")

    monkeypatch.setattr(tomlkit, "parse", refuses)
    with pytest.raises(ShopError, match="found text that tomlkit cannot change: no, expected"):
        state(shop, "drop-speed", "flatbed")
    assert shop.read_text("utf-8") == SHOP


def test_without_tomlkit_the_extra_is_named(shop, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "tomlkit", None)
    with pytest.raises(SignrulesError, match=r"pip install 'signrules\[measure\]'"):
        state(shop, "drop-speed", "flatbed")


def test_what_cannot_be_stated():
    with pytest.raises(SignrulesError, match="found a figure that shop files do not hold"):
        stated_line(measured("coverage"), "flatbed")
    with pytest.raises(SignrulesError, match="found no date"):
        stated_line(evolve(measured("drop-speed"), date=None), "flatbed")
    rows = [{"thickness": 1.0}, {"thickness": 3.0}]
    wide = measured("sheet-thickness", readings=rows)
    assert wide.warnings == ("The tolerance reaches below 0: take more readings.",)
    with pytest.raises(SignrulesError, match="found a tolerance that reaches below 0"):
        stated_line(wide, "acrylic")
