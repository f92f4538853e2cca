"""`-` stands for standard input where a command reads a file, and for standard output."""

from __future__ import annotations

import io
import json
import shutil
import sys
import tempfile
import tomllib
from pathlib import Path

import pytest

from signrules import read_job
from signrules.cli import command_parser, main
from signrules.cli.misspelt_words import sub_parsers
from signrules.cli.standard_streams import StandardInput
from signrules.shop_file import read_shop

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
CLINIC = (EXAMPLES / "clinic.toml").read_bytes()
SCRAPES = (EXAMPLES / "clinic-scrapes.toml").read_bytes()


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Run the command on data in a folder of its own; status, output and what was told."""
    monkeypatch.chdir(tmp_path)

    def run(data: bytes, *arguments: str):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), "utf-8"))
        status = main(arguments)
        told = capsys.readouterr()
        # Where it is kept meanwhile is nobody's business.
        assert tempfile.gettempdir() not in (told.out + told.err).replace(str(tmp_path), "")
        return status, told.out, told.err

    return run


def by_file(run, data, command, *options, suffix=".toml"):
    """What the command gives of a file with the same data."""
    Path(f"the-file{suffix}").write_bytes(data)
    return run(b"", command, f"the-file{suffix}", *options)


@pytest.mark.parametrize("data", [CLINIC, SCRAPES], ids=["sound", "scrapes"])
@pytest.mark.parametrize(
    "line",
    [
        "check",
        "check --format json",
        "check --in-a-row",
        "order --why",
        "estimate",
        "estimate --format json",
        "next --done ground",
        "graph --format mermaid",
        "queue --format json",
        "shop",
    ],
)
def test_the_same_as_of_a_file(run, line, data):
    command, *options = line.split()
    status, out, err = run(data, command, "-", *options)
    expected_status, expected, told = by_file(run, data, command, *options)
    assert status == expected_status
    assert out == expected.replace("the-file.toml", "standard input")
    assert err == told.replace("the-file.toml", "standard input")


def test_json_is_told_by_its_brace(run):
    document = json.dumps(tomllib.loads(CLINIC.decode()), default=str).encode()
    for data in (document, b"\n  " + document, b"\xef\xbb\xbf" + document):
        assert run(data, "check", "-")[:2] == run(CLINIC, "check", "-")[:2]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "standard input: "),
        (b"signrules = = 1", "standard input: 1 fault\n  the document: found text that is no TOML"),
        (b"{", "found text that is no JSON"),
        (b"\xff", "found a byte that is no UTF-8 on line 1"),
    ],
)
@pytest.mark.parametrize("command", ["check", "order", "estimate", "draw", "shop", "next"])
def test_errors_name_standard_input(run, command, data, told):
    options = ["-o", "dots.svg"] if command == "draw" else []
    status, _, err = run(data, command, "-", *options)
    assert status == 2
    assert err.startswith("standard input: ")
    assert told in err


def test_reports_of_several_jobs_have_its_name_and_its_lines(run):
    Path("other.toml").write_bytes(CLINIC)
    _, out, _ = run(SCRAPES, "check", "-", "other.toml", "--format", "jsonl")
    assert [json.loads(line)["file"] for line in out.splitlines()] == [
        "standard input",
        "other.toml",
    ]
    _, out, _ = run(SCRAPES, "check", "-", "--format", "sarif")
    (place, *_) = {
        (where["artifactLocation"]["uri"], where["region"]["startLine"])
        for result in json.loads(out)["runs"][0]["results"]
        if result["ruleId"] == "clearance.strike" and result["kind"] == "fail"
        for where in [result["locations"][0]["physicalLocation"]]
    }
    assert place[0] == "standard%20input"
    assert SCRAPES.split(b"\n")[place[1] - 1].startswith(b"[[passes]]")


def test_the_shop_file_is_that_of_the_working_directory(run):
    Path("signrules.toml").write_text("signrules = 1\n[printers.mine]\nuse = 3\n", "utf-8")
    status, _, err = run(CLINIC, "check", "-")
    assert status == 2
    assert err.startswith("signrules.toml: ")


def test_schedules_readings_records_and_rates(run):
    shutil.copytree(EXAMPLES, "examples")
    assert run(b'{"signrules_record": 1, "struck": 1}', "next", "a.toml", "--record", "-")[2] == (
        "standard input: 1 fault\n  struck: found 1, expected true or false\n"
    )
    status, _, err = run(b"x = 1", "estimate", "examples/clinic.toml", "--rates", "-")
    assert status == 2
    assert err.startswith("standard input: ")
    for data in (b"x = 1", b"a,b\n1,2\n"):
        status, _, err = run(data, "measure", "drop-speed", "--readings", "-")
        assert status == 2
        assert err.startswith("standard input: ")


def test_a_schedule_and_readings_give_what_they_give_as_files(run):
    wing = EXAMPLES / "wing"
    doors = (wing / "doors.csv").read_bytes()
    Path("doors.csv").write_bytes(doors)
    made = {}
    for source in ("-", "doors.csv"):
        Path("jobs").mkdir()
        options = ["-o", "jobs", "--shop", str(wing / "signrules.toml")]
        status, _, err = run(doors, "schedule", source, *options)
        assert status == 0, err
        made[source] = {path.name: path.read_text("utf-8") for path in Path("jobs").iterdir()}
        shutil.rmtree("jobs")
    assert made["-"] == made["doors.csv"] != {}
    readings = b"date,reads_to,sheet,thickness\n2027-02-03,0.01 mm,1,3.03\n,,2,2.96\n,,3,3.05\n"
    command, *options = ["measure", "sheet-thickness", "--readings"]
    Path("thickness.csv").write_bytes(readings)
    assert run(readings, command, *options, "-") == run(b"", command, *options, "thickness.csv")


def test_a_font_has_no_suffix(run):
    status, _, err = run(b"no font", "font", "-", "--standard", "us-ada-2010")
    assert status == 2
    assert err.startswith("standard input: ")


def test_a_run_sheet_and_dots_and_a_shop_file_on_standard_output(run):
    status, out, err = run(CLINIC, "sheet", "-", "-o", "-")
    assert status == 0
    assert out.startswith("<!DOCTYPE html>")
    assert err == "-: CHECKS PASS, 1 to review, 3 not checked\n"
    status, out, err = run(CLINIC, "draw", "-", "-o", "-")
    assert status == 0
    assert out.lstrip().startswith("<")
    assert "</svg>" in out
    assert "dots of room-214" in err
    _, drawn, _ = run(CLINIC, "graph", "-", "-o", "-")
    assert drawn == run(CLINIC, "graph", "-")[1]
    status, out, err = run(b"", "shop", "--new", "-")
    assert (status, err) == (0, "")
    assert tomllib.loads(out)["signrules"] == 1
    status, out, err = run(b"", "measure", "drop-speed", "--form", "-o", "-")
    assert status == 0
    assert out.startswith("<!DOCTYPE html>")
    assert list(Path().iterdir()) == []


def test_a_job_read_from_artwork_goes_into_the_next_command(run, tmp_path):
    shutil.copytree(EXAMPLES / "artwork", "artwork")
    options = ["--plugin", "artwork/shapes.py", "--shop", "artwork/signrules.toml"]
    words = ["--text", "EXIT", "--kind", "permanent-room", "--standard", "us-ada-2010"]
    status, out, err = run(b"", "read", "artwork/exit.svg", "-o", "-", *words, *options)
    assert status == 0
    assert err.startswith("-: 3 passes, 1 sign\n")
    assert "Not read from artwork" in err
    status, _, _ = run(out.encode(), "check", "-", *options)
    assert status == 0
    run(b"", "read", "artwork/exit.svg", "-o", "exit.toml", *words, *options)
    assert Path("exit.toml").read_text("utf-8") == out
    assert read_job("exit.toml", shop=read_shop("artwork/signrules.toml")).passes
    # Its artwork is looked for from the working directory.
    Path("artwork/exit.svg").write_text("<svg/>", "utf-8")
    status, _, err = run(out.encode(), "check", "-", *options)
    assert status == 1
    assert err.startswith("standard input: ")


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "-", "-"],
        ["next", "-", "--record", "-"],
    ],
)
def test_it_can_be_read_but_once(run, arguments):
    status, _, err = run(CLINIC, *arguments)
    assert status == 2
    assert err == "standard input: found - 2 times, expected it once\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ["read", "-", "-o", "a.toml"],
        ["check", "a.toml", "--shop", "-"],
        ["check", "a.toml", "--mend", "-"],
        ["rules", "--plugin", "-"],
        ["compose", "a.csv", "-o", "b", "--keep", "-"],
        ["measure", "drop-speed", "--shop", "-"],
    ],
)
def test_what_needs_a_name_says_so(capsys, arguments):
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    assert "found -, expected the name of a file" in capsys.readouterr().err


def test_a_closed_input(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", None)
    assert main(["check", "-"]) == 2
    assert capsys.readouterr().err == "standard input: found it closed, expected a document\n"


def test_an_input_that_cannot_be_read(monkeypatch, capsys):
    class Broken(io.BytesIO):
        def read(self, size=-1):
            raise OSError(5, "Input/output error")

    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(Broken()))
    assert main(["check", "-"]) == 2
    told = capsys.readouterr().err
    assert told == "standard input: found Input/output error, expected a document\n"


def test_a_folder_of_pages_is_no_stream(run):
    Path("jobs").mkdir()
    status, _, err = run(b"", "sheet", "jobs", "-o", "-")
    assert status == 2
    assert err == "-o: found -, expected a folder: each load has a run sheet\n"


def test_every_option_for_a_file_that_is_read_knows_what_a_dash_is():
    """Whatever names a file says either that it may be `-` or that it may not."""
    silent = []
    for name, parser in sub_parsers(command_parser()).items():
        for action in parser._actions:
            is_file = action.metavar in ("FILE", "JOB", "SCHEDULE", "ART")
            if is_file and action.dest not in ("output", "new") and action.type is None:
                silent.append((name, action.dest))
    # The job that artwork becomes is written, not read.
    assert silent == [("read", "job")]


def test_the_suffix_of_each_kind():
    from signrules.cli import standard_streams

    suffixes = {
        kind: [made.suffix_of(data) for data in (b" {", b"a = 1", b"#\n\na,b\n", b"PK\x03\x04")]
        for kind in ("document", "schedule", "readings", "other")
        for made in [getattr(standard_streams, f"{kind}_input")("-")]
        if isinstance(made, StandardInput)
    }
    assert suffixes == {
        "document": [".json", ".toml", ".toml", ".toml"],
        "schedule": [".csv", ".csv", ".csv", ".xlsx"],
        "readings": [".csv", ".toml", ".csv", ".csv"],
        "other": ["", "", "", ""],
    }
