"""The record of a half-printed job as a document, and the command that reads it."""

from __future__ import annotations

import json

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from signrules import (
    ProgressRecord,
    job_from_dict,
    read_record,
    record_from_dict,
    sample_job,
    schema,
    write_job,
)
from signrules.cli import main
from signrules.documents.job_fingerprints import job_fingerprint
from signrules.documents.progress_records import read_heights
from signrules.errors import RecordError

NAMES = st.lists(st.text(max_size=5), max_size=3)
RECORDS = st.builds(
    ProgressRecord,
    job=st.text(max_size=5),
    fingerprint=st.text(max_size=5),
    done=NAMES,
    measured=st.dictionaries(
        st.text(max_size=5), st.lists(st.floats(0.01, 9.0), max_size=3).map(tuple), max_size=3
    ),
    moved=st.dictionaries(st.text(max_size=5), st.none() | st.text(max_size=5), max_size=2),
    struck=st.booleans(),
    readings=st.dictionaries(st.text(max_size=5), st.floats(0, 9), max_size=2),
)


@given(RECORDS)
def test_what_is_written_is_read_again_and_keeps_to_the_schema(record):
    data = json.loads(json.dumps(record.to_dict()))
    jsonschema.validate(data, schema("record"))
    assert record_from_dict(data) == record


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        ({"signrules_record": 2}, "signrules_record", "the version of the record, 1"),
        ({"dome": []}, "dome", "'done' perhaps"),
        ({"job": 5}, "job", "a text"),
        ({"done": "ground"}, "done", "a list of names"),
        ({"done": ["ground", 2]}, "done[1]", "a text"),
        ({"struck": "no"}, "struck", "true or false"),
        ({"readings": []}, "readings", "a table"),
        ({"moved": "panel"}, "moved", "a list of names"),
        ({"moved": {"panel": 5}}, "moved.panel", "a text"),
        ({"entries": 5}, "entries", "a table"),
        ({"measured": []}, "measured", "lists of heights in mm by sign"),
        ({"measured": {"a": 0.6}}, "measured.a", "a list of heights"),
        ({"measured": {"a": [0.6, "0.7 mm"]}}, "measured.a[1]", "without its unit"),
    ],
)
def test_every_fault_has_its_path(changes, path, words):
    with pytest.raises(RecordError) as caught:
        record_from_dict({"signrules_record": 1} | changes)
    (fault,) = caught.value.faults
    assert fault.path == path
    assert words in str(fault)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"signrules_record": 1} | changes, schema("record"))


def test_no_version_and_no_table():
    with pytest.raises(RecordError, match="nothing"):
        record_from_dict({})
    with pytest.raises(RecordError, match="expected a table"):
        record_from_dict([])


def test_files(tmp_path):
    file = tmp_path / "heights.csv"
    file.write_text("sign,height\nroom-214,0.62\nroom-214,0.65\nexit,0.7\n", encoding="utf-8")
    assert read_heights(file) == {"room-214": (0.62, 0.65), "exit": (0.7,)}
    file.write_text("sign,height\nroom-214,0.62 mm\n", encoding="utf-8")
    with pytest.raises(RecordError, match="row 2, height"):
        read_heights(file)
    file.write_text("room,height\n", encoding="utf-8")
    with pytest.raises(RecordError, match="columns sign and height"):
        read_heights(file)
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(RecordError, match="UTF-8"):
        read_heights(file)
    file.write_bytes(b" " * 1_000_001)
    with pytest.raises(RecordError, match="more than 1,000,000 bytes"):
        read_heights(file)
    with pytest.raises(RecordError, match="none"):
        read_record(tmp_path / "none.json")


@pytest.fixture
def job(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    made = job_from_dict(sample_job())
    write_job(made, "job.toml")
    return made


def test_the_command(job, capsys):
    done = ["--done", "ground", "--done", "look", "--done", "dots"]
    assert main(["next", "job.toml", *done]) == 0
    assert "GO ON with letters" in capsys.readouterr().out
    assert main(["next", "job.toml", *done, "--measured", "room-214=0.6,0.62"]) == 0
    assert "2 more layers" in capsys.readouterr().out
    assert main(["next", "job.toml", *done, "--measured", "room-214=1", "--format", "json"]) == 1
    assert json.loads(capsys.readouterr().out)["scrap"] == ["room-214"]
    assert main(["next", "job.toml", "--done", "grund"]) == 2
    assert "'ground' perhaps" in capsys.readouterr().err
    assert main(["next", "job.toml", "--measured", "room-214"]) == 2
    assert "SIGN=0.62,0.65" in capsys.readouterr().err
    assert main(["next", "none.toml"]) == 2


def test_a_record_and_options_besides(job, tmp_path, capsys):
    record = ProgressRecord(job=job.name, fingerprint=job_fingerprint(job), done=["ground"])
    file = tmp_path / "record.json"
    file.write_text(json.dumps(record.to_dict()), encoding="utf-8")
    assert main(["next", "job.toml", "--record", "record.json", "--done", "look"]) == 0
    told = capsys.readouterr()
    assert "Done: ground, look." in told.out
    assert told.err == ""
    for data in ({"fingerprint": "sha256:00"}, {"job": "another"}):
        file.write_text(json.dumps({"signrules_record": 1} | data), encoding="utf-8")
        assert main(["next", "job.toml", "--record", "record.json"]) == 0
        assert "record.json: the record is of" in capsys.readouterr().err
    file.write_text(
        json.dumps(ProgressRecord(measured={"room-214": (0.7,)}).to_dict()), encoding="utf-8"
    )
    done = ["--done", "ground", "--done", "look", "--done", "dots"]
    assert main(["next", "job.toml", *done, "--measured", "record.json"]) == 0
    assert "in order" in capsys.readouterr().out


DONE = ["--done", "ground", "--done", "look", "--done", "dots"]
MEASURED = {"room-214": [0.62, 0.65]}


def test_heights_alone_are_read_from_json(job, tmp_path, capsys):
    file = tmp_path / "heights.json"
    file.write_text(json.dumps(MEASURED))
    assert read_heights(file) == {"room-214": (0.62, 0.65)}
    answers = []
    for stated in ("room-214=0.62,0.65", json.dumps(MEASURED), str(file)):
        words = ["next", "job.toml", *DONE, "--measured", stated]
        assert main(words) == 0
        answers.append(capsys.readouterr().out)
    assert answers[0] == answers[1] == answers[2]


@pytest.mark.parametrize(
    ("stated", "told"),
    [
        ("{room-214: 0.6}", 'the same as JSON, {"SIGN": [0.62, 0.65]}'),
        ('{"room-214": 0.6}', "measured.room-214: found 0.6, expected a list of heights in mm"),
        ('{"room-214": ["0.6"]}', "expected a number of mm, without its unit, as 0.65"),
        ("room-214.raised=0.7", "how many layers raise letters is not known here"),
    ],
)
def test_heights_that_cannot_be_read_show_the_form(job, stated, told, capsys):
    words = ["next", "job.toml", *DONE, "--measured", stated]
    assert main(words) == 2
    assert told in capsys.readouterr().err
