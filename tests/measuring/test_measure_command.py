"""The command `signrules measure`, and its forms."""

from __future__ import annotations

import datetime
import json
import re
import tomllib
from xml.etree import ElementTree

import pytest
from sheet.pages import ask, needs_browser, printed

from signrules import measure, procedures, read_records
from signrules.cautions import CAUTIONS
from signrules.cli import main
from signrules.sheet.measure_form import measure_form

FIGURES = [each.figure for each in procedures()]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for each in procedures():
        (tmp_path / f"{each.figure}.toml").write_text(each.example, encoding="utf-8")
    (tmp_path / "shop.toml").write_text("signrules = 1\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def run(folder, capsys):
    def command(line, status=0):
        assert main(["measure", *line.split()]) == status
        return capsys.readouterr()

    return command


def shop(folder):
    return tomllib.loads((folder / "shop.toml").read_text("utf-8"))


def test_all_figures_are_listed(run):
    listed = run("").out
    assert re.findall(r"^  (\S+)", listed, flags=re.M) == FIGURES
    data = json.loads(run("--format json").out)
    assert [each["figure"] for each in data] == FIGURES


@pytest.mark.parametrize("figure", FIGURES)
def test_a_procedure_is_told_with_cautions_steps_and_an_example(run, figure):
    text = run(figure).out
    words = " ".join(text.split())
    for caution in CAUTIONS:
        assert str(caution) in words
    assert re.search(r"^  1\. ", text, flags=re.M)
    (example,) = re.findall(r"\(invented\):\n((?:  .*\n)+)", text)
    assert measure(figure, tomllib.loads(example)).figure == figure
    assert "invented" in example
    assert max(map(len, text.splitlines())) <= 130
    assert json.loads(run(f"{figure} --format json").out)["figure"] == figure


@pytest.mark.parametrize("each", procedures(), ids=FIGURES)
def test_hands_go_to_the_machine_only_when_it_is_stopped(each):
    away = ("Do it away from the machine", "Let the sheet lie in the room")
    stops = [at for at, step in enumerate(each.steps) if step.startswith("Stop the machine")]
    if not stops:
        assert any(step.startswith(away) for step in each.steps)
        return
    # What is done before is done at a desk.
    for step in each.steps[: stops[0]]:
        assert step.startswith(("Look up", "Draw", "Cut", "Take a finished print"))
    prints = [at for at, step in enumerate(each.steps) if "and print. Look at no lamp" in step]
    for at in prints:
        following = " ".join(each.steps[at + 1 : at + 3])
        assert "Stop the machine" in following or "machine stopped" in following


@pytest.mark.parametrize("figure", FIGURES)
def test_readings_are_measured(run, figure):
    text = run(f"{figure} --readings {figure}.toml").out
    expected = measure(figure, f"{figure}.toml")
    assert text == expected.text()
    assert json.loads(run(f"{figure} --readings {figure}.toml --format json").out) == (
        json.loads(json.dumps(expected.to_dict()))
    )


def test_a_figure_is_stated_and_kept(run, folder):
    line = "drop-speed --readings drop-speed.toml --shop shop.toml --printer flatbed"
    shown = run(f"{line} --record --dry-run").out
    assert "Would state in shop.toml:\n[printers.flatbed]\ndrop_speed = { is = " in shown
    assert "Would record in shop.records.jsonl" in shown
    assert shop(folder) == {"signrules": 1}
    assert not (folder / "shop.records.jsonl").exists()
    shown = run(f"{line} --record").out
    assert "Stated in shop.toml:" in shown
    assert "only one record" in shown
    assert shop(folder)["printers"]["flatbed"]["drop_speed"]["readings"] == 6
    (record,) = read_records(folder / "shop.records.jsonl").records
    assert (record.of, record.stated) == ("printers.flatbed", True)


def test_readings_can_be_kept_alone(run, folder):
    line = "drop-speed --readings drop-speed.toml --shop shop.toml --printer flatbed --record"
    run(line)
    before = (folder / "shop.toml").read_bytes()
    text = (folder / "drop-speed.toml").read_text("utf-8").replace("10 um", "11 um")
    (folder / "drop-speed.toml").write_text(text.replace("2027-02", "2027-08"), encoding="utf-8")
    assert "lies outside what was stated on 2027-02-03" in run(f"{line} --leave-shop").out
    assert (folder / "shop.toml").read_bytes() == before
    assert "lies outside" in run("--history --shop shop.toml").out
    assert "drop-speed of printers.flatbed" in run("--history drop-speed --shop shop.toml").out
    assert run("--history base-gap --shop shop.toml").out == "No records of base-gap.\n"
    run("drop-speed --history --shop shop.toml -o drift.svg")
    assert ElementTree.parse(folder / "drift.svg").getroot().tag.endswith("svg")


def test_a_figure_that_no_shop_file_holds_is_kept(run, folder):
    run("dot-height --readings dot-height.toml --shop shop.toml --ink clear --record")
    assert shop(folder) == {"signrules": 1}
    (record,) = read_records(folder / "shop.records.jsonl").records
    assert (record.of, record.stated) == ("inks.clear", False)


def test_figures_are_computed_again_from_records(run, folder):
    line = "drop-speed --shop shop.toml --printer flatbed"
    run(f"{line} --readings drop-speed.toml --record")
    text = (folder / "drop-speed.toml").read_text("utf-8")
    (folder / "march.toml").write_text(text.replace("2027-02", "2027-03"), encoding="utf-8")
    run(f"{line} --readings march.toml --record --leave-shop")
    before = (folder / "shop.toml").read_bytes()
    text = run("drop-speed --from-records --shop shop.toml").out
    assert "12 readings, measured 2027-03-03" in text
    assert (folder / "shop.toml").read_bytes() == before
    run(f"{line} --from-records")
    assert shop(folder)["printers"]["flatbed"]["drop_speed"]["readings"] == 12
    with (folder / "shop.records.jsonl").open("a") as file:
        file.write("torn")
    told = run("base-gap --from-records --shop shop.toml")
    assert "Base gap: " in told.out
    assert told.err.startswith("Skipped: line 3: an incomplete line")
    assert run("drop-speed --history --shop shop.toml -o a.svg").err.startswith("Skipped")


def test_the_date_is_that_of_the_readings_of_the_option_or_today(run, folder):
    text = (folder / "dot-height.toml").read_text("utf-8")
    (folder / "bare.toml").write_text(text.replace("date = 2027-02-03\n", ""), encoding="utf-8")
    assert (
        "measured 2027-02-03" in run("dot-height --readings dot-height.toml --date 2026-01-01").out
    )
    assert "measured 2026-01-01" in run("dot-height --readings bare.toml --date 2026-01-01").out
    before = datetime.date.today()
    text = run("dot-height --readings bare.toml").out
    days = {day.isoformat() for day in (before, datetime.date.today())}
    assert re.search(r"measured (\d\S+)", text)[1] in days
    assert measure("dot-height", "bare.toml").date is None


def test_beside_json_the_rest_goes_to_standard_error(run):
    line = "drop-speed --readings drop-speed.toml --shop shop.toml --printer a --format json"
    told = run(line)
    assert json.loads(told.out)["figure"] == "drop-speed"
    assert told.err.startswith("Stated in shop.toml:")


def test_a_range_is_asked_for(run):
    assert (
        "from the least to the greatest of 5 readings"
        in run("load-minutes --readings load-minutes.toml --range").out
    )


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("drop-speed --readings drop-speed.toml --shop shop.toml", "found no --printer ID"),
        (
            "drop-speed --readings drop-speed.toml --shop shop.toml --ink a",
            "found inks.a, expected --printer ID: it is a figure of printers",
        ),
        (
            "drop-speed --readings drop-speed.toml --shop shop.toml --ink a --printer b",
            "found both, expected one of them",
        ),
        (
            "dot-height --readings dot-height.toml --shop shop.toml",
            "found a figure that shop files do not hold",
        ),
        ("drop-speed --readings drop-speed.toml --record", "--record: found no --shop FILE"),
        ("drop-speed --from-records", "--from-records: found no --shop FILE"),
        ("drop-speed --readings drop-speed.toml --dry-run", "--dry-run: found no --shop FILE"),
        ("drop-speed --readings a --leave-shop", "--leave-shop: found no --shop FILE"),
        ("drop-speed --readings a --leave-shop --shop a", "--leave-shop: found no --record"),
        ("drop-speed --readings a --from-records --shop a", "found --readings too"),
        (
            "drop-speed --from-records --record --shop shop.toml",
            "--from-records: found --record too",
        ),
        ("drop-speed --readings drop-speed.toml --printer a", "--printer: found no --shop FILE"),
        ("dot-height --readings dot-height.toml --ink a", "--ink: found no --shop FILE"),
        ("drop-speed --from-records --shop shop.toml", "expected records of drop-speed"),
        ("drop-sped", "expected 'drop-speed' perhaps"),
        ("drop-speed --readings none.toml", "no such file"),
        ("drop-speed --form", "--form: found no -o FILE"),
        ("--history", "--history: found no --shop FILE"),
        ("--history drop-sped --shop shop.toml", "expected 'drop-speed' perhaps"),
        ("--history --shop shop.toml -o a.svg", "-o: found no FIGURE"),
        ("--history drop-speed --shop shop.toml -o a.svg", "expected a record of drop-speed"),
    ],
)
def test_what_does_not_go_together_is_told(run, line, expected):
    told = run(line, status=2)
    assert expected in told.err
    assert "Traceback" not in told.err


def test_a_date_that_is_none(capsys):
    with pytest.raises(SystemExit):
        main(["measure", "drop-speed", "--date", "today"])
    assert "found 'today', expected a date such as 2027-02-03" in capsys.readouterr().err


# --- what is refused until somebody has looked again ---------------------------------------------

SLIP = "reads_to,thickness\n0.01 mm,3.03\n,0.301\n" + ",3.05\n,3.00\n,3.02\n" * 3
"""Thicknesses of sheets of 3 mm, one with its decimal point slipped."""
INCHES = "reads_to,thickness\n0.001 mm,0.119\n,0.117\n,0.118\n"
"""Sheets of 3 mm read in inches, without the unit."""
SHEET = "--shop shop.toml --sheet acrylic-3"


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        (SLIP, "row 3, column thickness: 0.301 stands far"),
        (INCHES, "usual are 0.2 to 25 mm. Is 1.18 mm or 0.118 in meant?"),
    ],
)
@pytest.mark.parametrize("keeps", ["", "--record", "--record --leave-shop", "--dry-run"])
def test_a_doubtful_figure_is_written_only_by_force(run, folder, readings, expected, keeps):
    (folder / "thickness.csv").write_text(readings, encoding="utf-8")
    line = f"sheet-thickness --readings thickness.csv {SHEET} {keeps}"
    told = run(line, status=2)
    assert expected in told.out
    assert expected in told.err
    assert "use --force" in told.err
    assert shop(folder) == {"signrules": 1}
    assert not (folder / "shop.records.jsonl").exists()
    run(f"{line} --force")
    is_stated = "thickness" in shop(folder).get("sheets", {}).get("acrylic-3", {})
    assert is_stated == ("leave" not in keeps and "dry" not in keeps)
    assert (folder / "shop.records.jsonl").exists() == ("--record" in keeps)


def test_a_doubtful_figure_is_shown_without_a_shop_file(run, folder):
    (folder / "thickness.csv").write_text(SLIP, encoding="utf-8")
    assert "Warning: row 3" in run("sheet-thickness --readings thickness.csv").out


def test_the_same_readings_are_recorded_once(run, folder):
    line = "drop-speed --readings drop-speed.toml --shop shop.toml --printer"
    run(f"{line} flatbed --record")
    before = (folder / "shop.records.jsonl").read_bytes()
    told = run(f"{line} flatbed --record", status=2)
    assert "the same readings on record since 2027-02-03" in told.err
    assert (folder / "shop.records.jsonl").read_bytes() == before
    run(f"{line} flatbed")
    run(f"{line} other --new-entry --record")
    assert len(read_records(folder / "shop.records.jsonl").records) == 2


def test_an_id_that_the_shop_file_does_not_have(run, folder):
    line = "drop-speed --readings drop-speed.toml --shop shop.toml"
    (folder / "shop.toml").write_text("[printers.flatbed]\n[printers.roller]\n", encoding="utf-8")
    assert "expected 'flatbed' perhaps" in run(f"{line} --printer flatbad", status=2).err
    assert "one of 'flatbed', 'roller'" in run(f"{line} --printer xyz", status=2).err
    assert "in shop.toml it is of: 'flatbed', 'roller'" in run(line, status=2).err
    assert "flatbad" not in shop(folder)["printers"]
    run(f"{line} --printer flatbad --new-entry")
    assert "drop_speed" in shop(folder)["printers"]["flatbad"]
    # The shop file has no ink: nothing to take this one for.
    run("dot-height --readings dot-height.toml --shop shop.toml --ink clear --record")


def test_records_of_a_figure_that_no_shop_file_holds_are_computed_again(run, folder):
    run("dot-height --readings dot-height.toml --shop shop.toml --ink clear --record")
    for named in ("", "--ink clear"):
        assert "Height of dots" in run(f"dot-height --from-records --shop shop.toml {named}").out
    assert shop(folder) == {"signrules": 1}


# --- forms ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("each", procedures(), ids=FIGURES)
def test_a_form_has_a_blank_for_everything(each, run, folder):
    run(f"{each.figure} --form -o form.html")
    page = (folder / "form.html").read_text("utf-8")
    assert page == measure_form(each)
    tree = ElementTree.fromstring(page.replace("<!DOCTYPE html>", ""))
    blanks = list(tree.iter("input"))
    head = 3
    assert len(blanks) == head + len(each.settings) + each.rows_on_form * len(each.columns)
    text = " ".join("".join(tree.itertext()).split())
    for caution in CAUTIONS:
        assert caution.says in text
    for step in each.steps:
        assert step in text
    assert "http" not in page.replace("http-equiv", "")


@pytest.mark.slow
@needs_browser
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_forms_print_on_two_sheets_at_the_most(size, tmp_path):
    longest = max(procedures(), key=lambda each: len(measure_form(each)))
    sheets = printed(measure_form(longest), tmp_path, size)
    assert len(sheets) <= 2
    text = " ".join(" ".join(sheets).split())
    assert longest.steps[-1] in text
    assert f" {longest.rows_on_form}" in text


@pytest.mark.slow
@needs_browser
@pytest.mark.parametrize("width", [794, 816, 360])
def test_forms_do_not_overflow(width, tmp_path):
    # A4 and Letter in px of 1/96 in, and a telephone.
    script = """
    window.addEventListener('load', () => {
      const root = document.documentElement;
      tell(JSON.stringify([root.scrollWidth, root.clientWidth]));
    });
    """
    widest = max(procedures(), key=lambda each: len(each.columns))
    wide, room = json.loads(ask(measure_form(widest), tmp_path, script, width))
    assert wide <= room


def test_a_form_needs_jinja2(monkeypatch):
    import sys

    from signrules import SignrulesError

    monkeypatch.setitem(sys.modules, "jinja2", None)
    with pytest.raises(SignrulesError, match=r"pip install 'signrules\[sheet\]'"):
        measure_form(procedures()[0])
