"""Several jobs in one report: cautions once, and at the end which fail and why."""

from __future__ import annotations

from pathlib import Path

import pytest

from signrules.cautions import CAUTIONS
from signrules.cli import main
from signrules.reports.tally import MOST_NAMED, Tally

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
SCREEN = 40
"""Lines that a terminal of the usual size shows at once."""


def text_of(names, capsys):
    status = main(["check", *(str(EXAMPLES / f"{name}.toml") for name in names)])
    return status, capsys.readouterr().out


@pytest.mark.parametrize("name", ["clinic", "two-thicknesses"])
def test_an_ordinary_job_is_one_screen(name, capsys):
    _, text = text_of([name], capsys)
    assert len(text.splitlines()) <= SCREEN
    assert "1 job:" not in text


def test_cautions_are_said_once_and_the_failing_are_named(capsys):
    status, text = text_of(["clinic", "clinic-scrapes", "two-thicknesses"], capsys)
    assert status == 1
    for caution in CAUTIONS:
        assert text.count(str(caution)) == 1
    assert text.count("Plugins: ") == 1
    lines = text.splitlines()
    assert lines[-2] == "3 jobs: 2 pass, 1 not."
    assert lines[-1].endswith("Harbour clinic, room 214: DO NOT PRINT: the head would hit")
    assert str(EXAMPLES / "clinic-scrapes.toml") in lines[-1]


def test_what_cannot_be_read_is_counted(tmp_path, capsys):
    bad = tmp_path / "bad.toml"
    bad.write_text("signrules = 2")
    assert main(["check", str(EXAMPLES / "clinic.toml"), str(bad)]) == 2
    lines = capsys.readouterr().out.splitlines()
    assert lines[-2] == "2 jobs: 1 pass, 1 not judged."
    assert lines[-1] == f"  {bad}: not judged, see above"


def test_a_folder_without_jobs_is_no_job(tmp_path, capsys):
    assert main(["check", str(EXAMPLES / "clinic.toml"), str(tmp_path)]) == 2
    lines = capsys.readouterr().out.splitlines()
    assert lines[-2] == "1 job: 1 pass."
    assert lines[-1] == f"  {tmp_path}: not judged, see above"


def test_of_very_many_that_fail_the_first_are_named():
    tally = Tally()
    for number in range(MOST_NAMED + 3):
        tally.take(f"job-{number}", "a sign: DO NOT PRINT: no order works\nmore", is_fine=False)
        tally.take_error(f"bad-{number}")
    lines = tally.text().splitlines()
    total = 2 * (MOST_NAMED + 3)
    assert lines[1] == f"{total} jobs: 0 pass, {MOST_NAMED + 3} not, {MOST_NAMED + 3} not judged."
    assert "  3 more" in lines
    assert "  3 more not judged" in lines
    assert len(lines) == 2 + 2 * (MOST_NAMED + 1)
