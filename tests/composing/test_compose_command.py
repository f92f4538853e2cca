"""`signrules compose`: what it prints, what it writes, how it ends."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest
from building import HEADER, NOTICE, shop_table, type_with

from signrules import read_job, read_shop, read_work_order
from signrules.cli import main
from signrules.documents.toml import to_toml

DOORS = f"{HEADER}A.1,Exit,notice\nA.2,Way out,notice\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "signrules.toml").write_text(to_toml(shop_table()), encoding="utf-8")
    (tmp_path / "doors.csv").write_text(DOORS, encoding="utf-8")
    return tmp_path


def run(folder: Path, *options: str) -> int:
    return main(["compose", str(folder / "doors.csv"), "-o", str(folder / "work"), *options])


def test_the_work_of_a_schedule(folder: Path, capsys: pytest.CaptureFixture[str]):
    assert run(folder) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "doors: 2 signs"
    assert said[1:3] == [
        "  1 stock sheet, which is the fewest",
        "  1 bed load, which is the fewest",
    ]
    assert any(
        line.startswith(f"{(folder / 'work' / 'load-01.toml').as_posix()}: ") for line in said
    )
    order = read_work_order(folder / "work")
    assert [sign.id for sign in order.signs] == ["A-1", "A-2"]
    job = read_job(folder / "work" / "load-01.toml", shop=read_shop(folder / "signrules.toml"))
    assert [sign.id for sign in job.signs] == ["A-1", "A-2"]


def test_the_jobs_of_the_folder_are_judged_as_any(folder: Path):
    run(folder)
    assert main(["check", str(folder / "work" / "load-01.toml")]) == 0


def test_judgements_are_kept_and_read_again(folder: Path, capsys: pytest.CaptureFixture[str]):
    kept = folder / "kept"
    assert run(folder, "--kept-in", str(kept)) == 0
    said, files = capsys.readouterr().out, {path: path.read_bytes() for path in kept.iterdir()}
    assert len(files) == 1
    assert run(folder, "--kept-in", str(kept), "--replace") == 0
    assert capsys.readouterr().out == said
    assert {path: path.read_bytes() for path in kept.iterdir()} == files


def test_an_earlier_work_order_is_not_written_over(
    folder: Path, capsys: pytest.CaptureFixture[str]
):
    run(folder)
    before = (folder / "work" / "work-order.toml").read_bytes()
    assert run(folder) == 2
    assert "found a work order" in capsys.readouterr().err
    assert (folder / "work" / "work-order.toml").read_bytes() == before
    assert run(folder, "--replace") == 0


def test_an_earlier_work_order_is_kept(folder: Path):
    run(folder)
    before = read_work_order(folder / "work")
    (folder / "doors.csv").write_text(f"{HEADER}A.0,Lift,notice\nA.2,Way out,notice\n")
    options = ["--keep", str(folder / "work"), "--replace"]
    assert run(folder, *options) == 0
    after = {sign.id: sign for sign in read_work_order(folder / "work").signs}
    assert set(after) == {"A-0", "A-2"}
    assert after["A-2"].at == next(sign.at for sign in before.signs if sign.id == "A-2")


def test_the_fewest_are_said_to_be_so_beside_what_is_kept(
    folder: Path, capsys: pytest.CaptureFixture[str]
):
    run(folder)
    capsys.readouterr()
    run(folder, "--keep", str(folder / "work"), "--replace")
    assert capsys.readouterr().out.splitlines()[1:3] == [
        "  1 stock sheet, which is the fewest beside what is kept",
        "  1 bed load, which is the fewest beside what is kept",
    ]


@pytest.mark.parametrize(
    ("count", "words"),
    [(2, "; fails on A-1 (row 2), A-2 (row 3)"), (11, "A-8 (row 9) and 1 more")],
)
def test_the_signs_on_which_a_load_fails_are_named(folder: Path, capsys, count: int, words: str):
    table = shop_table()
    # 16 mm are the least of 2010 ADA Standards, 703.5.5.
    small = {**NOTICE["visual"], "height": "5 mm"}
    table["sign_types"]["notice"] = type_with(
        NOTICE, visual=small, standards=["us-ada-2010"], size=[150, 80]
    )
    table["sign_types"]["notice"]["visual"]["area"] = [10, 10, 130, 60]
    (folder / "signrules.toml").write_text(to_toml(table), encoding="utf-8")
    rows = "".join(f"A.{number},Exit,notice\n" for number in range(1, count + 1))
    (folder / "doors.csv").write_text(HEADER + rows)
    assert run(folder) == 1
    (line,) = [each for each in capsys.readouterr().out.splitlines() if "load-01.toml" in each]
    assert "DO NOT PRINT" in line
    assert line.endswith(words)


@pytest.mark.parametrize("command", ["estimate", "compose"])
def test_a_folder_that_is_not_there(folder: Path, capsys, command: str):
    nowhere = str(folder / "nowhere")
    if command == "compose":
        assert run(folder, "--keep", nowhere) == 2
    else:
        assert main(["estimate", nowhere]) == 2
    said = capsys.readouterr().err
    assert "found no such file or folder" in said
    assert "suffix" not in said


def test_minutes_of_set_up_that_nobody_states(folder: Path, capsys: pytest.CaptureFixture[str]):
    table = shop_table()
    table["printers"]["flatbed"].pop("minutes", None)
    (folder / "signrules.toml").write_text(to_toml(table), encoding="utf-8")
    assert run(folder) == 0
    said = capsys.readouterr().out
    assert "  minutes of set-up are not known: printers.flatbed does not state all" in said


def test_a_list_that_asks_for_nothing_costs_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str]
):
    table = shop_table()
    table["schedule"]["quantity"] = "0"
    table["rates"] = {"signrules_rates": 1, "currency": "EUR", "minimum": "60"}
    (folder / "signrules.toml").write_text(to_toml(table), encoding="utf-8")
    assert run(folder) == 0
    assert "no row asks for a sign, so nothing is made" in capsys.readouterr().out
    assert main(["estimate", str(folder / "work"), "--shop", str(folder / "signrules.toml")]) == 1
    said = capsys.readouterr().out
    assert "NOTHING TO PRINT: no loads" in said
    assert "the work order has no loads, so nothing is made" in said
    assert "60" not in said


def test_passes_that_wait_for_each_other(folder: Path, capsys: pytest.CaptureFixture[str]):
    table = shop_table()
    passes = [
        {**copy.deepcopy(NOTICE["passes"][0]), "after": ["second"]},
        {"id": "second", "ink": "black", "after": ["characters"]},
    ]
    table["sign_types"]["notice"] = type_with(NOTICE, passes=passes)
    (folder / "signrules.toml").write_text(to_toml(table), encoding="utf-8")
    assert run(folder) == 2
    assert "second" in capsys.readouterr().err


def test_a_sign_that_goes_onto_no_sheet(folder: Path, capsys: pytest.CaptureFixture[str]):
    table = shop_table(composition={"margin": "250 mm"})
    (folder / "signrules.toml").write_text(to_toml(table), encoding="utf-8")
    assert run(folder) == 2
    assert "sign_types.notice.sheet: found a sign of 200 mm by 80 mm" in capsys.readouterr().err
    assert not (folder / "work").exists()
