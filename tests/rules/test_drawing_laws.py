"""Laws of the rules on drawings: print within its areas, sheets moved or turned, larger areas."""

from __future__ import annotations

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from standards.signs import ada, job_of, judged, mm

import signrules
from signrules.documents.document_changes import changed as changed_document
from signrules.model.passes import Area, Pass
from signrules.model.sign import Braille, Raised, Sign
from signrules.rules.drawing_areas import DRAWING
from signrules.testing import sound_jobs

RULES = [rule.name for rule in DRAWING.rules]
BRAILLE = Braille(cells="⠗⠕", dot_diameter=mm(1.5), dot_spacing=mm(2.5), cell_spacing=mm(6))
HIGH_CELLS, WIDE_CELLS = 2 * 2.5 + 1.5, 6 + 2.5 + 1.5
"""The size of BRAILLE with its dots, in mm: two cells, each of three rows of two dots."""

tenths = st.integers(0, 200).map(lambda count: count / 10)
hundredths = st.integers(0, 200).map(lambda count: count / 100)


def drawing_checks(job, *standards):
    return [check for rule in RULES for check in judged(job, *standards, rule=rule)]


def told(checks):
    """What checks say, apart from their words."""
    return [(one.rule, one.subjects, one.outcome, one.found, one.allowed) for one in checks]


def numbers(checks):
    known = [check.measured for check in checks if check.measured is not None]
    return [end for one in known for end in (one.low, one.high)]


@st.composite
def printed(draw):
    """Text and braille as they are printed, with larger areas drawn around them.

    Gives the sign, the passes, how far the braille truly lies below the text, and where both lie.
    """
    tall = draw(st.integers(10, 30))
    text = Area(60 + draw(tenths), 60 + draw(tenths), 30.0, float(tall))
    dots = Area(60 + draw(tenths), 20 + 4 * draw(tenths), WIDE_CELLS, HIGH_CELLS)

    def around(ink):
        left, low, right, high = (draw(tenths) for _ in range(4))
        return Area(ink.x - left, ink.y - low, ink.width + left + right, ink.height + low + high)

    raised = Raised(height=draw(st.sampled_from([None, mm(tall)])))
    braille = draw(st.sampled_from([Braille(), BRAILLE]))
    sign = Sign("room", text=("ROOM",), raised=raised, braille=braille)
    passes = (
        Pass("dots", "clear", areas=(around(dots),), builds=("room.braille",)),
        Pass("letters", "clear", areas=(around(text),), builds=("room.raised",)),
    )
    return sign, passes, text.y - dots.y - dots.height, text, dots


@given(printed())
def test_what_is_certain_is_true_of_the_print(drawn):
    sign, passes, gap, *_ = drawn
    (check,) = judged(job_of(sign, passes=passes), ada(), rule="drawing.braille-below")
    if check.measured is not None:
        assert check.measured.low - 1e-6 <= gap <= check.measured.high + 1e-6
        assert check.outcome.value == ("MET" if gap >= -1e-6 else "BROKEN")


@given(printed())
def test_a_true_statement_never_disagrees(drawn):
    sign, passes, gap, text, dots = drawn
    above = dots.y - text.y - text.height
    place = "below" if gap >= 0 else "above" if above >= 0 else "beside"
    true = evolve(sign.braille, position=place, below_text=mm(gap) if gap >= 0 else None)
    checks = drawing_checks(job_of(evolve(sign, braille=true), passes=passes))
    assert {check.outcome.value for check in checks} == {"MET"}


@given(printed(), st.sampled_from(["dots", "letters"]), *[hundredths] * 4)
def test_a_larger_area_turns_no_verdict_into_its_opposite(drawn, which, left, low, right, high):
    sign, passes, *_ = drawn

    def larger(item):
        (area,) = item.areas
        x, y = area.x - left, area.y - low
        grown = Area(x, y, area.width + left + right, area.height + low + high)
        return evolve(item, areas=(grown,)) if item.id == which else item

    stated = evolve(sign, braille=evolve(sign.braille, position="below"))
    before = drawing_checks(job_of(stated, passes=passes), ada())
    after = drawing_checks(job_of(stated, passes=tuple(map(larger, passes))), ada())
    # What a larger area says is less certain: it may no longer be broken, or no longer tell.
    for one, other in zip(before, after, strict=True):
        if one.outcome.value == "MET":
            assert other.outcome.value in ("MET", "UNASSESSED")
        elif one.rule == "drawing.braille-below":
            assert other.outcome.value in (one.outcome.value, "UNASSESSED")


@given(sound_jobs())
def test_sound_jobs_agree_with_their_drawing(job):
    result = signrules.evaluate(job, audited=False)
    checks = [check for check in result.checks if check.rule in RULES]
    assert {check.rule for check in checks} >= {"drawing.braille-below", "drawing.raised-height"}
    assert {check.outcome.value for check in checks} == {"MET"}


def on_a_larger_sheet(job, across, along):
    """The same job with everything on the sheet moved, and the sheet on the bed."""
    (sheet,) = job.media

    def moved(area):
        return Area(area.x + across, area.y + along, area.width, area.height)

    def placed(item):
        return evolve(item, areas=item.areas and tuple(map(moved, item.areas)))

    size = (sheet.size[0] + 2 * across, sheet.size[1] + 2 * along)
    larger = evolve(sheet, size=size, at=(1.0, 2.0))
    return evolve(
        job,
        printer=evolve(job.printer, bed=(2000.0, 2000.0)),
        media=(larger,),
        passes=tuple(map(placed, job.passes)),
        signs=tuple(evolve(sign, area=moved(sign.area)) for sign in job.signs),
    )


WRONG = {
    "signs.room-214.braille.position": "above",
    "signs.room-214.braille.below_text": "14 mm",
    "signs.room-214.raised.height": "26 mm",
    "passes.dots.areas": [["30 mm", "100 mm", "60 mm", "8 mm"]],
    "signs.room-214.area": ["0 mm", "45 mm", "240 mm", "200 mm"],
}
"""Changes to the sample job; with each of them statement and drawing disagree."""


def changed(*paths):
    changes = {path: WRONG[path] for path in paths}
    return signrules.job_from_dict(changed_document(signrules.sample_job(), changes))


@given(st.sets(st.sampled_from(sorted(WRONG))), tenths, tenths)
def test_moving_the_whole_job_changes_nothing(paths, across, along):
    job = changed(*sorted(paths))
    before = drawing_checks(job, ada())
    after = drawing_checks(on_a_larger_sheet(job, across, along), ada())
    assert told(before) == told(after)
    assert numbers(before) == pytest.approx(numbers(after), abs=1e-9)


def turned(job, top):
    """The same job with its sheet, and all that is on it, turned on the bed."""
    (sheet,) = job.media
    width, height = sheet.size

    def place(area):
        x, y = area.x, area.y
        if top == "near":
            return Area(width - x - area.width, height - y - area.height, area.width, area.height)
        if top == "left":
            return Area(height - y - area.height, x, area.height, area.width)
        return Area(y, width - x - area.width, area.height, area.width)

    def placed(item):
        return evolve(item, areas=item.areas and tuple(map(place, item.areas)))

    return evolve(
        job,
        media=(evolve(sheet, size=(width, height) if top == "near" else (height, width)),),
        passes=tuple(map(placed, job.passes)),
        signs=tuple(evolve(sign, area=place(sign.area), top=top) for sign in job.signs),
    )


@given(st.sets(st.sampled_from(sorted(WRONG))), st.sampled_from(["near", "left", "right"]))
def test_turning_the_sheet_changes_nothing_where_the_sign_says_so(paths, top):
    job = changed(*sorted(paths))
    before, after = (drawing_checks(one, ada()) for one in (job, turned(job, top)))
    assert told(before) == told(after)
    assert numbers(before) == pytest.approx(numbers(after), abs=1e-9)


FOUND_OUT = [("near", "BROKEN"), ("left", "UNASSESSED"), ("right", "UNASSESSED")]


@pytest.mark.parametrize(("top", "outcome"), FOUND_OUT)
def test_a_turned_sheet_whose_sign_does_not_say_so_is_found_out(top, outcome):
    job = turned(changed(), top)
    unsaid = evolve(job, signs=tuple(evolve(sign, top="far") for sign in job.signs))
    (check,) = judged(unsaid, ada(), rule="drawing.braille-below")
    assert check.outcome.value == outcome
