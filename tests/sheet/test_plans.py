"""Plans of the bed and of a load: to scale, every sheet and sign named, nothing invented."""

from __future__ import annotations

import re
from gettext import NullTranslations
from xml.etree import ElementTree

import pytest
from scenario import pass_of, sign_job
from sheet.drawn_pictures import beside_block, evaluated, ganged, small_signs
from sheet.pages import of_class
from sheet.test_section import two_sided

import signrules
from signrules.sheet import bed_plan as bed_plan_module
from signrules.sheet.bed_plan import bed_plan
from signrules.sheet.bed_rulers import thickness_bands
from signrules.sheet.cross_section import cross_section
from signrules.sheet.hold_words import hold_words
from signrules.sheet.language import ENGLISH, Language
from signrules.sheet.load_plan import _letter_of, load_plan
from signrules.sheet.scene import scale_of, scene_of_each
from signrules.sheet.section_words import _short_height
from signrules.sheet.tall_sheets import too_high_beside


def result_of(data):
    return signrules.evaluate(signrules.job_from_dict(data))


def plans(result, **changes):
    """The plan of each pass, by its name."""
    scenes = scene_of_each(result.timeline)
    return {
        result.job.passes[pass_index].id: ElementTree.fromstring(
            bed_plan(scene, f"plan-{pass_index}", **changes)
        )
        for pass_index, scene in scenes.items()
    }


def plan_of_load(result, load="1", **changes):
    return ElementTree.fromstring(load_plan(result.timeline, load, "load", **changes))


def words(svg):
    return [each.text for each in svg.iter("text")]


def area_of(svg, box):
    """A rectangle of a plan in mm on the bed, by its scale and the corner of its bed."""
    scale = float(svg.get("data-scale"))
    bed = of_class(svg, "bed")[0]
    left, bottom = float(bed.get("x")), float(bed.get("y")) + float(bed.get("height"))
    x, y, width, height = (float(box.get(key)) for key in ("x", "y", "width", "height"))
    return (x - left) / scale, (bottom - y - height) / scale, width / scale, height / scale


def too_high(data, name="ground"):
    result = result_of(data)
    scenes = {
        result.job.passes[at].id: scene for at, scene in scene_of_each(result.timeline).items()
    }
    return too_high_beside(scenes[name])


# --- the plan of a pass -------------------------------------------------------------------------


def test_the_origin_is_marked_at_the_corner_of_the_bed():
    for svg in plans(evaluated("clinic")).values():
        (mark,) = of_class(svg, "origin")
        bed = of_class(svg, "bed")[0]
        assert float(mark.get("cx")) == float(bed.get("x"))
        assert float(mark.get("cy")) == pytest.approx(
            float(bed.get("y")) + float(bed.get("height")), abs=0.002
        )
        assert "origin 0, 0" in words(svg)


def test_signs_are_outlined_where_they_lie():
    # 30 signs of 95 by 70 mm, the first at (10, 10) on a sheet at (20, 20).
    svg = plans(evaluated("thirty"))["dots"]
    outlines = [area_of(svg, each) for each in of_class(svg, "sign")]
    assert len(outlines) == 30
    assert outlines[0] == pytest.approx((30, 30, 95, 70), abs=0.02)


def test_the_band_is_told_in_words():
    # The dots lie from y = 80 to 88 on the bed, the head reaches 40 mm further on either side.
    assert "band: y 40 to 128\u00a0mm" in words(plans(evaluated("clinic"))["dots"])


def test_a_sheet_that_is_too_high_for_the_head_is_marked_and_named():
    svgs = plans(result_of(beside_block()))
    for svg in svgs.values():
        swatch, sheet = sorted(of_class(svg, "high"), key=lambda each: float(each.get("y")))[::-1]
        assert "swatch-box" in swatch.get("class")
        assert area_of(svg, sheet) == pytest.approx((50, 300, 150, 100), abs=0.02)
        assert "too high for the head: block" in " ".join(words(svg))


@pytest.mark.parametrize(("thickness", "marked"), [("3.5 mm", ()), ("3.51 mm", ("block",))])
def test_too_high_is_more_than_the_head_plane_less_the_least_clearance(thickness, marked):
    # The ground is printed at 3 + 1.5 = 4.5 mm and must keep 1 mm.
    job = beside_block()
    job["media"][1]["thickness"] = thickness
    assert too_high(job) == marked


def test_too_high_counts_tolerance_bow_and_ink():
    job = beside_block()
    job["media"][1] |= {"thickness": "3.3 mm +- 0.1 mm", "bow": "0.1 mm"}
    assert too_high(job) == ()
    job["media"][1]["bow"] = "0.2 mm"
    assert too_high(job) == ("block",)
    # 3.3 + 0.1 + 0.1 mm, and 0.01 mm of ink that is printed on the block first.
    job["media"][1]["bow"] = "0.1 mm"
    job["passes"].append(
        {
            "id": "on-block",
            "ink": "black",
            "media": "block",
            "gap": {"head_above_bed": 8},
        }
    )
    pass_of(job, "ground")["after"] = ["on-block"]
    assert too_high(job) == ("block",)


def test_every_sheet_is_named_numbered_or_counted():
    (svg,) = {
        name: each for name, each in plans(result_of(beside_block())).items() if name == "dots"
    }.values()
    texts = words(svg)
    assert "panel" in texts
    assert "1" in texts
    assert "1 a slat with a long name" in " ".join(texts)
    for svg in plans(evaluated("ganged")).values():
        text = " ".join(words(svg))
        counted = int(re.search(r"and (\d+) more sheets", text)[1])
        high = len(of_class(svg, "high")) - 1
        # One is printed on; those that are too high are named by themselves.
        numbered = len([each for each in words(svg) if re.match(r"\d+ plate", each)])
        assert 1 + counted + high + numbered == 36
        assert "printed on plate number 1" in text
        assert "held by pins" in text


def test_one_sheet_more_is_counted_in_the_singular():
    job = ganged(2)
    job["media"][1]["at"] = [71, 10]
    job["media"][0]["id"] = "W" * 60
    for svg in plans(result_of(job)).values():
        assert any(each.startswith("1 W") or each == "and 1 more sheet" for each in words(svg))


@pytest.mark.thorough
def test_how_sheets_are_put_back_is_said_and_not_drawn():
    svgs = plans(result_of(two_sided()))
    assert "put back by pins" in words(svgs["ground"])
    assert "put back by pins" not in words(svgs["bare"])
    job = two_sided()
    job["handling"].append({"id": "wait", "does": "pause"})
    assert "put back by pins" in words(plans(result_of(job))["ground"])


def test_of_very_many_areas_and_signs_less_is_drawn(monkeypatch):
    monkeypatch.setattr(bed_plan_module, "MOST_AREAS", 29)
    monkeypatch.setattr(bed_plan_module, "MOST_SIGNS", 29)
    svg = plans(evaluated("thirty"))["dots"]
    assert of_class(svg, "sign") == []
    (around,) = [
        area_of(svg, each) for each in of_class(svg, "ink") if "swatch-box" not in each.get("class")
    ]
    # From the first to the last of the signs: 6 a row, 100 by 75 mm, 60 by 8 mm of dots in each.
    assert around == pytest.approx((45, 38, 560, 308), abs=0.05)


# --- the plan of a load -------------------------------------------------------------------------


def test_thirty_signs_are_named_where_they_lie():
    result = evaluated("thirty")
    svg = plan_of_load(result)
    texts = words(svg)
    assert [each for each in texts if each.startswith("door-")] == [
        f"door-{number:02}" for number in range(1, 31)
    ]
    assert "panel: x 20, y 20" in texts
    assert "panel: x 20, y 20, 620 \u00d7 420\u00a0mm, 3\u00a0mm thick, held by vacuum" in texts
    signs = of_class(svg, "sign")
    assert len(signs) == 30
    for number, box in enumerate(signs):
        x, y = 10 + 100 * (number % 6), 10 + 75 * (number // 6)
        assert area_of(svg, box) == pytest.approx((20 + x, 20 + y, 95, 70), abs=0.02)
    (sheet,) = of_class(svg, "sheet")
    assert area_of(svg, sheet) == pytest.approx((20, 20, 620, 420), abs=0.02)
    assert float(svg.get("width")) <= 640
    assert float(svg.get("height")) <= 420
    assert of_class(svg, "ink") == []


def test_each_name_of_thirty_signs_stands_in_its_sign():
    svg = plan_of_load(evaluated("thirty"))
    boxes = of_class(svg, "sign")
    named = [each for each in svg.iter("text") if each.text.startswith("door-")]
    for text, box in zip(named, boxes, strict=True):
        x, y = float(text.get("x")), float(text.get("y"))
        left, top = float(box.get("x")), float(box.get("y"))
        assert left < x < left + float(box.get("width"))
        assert top < y < top + float(box.get("height"))


def test_rulers_count_mm_from_the_origin():
    svg = plan_of_load(evaluated("thirty"))
    scale = float(svg.get("data-scale"))
    bed = of_class(svg, "bed")[0]
    left, bottom = float(bed.get("x")), float(bed.get("y")) + float(bed.get("height"))
    for text in svg.iter("text"):
        if not re.fullmatch(r"\d+", text.text or ""):
            continue
        if "mid" in text.get("class"):
            assert (float(text.get("x")) - left) / scale == pytest.approx(int(text.text), abs=0.01)
        else:
            # Letters stand 4 px under the tick.
            place = (bottom - float(text.get("y")) + 4) / scale
            assert place == pytest.approx(int(text.text), abs=0.01)
    assert len(of_class(svg, "tick")) >= 8


@pytest.mark.thorough
@pytest.mark.parametrize(("bed", "with_numbers"), [([2500, 1300], 60), ([6000, 4000], 0)])
def test_signs_without_room_for_a_name_are_numbered_or_placed_in_a_list(bed, with_numbers):
    job = small_signs()
    job["printer"]["bed"] = bed
    svg = plan_of_load(result_of(job))
    texts = words(svg)
    numbered = [each for each in texts if re.match(r"\d+ door-\d\d-W", each)]
    placed = [each for each in texts if re.match(r"door-\d\d-W.*: x \d+, y \d+", each)]
    assert (len(numbered), len(placed)) == (with_numbers, 60 - with_numbers)
    # Each number of the list stands in its sign.
    in_signs = {each.text for each in svg.iter("text") if float(each.get("y")) < 320}
    assert {each.split()[0] for each in numbered} <= in_signs
    if placed:
        # The sheet lies at (20, 20), the first sign at (10, 10) on it.
        assert placed[0].endswith(": x 30, y 30")


def test_a_wide_bed_needs_no_more_height_than_it_has():
    job = sign_job()
    job["printer"]["bed"] = [3000, 500]
    svg = plan_of_load(result_of(job))
    scale = float(svg.get("data-scale"))
    assert float(of_class(svg, "bed")[0].get("width")) == pytest.approx(3000 * scale, abs=0.01)
    assert 540 < 3000 * scale < 640
    assert float(svg.get("height")) < 200


def test_a_sheet_that_is_too_small_for_its_place_shows_its_name():
    job = sign_job(standards=[], signs=[])
    job["media"].append({"id": "slat", "thickness": "3 mm", "size": [40, 40], "at": [400, 300]})
    for item in job["passes"]:
        item["media"] = "panel"
        item.pop("builds", None)
    texts = words(plan_of_load(result_of(job)))
    assert "slat" in texts
    assert "slat: x 400, y 300, 40 \u00d7 40\u00a0mm, 3\u00a0mm thick" in texts


def test_small_sheets_go_by_letters():
    texts = words(plan_of_load(evaluated("ganged")))
    assert {"A", "Z", "AA", "AJ"} <= set(texts)
    assert any(each.startswith("AJ plate number 35: x 530, y 145, 60") for each in texts)
    assert [_letter_of(index) for index in (0, 25, 26, 51, 52, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "AAA",
    ]


def test_unlike_thicknesses_are_bracketed_along_y():
    # Panel and plaque, 3 and 6 mm, lie from y = 50 to 150; the nameplate of 3 mm from 200 to 260.
    result = evaluated("two-thicknesses")
    bands = thickness_bands(result.job.media)
    assert [(band.low, band.high, band.thicknesses) for band in bands] == [
        (50, 150, (3, 6)),
        (200, 260, (3,)),
    ]
    texts = words(plan_of_load(result))
    assert {"3 and 6\u00a0mm", "3\u00a0mm"} <= set(texts)
    assert thickness_bands(evaluated("clinic").job.media) == ()
    assert of_class(plan_of_load(evaluated("clinic")), "bracket") == []


def test_a_load_shows_its_own_sheets_alone():
    result = result_of(two_sided())
    assert "panel: x 50, y 50" in words(plan_of_load(result, "1"))
    texts = words(plan_of_load(result, "2"))
    assert "other: x 100, y 20" in texts
    assert not any("panel" in each for each in texts)


def test_signs_that_face_the_bed_or_lie_nowhere_are_listed():
    result = evaluated("clinic")
    (sign,) = result.job.signs
    texts = words(plan_of_load(result, back_up={"panel"}))
    assert f"{sign.id}: on the other side of panel" in texts
    assert any(each.endswith("its back up") for each in texts)
    job = sign_job()
    pass_of(job, "dots").pop("builds")
    pass_of(job, "ground")["builds"] = "room.braille"
    assert "room: on panel" in words(plan_of_load(result_of(job)))


def test_what_holds_a_sheet_is_said():
    assert hold_words(ENGLISH, "none") == "not held"
    assert hold_words(ENGLISH, "tape") == "held by tape"
    job = sign_job()
    job["media"][0].pop("hold")
    text = next(each for each in words(plan_of_load(result_of(job))) if "thick" in each)
    assert text.endswith("3\u00a0mm thick")


# --- another language ---------------------------------------------------------------------------


class LongTexts(NullTranslations):
    """A language in which everything takes four times as many words."""

    def gettext(self, message):
        return message if "{" in message else " ".join([message] * 4)


def test_a_picture_has_room_for_longer_words():
    language = Language("xx", ",", LongTexts())
    result = evaluated("too-near")
    scenes = list(scene_of_each(result.timeline).values())
    scale = scale_of(result.job, scenes)
    short, long = (
        ElementTree.fromstring(cross_section(scenes[-1], scale, "section", each))
        for each in (ENGLISH, language)
    )
    assert float(long.get("height")) > float(short.get("height"))
    assert float(short.get("height")) <= 130
    assert float(short.get("width")) <= 250
    texts = words(long)
    assert "0,76\u00a0mm" in texts
    assert " ".join(texts).count("TOO NEAR") == 4
    assert all(float(each.get("y")) <= float(long.get("height")) for each in long.iter("text"))


def test_heights_are_written_as_exactly_as_there_is_room():
    heights = (3.0104, 12.3456, 123.4567, 1234.5678)
    shown = [_short_height(height, ENGLISH) for height in heights]
    # Thousandths, if there is room for so many digits.
    assert shown == ["3.01", "12.35", "123.5", "1235"]


def test_many_sheets_in_a_band_are_counted():
    result = evaluated("ganged")
    scenes = list(scene_of_each(result.timeline).values())
    svg = ElementTree.fromstring(cross_section(scenes[0], scale_of(result.job, scenes), "section"))
    assert f"{len(scenes[0].sheets)} sheets in the band" in words(svg)
