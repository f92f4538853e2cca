"""Rules on the form of braille: shape and sphere of its dots, how alike they are, grade, gap below
the text.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from signrules.braille.spelling import words_of
from signrules.braille.styles import grade_of_cells
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, check, stated_by_the_job
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, judge_length, judge_value, path_of
from signrules.rules.drawn_parts import read_from_artwork
from signrules.rules.translating import Translate, translated_line
from signrules.standards.dimension_tables import SPREAD, Standard

Standards = tuple[Standard, ...]


@rule(
    "braille.shape",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.shape": "flat"},
    meets={},
)
def braille_shape(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether the dots have a shape that the standard allows.

    Why it matters: flat-topped or pointed dots are hard to tell apart and hurt the finger.
    A job that breaks it: flat dots, where domed or rounded ones are required.
    One that meets it: domed dots.
    """
    advice = "Narrow the last layers of each dot, so that it ends in a dome."
    yield from judge_length(item, standards, "braille.shape", "the shape of the dots", advice)


@rule(
    "braille.grade",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.grade": "uncontracted"},
    meets={},
)
def braille_grade(item: Sign, standards: Standards, translate: Translate) -> Iterator[Draft]:
    """Whether the braille is contracted or uncontracted, as the standard asks.

    It is judged by what the sign states, and by its cells where they stand for the text in one
    grade alone: that takes a translator of the language.

    Why it matters: readers expect the grade of their country, and countries differ.
    A job that breaks it: uncontracted braille, where contracted braille is required.
    One that meets it: contracted braille.
    """
    advice = "Translate the text again, in the other grade, and have it proofread."
    yield from judge_length(item, standards, "braille.grade", "the grade of the braille", advice)
    braille = item.braille
    if braille is None or braille.cells is None or not words_of(item.text):
        return
    found_grade = grade_of_cells(braille, item.text, partial(translated_line, translate, braille))
    # The statement has been judged; what the cells say counts beside it where it is something else.
    if found_grade is not None and found_grade != braille.grade:
        what = "the grade of the braille, as its cells read,"
        for standard, row in rows_binding(item, standards, "braille.grade"):
            # Beside the check of the statement: either may be what was printed.
            yield judge_value(item, standard, row, what, found_grade, advice)


@rule(
    "braille.dome-radius",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["au-aba"], "signs.room-214.braille.dome_radius": "0.83 mm"},
    meets={"standards": ["au-aba"]},
)
def braille_dome_radius(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How large the sphere is of which the dots are a part.

    Why it matters: height and base alone do not say how round a dot feels.
    A job that breaks it: a radius of 0.83 mm, where 0.76 to 0.81 mm is asked for.
    One that meets it: a radius of 0.78 mm.
    """
    advice = (
        "Change the height or the base: the radius is (height squared + half the base squared) / (2"
        " x height)."
    )
    yield from judge_length(
        item, standards, "braille.dome_radius", "the radius of the domes", advice
    )


@rule(
    "braille.below-text",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["us-ca-cbc-11b"], "signs.room-214.braille.below_text": "14 mm"},
    meets={"standards": ["us-ca-cbc-11b"]},
)
def braille_below_text(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How far below the raised text the braille stands.

    Why it matters: a reader looks for the braille right below the words; too near, the letters feel
    like dots.
    A job that breaks it: a gap of 14 mm, where 3/8 in to 1/2 in (9.525 to 12.7 mm) is asked for.
    One that meets it: a gap of 10 mm.
    """
    advice = "Move the braille."
    yield from judge_length(
        item,
        standards,
        "braille.below_text",
        "the gap from the text to the braille below it",
        advice,
    )


@rule(
    "braille.text-clearance",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.below_text": "9 mm"},
    meets={},
)
def braille_text_clearance(item: Sign, standards: Standards, job: Job) -> Iterator[Draft]:
    """The stated gap from raised text down to the braille leaves the clear space around the
    braille.

    Raised text is tactile, so what a standard asks for around braille it asks for here too, unless
    it has a row of its own on this gap. A gap that is less than the clear space that the sign
    itself states is REVIEW: one of the two is wrong. Where dots lie below a gap between letters,
    the clear space runs aslant, so half the widest gap to the side is allowed for. Where dots and
    characters were both read from artwork, either was measured there: they are not compared.

    Why it matters: letters that stand close to a cell feel like dots of it.
    A job that breaks it: a gap of 9 mm, where 3/8 in (9.525 mm) is asked for around the braille.
    One that meets it: a gap of 10 mm.
    """
    braille = item.braille
    if braille is None or braille.below_text is None:
        return
    what, advice = "the gap from the text to the braille below it", "Move the braille down."
    for standard, row in rows_binding(item, standards, "braille.clear_space"):
        # A row on this very gap is stricter or looser on purpose, and takes the place of the
        # general one.
        if not standard.rows_for("braille.below_text"):
            yield judge_value(item, standard, row, what, braille.below_text, advice)
    if braille.clear_space is not None and not read_from_artwork(item, job):
        path = path_of(item, "braille.clear_space")
        yield check(
            f"{what}, against the clear space that the sign states,",
            measured=braille.below_text,
            least=_least_gap_below(item, braille.clear_space.low),
            advice="Correct the one that is wrong.",
            source=stated_by_the_job(path),
            level=Level.REVIEW,
        )


def _least_gap_below(item: Sign, clear_space: float) -> float:
    """How far below the text dots lie at least that are a clear space from the nearest letter."""
    raised = item.raised
    gaps = () if raised is None else (raised.spacing, raised.word_spacing)
    aside = max((gap.high / 2 for gap in gaps if gap is not None), default=0.0)
    # Pythagoras: a dot below the middle of a gap lies half of it aside from either letter.
    return math.sqrt(max(clear_space**2 - aside**2, 0.0))


@rule(
    "braille.spread",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={
        "standards": ["au-aba"],
        "signs.room-214.measured": {"dot_height": ["0.70 mm", "0.75 mm"]},
    },
    meets={
        "standards": ["au-aba"],
        "signs.room-214.measured": {"dot_height": ["0.700 mm", "0.705 mm"]},
    },
)
def braille_spread(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How alike the measured dots of a sign are: largest less smallest height over their mean.

    It is judged where two dots or more were measured.

    Why it matters: a single high or low dot stands out under the finger and is taken for a sign of
    its own.
    A job that breaks it: dots measured at 0.70 and 0.75 mm, 6.9 % apart where at most 1 % is
    allowed.
    One that meets it: dots measured at 0.700 and 0.705 mm, 0.7 % apart.
    """
    heights = () if item.measured is None else item.measured.dot_height
    mean = math.fsum(heights) / len(heights) if heights else 0.0
    # One dot has no spread, and heights of 0 have no mean to divide by.
    if len(heights) < 2 or mean <= 0:
        return
    spread = Interval.exact(100.0 * (max(heights) - min(heights)) / mean)
    advice = "Print all dots of a sign in the same passes, and even out worn or blocked nozzles."
    for standard, row in rows_binding(item, standards, SPREAD):
        yield judge_value(
            item, standard, row, "the spread of the measured dot heights", spread, advice
        )


DOTS = (
    braille_shape,
    braille_grade,
    braille_dome_radius,
    braille_below_text,
    braille_text_clearance,
    braille_spread,
)
"""The rules of the set `braille` that are not on dimensions of the grid."""
