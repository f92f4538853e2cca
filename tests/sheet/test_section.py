"""The pictures are to scale: what is read back from the SVG is what the plan says."""

from __future__ import annotations

import pytest
from scenario import pass_of, sign_job
from sheet.pages import example, of_class, sheet_of, tree

from signrules.sheet.cross_section import LEFT
from signrules.sheet.scene import scene_of_each

EXAMPLES = ("clinic", "two-thicknesses", "clinic-scrapes")


class Read:
    """One cross-section, its coordinates turned back into mm by the scale that stands on it."""

    def __init__(self, svg):
        self.svg = svg
        self.base, self.cut, self.up, self.across, self.left = (
            float(svg.get(f"data-{key}")) for key in ("base", "cut", "up", "across", "left")
        )
        # Coordinates are written to a thousandth of a px.
        self.near = {"abs": 0.0011 / self.up, "rel": 0}
        self.near_x = {"abs": 0.0011 / self.across, "rel": 0}

    def height(self, y) -> float:
        return self.cut + (self.base - float(y)) / self.up

    def heights(self, *kinds) -> tuple[float, float]:
        """The two ends of the one line of a class, or of the shaft of a dimension."""
        (found,) = of_class(self.svg, *kinds)
        found = found if found.tag == "line" else of_class(found, "shaft")[0]
        return self.height(found.get("y1")), self.height(found.get("y2"))

    def boxes(self, *kinds) -> list[tuple[float, float, float, float]]:
        """Rectangles of a class as x0 and x1 on the bed, bottom and top above the bed."""
        found = []
        for each in of_class(self.svg, *kinds):
            x, y, width, height = (float(each.get(key)) for key in ("x", "y", "width", "height"))
            x0 = self.left + (x - LEFT) / self.across
            found.append((x0, x0 + width / self.across, self.height(y + height), self.height(y)))
        return found


def sections(result, page):
    """The print steps of a page with their pictures."""
    root = tree(page)
    for number, step in enumerate(result.plan.steps, start=1):
        if step.kind == "print":
            (svg,) = (each for each in root.iter("svg") if each.get("id") == f"section-{number}")
            yield step.printing, Read(svg)


def two_sided():
    """Ink on the front, then the sheet is turned over and printed on its back; two sheets on two
    bed loads.
    """
    job = sign_job(standards=[], signs=[])
    job["media"].append(
        {
            "id": "other",
            "thickness": "5 mm +- 0.3 mm",
            "size": [300, 80],
            "at": [100, 20],
            "load": "2",
        }
    )
    job["media"][0]["bow"] = "0.4 mm"
    for item in job["passes"]:
        item["media"] = "panel"
        item.pop("builds", None)
    job["passes"] += [
        {"id": "back", "ink": "black", "media": "panel", "side": "back", "after": ["turn"]},
        {
            "id": "bare",
            "ink": "clear",
            "media": "other",
            "areas": [[0, 0, 30, 80], [200, 10, 5, 5]],
            "layers": 3,
        },
        {"id": "from-bed", "ink": "black", "media": "other", "gap": {"head_above_bed": 7}},
    ]
    job["handling"] = [
        {
            "id": "turn",
            "does": "flip",
            "media": "panel",
            "locates_by": "pins",
            "after": ["ink-on-dots"],
        }
    ]
    return job


@pytest.fixture(params=[*EXAMPLES, "two-sided"])
def drawn(request):
    result, page = sheet_of(two_sided()) if request.param == "two-sided" else example(request.param)
    found = list(sections(result, page))
    assert len(found) == len(result.job.passes)
    return result, found


def test_heads_clearances_and_throws_are_those_of_the_plan(drawn):
    for printing, read in drawn[1]:
        plane = printing.plane.height.nominal
        for kinds, below in (
            (("clearance",), printing.clearance.nominal),
            (("throw", "lowest"), printing.throw.to_lowest.nominal),
        ):
            assert read.heights("dimension", *kinds) == pytest.approx(
                (plane, plane - below), **read.near
            )
        assert read.heights("head-plane") == pytest.approx((plane, plane), **read.near)
        highest = of_class(read.svg, "dimension", "highest")
        assert bool(highest) == (printing.throw.to_highest != printing.throw.to_lowest)
        if highest:
            ends = (plane, plane - printing.throw.to_highest.nominal)
            assert read.heights("dimension", "highest") == pytest.approx(ends, **read.near)


def test_the_dashed_line_is_the_bad_end_of_the_clearance(drawn):
    for printing, read in drawn[1]:
        worst = printing.plane.height.nominal - printing.clearance.low
        if printing.clearance.low < printing.clearance.nominal:
            assert read.heights("worst") == pytest.approx((worst, worst), **read.near)
        else:
            assert not of_class(read.svg, "worst")


def test_what_is_drawn_ends_at_the_surfaces_of_the_plan(drawn):
    result, found = drawn
    for printing, read in found:
        item = result.job.passes[printing.pass_index]
        sheet = result.job.media_of(item)
        own = read.boxes("own")
        assert max(top for *_, top in own) == pytest.approx(
            printing.surface_after.nominal, **read.near
        )
        assert max(bottom for _, _, bottom, _ in own) == pytest.approx(
            printing.surface_before.nominal, **read.near
        )
        areas = [
            (sheet.at[0] + a.x, sheet.at[0] + a.x + a.width) for a in result.job.areas_of(item)
        ]
        assert min(x0 for x0, *_ in own) == pytest.approx(min(x0 for x0, _ in areas), **read.near_x)
        assert max(x1 for _, x1, *_ in own) == pytest.approx(
            max(x1 for _, x1 in areas), **read.near_x
        )
        tops = {round(top, 3) for *_, top in read.boxes("sheet")}
        inside = result.timeline.machine.heights.layout.in_band[printing.pass_index]
        assert tops == {
            round(result.job.media_named(media).thickness.nominal, 3) for media in inside
        }
        for *_, bottom, top in read.boxes("sheet"):
            assert bottom == pytest.approx(read.cut, **read.near)
            assert top > bottom


def test_the_highest_that_is_drawn_is_what_the_clearance_counts(drawn):
    for printing, read in drawn[1]:
        highest = max(top for *_, top in [*read.boxes("ink"), *read.boxes("sheet")])
        assert highest == pytest.approx(
            printing.plane.height.nominal - printing.clearance.nominal, **read.near
        )


def test_what_must_stay_free_is_the_least_clearance(drawn):
    result, found = drawn
    for printing, read in found:
        ((_, _, bottom, top),) = read.boxes("free")
        assert top == pytest.approx(printing.plane.height.nominal, **read.near)
        assert bottom == pytest.approx(
            max(top - result.job.printer.min_clearance, read.cut), **read.near
        )


def test_nothing_must_stay_free_where_no_clearance_is_asked_for():
    job = sign_job()
    job["printer"]["min_clearance"] = 0
    for _, read in sections(*sheet_of(job)):
        assert read.boxes("free") == []
        assert read.heights("head-plane")[0] > 0


def test_one_scale_for_the_whole_sheet(drawn):
    scales = {(read.cut, read.up, read.across) for _, read in drawn[1]}
    assert len(scales) == 1


def test_the_scale_bar_is_as_long_as_it_says(drawn):
    for _, read in drawn[1]:
        bar = of_class(read.svg, "bar")[0]
        bottom, top = read.height(bar.get("y1")), read.height(bar.get("y2"))
        length = float(bar.get("data-length"))
        assert top - bottom == pytest.approx(length, **read.near)
        # A round number: 1, 2 or 5 and zeros.
        assert f"{length:.0e}"[0] in "125"
        assert length == float(f"{length:.0e}")
        assert f"{length:g}\u00a0mm" in [each.text for each in read.svg.iter("text")]


def test_heights_at_the_left_are_those_of_the_plan(drawn):
    for printing, read in drawn[1]:
        plane = printing.plane.height.nominal
        texts = [each.text for each in of_class(read.svg, "end")]
        wanted = {plane, plane - printing.clearance.nominal, plane - printing.clearance.low}
        wanted.add(plane - printing.throw.to_lowest.nominal)
        assert texts == [
            f"{height:g}" for height in sorted({round(each, 2) for each in wanted}, reverse=True)
        ]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_page_states_by_how_much_heights_are_larger(name):
    result, page = example(name)
    _, read = next(sections(result, page))
    assert f"heights {read.up / read.across:g} times larger than widths" in page
    assert (f"The lowest {read.cut:g}\u00a0mm of every sheet are left out" in page) == bool(
        read.cut
    )


def test_the_dots_of_the_clinic_by_hand():
    # 3 mm sheet, 1 layer of 0.01 mm colour, 24 layers of 0.033 mm: 3.802 mm. The head: 3 + 0.75 +
    # 1.3 = 5.05 mm.
    result, page = example("clinic")
    _, read = list(sections(result, page))[1]
    assert read.heights("dimension", "clearance") == pytest.approx((5.05, 3.802), **read.near)
    assert read.heights("dimension", "throw") == pytest.approx((5.05, 3.01), **read.near)
    assert read.boxes("ink", "now", "part")[0] == pytest.approx((90, 150, 3.01, 3.802), abs=0.002)


def test_a_strike_is_hatched_from_the_head_to_the_bad_end():
    # 24 layers of 0.034 mm, colour on them, colour itself, 0.2 mm of bow: 0.286 mm above a head at
    # 0.75 mm.
    result, page = example("clinic-scrapes")
    *before, (_, read) = sections(result, page)
    ((x0, x1, bottom, top),) = read.boxes("strike")
    assert (x0, x1) == pytest.approx((90, 150), abs=0.01)
    assert (bottom, top) == pytest.approx((3.75, 3.75 + 0.286), **read.near)
    assert all(not of_class(other.svg, "strike") for _, other in before)
    texts = [each.text for each in of_class(read.svg, "danger")]
    assert texts == ["STRIKE by", "0.286\u00a0mm"]


def test_a_head_that_comes_too_near_is_named_in_the_picture():
    # 1.5 mm over the sheet less 24 layers of 0.03 mm, the colour on them and the colour itself:
    # 0.76 mm of the 1 mm.
    result, page = sheet_of(sign_job(sequence=["dots", "ink-on-dots", "ground"]))
    *before, (printing, read) = sections(result, page)
    assert printing.clearance.low == pytest.approx(0.76)
    assert [each.text for each in of_class(read.svg, "danger")] == ["TOO NEAR"]
    assert not of_class(read.svg, "strike")
    for _, other in before:
        assert not of_class(other.svg, "danger")


def test_heights_are_drawn_from_the_bed_where_sheets_are_thin():
    job = sign_job(standards=[], signs=[])
    job["media"][0]["thickness"] = "0.5 mm"
    for item in job["passes"]:
        item.pop("builds", None)
    result, page = sheet_of(job)
    for _, read in sections(result, page):
        assert read.cut == 0
        assert not of_class(read.svg, "zigzag")


def test_a_thousand_small_areas_are_drawn_no_finer_than_a_px():
    job = sign_job(standards=[], signs=[])
    dots = pass_of(job, "dots")
    dots.pop("builds")
    dots["areas"] = [[2 + 0.19 * k, 5 + (k % 40) * 4, 0.1, 3] for k in range(1000)]
    pass_of(job, "ink-on-dots").pop("builds", None)
    pass_of(job, "ink-on-dots")["areas"] = dots["areas"]
    result, page = sheet_of(job)
    for printing, read in sections(result, page):
        assert len(of_class(read.svg, "ink")) < 1500
        highest = max(top for *_, top in read.boxes("ink"))
        assert highest == pytest.approx(
            printing.plane.height.nominal - printing.clearance.nominal, **read.near
        )


def test_scenes_follow_the_order():
    result, _ = sheet_of(two_sided())
    scenes = scene_of_each(result.timeline)
    names = [item.id for item in result.job.passes]
    for at, scene in scenes.items():
        before = result.order[: result.order.index(names[at])]
        assert [names[other] for other in scene.printed_cover(range(len(names)))[:-1]] == [
            name for name in before if name in names
        ]
        assert scene.turned == ({"panel"} if "turn" in before else set())


@pytest.mark.parametrize("name", EXAMPLES)
def test_plans_show_the_band_and_the_areas_to_scale(name):
    result, page = example(name)
    root = tree(page)
    layout, (wide, deep) = result.timeline.machine.heights.layout, result.job.printer.bed
    for number, step in enumerate(result.plan.steps, start=1):
        if step.kind != "print":
            continue
        (svg,) = (each for each in root.iter("svg") if each.get("id") == f"plan-{number}")
        scale = float(svg.get("data-scale"))
        for swatch in of_class(svg, "swatch-box"):
            svg.remove(swatch)
        bed, band = of_class(svg, "bed")[0], of_class(svg, "band")[0]
        left, top = float(bed.get("x")), float(bed.get("y"))

        def place(each, left=left, top=top, scale=scale):
            x, y, width, height = (
                float(each.get(key)) / scale for key in ("x", "y", "width", "height")
            )
            return x - left / scale, deep - (y - top / scale) - height, width, height

        low, high = layout.bands[step.printing.pass_index]
        low, high = max(low, 0), min(high, deep)
        assert place(band) == pytest.approx((0, low, wide, high - low), abs=0.02)
        item = result.job.passes[step.printing.pass_index]
        at = result.job.media_of(item).at
        stated = [(at[0] + a.x, at[1] + a.y, a.width, a.height) for a in result.job.areas_of(item)]
        areas = [place(each) for each in of_class(svg, "ink", "now")]
        assert len(areas) == len(stated)
        for mine, theirs in zip(areas, stated, strict=True):
            assert mine == pytest.approx(theirs, abs=0.02)
        sheets = [place(each) for each in of_class(svg, "sheet")]
        # In one example a sheet that the head could hit is taken off before the later steps.
        there = [each for each in result.job.media if each.id != "plaque" or number < 8]
        assert sheets == [pytest.approx((*m.at, *m.size), abs=0.02) for m in there]
