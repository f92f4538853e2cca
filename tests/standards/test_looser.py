"""A table that asks for less than a law says so: when it is loaded, in lists, and in each report
that used it.
"""

from __future__ import annotations

import json

import pytest
from scenario import sign_job
from standards.signs import ada

import signrules
from signrules import hookimpl, load_plugins
from signrules.cli import main
from signrules.reports.standards_report import tables_text, tables_to_dict
from signrules.reports.text_report import evaluation_text
from signrules.standards.dimension_tables import builtin_standards, read_standard
from signrules.standards.looser_tables import looser_sentences, looser_than
from signrules.testing import assert_no_looser_table

CLEAR_SPACE = 'quantity = "braille.clear_space"\nleast = "{}"'
# A change of one row of the 2010 ADA Standards, and what it asks for less: quantity, what the table
# asks, what the law.
LOOSER = [
    (CLEAR_SPACE.format("3 mm"), ("braille.clear_space", "at least 3 mm", "at least 9.525 mm")),
    (
        'quantity = "braille.clear_space"\nmost = "20 mm"',
        ("braille.clear_space", "at most 20 mm", "at least 9.525 mm"),
    ),
    (
        'quantity = "braille.dot_height"\nleast = "0.7 mm"\nmost = "0.95 mm"',
        ("braille.dot_height", "0.7 to 0.95 mm", "0.635 to 0.9398 mm"),
    ),
    (
        'quantity = "raised.stroke"\nmost = "20 %"\nof = "raised.height"',
        ("raised.stroke", "at most 20 % of raised.height", "at most 15 % of raised.height"),
    ),
    (
        'quantity = "raised.stroke"\nmost = "3 mm"',
        ("raised.stroke", "no such limit", "at most 15 % of raised.height"),
    ),
    (
        'quantity = "raised.case"\nwords = ["upper", "mixed"]',
        ("raised.case", "upper or mixed", "upper"),
    ),
    (
        CLEAR_SPACE.format("12 mm") + '\nlevel = "REVIEW"',
        ("braille.clear_space", "a level of REVIEW", "a level of STOP"),
    ),
    (
        'quantity = "surface.contrast"\nleast = "40 points"\nformula = "difference"',
        ("surface.contrast", "no such limit", "at least 70 % by the formula weber"),
    ),
    (
        'quantity = "scope.tactile"\nwords = ["permanent-room", "lift"]',
        ("scope.tactile", "none of 'exit-door', 'car-control'", "raised text and braille on each"),
    ),
    (
        'quantity = "scope.repeated"\nwords = ["permanent-room", "exit-door", "directional"]',
        (
            "scope.repeated",
            "not on 'informational'",
            "raised characters repeated in braille on each",
        ),
    ),
    (
        'quantity = "scope.exempt"\nwords = ["directional", "staff"]',
        ("scope.exempt", "none on 'staff'", "no such exception"),
    ),
    (
        'quantity = "scope.unbound"\nwords = ["directional"]',
        ("scope.unbound", "none on 'directional'", "no such exception"),
    ),
    (
        CLEAR_SPACE.format("9.525 mm") + '\nnot_for = ["car-control", "staff"]',
        ("braille.clear_space", "not on 'staff'", "no such exception"),
    ),
    (
        'quantity = "pictogram.field_height"\nleast = "152.4 mm"\nonly_for = ["restroom"]',
        ("pictogram.field_height", "on 'restroom' alone", "on others too"),
    ),
    (
        'quantity = "visual.height"\nleast = "100 mm"',
        ("visual.height", "no least by height and distance", "as much by height and distance"),
    ),
]
STRICTER = [
    CLEAR_SPACE.format("9.525 mm"),
    CLEAR_SPACE.format("12 mm"),
    'quantity = "braille.dot_height"\nleast = "0.68 mm"\nmost = "0.88 mm"',
    'quantity = "visual.style"\nwords = ["sans-serif"]',
    'quantity = "scope.tactile"\nwords = ["permanent-room", "exit-door", "car-control", "lift"]',
    'quantity = "scope.exempt"\nwords = ["directional"]',
    'quantity = "raised.word_spacing"\nleast = "10 mm"',
]


def house(*rows: str, id: str = "house", amends: str | None = "us-ada-2010", unit: str = "mm"):
    head = f'id = "{id}"\ntitle = "An invented house"\npublisher = "nobody"\nunit = "{unit}"\n'
    head += f'amends = "{amends}"\n' if amends else ""
    own = "".join(
        f'[[rows]]\n{row}\nclause = "1"\nsource = "invented"\nstanding = "read"\n' for row in rows
    )
    return read_standard(head + own, "house.toml")


def plugins_with(*tables):
    class Brings:
        @hookimpl
        def signrules_standards(self):
            return tables

    return load_plugins(objects=[Brings()])


def looser_of(*tables, name: str = "house"):
    found = plugins_with(*tables).standards[name].looser
    return [(one.law, one.quantity, one.own, one.asked) for one in found]


@pytest.mark.parametrize(("row", "expected"), LOOSER)
def test_a_row_that_asks_for_less_than_the_law_it_amends_is_named(row, expected):
    assert looser_of(house(row)) == [("us-ada-2010", *expected)]


@pytest.mark.parametrize("row", STRICTER)
def test_a_row_that_asks_for_as_much_or_more_is_not(row):
    assert looser_of(house(row)) == []


def test_along_a_chain_the_law_at_its_end_counts():
    county = house(CLEAR_SPACE.format("3 mm"), id="county")
    town = house('quantity = "raised.word_spacing"\nleast = "10 mm"', id="town", amends="county")
    village = house(CLEAR_SPACE.format("10 mm"), id="village", amends="town")
    less = [("us-ada-2010", "braille.clear_space", "at least 3 mm", "at least 9.525 mm")]
    assert looser_of(county, town, village, name="county") == less
    assert looser_of(county, town, village, name="town") == less
    assert looser_of(county, town, village, name="village") == []


def test_a_table_that_stands_alone_is_compared_on_what_both_limit():
    alone = house(
        CLEAR_SPACE.format("3 mm"), 'quantity = "raised.depth"\nleast = "1.2 mm"', amends=None
    )
    assert looser_of(alone) == [
        # Australia also has a most of its depth: 1.5 mm in S15C3.
        ("au-ncc-s15", "raised.depth", "at least 1.2 mm", "1 to 1.5 mm"),
        ("us-ada-2010", "braille.clear_space", "at least 3 mm", "at least 9.525 mm"),
    ]


def test_built_in_tables_are_laws_and_none_that_amends_another_is_looser():
    tables = load_plugins().standards
    amending = {table.id for table in builtin_standards() if table.amends}
    assert {name: table.looser for name, table in tables.items()} == {
        name: () if name in amending else None for name in tables
    }


BANDS = (
    'quantity = "visual.height"\nper_foot = "{per_foot}"\nbands = [\n'
    '  {{ up_to = "{low}", base = "5/8 in", distance = "{distance}" }},\n'
    '  {{ up_to = "120 in", base = "2 in", distance = "180 in" }},\n'
    '  {{ base = "3 in", distance = "21 ft" }},\n]'
)
LAW = {"per_foot": "1/8 in", "low": "70 in", "distance": "72 in"}


# Table 703.5.5 of the 2010 ADA Standards, with one figure of it changed.
@pytest.mark.parametrize(
    ("changes", "looser"),
    [
        ({}, False),
        ({"per_foot": "1/4 in"}, False),
        ({"per_foot": "1/16 in"}, True),
        ({"low": "60 in"}, False),
        ({"low": "80 in"}, True),
        ({"distance": "60 in"}, False),
        ({"distance": "84 in"}, True),
    ],
)
def test_least_heights_by_distance_are_compared_everywhere(changes, looser):
    table = house(BANDS.format(**LAW | changes), unit="in", amends=None)
    found = [one.quantity for one in looser_than(table, ada(), whole=False)]
    assert found == (["visual.height"] if looser else [])


def test_it_is_said_when_loaded_and_in_lists():
    plugins = plugins_with(house(CLEAR_SPACE.format("3 mm")))
    said = "looser than us-ada-2010: braille.clear_space at least 3 mm instead of at least 9.525 mm"
    assert list(looser_sentences(plugins.standards.values())) == [f"house is {said}."]
    assert list(looser_sentences(load_plugins().standards.values())) == []
    text = tables_text(plugins.standards)
    assert f"Looser than a law:\nhouse                  {said}\n" in text
    assert "Looser than a law" not in tables_text(load_plugins().standards)
    listed = {one["id"]: one["looser"] for one in tables_to_dict(plugins.standards)["standards"]}
    row = {"than": "us-ada-2010", "quantity": "braille.clear_space"}
    assert listed["house"] == [row | {"asks": "at least 3 mm", "law": "at least 9.525 mm"}]
    assert listed["us-ada-2010"] == []


PLUGIN = """
from pathlib import Path
from signrules import hookimpl, load_standard

@hookimpl
def signrules_standards():
    return [load_standard(Path(__file__).with_suffix(".toml"))]
"""


def test_the_commands_say_it(tmp_path, capsys):
    row = CLEAR_SPACE.format("3 mm") + '\nclause = "1"\nsource = "invented"\nstanding = "read"\n'
    head = (
        'id = "house"\ntitle = "H"\npublisher = "nobody"\nunit = "mm"\namends ='
        ' "us-ada-2010"\n[[rows]]\n'
    )
    (tmp_path / "house.toml").write_text(head + row, encoding="utf-8")
    plugin = tmp_path / "house.py"
    plugin.write_text(PLUGIN, encoding="utf-8")
    for command in ("standards", "plugins"):
        assert main([command, "--plugin", str(plugin)]) == 0
        assert (
            "looser than us-ada-2010: braille.clear_space at least 3 mm" in capsys.readouterr().out
        )
    main(["plugins", "--plugin", str(plugin), "--format", "json"])
    assert json.loads(capsys.readouterr().out)["looser"][0].startswith(
        "house is looser than us-ada-2010: "
    )


def test_each_report_that_used_it_says_so():
    plugins = plugins_with(house(CLEAR_SPACE.format("3 mm")))
    job = signrules.job_from_dict(sign_job(standards=["house"]))
    result = signrules.evaluate(job, plugins=plugins)
    (check,) = (check for check in result.checks if check.rule == "tables.looser")
    assert (check.outcome.value, check.level.value, check.margin) == ("BROKEN", "REVIEW", -1)
    said = (
        "house is looser than us-ada-2010: braille.clear_space at least 3 mm instead of at least"
        " 9.525 mm"
    )
    assert said in check.message
    assert said in evaluation_text(result)
    other = signrules.evaluate(signrules.job_from_dict(sign_job()), plugins=plugins)
    assert not [check for check in other.checks if check.rule == "tables.looser"]


def test_the_testing_kit_has_a_check_for_it():
    strict, loose = (
        plugins_with(house(CLEAR_SPACE.format("12 mm"))),
        plugins_with(house(CLEAR_SPACE.format("3 mm"))),
    )
    assert_no_looser_table(strict)
    assert_no_looser_table(load_plugins())
    with pytest.raises(
        AssertionError,
        match=r"house is looser than us-ada-2010: braille\.clear_space at least 3 mm",
    ):
        assert_no_looser_table(loose)
    assert_no_looser_table(loose, but={"house braille.clear_space": "car controls alone"})
    for plugins, but in (
        (loose, {"house braille.clear_space": ""}),
        (loose, {"house raised.depth": "why"}),
        (strict, {"house braille.clear_space": "why"}),
    ):
        with pytest.raises(ValueError, match="expected a reason, for one of"):
            assert_no_looser_table(plugins, but=but)
