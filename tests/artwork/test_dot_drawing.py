"""Dots that are drawn are read back: the same cells, the same spacings."""

from __future__ import annotations

import random
from xml.etree import ElementTree

import pytest
from attrs import evolve
from drawn_artwork import circle
from effort import effort

import signrules
from signrules.artwork.braille_reading import read_braille
from signrules.artwork.dot_drawing import dots_svg, drawn_dots
from signrules.artwork.dot_pdf import dots_pdf
from signrules.errors import SignrulesError
from signrules.standards.dimension_tables import builtin_standards

SVG = "{http://www.w3.org/2000/svg}"
ADA = [standard for standard in builtin_standards() if standard.id == "us-ada-2010"]


def sample(**braille):
    job = signrules.job_from_dict(signrules.sample_job())
    sign = job.signs[0]
    return evolve(job, signs=(evolve(sign, braille=evolve(sign.braille, **braille)),))


def circles_of(svg):
    """Circles of an SVG as x, y upwards, diameter."""
    root = ElementTree.fromstring(svg)
    height = float(root.get("viewBox").split()[3])
    groups = [(group.get("id"), group.get("data-step")) for group in root.iter(f"{SVG}g")]
    assert groups == [("Braille", "Braille")]
    return [
        (float(c.get("cx")), height - float(c.get("cy")), 2 * float(c.get("r")))
        for c in root.iter(f"{SVG}circle")
    ]


def read_back(job):
    dots = circles_of(dots_svg(drawn_dots(job, standards=ADA)))
    [block] = read_braille([circle(*dot) for dot in dots]).blocks
    return block


def test_a_sign_is_drawn_and_read_back():
    job = sample()
    braille = job.signs[0].braille
    block = read_back(job)
    assert list(block.lines) == braille.cells.split("\n")
    for name in ("dot_diameter", "dot_spacing", "cell_spacing"):
        stated = getattr(braille, name).nominal
        assert getattr(block, name).nominal == pytest.approx(stated, abs=0.002)


def test_random_cells_are_drawn_and_read_back():
    randoms = random.Random(3)
    letters = "⠃⠉⠙⠑⠋⠛⠓⠊⠚⠍⠝⠕⠏⠟⠗⠎⠞⠥⠧⠺⠭⠽⠵"
    for _ in range(effort(100)):
        cells = "⠼" + "".join(randoms.choices(letters, k=6))
        assert list(read_back(sample(cells=cells)).lines) == [cells]


def test_dots_lie_in_the_middle_of_what_builds_them():
    job = sample()
    feature = f"{job.signs[0].id}.braille"
    [area] = next(item for item in job.passes if feature in item.builds).areas
    dots = circles_of(dots_svg(drawn_dots(job, standards=ADA)))
    middle = (min(x for x, _, _ in dots) + max(x for x, _, _ in dots)) / 2
    assert middle == pytest.approx(area.x + area.width / 2, abs=1e-4)


def test_what_is_not_stated_is_the_middle_of_the_standard():
    """2010 ADA Standards, table 703.3.1: 0.241 to 0.300 in from cell to cell."""
    block = read_back(sample(cell_spacing=None))
    assert block.cell_spacing.nominal == pytest.approx((0.241 + 0.3) / 2 * 25.4, abs=0.002)


def test_dots_without_any_standard_are_refused():
    with pytest.raises(SignrulesError, match=r"signs\..*\.braille\.cell_spacing"):
        drawn_dots(sample(cell_spacing=None))


def test_without_areas_dots_lie_in_the_area_of_the_sign_or_the_sheet():
    job = sample()
    bare = evolve(job, passes=tuple(evolve(item, builds=()) for item in job.passes))
    placed = signrules.Area(10, 20, 100, 50)
    signed = evolve(bare, signs=(evolve(bare.signs[0], area=placed),))
    assert middle_of(signed) == pytest.approx((60, 45), abs=1e-4)
    width, height = bare.media[0].size
    plain = evolve(bare, signs=(evolve(bare.signs[0], area=None),))
    assert middle_of(plain) == pytest.approx((width / 2, height / 2), abs=1e-4)


def middle_of(job):
    extents = drawn_dots(job, standards=ADA).signs[0].layout.extents
    return extents.x + extents.width / 2, extents.y + extents.height / 2


def test_dots_that_need_more_room_are_told():
    drawing = drawn_dots(sample(cells="⠗⠕⠕⠍" * 6), standards=ADA)
    assert "need" in drawing.signs[0].notes[0]
    assert drawn_dots(sample(cells="⠗⠕"), standards=ADA).signs[0].notes == ()


@pytest.mark.parametrize(
    ("braille", "said"), [({"cells": None}, "no sign"), ({"cells": " "}, "no")]
)
def test_signs_without_dots_are_refused(braille, said):
    with pytest.raises(SignrulesError, match=said):
        drawn_dots(sample(**braille), standards=ADA)


def test_signs_that_are_turned_are_refused():
    job = sample()
    turned = evolve(job, signs=(evolve(job.signs[0], top="near"),))
    with pytest.raises(SignrulesError, match="upright"):
        drawn_dots(turned, standards=ADA)


def test_the_sheet_is_one_of_the_job():
    with pytest.raises(SignrulesError, match="no sheet 'steel'"):
        drawn_dots(sample(), sheet="steel", standards=ADA)


def test_the_pdf_has_a_layer_for_the_processing_step():
    pikepdf = pytest.importorskip("pikepdf")
    import io

    drawing = drawn_dots(sample(), standards=ADA)
    data = dots_pdf(drawing)
    assert data == dots_pdf(drawing)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        [group] = pdf.Root.OCProperties.OCGs
        assert group.GTS_Metadata.GTS_ProcStepsGroup == "/Braille"
        [page] = pdf.pages
        size = [float(each) * 25.4 / 72 for each in list(page.MediaBox)[2:]]
        assert size == pytest.approx(list(drawn_size(drawing)), abs=1e-3)
        operators = [str(op.operator) for op in pikepdf.parse_content_stream(page)]
    assert operators[:3] == ["BDC", "cs", "scn"]
    assert operators.count("f") == len(drawing.dots)
    assert operators.count("c") == 4 * len(drawing.dots)


def drawn_size(drawing):
    return drawing.width, drawing.height


def test_one_of_several_sheets_is_named():
    job = sample()
    second = evolve(job.media[0], id="second", load="2")
    first = job.media[0].id
    two = evolve(
        job,
        media=(job.media[0], second),
        passes=tuple(evolve(item, media=first) for item in job.passes),
        handling=tuple(evolve(item, media=first) for item in job.handling),
        signs=tuple(evolve(sign, media=first) for sign in job.signs),
    )
    with pytest.raises(SignrulesError, match="expected one sheet"):
        drawn_dots(two, standards=ADA)
    assert drawn_dots(two, sheet=first, standards=ADA).sheet == first


def test_one_line_needs_no_distance_of_lines():
    assert drawn_dots(sample(line_spacing=None)).signs[0].layout.count > 0


def test_of_a_pass_for_several_signs_the_areas_on_the_sign_count():
    job = sample()
    feature = f"{job.signs[0].id}.braille"
    areas = (signrules.Area(10, 10, 60, 8), signrules.Area(110, 10, 60, 8))
    passes = tuple(
        evolve(item, areas=areas, builds=(feature, "other.braille"))
        if feature in item.builds
        else evolve(item, builds=())
        for item in job.passes
    )
    here = evolve(job.signs[0], area=signrules.Area(100, 0, 90, 50))
    other = evolve(here, id="other", area=signrules.Area(0, 0, 90, 50))
    two = evolve(job, passes=passes, signs=(here, other))
    middles = [
        (drawn.layout.extents.x + drawn.layout.extents.width / 2)
        for drawn in drawn_dots(two, standards=ADA).signs
    ]
    assert middles == pytest.approx([140, 40], abs=1e-4)
