"""`signrules standards ID`: the rows of one table."""

from __future__ import annotations

import json

import pytest
from standards.signs import ada, job_of, judged, mm

from signrules.cli import main
from signrules.model.sign import Raised, Sign
from signrules.standards.dimension_tables import amended_tables, builtin_standards


def test_the_rows_of_a_table_as_text(capsys):
    assert main(["standards", "us-ada-2010"]) == 0
    text = capsys.readouterr().out
    for row in ada().rows:
        assert row.clause in text
        assert row.note in text
    assert "at least 3/16 in" in text
    assert "  only for: car-control" in text
    assert "hung up to 70 in: at least 5/8 in, and 1/8 in more for each foot beyond 72 in" in text


def test_the_rows_of_a_table_as_json(capsys):
    assert main(["standards", "us-ca-cbc-11b", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    table = amended_tables(builtin_standards())["us-ca-cbc-11b"]
    assert [row["clause"] for row in data["rows"]] == [row.clause for row in table.rows]
    (width,) = [row for row in data["rows"] if row["clause"] == "11B-703.2.4"]
    assert (width["limit"], width["level"]) == ("60 % to 110 % of raised.height", "STOP")
    assert width["least"] == {"text": "60 %", "value": 60.0, "unit": "%"}


@pytest.mark.parametrize(
    "words", [["us-ada-2011"], ["us-ada-2010", "--together", "au-aba"], ["nothing-like-it"]]
)
def test_a_table_that_is_not_there_or_not_alone(capsys, words):
    assert main(["standards", *words]) == 2
    assert "expected" in capsys.readouterr().err


@pytest.mark.parametrize(("stroke", "weight"), [(1, "heavier"), (5, "lighter")])
def test_the_weight_to_take_goes_by_the_side_on_which_a_stroke_is_wrong(stroke, weight):
    # 11B-703.5.7: 10 % at the least; 11B-703.2.6: 15 % at the most, of 20 mm.
    table = amended_tables(builtin_standards())["us-ca-cbc-11b"]
    sign = Sign("door", raised=Raised(height=mm(20), stroke=mm(stroke)))
    broken = [
        check
        for check in judged(job_of(sign), table, rule="raised.stroke")
        if check.outcome.value == "BROKEN"
    ]
    assert [f"Take a {weight} weight" in check.message for check in broken] == [True]
