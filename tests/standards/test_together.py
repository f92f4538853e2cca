"""Several standards at once: published ranges intersected exactly, and who disagrees with whom."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import combinations

import pytest
from attrs import evolve
from standards.signs import job_of, judged, mm

import signrules
from signrules.cli import main
from signrules.model.quantities import Interval
from signrules.model.sign import Braille, Sign
from signrules.reports.standards_report import together_text
from signrules.standards.common_ranges import Together
from signrules.standards.dimension_tables import Row, Standard, amended_tables, builtin_standards
from signrules.standards.written_numbers import read_number

TABLES = {standard.id: standard for standard in builtin_standards()}
GRID = ("dot_diameter", "dot_spacing", "cell_spacing", "line_spacing", "dot_height")
ADA, CBC, AU, NO, DE, CZ = (
    "us-ada-2010",
    "us-ca-cbc-11b",
    "au-aba",
    "no-signs",
    "de-din-32976",
    "cz-sons",
)

# What satisfies both, in mm: dot base, dot spacing, cell spacing, line spacing, dot height; None
# where nothing does. Computed by hand from Table 703.3.1, Table 11B-703.3.1, and the dimensions of
# the other publications.
BOTH = [
    (ADA, CBC, ("1.4986 1.6002", "2.54 2.54", "7.62 7.62", "10.033 10.16", "0.635 0.9398")),
    (ADA, AU, ("1.5 1.6", "2.3 2.5", "6.1214 7", "10.033 10.16", "0.635 0.9")),
    (CBC, AU, ("1.5 1.6", None, None, "10.033 10.16", "0.635 0.9")),
    (ADA, NO, ("1.4986 1.6", "2.5 2.5", None, "10.033 10.1", "0.635 0.9398")),
    (ADA, DE, ("1.4986 1.6002", None, "6.6 6.6", None, "0.635 0.7")),
    (ADA, CZ, ("1.6 1.6", "2.4 2.54", "6.1214 6.6", "10.033 10.16", None)),
    (AU, NO, ("1.5 1.6", "2.5 2.5", "6.1 6.1", "10 10.1", "0.6 0.9")),
]
EACH = [
    (a, b, f"braille.{name}", expected)
    for a, b, ranges in BOTH
    for name, expected in zip(GRID, ranges, strict=True)
]


@pytest.mark.parametrize(("a", "b", "quantity", "expected"), EACH)
def test_two_published_ranges_together(a, b, quantity, expected):
    for names in ((a, b), (b, a)):
        common = signrules.together(names).of(quantity)
        assert common.possible is (expected is not None)
        if expected is None:
            assert [set(pair) for pair in common.conflicts] == [{a, b}]
            assert f"{names[0]} and {names[1]} disagree" in str(common)
        else:
            assert (common.least, common.most) == tuple(Fraction(end) for end in expected.split())
            assert common.conflicts == ()


def test_the_californian_grid_is_the_federal_one_and_more():
    both = signrules.together([ADA, CBC])
    alone = signrules.together([CBC])
    for name in GRID:
        one, other = both.of(f"braille.{name}"), alone.of(f"braille.{name}")
        assert (one.least, one.most) == (other.least, other.most)
    assert both.possible


def test_grades_of_braille_differ_by_country():
    common = signrules.together([ADA, "dk-tibs"]).of("braille.grade")
    assert (common.possible, common.words, common.conflicts) == (False, (), ((ADA, "dk-tibs"),))


def test_of_three_the_two_that_disagree_are_named():
    common = signrules.together([ADA, CBC, AU]).of("braille.cell_spacing")
    assert common.conflicts == ((CBC, AU),)
    assert common.standards == (ADA, CBC, AU)


@pytest.mark.parametrize(("a", "b"), list(combinations(sorted(TABLES), 2)))
def test_a_conflict_is_two_rows_without_a_common_value(a, b):
    found = signrules.together([a, b])
    for common in found.quantities:
        assert common.possible is (not common.conflicts)
        if common.least is not None and common.most is not None:
            assert common.possible is (common.least <= common.most)
    assert found.possible is (not found.conflicts)


def test_a_target_is_the_middle_and_satisfies_both():
    found = signrules.together([ADA, AU])
    values = {name: found.target(f"braille.{name}") for name in GRID}
    assert values["dot_spacing"] == pytest.approx(2.4)
    assert values["cell_spacing"] == pytest.approx(6.5607)
    sign = Sign("door", braille=Braille(**{name: mm(value) for name, value in values.items()}))
    rules = [f"braille.{name.replace('_', '-')}" for name in GRID]
    checks = [
        check
        for rule in rules
        for check in judged(job_of(sign), TABLES[ADA], TABLES[AU], rule=rule)
    ]
    assert [check.outcome.value for check in checks] == ["MET"] * 10


@pytest.mark.parametrize(
    "quantity", ["raised.depth", "braille.grade", "raised.stroke", "braille.dome_radius"]
)
def test_no_middle_where_a_range_is_open_or_none(quantity):
    with pytest.raises(signrules.SignrulesError, match=quantity):
        signrules.together([ADA]).target(quantity)


def test_no_middle_where_standards_disagree():
    with pytest.raises(signrules.SignrulesError, match="us-ca-cbc-11b and au-aba disagree"):
        signrules.together([CBC, AU]).target("braille.dot_spacing")


def test_layers_that_keep_the_height_at_both_ends_of_the_ink():
    found = signrules.together([ADA, AU])
    layer = Interval(0.029, 0.030, 0.031)
    layers = found.layers("braille.dot_height", layer)
    assert layers == range(22, 30)  # 22 x 0.029 = 0.638 and 29 x 0.031 = 0.899, within 0.635 to 0.9
    for count in range(1, 60):
        assert (count in layers) is (count * layer.low >= 0.635 and count * layer.high <= 0.9)
    assert len(found.layers("braille.dot_height", Interval(0.1, 0.15, 0.3))) == 0
    assert signrules.together([ADA]).layers("raised.depth", Interval.exact(0.03))[0] == 27
    with pytest.raises(signrules.SignrulesError, match="no height to build"):
        found.layers("braille.grade", layer)


# A sign laid out for the range of both; one in the federal range only; one in the Australian range
# only.
@pytest.mark.parametrize(
    ("cells", "federal", "australian"),
    [(6.5, "MET", "MET"), (7.62, "MET", "BROKEN"), (6.05, "BROKEN", "MET")],
)
def test_a_sign_under_two_standards_is_judged_under_each(cells, federal, australian):
    sign = Sign("door", braille=Braille(cell_spacing=mm(cells)))
    checks = judged(job_of(sign), TABLES[ADA], TABLES[AU], rule="braille.cell-spacing")
    assert [check.outcome.value for check in checks] == [federal, australian]
    titles = [TABLES[name].title for name in (ADA, AU)]
    assert all(
        check.source.text.startswith(title) for check, title in zip(checks, titles, strict=True)
    )


def test_no_value_on_a_fine_grid_satisfies_an_empty_pair():
    for step in range(590, 780):
        sign = Sign("door", braille=Braille(cell_spacing=mm(step / 100)))
        checks = judged(job_of(sign), TABLES[CBC], TABLES[AU], rule="braille.cell-spacing")
        assert {check.outcome.value for check in checks} != {"MET"}


def test_three_choices_of_words_may_leave_nothing_though_each_two_share_one():
    def table(id: str, words: tuple[str, ...]):
        row = evolve(TABLES[ADA].rows_for("surface.finish")[0], words=words)
        return evolve(TABLES[ADA], id=id, rows=(row,))

    three = [table("a", ("x", "y")), table("b", ("y", "z")), table("c", ("x", "z"))]
    common = signrules.together(three).of("surface.finish")
    assert not common.possible
    assert "all of them disagree" in str(common)


@pytest.mark.parametrize(
    ("names", "problem"),
    [
        ([], "at least one"),
        (["us-ada-2011"], "us-ada-2010 perhaps"),
        (["iso-17049"], "known but not available"),
    ],
)
def test_what_cannot_be_put_together_is_refused(names, problem):
    with pytest.raises(signrules.SignrulesError, match=problem):
        signrules.together(names)


# --- the command ----------------------------------------------------------------------------------


def test_the_command_lists_tables_and_what_is_not_available(capsys):
    assert main(["standards"]) == 0
    text = capsys.readouterr().out
    for name in (*TABLES, "iso-17049", "jis-t-9253", "csa-b651", "icc-a117.1"):
        assert f"\n{name} " in f"\n{text}"
    assert "all second hand" in text
    assert "the authority having jurisdiction decide" in text
    assert main(["standards", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    full = amended_tables(builtin_standards())
    assert {entry["id"]: entry["rows"] for entry in data["standards"]} == {
        k: len(v.rows) for k, v in full.items()
    }
    assert all(entry["reason"] for entry in data["not_available"])


def test_the_command_puts_tables_together(capsys):
    assert main(["standards", "--together", ADA, CBC]) == 0
    text = capsys.readouterr().out
    assert "braille.cell_spacing      7.62 mm\n" in text
    assert "One sign can satisfy all of these." in text
    assert "not a certification" in text
    assert main(["standards", "--together", CBC, AU, "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    cells = next(one for one in data["quantities"] if one["quantity"] == "braille.cell_spacing")
    assert (cells["possible"], cells["conflicts"]) == (False, [[CBC, AU]])
    assert cells["exact"] == ["381/50", "7"]
    assert data["possible"] is False


def test_the_command_refuses_what_it_does_not_know(capsys):
    assert main(["standards", "--together", "jis-t-9253"]) == 2
    assert "known but not available" in capsys.readouterr().err


def test_contrasts_by_different_formulas_are_not_put_together():
    def table(id, least, formula):
        row = Row("surface.contrast", "1", "X", "read", read_number(least), formula=formula)
        return Standard(id, id, "X", "mm", (row,))

    three = [table("a", "70 %", None), table("b", "60 %", "weber"), table("c", "40 %", "michelson")]
    weber, michelson = signrules.together(three).quantities
    assert (str(weber), weber.standards) == ("at least 70 % by the formula weber", ("a", "b"))
    assert str(michelson) == "at least 40 % by the formula michelson"
    assert [one["formula"] for one in signrules.together(three).to_dict()["quantities"]] == [
        "weber",
        "michelson",
    ]


def test_tables_of_bands_alone_are_told_in_text():
    """No range at all: what depends on height and distance has its line all the same."""
    said = together_text(Together((), (), ("visual.height",)))
    assert "visual.height  by height above the floor" in said
    assert "One sign can satisfy all of these." in together_text(Together((), (), ()))
