"""Letters of a sign type that are set from a font.

Expected lengths are counted from the letters drawn in `drawn_fonts`: of 1000 units, 600 from letter
to letter, I from 100 to 198 and 700 high, O from 85 to 715 and from -10 to 710.
"""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from building import HEADER, ROOM, faults, made, plugins, shop, shop_table, type_with
from drawn_fonts import built_font
from fontTools.misc.psCharStrings import T2CharString
from fontTools.ttLib import TTFont

from signrules import Area, ShopError, compose, evaluate, job_from_dict, read_shop, shop_from_dict
from signrules.schedules.placing import SignPlace, placed_sign

ROOT = Path(__file__).parents[2]
RAISED = {"case": "upper", "clear_space": "12 mm"}
PLACE = {"font": "fonts/own.otf", "at": [150, 60], "align": "centre", "em": "20 mm"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "fonts").mkdir()
    (tmp_path / "fonts" / "own.otf").write_bytes(built_font())
    return tmp_path


def room(place: Any = PLACE, raised: Any = RAISED, **changes: Any) -> dict[str, Any]:
    lettering = {"raised": place}
    return type_with(ROOM, **{"lettering": lettering, "raised": raised, **changes})


def own_shop(folder: Path, table: dict[str, Any]) -> Any:
    return evolve(shop(sign_types={"room": table}), origin=str(folder / "shop.toml"))


def only(folder: Path, table: dict[str, Any], text: str = "ioi") -> Any:
    (one,) = made(HEADER + f"A-1,{text},room\n", own_shop(folder, table)).jobs
    return one


def faults_of(folder: Path, table: dict[str, Any], text: str = "ioi") -> list[tuple[str, str]]:
    told = faults(HEADER + f"A-1,{text},room\n", own_shop(folder, table))
    return [(path, found) for path, found, _ in told]


def numbers_of(area: Area) -> tuple[float, ...]:
    return area.x, area.y, area.width, area.height


def test_the_area_and_the_ink_of_a_text(folder: Path):
    job = only(folder, room(), "io").job
    # IO from 100 to 1315 of units of 0.02 mm, O from -10 to 710; the middle at 150 mm.
    wide, high = 0.02 * 1215, 0.02 * 720
    (sign,) = job.signs
    expected = (150 - wide / 2, 60 - 0.02 * 10, wide, high)
    assert numbers_of(sign.raised.area) == pytest.approx(expected, abs=1e-6)
    letters = next(item for item in job.passes if item.id == "letters")
    assert letters.areas == (sign.raised.area,)
    # A bar and an ellipse, whose quarter curves bulge by less than 0.03 %.
    inked = 98 * 700 + math.pi * 315 * 360
    assert letters.coverage == pytest.approx(inked / (1215 * 720), rel=1e-3)


def test_what_letters_measure_is_stated_where_the_type_does_not(folder: Path):
    (sign,) = only(folder, room(), "oi i").job.signs
    raised = sign.raised
    assert raised.height.nominal == pytest.approx(0.02 * 700)
    assert raised.stroke.nominal == pytest.approx(0.02 * 98)
    # A hair less than 630 units: chords of O.
    assert raised.width.nominal == pytest.approx(0.02 * 630, rel=1e-3)
    # O ends at 715 and I begins at 600 + 100, so they touch; I to I over a space is 1200 - 98.
    assert raised.spacing.nominal == 0
    assert raised.word_spacing is None
    assert raised.style == "sans-serif"
    assert raised.clear_space.nominal == 12
    # The Australian table limits gaps between words, that of the United States does not.
    (sign,) = only(folder, room(standards=["us-ada-2010", "au-ncc-s15"]), "oi i").job.signs
    assert sign.raised.word_spacing.nominal == pytest.approx(0.02 * 1102)
    kept = room(raised={**RAISED, "stroke": "2.5 mm", "style": "other"})
    (sign,) = only(folder, kept, "oi i").job.signs
    assert (sign.raised.stroke.nominal, sign.raised.style) == (2.5, "other")


def test_the_height_says_the_size_of_the_font(folder: Path):
    place = {key: value for key, value in PLACE.items() if key != "em"}
    (sign,) = only(folder, room(place, {**RAISED, "height": "21 mm"})).job.signs
    # 700 of 1000 units are 21 mm, so O of 720 is 21.6 mm high.
    assert sign.raised.area.height == pytest.approx(21.6)
    assert sign.raised.stroke.nominal == pytest.approx(98 * 0.03)


def test_lines_of_a_text(folder: Path):
    spaced = room(raised={**RAISED, "line_spacing": "25 mm"})
    (sign,) = only(folder, spaced, "i / o").job.signs
    # I stands on 60 and is 14 high, O reaches 0.2 below 60 - 25.
    assert sign.raised.area.y == pytest.approx(34.8)
    assert sign.raised.area.height == pytest.approx(60 + 14 - 34.8)
    assert faults_of(folder, room(), "i / o") == [
        ("row 2, sign_types.room.raised.line_spacing", "nothing")
    ]


def test_visual_letters(folder: Path):
    table = room(
        PLACE,
        None,
        lettering={"visual": {**PLACE, "align": "left"}},
        visual={"viewing_distance": "2000 mm"},
        passes=[{"id": "letters", "ink": "black", "builds": "visual"}],
        braille=None,
        dots=None,
    )
    (sign,) = only(folder, table, "IO").job.signs
    assert numbers_of(sign.visual.area) == pytest.approx((150, 59.8, 0.02 * 1215, 14.4), abs=1e-6)
    assert sign.visual.height.nominal == pytest.approx(14)


def test_what_was_measured_is_told_once(folder: Path):
    text = HEADER + "A-1,IO,room\nA-2,OI,room\n"
    notes = made(text, own_shop(folder, room())).notes
    told = [note for note in notes if note.startswith("sign_types.room.raised")]
    assert told == [
        "sign_types.room.raised: height, stroke, width, spacing, style as letters of"
        " fonts/own.otf measure"
    ]


@pytest.mark.parametrize(
    ("features", "told"),
    [
        ("feature kern { pos I O -50; } kern;", "measure, with its kerning"),
        ("feature kern { pos I' 10 O; } kern;", "which is not applied"),
    ],
)
def test_kerning_is_told(folder: Path, features: str, told: str):
    (folder / "fonts" / "own.otf").write_bytes(built_font(features=features))
    notes = made(HEADER + "A-1,IO,room\n", own_shop(folder, room())).notes
    assert [note for note in notes if note.endswith(told)]


def test_a_text_that_is_wider_than_its_sign(folder: Path):
    text = "i" * 30
    (((path, found, expected)),) = faults(
        HEADER + f"A-1,{text},room\n", own_shop(folder, room(dots=None, braille=None, passes=BARE))
    )
    assert path == "row 2, sign_types.room.lettering.raised"
    # 29 steps of 12 mm and a bar of 1.96 mm around the middle of 300 mm.
    assert f"{(29 * 12 + 1.96 - 300) / 2:g} mm over the edge" in found
    assert "300 mm by 120 mm" in expected


BARE = [{"id": "letters", "ink": "clear", "layers": 28, "builds": "raised"}]


def test_letters_that_the_font_lacks(folder: Path):
    assert faults_of(folder, room(), "Boiler") == [
        (
            "row 2, column Room name (sign_types.room.text)",
            "'B' (U+0042), 'L' (U+004C), 'E' (U+0045), 'R' (U+0052)",
        )
    ]


def test_text_that_runs_from_right_to_left(folder: Path):
    told = faults_of(folder, room(braille=None, dots=None, passes=BARE), "\u05d0")
    assert told[0] == ("row 2, column Room name (sign_types.room.text)", "'\u05d0' (U+05D0)")


def test_a_sign_without_text(folder: Path):
    table = room(text=["{second?}"], braille=None, dots=None, passes=BARE)
    ((path, found),) = faults_of(folder, table)
    assert (path, found) == ("row 2, column second (sign_types.room.text)", "''")


@pytest.mark.parametrize(
    ("file", "found"),
    [
        ("fonts/none.otf", "none.otf: no such file or directory"),
        ("fonts", "no regular file"),
        ("fonts/text.otf", "data that fontTools cannot read (TTLibError)"),
    ],
)
def test_what_is_no_font(folder: Path, file: str, found: str):
    (folder / "fonts" / "text.otf").write_text("text")
    path = "row 2, sign_types.room.lettering.raised.font"
    assert faults_of(folder, room({**PLACE, "font": file})) == [(path, found)]


def test_a_font_with_a_damaged_letter(folder: Path):
    file = folder / "fonts" / "own.otf"
    font = TTFont(file, recalcBBoxes=False)
    # A number of two bytes, and the text ends there.
    font["CFF "].cff[0].CharStrings["space"] = T2CharString(bytecode=b"\x1c")
    font.save(folder / "fonts" / "damaged.otf")
    ((path, found),) = faults_of(folder, room({**PLACE, "font": "fonts/damaged.otf"}), "i i")
    assert path == "row 2, sign_types.room.lettering.raised.font"
    assert found.startswith("data that fontTools cannot read")


def test_a_font_from_a_column(folder: Path):
    table = room({**PLACE, "font": "fonts/{font}.otf"})
    own = own_shop(folder, table)
    text = "Room No.,Room name,Sign,font\nA-1,IO,room,{}\n"
    (one,) = made(text.format("own"), own).jobs
    assert one.job.signs[0].raised.area.height == pytest.approx(14.4)
    ((path, _, _),) = faults(text.format("other"), own)
    assert path == "row 2, column font (sign_types.room.lettering.raised.font)"


@pytest.mark.parametrize(
    ("changes", "path", "found"),
    [
        ({"raised": {**RAISED, "area": [1, 1, 9, 9]}}, "raised.area", "both"),
        ({"raised": {**RAISED, "height": "20 mm"}}, "lettering.raised.em", "both"),
        ({"lettering": {"raised": {**PLACE, "em": None}}}, "lettering.raised.em", "None"),
        ({"raised": None}, "lettering.raised", "a place for letters that the sign does not have"),
        ({"lettering": {"rased": PLACE}}, "lettering.rased", "an unknown key"),
        ({"lettering": {"raised": {"at": [1, 1]}}}, "lettering.raised.font", "nothing"),
        (
            {"lettering": {"raised": {"font": "a.otf", "at": [1, 1]}}},
            "lettering.raised.em",
            "nothing",
        ),
    ],
)
def test_slips_in_a_type(changes: dict[str, Any], path: str, found: str):
    with pytest.raises(ShopError) as caught:
        shop(sign_types={"room": type_with(room(), **changes)})
    told = [(fault.path, fault.found) for fault in caught.value.faults]
    assert (f"sign_types.room.{path}", found) in told


@pytest.mark.parametrize(
    "changes",
    [
        {"lettering": {"raised": {**PLACE, "em": "{em} mm"}}},
        {"lettering": "{lettering?}"},
        {
            "lettering": {"raised": {"font": "a.otf", "at": [1, 1]}},
            "raised": {"height": "{height} mm"},
        },
    ],
)
def test_what_waits_for_words_is_not_judged_yet(changes: dict[str, Any]):
    table = type_with(room(passes=[{"id": "ground", "ink": "black"}]), **changes)
    assert shop(sign_types={"room": table}).stock.sign_types


def test_fonts_are_sought_beside_the_shop_file(folder: Path):
    (folder / "shop.json").write_text(json.dumps(shop_table(sign_types={"room": room()})))
    own = read_shop(folder / "shop.json")
    (one,) = made(HEADER + "A-1,IO,room\n", own).jobs
    assert one.job.signs[0].raised.area.height == pytest.approx(14.4)


def test_of_a_shop_that_is_plain_data_fonts_are_sought_in_the_working_folder(
    folder: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.chdir(folder)
    own = shop_from_dict(shop_table(sign_types={"room": room()}))
    (one,) = made(HEADER + "A-1,IO,room\n", own).jobs
    assert one.job.signs[0].raised.area.height == pytest.approx(14.4)


def test_the_document_makes_the_same_job(folder: Path):
    one = only(folder, room())
    assert job_from_dict(one.document, shop=shop()) == one.job
    assert evaluate(one.job, plugins=plugins()).plan is not None


def test_letters_on_the_sheets_of_a_work_order(folder: Path):
    own = evolve(
        shop(sign_types={"room": room()}, composition={"gutter": "4 mm"}),
        origin=str(folder / "shop.toml"),
    )
    text = HEADER + "A-1,io,room\nA-2,ii,room\n"
    alone = {each.job.name: each.job.signs[0] for each in made(text, own).jobs}
    (load,) = compose(text, own, plugins=plugins()).loads
    assert {sign.id for sign in load.job.signs} == set(alone)
    for sign in load.job.signs:
        before = alone[sign.id].raised
        sides = sorted([sign.raised.area.width, sign.raised.area.height])
        assert sides == pytest.approx(sorted([before.area.width, before.area.height]))
        assert sign.raised.spacing == before.spacing
    letters = next(item for item in load.job.passes if item.id == "letters")
    # IO in 1215 by 720 units, and II, two bars, in 698 by 700.
    inked = (98 * 700 + math.pi * 315 * 360) + 2 * 98 * 700
    around = 1215 * 720 + 698 * 700
    assert letters.coverage == pytest.approx(inked / around, rel=1e-3)


def test_a_turned_sign_has_turned_letters(folder: Path):
    sign = only(folder, room()).sign
    place = SignPlace("panel", (10.0, 20.0), 700.0, turned=True)
    placed = placed_sign(sign.filled, sign.braille, sign.id, place, sign.size)
    # A quarter to the left takes x, y to 120 - y, x: O stands from 59.8 to 74.2 mm.
    x, y, width, height = placed.sign["raised"]["area"]
    assert (x, width) == pytest.approx((10 + 120 - 74.2, 14.4))
    assert (y, height) == pytest.approx((20 + 150 - 12.98, 25.96))


def test_the_example_of_the_page_sets_letters(folder: Path):
    page = (ROOT / "docs" / "schedules.md").read_text("utf-8")
    (block,) = (
        each for each in re.findall(r"```toml\n(.*?)```", page, re.S) if "lettering.raised" in each
    )
    stated = tomllib.loads(block)["sign_types"]["room"]
    table = tomllib.loads((ROOT / "docs/examples/doors/signrules.toml").read_text("utf-8"))
    room_of_page = {**table["sign_types"]["room"], **stated, "cells": ["{cells}"]}
    table |= {"sign_types": {"room": room_of_page}, "schedule": {}}
    own = evolve(shop_from_dict(table), origin=str(folder / "shop.toml"))
    (folder / stated["lettering"]["raised"]["font"]).write_bytes(built_font())
    (one,) = made("room,name,cells\nA-1,io,\u280a\u2815\n", own).jobs
    # I is 700 units and 20 mm high; IO is 1215 units wide, and 1.5 mm are added once.
    (sign,) = one.job.signs
    assert sign.raised.area.width == pytest.approx(1215 * 20 / 700 + 1.5)
    assert sign.raised.area.x + sign.raised.area.width / 2 == pytest.approx(150)


@pytest.mark.thorough
def test_fonts_are_opened_only_where_a_type_names_one():
    code = (
        "import sys; sys.path[:0] = sys.argv[1:]; import building; building.made();"
        " print('fontTools' in sys.modules)"
    )
    here = Path(__file__).parents[1]
    folders = [str(here), *(str(each) for each in here.iterdir() if each.is_dir())]
    shown = subprocess.run(
        [sys.executable, "-c", code, *folders], capture_output=True, text=True, check=True
    )
    assert shown.stdout.strip() == "False"
