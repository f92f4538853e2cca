"""The schema of the tables agrees with the reader: on every shipped table, and on what is wrong."""

from __future__ import annotations

import copy
import json
import tomllib
from importlib import resources

import jsonschema
import pytest

from signrules.schemas import schema
from signrules.standards.dimension_tables import (
    FORMULAS,
    LENGTHS,
    LEVELS,
    QUANTITIES,
    STANDINGS,
    UNITS,
    TableError,
    read_standard,
)

HERE = resources.files("signrules.standards")
SCHEMA = schema("standard")
TABLES = sorted(
    e.name for e in HERE.iterdir() if e.name.endswith(".toml") and e.name != "not_available.toml"
)
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
GOOD = {
    "id": "x",
    "title": "X",
    "publisher": "P",
    "unit": "mm",
    "rows": [
        {
            "quantity": "raised.depth",
            "least": "1 mm",
            "clause": "1",
            "source": "s",
            "standing": "read",
        }
    ],
}


def as_toml(table: dict) -> str:
    def value(item: object) -> str:
        if isinstance(item, list):
            return "[" + ", ".join(value(one) for one in item) + "]"
        return json.dumps(item)

    head = [f"{key} = {value(item)}" for key, item in table.items() if key != "rows"]
    rows = [
        line
        for row in table.get("rows", [])
        for line in ("[[rows]]", *(f"{k} = {value(v)}" for k, v in row.items()))
    ]
    return "\n".join([*head, *rows])


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    row = SCHEMA["$defs"]["row"]["properties"]
    assert row["quantity"]["enum"] == list(QUANTITIES)
    assert row["of"]["enum"] == list(LENGTHS)
    assert row["standing"]["enum"] == list(STANDINGS)
    assert row["level"]["enum"] == list(LEVELS)
    assert row["formula"]["enum"] == list(FORMULAS)
    assert SCHEMA["properties"]["unit"]["enum"] == list(UNITS)


@pytest.mark.parametrize("name", TABLES)
def test_every_shipped_table_keeps_the_schema(name):
    text = HERE.joinpath(name).read_text("utf-8")
    assert list(VALIDATOR.iter_errors(tomllib.loads(text))) == []
    assert read_standard(text, name).rows


def test_a_sound_table_passes_both():
    assert list(VALIDATOR.iter_errors(GOOD)) == []
    assert read_standard(as_toml(GOOD), "x.toml").id == "x"


@pytest.mark.parametrize(
    ("where", "key", "value"),
    [
        ("head", "unit", "ell"),
        ("head", "title", None),
        ("head", "publishr", "P"),
        ("head", "notes", [1]),
        ("head", "amends", ""),
        ("row", "quantity", "raised.dept"),
        ("row", "standing", "heard"),
        ("row", "clause", None),
        ("row", "source", None),
        ("row", "least", "wide"),
        ("row", "least", None),
        ("row", "level", "HALT"),
        ("row", "of", "raised.case"),
        ("row", "words", ["upper"]),
        ("row", "most_printed", "2 mm"),
        ("row", "per_foot", "1 mm"),
        ("row", "formula", "guess"),
        ("row", "lest", "1 mm"),
    ],
)
def test_what_is_wrong_fails_both(where, key, value):
    table = copy.deepcopy(GOOD)
    holder = table if where == "head" else table["rows"][0]
    if value is None:
        del holder[key]
    else:
        holder[key] = value
    assert list(VALIDATOR.iter_errors(table))
    with pytest.raises(TableError):
        read_standard(as_toml(table), "x.toml")
