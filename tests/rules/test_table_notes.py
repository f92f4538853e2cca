"""What a table names and no rule judges, and signs that fail the law that a table loosens."""

from __future__ import annotations

import pytest
from attrs import evolve

import signrules
from signrules.plugins import load_plugins
from signrules.reports.text_report import evaluation_text
from signrules.rules.table_coverage import unjudged_notes
from signrules.standards.dimension_tables import (
    amended_tables,
    builtin_standards,
    read_standard,
)

TABLES = amended_tables(builtin_standards())
HOUSE = """
id = "house"
title = "An invented house"
publisher = "nobody"
unit = "mm"
amends = "us-ada-2010"

[[rows]]
quantity = "raised.depth"
least = "0.5 mm"
clause = "1"
source = "invented"
standing = "read"

[[rows]]
quantity = "raised.height"
least = "10 mm"
clause = "2"
source = "invented"
standing = "read"
"""


class House:
    @signrules.hookimpl
    def signrules_standards(self):
        return [read_standard(HOUSE, "house.toml")]


def of_rule(result, rule):
    return [check for check in result.checks if check.rule == rule]


@pytest.mark.parametrize(
    ("note", "named"),
    [
        ("Two inches (407.2.3.1): no row.", True),
        ("One line (S15C2(b)): no row.", True),
        ("Left (11B-703.3.2): no row.", True),
        ("A sign states none (see the text).", False),
        ("No row (1).", False),
    ],
)
def test_a_note_that_names_a_clause_is_told(note, named):
    table = evolve(TABLES["us-ada-2010"], notes=(note,))
    assert bool(unjudged_notes(table)) is named


def test_the_notes_of_a_table_are_told_once_and_are_no_fault_of_the_job():
    document = signrules.sample_job()
    document["signs"].append({**document["signs"][0], "id": "second", "area": None})
    document["signs"][1].pop("area")
    document["signs"][0].pop("area")
    result = signrules.evaluate(signrules.job_from_dict(document))
    (check,) = of_rule(result, "tables.notes")
    assert check.level.value == "NOTE"
    assert "jambs of a lift's hoistway are 2 in tall (407.2.3.1)" in check.message
    assert check not in result.violations
    assert check not in result.unassessed
    assert evaluation_text(result).count("(407.2.3.1)") == 1


def test_an_amending_table_has_the_notes_of_its_base():
    own = next(table for table in builtin_standards() if table.id == "us-ca-cbc-11b")
    base = next(table for table in builtin_standards() if table.id == "us-ada-2010")
    assert TABLES["us-ca-cbc-11b"].notes == own.notes + base.notes


def test_signs_that_would_fail_the_law_are_named():
    document = signrules.sample_job() | {"standards": ["house"]}
    # 18 layers of 33 um are 0.59 mm, where the law asks for 1/32 in (0.79 mm) and the house 0.5.
    letters = next(item for item in document["passes"] if item["id"] == "letters")
    letters["layers"] = 18
    document["signs"][0]["raised"]["height"] = "12 mm"
    plugins = load_plugins(objects=[House()])
    result = signrules.evaluate(signrules.job_from_dict(document), plugins=plugins)
    (check,) = of_rule(result, "tables.looser")
    assert "house is looser than us-ada-2010" in check.message
    assert "the sign room-214 would fail: the predicted raised depth is 0.57" in check.message
    assert "would fail: the raised height is 12 mm" in check.message
    # Letters that meet the law fail nothing.
    letters["layers"] = 26
    document["signs"][0]["raised"]["height"] = "25 mm"
    result = signrules.evaluate(signrules.job_from_dict(document), plugins=plugins)
    (check,) = of_rule(result, "tables.looser")
    assert "would fail" not in check.message
