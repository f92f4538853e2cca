"""The shipped table: complete, exact, and with its inches governing the millimetres printed beside
them.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from standards.signs import ada

from signrules.standards.dimension_tables import QUANTITIES, builtin_standards
from signrules.standards.written_numbers import read_number

# What section 703 of the 2010 ADA Standards asks of each quantity: clause, least, most, of what.
PUBLISHED = [
    ("raised.depth", "703.2.1", "1/32 in", None, None),
    ("raised.height", "703.2.5", "5/8 in", "2 in", None),
    ("raised.width", "703.2.4", "55 %", "110 %", "raised.height"),
    ("raised.stroke", "703.2.6", None, "15 %", "raised.height"),
    ("raised.spacing", "703.2.7", "1/8 in", None, None),
    ("raised.spacing", "703.2.7", None, "4 strokes", "raised.stroke"),
    ("raised.clear_space", "703.2.7", "3/8 in", None, None),
    ("raised.line_spacing", "703.2.8", "135 %", "170 %", "raised.height"),
    ("braille.dot_diameter", "Table 703.3.1", "0.059 in", "0.063 in", None),
    ("braille.dot_spacing", "Table 703.3.1", "0.090 in", "0.100 in", None),
    ("braille.cell_spacing", "Table 703.3.1", "0.241 in", "0.300 in", None),
    ("braille.dot_height", "Table 703.3.1", "0.025 in", "0.037 in", None),
    ("braille.line_spacing", "Table 703.3.1", "0.395 in", "0.400 in", None),
    ("braille.clear_space", "703.3.2", "3/8 in", None, None),
    ("mounting.lowest_tactile", "703.4.1", "48 in", None, None),
    ("mounting.highest_tactile", "703.4.1", None, "60 in", None),
    ("visual.above_floor", "703.5.6", "40 in", None, None),
    ("visual.width", "703.5.4", "55 %", "110 %", "visual.height"),
    ("visual.stroke", "703.5.7", "10 %", "30 %", "visual.height"),
    ("visual.spacing", "703.5.8", "10 %", "35 %", "visual.height"),
    ("visual.line_spacing", "703.5.9", "135 %", "170 %", "visual.height"),
    ("pictogram.field_height", "703.6.1", "6 in", None, None),
]
WORDS = [
    ("raised.case", "703.2.2", ("upper",)),
    ("braille.capitals", "703.3.1", ("sentence", "name", "letter", "acronym")),
    ("braille.grade", "703.3", ("contracted",)),
    ("braille.shape", "703.3.1", ("domed", "rounded")),
    ("braille.position", "703.3.2", ("below",)),
    ("scope.repeated", "703.2", ("permanent-room", "exit-door", "directional", "informational")),
    ("scope.tactile", "216.2", ("permanent-room",)),
    ("scope.tactile", "216.4.1", ("exit-door",)),
    ("scope.tactile", "407.4.7.1", ("car-control",)),
    ("surface.polarity", "703.5.1", ("light on dark", "dark on light")),
    ("raised.style", "703.2.3", ("sans-serif",)),
    ("visual.style", "703.5.3", ("sans-serif", "serif")),
    ("surface.finish", "703.5.1", ("matte", "eggshell")),
]

# Limits of section 703 and the millimetres printed beside them in the 2010 ADA Standards (dots and
# cells: Table 703.3.1; the pictogram's in the California copy): the end of the range, inches, exact
# mm, printed mm, whether a sign designed to the printed mm keeps the inch limit.
PRINTED = [
    ("braille.dot_diameter", "least", "0.059 in", "1.4986", "1.5", True),
    ("braille.dot_diameter", "most", "0.063 in", "1.6002", "1.6", True),
    ("braille.dot_spacing", "least", "0.090 in", "2.286", "2.3", True),
    ("braille.dot_spacing", "most", "0.100 in", "2.54", "2.5", True),
    ("braille.cell_spacing", "least", "0.241 in", "6.1214", "6.1", False),
    ("braille.cell_spacing", "most", "0.300 in", "7.62", "7.6", True),
    ("braille.dot_height", "least", "0.025 in", "0.635", "0.6", False),
    ("braille.dot_height", "most", "0.037 in", "0.9398", "0.9", True),
    ("braille.line_spacing", "least", "0.395 in", "10.033", "10", False),
    ("braille.line_spacing", "most", "0.400 in", "10.16", "10.2", False),
    ("raised.depth", "least", "1/32 in", "0.79375", "0.8", True),
    ("raised.height", "least", "5/8 in", "15.875", "16", True),
    ("raised.height", "most", "2 in", "50.8", "51", False),
    ("raised.spacing", "least", "1/8 in", "3.175", "3.2", True),
    ("braille.clear_space", "least", "3/8 in", "9.525", "9.5", False),
    ("raised.clear_space", "least", "3/8 in", "9.525", "9.5", False),
    ("mounting.lowest_tactile", "least", "48 in", "1219.2", "1220", True),
    ("mounting.highest_tactile", "most", "60 in", "1524", "1525", False),
    ("visual.above_floor", "least", "40 in", "1016", "1015", False),
    ("pictogram.field_height", "least", "6 in", "152.4", "152", False),
]
# The same for dimensions that no field of a sign carries: text as printed in inches and mm, kept or
# not.
PRINTED_ELSEWHERE = [
    ("1/2 in", "12.7", "13", True),  # 703.2.5, exception
    ("1/16 in", "1.5875", "1.6", True),  # 703.2.7, base of sloping flanks
    ("3/16 in", "4.7625", "4.8", True),  # 703.3.2, exception
    ("18 in", "457.2", "455", False),  # 703.4.2
]


# Exceptions: quantity, clause, limits or words, the kinds that they bind alone. 703.2.5 by a
# fabricator's summary, 703.3.2 by the reproduced section.
EXCEPTED = [
    ("raised.height", "703.2.5, exception", "1/2 in to 2 in", ("separate-visual",)),
    ("braille.clear_space", "703.3.2, exception", "at least 3/16 in", ("car-control",)),
    ("braille.position", "703.3.2, exception", "below or beside", ("car-control",)),
]


@pytest.mark.parametrize(("quantity", "clause", "limit", "kinds"), EXCEPTED)
def test_an_exception_is_a_row_for_those_it_binds_and_the_rule_lets_them_go(
    quantity, clause, limit, kinds
):
    rule, exception = ada().rows_for(quantity)
    assert (exception.clause, exception.limit, exception.only_for) == (clause, limit, kinds)
    assert rule.not_for == kinds


@pytest.mark.parametrize(("quantity", "clause", "least", "most", "of"), PUBLISHED)
def test_each_published_limit_is_a_row(quantity, clause, least, most, of):
    row = next(row for row in ada().rows_for(quantity) if row.of == of)
    texts = tuple(None if bound is None else bound.text for bound in (row.least, row.most))
    assert (row.clause, *texts, row.level) == (clause, least, most, "STOP")
    assert row.source
    assert row.measured


@pytest.mark.parametrize(("quantity", "clause", "words"), WORDS)
def test_each_published_choice_of_words_is_a_row(quantity, clause, words):
    (row,) = [row for row in ada().rows_for(quantity) if row.clause == clause]
    assert (row.words, row.level, row.kind) == (words, "STOP", "words")


def test_nothing_else_is_in_the_table():
    rest = [
        "visual.height",
        "surface.contrast",
        "surface.lighter_lrv",
        "scope.exempt",
        "scope.unbound",
    ]
    listed = len(PUBLISHED) + len(WORDS) + len(EXCEPTED) + len(rest)
    assert len(ada().rows) == listed
    assert {row.quantity for row in ada().rows} <= set(QUANTITIES)


def test_contrast_is_advisory_and_no_part_of_the_2010_text():
    (row,) = ada().rows_for("surface.contrast")
    assert row.level == "REVIEW"
    assert "1991" in row.title
    assert "A4.30.5" in row.clause
    assert "no part of the 2010 text" in row.clause
    assert row.standing == "second hand"


def test_what_was_not_read_in_the_text_or_a_copy_says_so():
    second_hand = {row.quantity for row in ada().rows if row.standing == "second hand"}
    raised = {
        "raised.width",
        "raised.style",
        "raised.height",
        "raised.spacing",
        "raised.line_spacing",
    }
    raised |= {"raised.clear_space"}
    assert second_hand == raised | {
        "surface.contrast",
        "surface.lighter_lrv",
        "pictogram.field_height",
    }


@pytest.mark.parametrize(("quantity", "end", "inches", "exact", "printed", "safe"), PRINTED)
def test_inches_are_exact_and_the_printed_millimetres_are_not(
    quantity, end, inches, exact, printed, safe
):
    bound = getattr(next(row for row in ada().rows_for(quantity) if row.of is None), end)
    assert bound.text == inches
    assert bound.value == Fraction(exact)
    assert bound.number == float(exact)
    assert bound.printed == Fraction(printed)
    assert (
        bound.printed >= bound.value if end == "least" else bound.printed <= bound.value
    ) is safe


@pytest.mark.parametrize(("inches", "exact", "printed", "safe"), PRINTED_ELSEWHERE)
def test_the_rounding_of_other_dimensions(inches, exact, printed, safe):
    least = read_number(inches).value
    assert least == Fraction(exact)
    assert (Fraction(printed) >= least) is safe


def test_three_hundred_thousandths_of_an_inch_are_no_float_product():
    assert read_number("0.300 in").number == 7.62
    assert 0.3 * 25.4 != 7.62


def test_every_builtin_table_has_an_id_of_its_own():
    standards = builtin_standards()
    assert len({standard.id for standard in standards}) == len(standards) >= 1
