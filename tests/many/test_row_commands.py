"""`signrules check --in-a-row` and `signrules queue`."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest
from scenario import PRINTER, sign_job

import signrules
from signrules.cli import main

DAY = Path(__file__).parents[2] / "docs" / "examples" / "day"


@pytest.fixture
def day(tmp_path, monkeypatch):
    """The invented day of the documents, in a folder `day`."""
    shutil.copytree(DAY, tmp_path / "day")
    monkeypatch.chdir(tmp_path)
    return tmp_path / "day"


def add_job(folder: Path, name: str, **changes) -> None:
    (folder / name).write_text(json.dumps(sign_job(**changes)), encoding="utf-8")


def test_a_folder_in_a_row_says_what_each_job_needs_and_the_total(day, capsys):
    assert main(["check", "day", "--in-a-row"]) == 0
    lines = capsys.readouterr().out.splitlines()
    rows = [line for line in lines if line.startswith("In a row: ")]
    # A load takes 4 minutes, a setting 2, an alignment 12. The map needs two of both; the plate is
    # served by what the map made; the way to the lift begins where the plate leaves the head.
    assert [line.split(" (")[0] for line in rows] == [
        "In a row: 32 minutes of set-up",
        "In a row: 6 minutes of set-up",
        "In a row: 16 minutes of set-up",
    ]
    assert rows[1].endswith("; aligned before at an extra of 0 mm and 1.29 mm")
    assert rows[2].endswith("; the gap stands, head at 4.35 mm above the bed")
    (total,) = [place for place, line in enumerate(lines) if line.startswith("3 jobs in a row")]
    assert lines[total].startswith("3 jobs in a row: 54 minutes of set-up (3 bed loads, ")
    assert "printed first, in this order" in lines[total + 1]
    assert lines[-1] == "3 jobs: 3 pass."


def test_without_the_option_each_job_stands_alone(day, capsys):
    main(["check", "day"])
    assert "in a row" not in capsys.readouterr().out.lower()


def test_json_has_what_is_carried_and_keeps_to_the_schema(day, capsys):
    assert main(["check", "day", "--in-a-row", "--format", "json"]) == 0
    reports = json.loads(capsys.readouterr().out)
    assert [each["carried"]["setup"]["setup_minutes"] for each in reports] == [32, 6, 16]
    assert [each["carried"]["gap_is_kept"] for each in reports] == [False, False, True]
    jsonschema.validate(reports, signrules.schema("report"))
    main(["check", "day", "--format", "json"])
    assert all("carried" not in each for each in json.loads(capsys.readouterr().out))


@pytest.mark.thorough
def test_json_lines_have_it_too_and_a_job_that_is_not_printed_has_no_set_up(day, capsys):
    add_job(day, "b-scrapes.json", sequence=["dots", "ink-on-dots", "ground"])
    assert main(["check", "day", "--in-a-row", "--format", "jsonl"]) == 1
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert lines[0]["report"]["carried"]["setup"] is None
    assert main(["check", "day", "--in-a-row"]) == 1
    text = capsys.readouterr().out
    assert "In a row: no safe order, so not printed\n" in text
    assert "; 1 job without a safe order not counted\n" in text


@pytest.mark.parametrize("form", ["sarif", "junit"])
def test_logs_of_findings_are_those_of_the_evaluations(day, form, capsys):
    assert main(["check", "day", "--in-a-row", "--format", form]) == 0
    assert "in a row" not in capsys.readouterr().out.lower()


def test_several_processes_are_refused_in_a_row(day, capsys):
    assert main(["check", "day", "--in-a-row", "--jobs", "2"]) == 2
    assert "--jobs 2: found --in-a-row, expected --jobs 1" in capsys.readouterr().err


def test_the_queue_is_cheaper_than_the_order_of_the_folder(day, capsys):
    assert main(["queue", "day"]) == 0
    captured = capsys.readouterr()
    lines = captured.out.splitlines()
    assert lines[0].startswith("Jobs in a row, no order takes less: 44 minutes of set-up (")
    assert lines[1].startswith("Each job alone: 68 minutes of set-up (")
    names = [line.split(":")[0].split("/")[1] for line in lines[2:5]]
    assert names == ["plate.toml", "to-the-lift.toml", "map.toml"]
    assert "Moving carriage" in captured.err


@pytest.mark.thorough
def test_the_queue_as_json_is_that_of_python(day, capsys):
    assert main(["queue", "day", "--format", "json"]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    files = [f"day/{name}.toml" for name in ("map", "plate", "to-the-lift")]
    shop = signrules.read_shop("day/signrules.toml")
    assert json.loads(captured.out) == signrules.order_of_jobs(files, shop=shop).to_dict()


@pytest.mark.parametrize(
    ("changes", "status", "told"),
    [
        ({"sequence": ["dots", "ink-on-dots", "ground"]}, 1, "Left out:\n  day/b.json: DO NOT"),
        ({"passes": []}, 2, "Left out:\n  day/b.json: 1 fault"),
        ({"standards": ["nowhere"]}, 2, "Left out:\n  day/b.json: 1 fault"),
    ],
)
def test_what_has_no_place_is_left_out_and_decides_the_status(day, changes, status, told, capsys):
    add_job(day, "b.json", **changes)
    assert main(["queue", "day"]) == status
    captured = capsys.readouterr()
    assert told in captured.out
    assert ("expected" in captured.err) == (status == 2)
    assert captured.out.startswith("Jobs in a row, no order takes less: 44 minutes")


@pytest.mark.thorough
def test_the_status_of_the_queue_is_the_highest(day, capsys):
    wrong = sign_job()
    wrong["signs"][0]["braille"]["dot_spacing"] = "9 mm"
    add_job(day, "b.json", signs=wrong["signs"])
    assert main(["queue", "day"]) == 1
    assert "    DO NOT PRINT: " in capsys.readouterr().out
    (day / "broken.py").write_text("1/0", encoding="utf-8")
    assert main(["queue", "day", "--plugin", "day/broken.py"]) == 3
    (day / "none").mkdir()
    assert main(["queue", "day/none", "day/map.toml"]) == 2
    assert "a folder without jobs" in capsys.readouterr().err


def test_a_failure_of_signrules_itself_ends_with_3(day, capsys, monkeypatch):
    def fails(job, **options):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("signrules.many_jobs.evaluating.read_any_job", fails)
    assert main(["queue", "day"]) == 3
    assert "Traceback" in capsys.readouterr().err


def test_several_printers_are_told_apart(day, capsys):
    add_job(day, "b.json", printer={**PRINTER, "name": "the other one"})
    assert main(["queue", "day"]) == 0
    text = capsys.readouterr().out
    assert "\nthe other one: " in text
    assert "\nPrinter 2: 44 minutes of set-up" in text


@pytest.mark.parametrize("count", ["0", "-1", "many", "9" * 12])
def test_a_number_of_trials_that_is_none(day, count, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["queue", "day", "--trials", count])
    assert ended.value.code == 2
    assert "a whole number from 1 to 1000000" in capsys.readouterr().err
