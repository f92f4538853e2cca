"""Files: round trips, and everything that may be wrong with a file."""

from __future__ import annotations

import datetime
import json
import os
import tomllib
from pathlib import Path

import pytest
from documents.samples import FULL_TOML, SMALL
from effort import effort
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import jobs

from signrules.documents import job_from_dict, job_to_dict, read_job, write_job
from signrules.documents.toml import MOST_PARTS, from_toml, to_toml
from signrules.documents.writing import write_new_document
from signrules.errors import JobError
from signrules.model import Job

ROUND_TRIP = settings(
    max_examples=effort(60),
    deadline=None,
    suppress_health_check=[
        HealthCheck.too_slow,
        HealthCheck.function_scoped_fixture,
        HealthCheck.data_too_large,
    ],
)


def fault_of(path: Path) -> str:
    """The only fault of a file as text."""
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert caught.value.origin == str(path)
    assert str(path) in str(caught.value)
    (fault,) = caught.value.faults
    return f"{fault.path}|{fault.found}|{fault.expected}"


@given(jobs(sequence=True, sides=("front", "back"), physics=True))
@ROUND_TRIP
def test_a_job_survives_plain_data_and_files(tmp_path: Path, job: Job) -> None:
    data = job_to_dict(job)
    assert job_from_dict(data) == job
    assert job_from_dict(json.loads(json.dumps(data))) == job
    assert tomllib.loads(to_toml(data)) == data
    for name in ("job.toml", "job.json"):
        write_job(job, tmp_path / name)
        assert read_job(tmp_path / name) == job
    assert sorted(os.listdir(tmp_path)) == ["job.json", "job.toml"]


@given(jobs())
@ROUND_TRIP
def test_what_is_default_is_left_out(job: Job) -> None:
    data = job_to_dict(job)
    for item, row in zip(job.passes, data["passes"], strict=True):
        assert ("layers" in row) == (item.layers != 1)
        assert ("registers_to" in row) == (item.registers_to is not None)
        assert ("gap" in row) == (item.gap is not None)
    assert ("waivers" in data) == bool(job.waivers)


def test_the_full_document_survives(tmp_path: Path) -> None:
    source = tmp_path / "stairs.toml"
    source.write_text(FULL_TOML, encoding="utf-8")
    job = read_job(source)
    for name in ("again.toml", "again.json"):
        write_job(job, tmp_path / name)
        assert read_job(tmp_path / name) == job


VALUES = st.recursive(
    st.booleans()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.dates()
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text("ab. \n\"'é", max_size=3), inner, max_size=6)
    ),
    max_leaves=12,
)  # fmt: skip


@given(st.dictionaries(st.text("ab. \n\"'é", max_size=3), VALUES, max_size=6))
@settings(deadline=None)
def test_our_toml_is_toml(document: dict[str, object]) -> None:
    assert tomllib.loads(to_toml(document)) == document


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_our_toml_refuses_what_is_no_number(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        to_toml({"a": value})
    with pytest.raises(TypeError):
        to_toml({"a": object()})


def test_suffixes_in_capitals_are_read(tmp_path: Path) -> None:
    path = tmp_path / "JOB.JSON"
    path.write_bytes(b"\xef\xbb\xbf" + json.dumps(SMALL).encode())
    assert read_job(path) == job_from_dict(SMALL)


def test_faults_of_the_document_name_the_file(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text(json.dumps({**SMALL, "inks": []}))
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert caught.value.origin == str(path)
    assert "inks" in {fault.path for fault in caught.value.faults}


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("job.txt", b"signrules = 1", "suffix"),
        ("job", b"signrules = 1", "suffix"),
        ("job.toml", b"signrules = 1\nname = 'a\xffb'", "line 2"),
        ("job.json", b'{"a":\n 1,,}', "line 2, column 4"),
        ("job.toml", b"a = 1\nb = = 2", "line 2, column 5"),
        ("job.toml", b"a = 1\na = 2", "line 2"),
        ("job.json", b"", "line 1, column 1"),
        ("job.json", b"[" * 100_000, "nested"),
        ("job.json", b'{"a":' * 100_000, "nested"),
        ("job.toml", b"a = " + b"[" * 100_000, "nested"),
        ("job.json", b'{"a": ' + b"1" * 10_000 + b"}", "JSON"),
        ("job.toml", b"a = " + b"1" * 10_000, "TOML"),
        ("job.json", b"[1, 2]", "table"),
        ("job.toml", b"until = 2027-13-45", "line 1"),
    ],
)
def test_a_file_that_is_no_document(tmp_path: Path, name: str, content: bytes, words: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert words in fault_of(path)


def test_a_key_that_stands_twice_is_named(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text('{"signrules": 1, "media": [{"id": "a"}, {"id": "b", "id": "c"}]}')
    assert fault_of(path).startswith("media[1].id|")


@pytest.mark.parametrize("suffix", ["toml", "json"])
def test_numbers_that_are_none_are_refused(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"job.{suffix}"
    path.write_text(
        '{"temperature": NaN, "x": 1e999}' if suffix == "json" else "temperature = nan\nx = inf"
    )
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert {"temperature", "x"} <= {fault.path for fault in caught.value.faults}


@pytest.mark.parametrize("suffix", ["toml", "json"])
def test_a_file_of_fifty_megabytes_is_not_parsed(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"job.{suffix}"
    path.write_bytes(b'"' + b"x" * 50_000_000 + b'"')
    assert "32 MiB" in fault_of(path)


def test_a_text_of_thirty_megabytes_is_shown_in_short(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text(json.dumps({**SMALL, "temperature": "x" * 30_000_000}))
    assert len(fault_of(path)) < 200


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    expected = "a file of at most 32 MiB that can be read"
    assert fault_of(tmp_path / "folder.toml") == f"|no regular file|{expected}"
    assert "no such file" in fault_of(tmp_path / "nowhere.toml")
    with pytest.raises(JobError):
        read_job("nul\0byte.toml")
    with pytest.raises(JobError):
        read_job("x" * 5000 + ".json")


def test_writing_is_all_or_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.json"
    path.write_text("as it was")

    def fails(*_: object) -> None:
        raise OSError(28, "No space left")

    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(JobError) as caught:
        write_job(job_from_dict(SMALL), path)
    assert caught.value.origin == str(path)
    assert path.read_text() == "as it was"
    assert os.listdir(tmp_path) == ["job.json"]


@pytest.mark.parametrize("name", ["job.toml", "job.json"])
def test_no_file_is_written_of_what_is_no_number(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match=r"finite number|not JSON compliant"):
        write_new_document({"temperature": float("nan")}, tmp_path / name)
    assert os.listdir(tmp_path) == []


def test_where_a_job_cannot_be_written(tmp_path: Path) -> None:
    job = job_from_dict(SMALL)
    for path in (tmp_path / "job.txt", tmp_path / "nowhere" / "job.toml"):
        with pytest.raises(JobError) as caught:
            write_job(job, path)
        assert caught.value.origin == str(path)
        assert not path.exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without named pipes")
def test_nothing_but_a_file_is_replaced(tmp_path: Path) -> None:
    # As root, a device such as /dev/null would be gone.
    pipe, folder = tmp_path / "pipe.json", tmp_path / "folder.json"
    os.mkfifo(pipe)
    folder.mkdir()
    for path in (pipe, folder):
        with pytest.raises(
            JobError, match="found no regular file, expected a file that can be written"
        ):
            write_job(job_from_dict(SMALL), path)
    assert pipe.is_fifo()
    assert sorted(tmp_path.iterdir()) == [folder, pipe]


@pytest.mark.skipif(os.name != "posix", reason="permissions of another kind")
def test_a_file_that_is_replaced_keeps_its_permissions(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text("for my eyes only")
    path.chmod(0o600)
    write_job(job_from_dict(SMALL), path)
    assert read_job(path) == job_from_dict(SMALL)
    assert path.stat().st_mode & 0o777 == 0o600


def test_a_new_file_where_files_cannot_be_linked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def link(*_: object) -> None:
        raise OSError("no links here")

    monkeypatch.setattr("os.link", link)
    target = tmp_path / "new.json"
    write_new_document({"day": datetime.date(2026, 2, 1)}, target)
    assert json.loads(target.read_text("utf-8")) == {"day": "2026-02-01"}
    with pytest.raises(JobError, match="nothing is written over a file"):
        write_new_document({}, target)
    assert json.loads(target.read_text("utf-8")) == {"day": "2026-02-01"}
    assert list(tmp_path.iterdir()) == [target]


def test_what_json_cannot_hold(tmp_path: Path) -> None:
    with pytest.raises(TypeError, match="expected a value that JSON can hold, got object"):
        write_new_document({"a": object()}, tmp_path / "new.json")
    assert list(tmp_path.iterdir()) == []


MANY_DOTS = "a." * MOST_PARTS


@pytest.mark.parametrize(
    "text",
    [
        f"{MANY_DOTS}a = 1",
        f"[{MANY_DOTS}a]",
        f"[[{MANY_DOTS}a]]",
        f"x = {{ {MANY_DOTS}a = 1 }}",
        "'a' . " * MOST_PARTS + "a = 1",
        '"\\"".' * MOST_PARTS + "a = 1",
        f"b = '''\n'''\n{MANY_DOTS}a = 1",
        f'# """\n{MANY_DOTS}a = 1',
    ],
)
def test_a_key_of_very_many_parts_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="a key of more than 100 parts"):
        from_toml(text)
    assert "a key of more than" not in str(tomllib.loads(text))


@pytest.mark.parametrize(
    "text",
    [
        MANY_DOTS.removesuffix(".") + " = 1",
        f"a = '{MANY_DOTS}'",
        f'a = "\\"{MANY_DOTS}"',
        f'a = """\n{MANY_DOTS}\n"""',
        f"a = '''\n{MANY_DOTS}\n'''",
        f"# {MANY_DOTS}\na = 1",
        f"a = [{'0.5, ' * MOST_PARTS}]",
    ],
)
def test_dots_elsewhere_are_no_keys(text: str) -> None:
    assert from_toml(text) == tomllib.loads(text)


def test_a_key_that_is_there_twice_far_inside_is_named_by_what_it_is_in(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text('{"a": ' * 30 + '{"b": 1, "b": 2}' + "}" * 30, encoding="utf-8")
    # Ten names, and the key.
    assert fault_of(path).startswith(".".join("a" * 10) + ".b|the same key twice")
