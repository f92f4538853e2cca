"""The schemas agree with the reader and with what is written; jsonschema judges."""

from __future__ import annotations

import copy
import datetime
import json
import tomllib
from pathlib import Path
from typing import Any

import attrs
import jsonschema
import pytest
from documents.samples import FULL_TOML, SMALL
from drawn_orders import drawn_order
from effort import effort
from fuzz.damage import damaged
from hypothesis import given, settings
from scenario import sign_job
from strategies import jobs

from signrules import (
    WorkOrderError,
    evaluate,
    job_from_dict,
    job_to_dict,
    read_job,
    work_order_from_dict,
    work_order_to_dict,
)
from signrules.cli import main
from signrules.documents.refusal import Refused
from signrules.documents.table_reader import document_fields, keys_of, read_field
from signrules.errors import JobError
from signrules.model import Job, Printer
from signrules.model.consistency import TABLES
from signrules.model.declared import classes_within, document_key
from signrules.model.media import Ink, Media
from signrules.model.work_order import WorkOrder
from signrules.schemas import SCHEMAS, SchemaError, schema

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "docs" / "examples").glob("*.toml"))
JOB = jsonschema.Draft202012Validator(schema("job"))
REPORT = jsonschema.Draft202012Validator(schema("report"))


def as_json(document: object) -> Any:
    """A document as JSON holds it: dates as text."""
    return json.loads(json.dumps(document, default=str))


def reads(document: object) -> bool:
    try:
        job_from_dict(document)
    except JobError:
        return False
    return True


def is_shape_fault(fault: Any) -> bool:
    return "unknown key" in fault.found or "required" in fault.expected


@pytest.mark.parametrize("name", SCHEMAS)
def test_each_is_a_schema_of_its_dialect(name):
    found = schema(name)
    assert found["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(found)
    found["title"] = "changed"
    assert schema(name)["title"] != "changed"


def test_an_unknown_name_gets_the_nearest():
    with pytest.raises(SchemaError, match="did you mean report"):
        schema("reports")


def test_the_job_schema_has_the_keys_of_the_reader():
    found = schema("job")
    assert set(found["properties"]) == {"signrules", "printer", *keys_of(Job), *TABLES}
    for cls in classes_within(Job):
        extra = (
            {"use"}
            if cls in (Printer, Ink, Media)
            else {"control"}
            if cls.__name__ in ("Dial", "Spacers")
            else set()
        )
        assert set(found["$defs"][cls.__name__.lower()]["properties"]) == {*keys_of(cls), *extra}


def test_its_choices_are_those_of_the_reader():
    definitions = schema("job")["$defs"]
    listed = set()
    for cls in classes_within(Job):
        for attribute in document_fields(cls):
            for wrong in ("no such word", 77):
                try:
                    read_field(wrong, cls, attribute)
                except Refused as refused:
                    if refused.expected.startswith("one of "):
                        listed.add((cls, attribute))
    assert len(listed) > 10
    for cls, attribute in listed:
        shape = definitions[cls.__name__.lower()]["properties"][document_key(cls, attribute)]
        assert shape["then"] == {"$ref": "#/$defs/figure"}
        choices = shape["else"]["enum"]
        assert all(read_field(choice, cls, attribute) == choice for choice in choices)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_every_example_and_its_report(path):
    JOB.validate(as_json(tomllib.loads(path.read_text("utf-8"))))
    report = evaluate(read_job(path)).to_dict()
    REPORT.validate(report)
    REPORT.validate([report, report])


def test_the_work_order_schema_has_the_keys_of_the_reader():
    found = schema("work_order")
    assert set(found["properties"]) == {"signrules_work_order", *keys_of(WorkOrder)}
    for cls in classes_within(WorkOrder):
        assert set(found["$defs"][cls.__name__.lower()]["properties"]) == set(keys_of(cls))


def test_the_work_order_of_the_documents_keeps_to_its_schema():
    text = (ROOT / "docs" / "examples" / "wing" / "work-order.toml").read_text("utf-8")
    document = tomllib.loads(text)
    validator = jsonschema.Draft202012Validator(schema("work_order"))
    validator.validate(document)
    validator.validate(work_order_to_dict(work_order_from_dict(document)))


WORK_ORDER = work_order_to_dict(drawn_order()[0])


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("signrules_work_order",), 2),
        (("printer",), 3),
        (("loads", 0, "files"), "load-01.toml"),
        (("pieces", 0, "size"), [100]),
        (("signs", 0, "row"), 0),
        (("signs", 0, "lies"), "sideways"),
        (("signs", 0, "at"), [{"is": 3}, 4]),
        (("at_least", "loads"), 1.5),
    ],
)
def test_a_work_order_that_the_reader_refuses_and_so_does_the_schema(path, value):
    validator = jsonschema.Draft202012Validator(schema("work_order"))
    document = copy.deepcopy(WORK_ORDER)
    validator.validate(document)
    place = document
    for part in path[:-1]:
        place = place[part]
    place[path[-1]] = value
    assert not validator.is_valid(document)
    with pytest.raises(WorkOrderError):
        work_order_from_dict(document)


@given(jobs(physics=True, handling=True))
@settings(max_examples=effort(60))
def test_generated_jobs(job):
    JOB.validate(job_to_dict(job))


@given(jobs(max_passes=4, sequence=True) | jobs(max_passes=4, sides=("front", "back")))
@settings(max_examples=effort(30))
def test_reports_of_generated_jobs(job):
    report = as_json(evaluate(job, today=datetime.date(2027, 1, 1)).to_dict(remedies=False))
    REPORT.validate(report)
    known = REPORT.schema["$defs"]
    assert set(report) <= set(known["evaluation"]["properties"])
    assert {key for check in report["checks"] for key in check} <= set(known["check"]["properties"])


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("ok",), "yes"),
        (("checks", 0, "outcome"), "PERHAPS"),
        (("checks", 0, "limit"), [1]),
        (("plan", "steps", 0, "kind"), "dance"),
        (("order",), [1]),
        (("quantities", "bed_loads"), "one"),
        (("signrules",), 2),
    ],
)
def test_the_report_schema_refuses(path, value):
    report = as_json(evaluate(job_from_dict(sign_job())).to_dict())
    REPORT.validate(report)
    holder = report
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value
    assert not REPORT.is_valid(report)


def test_it_refuses_what_is_left_out():
    report = as_json(evaluate(job_from_dict(sign_job())).to_dict())
    for key in REPORT.schema["$defs"]["evaluation"]["required"]:
        assert not REPORT.is_valid({name: value for name, value in report.items() if name != key})


@pytest.mark.thorough
@given(damaged())
@settings(max_examples=effort(400))
def test_what_the_reader_accepts_the_schema_accepts(document):
    try:
        data = as_json(document)
    except (TypeError, ValueError, UnicodeEncodeError, RecursionError):
        return
    if reads(data):
        JOB.validate(data)


@given(damaged())
@settings(max_examples=effort(400))
def test_what_the_reader_refuses_for_its_shape_the_schema_refuses(document):
    try:
        data = as_json(document)
        job_from_dict(data)
    except JobError as error:
        if any(is_shape_fault(fault) for fault in error.faults):
            assert not JOB.is_valid(data)
    except (TypeError, ValueError, UnicodeEncodeError, RecursionError):
        return


def places(value: object, path: tuple = ()) -> list[tuple]:
    found = [path] if path else []
    pairs = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    for key, each in pairs:
        found += places(each, (*path, key))
    return found


FULL = as_json(tomllib.loads(FULL_TOML))
DOCUMENTS = [
    pytest.param(FULL, id="full", marks=pytest.mark.slow),
    pytest.param(SMALL, id="small"),
]


@pytest.mark.parametrize(
    "wrong", [{"no": "such"}, [[]], True, None, "certainly no value of this kind"], ids=str
)
@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_value_of_the_wrong_type_anywhere(document, wrong):
    """Wherever a value of another type stands, the two agree, but for texts and for what takes more
    than a schema.
    """
    told = 0
    for path in places(document):
        changed = copy.deepcopy(document)
        holder: Any = changed
        for step in path[:-1]:
            holder = holder[step]
        holder[path[-1]] = wrong
        valid = JOB.is_valid(changed)
        if reads(changed):
            JOB.validate(changed)
        else:
            told += not valid
            # A text may be of the right shape and name what is not there.
            assert not valid or isinstance(wrong, str), (path, wrong)
    assert told > 50


@pytest.mark.thorough
@pytest.mark.parametrize("document", [FULL, SMALL], ids=["full", "small"])
def test_an_unknown_key_in_any_table_and_every_required_key(document):
    for path in [(), *places(document)]:
        changed = copy.deepcopy(document)
        holder: Any = changed
        for step in path:
            holder = holder[step]
        if isinstance(holder, dict) and path != ("printer", "locating"):
            holder["no_such_key"] = 1
            assert not reads(changed)
            assert not JOB.is_valid(changed), path
            del holder["no_such_key"]
            for key in list(holder):
                value = holder.pop(key)
                if JOB.is_valid(changed) and not reads(changed):
                    # The rest of the document names what was taken away; no key of this table is
                    # missing.
                    with pytest.raises(JobError) as caught:
                        job_from_dict(changed)
                    # Inks may be left to the shop.
                    faults = [fault for fault in caught.value.faults if fault.path != "inks"]
                    assert not any(is_shape_fault(fault) for fault in faults), (path, key)
                holder[key] = value


LENGTHS = [
    "3 mm",
    " 3mm ",
    "3/8 in",
    "1 1/2 in",
    ".5 mm",
    "3. mm",
    "1e1 mm",
    "-2 mm",
    "+2 um",
    "2 µm",
    "2 μm",
    "0.3 cm",
]
NO_LENGTHS = [
    "3",
    "mm",
    "3 m",
    "3 mm mm",
    "1/2/3 in",
    "3,5 mm",
    "",
    "three mm",
    "3 mm;",
    "1..2",
    "0...2 mm",
    "1 mm .. 2 mm .. 3 mm .. 4 mm",
]
TOLERANCED = [
    "3 mm +- 0.2 mm",
    "3±0.2 mm",
    "0.6 .. 0.9 mm",
    "0.6..0.7..0.9 mm",
    "1 1/2 in +- 1/16 in",
    "0. .. .5 .. 2 mm",
]


def test_texts_of_lengths_agree_with_the_reader():
    definitions = JOB.schema["$defs"]
    length = jsonschema.Draft202012Validator({"$defs": definitions, "$ref": "#/$defs/length"})
    toleranced = jsonschema.Draft202012Validator(
        {"$defs": definitions, "$ref": "#/$defs/toleranced"}
    )
    for text in LENGTHS + NO_LENGTHS + TOLERANCED:
        for validator, cls, attribute in (
            (length, Printer, "head_length"),
            (toleranced, Printer, "base_gap"),
        ):
            try:
                read_field(text, cls, attribute)
                accepted = True
            except Refused as refused:
                accepted = "at least" in refused.expected
            assert validator.is_valid(text) is accepted, (text, attribute)


def test_required_keys_are_those_without_a_default():
    for cls in classes_within(Job):
        table = schema("job")["$defs"][cls.__name__.lower()]
        if cls in (Printer, Ink, Media):
            # What one of the shop is to say need not stand in the job.
            assert table["if"] == {"required": ["use"]}
            table = table["else"]
        found = set(table.get("required", ())) - {"control"}
        fields = attrs.fields_dict(cls)
        assert {
            document_key(cls, name)
            for name in document_fields(cls)
            if fields[name].default is attrs.NOTHING
        } == found


def test_the_command_prints_each(capsys):
    for name in SCHEMAS:
        assert main(["schema", name]) == 0
        assert json.loads(capsys.readouterr().out) == schema(name)
    assert main(["schema"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(SCHEMAS)
    assert main(["schema", "jobs"]) == 2
    assert "did you mean job?" in capsys.readouterr().err
