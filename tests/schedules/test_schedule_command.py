"""`signrules schedule`: rows become files of jobs."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import HEADER, shop_table

from signrules import read_job, read_shop
from signrules.cli import main
from signrules.documents.toml import to_toml

DOORS = "Number,Room name,Sign,quantity\nA.1,Exit,notice,2\nB/2,Way out,notice,1\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "signrules.toml").write_text(to_toml(shop_table()), encoding="utf-8")
    (tmp_path / "doors.csv").write_text(DOORS, encoding="utf-8")
    (tmp_path / "jobs").mkdir()
    return tmp_path


def run(folder: Path, *options: str) -> int:
    return main(["schedule", str(folder / "doors.csv"), "-o", str(folder / "jobs"), *options])


def test_each_row_becomes_a_file(folder: Path, capsys: pytest.CaptureFixture[str]):
    assert run(folder, "--column", "room=Number") == 0
    jobs = folder / "jobs"
    assert sorted(path.name for path in jobs.iterdir()) == ["A-1.toml", "B-2.toml"]
    shop = read_shop(folder / "signrules.toml")
    job = read_job(jobs / "B-2.toml", shop=shop)
    assert (job.name, job.signs[0].text) == ("B/2", ("Way out",))
    said = capsys.readouterr().out
    assert "A-1.toml: notice, row 2, 2 times\n" in said
    assert "  read as UTF-8\n  fields separated by commas\n" in said


def test_jobs_that_are_there_stay(folder: Path, capsys: pytest.CaptureFixture[str]):
    there = folder / "jobs" / "A-1.toml"
    there.write_text("mine")
    assert run(folder, "--column", "room=Number") == 2
    assert there.read_text() == "mine"
    assert "A-1.toml" in capsys.readouterr().err
    assert run(folder, "--column", "room=Number", "--replace") == 0
    assert there.read_text() != "mine"


def test_faults_of_the_schedule(folder: Path, capsys: pytest.CaptureFixture[str]):
    assert run(folder) == 2
    said = capsys.readouterr().err
    assert said.startswith(
        f"{folder / 'doors.csv'}: 1 fault\n  row 1, column Room No.: found nothing"
    )
    assert not list((folder / "jobs").iterdir())


def test_the_folder_is_made_once_there_are_jobs(folder: Path):
    (folder / "jobs").rmdir()
    assert run(folder) == 2
    assert not (folder / "jobs").exists()
    assert run(folder, "--column", "room=Number") == 0
    assert len(list((folder / "jobs").iterdir())) == 2


def test_what_is_no_folder(folder: Path, capsys: pytest.CaptureFixture[str]):
    (folder / "jobs").rmdir()
    (folder / "jobs").write_text("a file")
    assert run(folder, "--column", "room=Number") == 2
    assert "expected a folder that is there, or a new one" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["room", "room=", "room no=Number", "=Number"])
def test_what_is_no_column(folder: Path, option: str, capsys: pytest.CaptureFixture[str]):
    with pytest.raises(SystemExit) as caught:
        run(folder, "--column", option)
    assert caught.value.code == 2
    assert "expected a name and a heading" in capsys.readouterr().err


def test_two_signs_of_one_file_name(folder: Path, capsys: pytest.CaptureFixture[str]):
    text = HEADER + "A/1,Exit,notice\na-1,Exit,notice\n"
    (folder / "doors.csv").write_text(text, encoding="utf-8")
    assert run(folder) == 2
    assert "row 3: found 'a-1', expected an id whose file is not that of row 2" in (
        capsys.readouterr().err
    )
