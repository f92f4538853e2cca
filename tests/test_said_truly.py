"""What reports and the command say where it is tempting to say less: an order that is not safe,
plugins that failed, options and files that make no sense."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

import signrules
from signrules.cli import main
from signrules.reports.estimate_report import estimate_csv
from signrules.reports.text_report import evaluation_text
from signrules.rules.engine import Fault

CLINIC = "docs/examples/clinic.toml"
SCRAPES = "docs/examples/clinic-scrapes.toml"

RULE = '''
from signrules import Level, RuleSet, check, hookimpl, rule, shop_practice


@rule(
    "{name}.layers", each="pass", level=Level.STOP, source=shop_practice("invented"), decides=True
)
def layers(item):
    """A pass has few layers.

    Why it matters: it is an invented limit.
    A job that breaks it: six layers.
    One that meets it: five layers.
    """
    {body}


@hookimpl
def signrules_rule_sets():
    return [RuleSet("{name}", [layers])]
'''


def plugin(folder: Path, name: str, body: str) -> str:
    file = folder / f"{name}.py"
    file.write_text(RULE.format(name=name, body=body))
    return str(file)


@pytest.fixture
def deciding(tmp_path: Path) -> str:
    """A plugin whose rule decides, and breaks on the dots of the clinic."""
    return plugin(
        tmp_path,
        "decider",
        'yield check("the layers", measured=item.layers, most=5, unit="layers")',
    )


@pytest.fixture
def failing(tmp_path: Path) -> str:
    return plugin(tmp_path, "failing", 'yield check("the layers", measured=1 / 0, most=5)')


def test_an_order_that_a_rule_of_a_plugin_forbids_is_nowhere_called_safe(
    deciding: str, capsys: pytest.CaptureFixture[str]
) -> None:
    result = signrules.evaluate(
        signrules.read_job(CLINIC), plugins=signrules.load_plugins(files=[deciding])
    )
    assert not result.order_is_safe
    assert "Pass order" not in evaluation_text(result)
    assert "The order as planned, DO NOT PRINT" in evaluation_text(result)
    assert "DO NOT PRINT" in signrules.plan_mermaid(result)
    assert result.to_dict()["order_is_safe"] is False
    assert main(["order", CLINIC, "--plugin", deciding, "--format", "json"]) == 1
    assert json.loads(capsys.readouterr().out)["order_is_safe"] is False
    assert main(["order", CLINIC, "--plugin", deciding]) == 1
    verdict, why = capsys.readouterr().err.splitlines()[:2]
    assert verdict == "DO NOT PRINT: the rule decider.layers forbids this order"
    assert why == "The order is not safe."


def test_a_plan_that_nothing_forbids_is_no_warning() -> None:
    result = signrules.evaluate(signrules.read_job(CLINIC))
    assert result.to_dict()["order_is_safe"] is True
    assert "Pass order, none cheaper" in evaluation_text(result)
    assert "DO NOT PRINT" not in signrules.plan_mermaid(result)


def test_the_failing_of_what_is_built_in_cannot_be_accepted_by_the_name_of_its_plugin() -> None:
    document = {"signrules": 1, "plugins": {"signrules": {"accept_absence": "we are careful"}}}
    with pytest.raises(signrules.ShopError) as raised:
        signrules.evaluate(signrules.read_job(CLINIC), shop=signrules.shop_from_dict(document))
    assert [fault.path for fault in raised.value.faults] == ["plugins.signrules.accept_absence"]
    fault = Fault("clearance.strike", "signrules", "", "passes.dots", "it failed")
    assert signrules.shop_from_dict({"signrules": 1}).accepts(fault) == ""


@pytest.mark.parametrize("version", [True, 1.0, "1", None])
def test_the_version_of_a_shop_file_is_a_whole_number(version: object) -> None:
    with pytest.raises(signrules.ShopError, match="the version of the format"):
        signrules.shop_from_dict({"signrules": version})


@pytest.mark.parametrize("reason", ["", "  "])
def test_an_absence_is_accepted_with_a_reason_only(
    reason: str, failing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", CLINIC, "--plugin", failing, "--accept", "failing.layers", reason]) == 2
    assert "--accept failing.layers" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("shop", "path"),
    [
        (
            signrules.Shop({"contrast.reflectance": signrules.RuleChange(off=" ")}),
            "rules.contrast.reflectance.off",
        ),
        (
            signrules.Shop({"contrast.reflectance": signrules.RuleChange(accept_absence="\n")}),
            "rules.contrast.reflectance.accept_absence",
        ),
        (
            signrules.Shop(
                {"contrast.reflectance": signrules.RuleChange(level="NOTE", reason=" ")}
            ),
            "rules.contrast.reflectance.reason",
        ),
        (signrules.Shop(accepted_plugins={"failing": " "}), "plugins.failing.accept_absence"),
        (signrules.Shop(accepted_plugins={"failing": ""}), "plugins.failing.accept_absence"),
    ],
)
def test_what_a_shop_made_in_python_does_needs_a_reason_too(
    shop: signrules.Shop, path: str, failing: str
) -> None:
    with pytest.raises(signrules.ShopError) as raised:
        signrules.evaluate(
            signrules.read_job(CLINIC), plugins=signrules.load_plugins(files=[failing]), shop=shop
        )
    (fault,) = raised.value.faults
    assert (fault.path, fault.expected) == (path, "the reason, as a text that is not blank")


@pytest.mark.parametrize("seconds", ["nan", "-1", "0", "inf", "soon"])
def test_a_time_is_a_number_of_seconds_above_nought(
    seconds: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["check", CLINIC, "--seconds", seconds])
    assert stopped.value.code == 2
    assert "expected seconds above 0" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["rules"], ["standards"], ["explain", "clearance.strike"]])
def test_a_list_without_a_plugin_that_failed_says_so(
    command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*command, "--plugin", "nowhere.py"]) == 3
    told = capsys.readouterr()
    assert "nowhere.py" in told.err
    assert told.out


def test_a_rule_of_a_plugin_that_failed_is_looked_for_in_vain_and_the_reason_is_told(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["explain", "nowhere.rule", "--plugin", "nowhere.py"]) == 2
    assert "there is no file nowhere.py" in capsys.readouterr().err


def test_a_margin_beyond_all_floats_is_no_number_in_a_report(tmp_path: Path) -> None:
    body = 'yield check("the layers", measured=-1.7e308, least=1.7e308)'
    plugins = signrules.load_plugins(files=[plugin(tmp_path, "wide", body)])
    result = signrules.evaluate(signrules.read_job(CLINIC), plugins=plugins)
    assert {fault.rule for fault in result.faults} == {"wide.layers"}
    json.dumps(result.to_dict(), allow_nan=False)


def test_settings_that_no_report_can_hold_are_refused_even_where_the_plugin_is_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.py"
    broken.write_text("raise RuntimeError('not today')")
    shop = tmp_path / "shop.toml"
    shop.write_text(
        "signrules = 1\n[rules.lost.one.settings]\nat = 10:00:00\n[plugins.broken]\nsettings = {"
        " when = 2024-01-01, far = nan, deep = { a = 1 }, good = [1, 2.5, 'x', true] }\n"
    )
    assert (
        main(["check", CLINIC, "--plugin", str(broken), "--shop", str(shop), "--format", "json"])
        == 2
    )
    paths = {line.split(":")[0].strip() for line in capsys.readouterr().err.splitlines()[1:]}
    assert paths == {
        "rules.lost.one.settings.at",
        "plugins.broken.settings.when",
        "plugins.broken.settings.far",
        "plugins.broken.settings.deep",
    }


@pytest.mark.parametrize("command", ["graph", "sheet"])
def test_no_output_is_written_over_the_job(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if command == "sheet":
        pytest.importorskip("jinja2")
    job = tmp_path / "job.toml"
    job.write_bytes(Path(CLINIC).read_bytes())
    (tmp_path / "link.svg").symlink_to(job)
    for name in ("job.toml", "link.svg"):
        assert main([command, str(job), "-o", str(tmp_path / name)]) == 2
        assert "the job document itself" in capsys.readouterr().err
    assert job.read_bytes() == Path(CLINIC).read_bytes()


@pytest.mark.parametrize("command", ["graph", "sheet"])
@pytest.mark.parametrize("name", ["/", "", "a" * 300, "nowhere/at/all.svg"])
def test_an_output_that_cannot_be_written_is_an_error_of_the_input(
    command: str, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    if command == "sheet":
        pytest.importorskip("jinja2")
    assert main([command, CLINIC, "-o", name]) == 2
    assert "expected a file that can be written" in capsys.readouterr().err


def test_several_jobs_give_a_list_even_where_none_could_be_read(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["check", "nowhere.toml", "nor-here.toml", "--format", "json"]) == 2
    assert json.loads(capsys.readouterr().out) == []


def test_a_mended_job_of_an_unknown_format_is_refused_before_anything_is_judged(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["check", SCRAPES, "--mend", "mended.txt"]) == 2
    told = capsys.readouterr()
    assert not told.out
    assert "mended.txt" in told.err


@pytest.mark.thorough
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
@pytest.mark.parametrize("command", [["check", CLINIC], ["rules"]])
def test_a_full_disk_is_told_in_a_line_and_looks_like_no_verdict(command: list[str]) -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "signrules", *command],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 3
    assert "Traceback" not in done.stderr
    assert "the output could not be written" in done.stderr


@pytest.mark.thorough
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
def test_a_fault_of_the_input_stays_one_where_it_cannot_be_told() -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "signrules", "order", "nowhere.toml"],
            stderr=full,
            stdout=full,
            check=False,
        )
    assert done.returncode in (2, 3)  # Never 1, which is a verdict.


def test_a_translator_that_failed_once_is_asked_again() -> None:
    asked: list[str] = []

    def signrules_translate_braille(text: str) -> None:
        asked.append(text)
        if len(asked) == 1:
            raise OSError("not just now")

    words = SimpleNamespace(
        __name__="words",
        signrules_translate_braille=signrules.hookimpl(signrules_translate_braille),
    )
    live = signrules.Live(plugins=signrules.load_plugins(objects=[words]))
    job = signrules.job_from_dict(signrules.sample_job())
    assert [fault.plugin for fault in live.evaluate(job).faults] == ["words"]
    assert live.evaluate(job).complete


def test_a_plugin_in_a_file_may_hold_dataclasses_and_names_of_its_own_in_annotations(
    tmp_path: Path,
) -> None:
    file = tmp_path / "annotated.py"
    file.write_text(
        "from __future__ import annotations\n"
        "from dataclasses import dataclass\n"
        "from attrs import frozen\n"
        "from signrules import setting\n"
        "Length = float\n"
        "@frozen\n"
        "class Own:\n"
        "    most: Length = setting(1.0, doc='an invented limit')\n"
        "@dataclass\n"
        "class Part:\n"
        "    count: int = 1\n"
        "signrules_settings = Own\n"
    )
    plugins = signrules.load_plugins(files=[file])
    assert plugins.failed == ()
    assert [each.name for each in plugins.loaded[1].settings] == ["most"]


def test_a_file_that_fails_leaves_no_module_behind(tmp_path: Path) -> None:
    file = tmp_path / "half.py"
    file.write_text("1 / 0\n")
    assert signrules.load_plugins(files=[file]).failed
    assert "signrules_plugin_half" not in sys.modules


def test_rows_for_a_spreadsheet_say_what_was_decided() -> None:
    for path, told in ((SCRAPES, "DO NOT PRINT: the head would hit. "), (CLINIC, "CHECKS PASS, ")):
        found = signrules.estimate(signrules.evaluate(signrules.read_job(path)))
        rows = list(csv.reader(io.StringIO(estimate_csv(found), newline="")))
        assert {len(row) for row in rows} == {9}
        assert [row[-1].startswith(told) for row in rows if row[0] == "job"] == [True]


OFF = {"signrules": 1, "rules": {"contrast": {"reflectance": {"off": "the customer measures it"}}}}


def test_what_a_shop_has_set_stands_in_reports_for_other_tools_too() -> None:
    result = signrules.evaluate(signrules.read_job(CLINIC), shop=signrules.shop_from_dict(OFF))
    run = signrules.sarif({CLINIC: result})["runs"][0]
    notes = [
        each["message"]["text"] for each in run["invocations"][0]["toolConfigurationNotifications"]
    ]
    assert notes == ["contrast.reflectance is off: the customer measures it"]
    suite = ElementTree.fromstring(signrules.junit({CLINIC: result}))[0]
    properties = [(each.get("name"), each.get("value")) for each in suite.iter("property")]
    assert [value for name, value in properties if name == "shop"] == notes
    assert int(suite.get("tests", "")) == len(suite.findall("testcase"))


def test_a_job_that_was_not_evaluated_does_not_vanish_from_reports_for_other_tools() -> None:
    lost = {CLINIC: signrules.NotEvaluated(f"{CLINIC} was not evaluated: a worker died")}
    run = signrules.sarif(lost)["runs"][0]
    assert run["invocations"][0]["executionSuccessful"] is False
    assert (
        "a worker died" in run["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"]
    )
    (suite,) = ElementTree.fromstring(signrules.junit(lost))
    assert (suite.get("tests"), suite.get("errors")) == ("1", "1")


@pytest.mark.parametrize("form", ["sarif", "junit", "json"])
def test_the_command_hands_on_what_was_not_evaluated(
    form: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("signrules.evaluation.evaluate", broken)
    assert main(["check", CLINIC, SCRAPES, "--format", form]) == 3
    out = capsys.readouterr().out
    assert (json.loads(out) == []) if form == "json" else out.count("a fault of ours") >= 2


@pytest.fixture
def terms(failing: str, tmp_path: Path) -> list[str]:
    """Options with which a rule fails, its failing is accepted, and the shop has set two things."""
    shop = tmp_path / "shop.toml"
    shop.write_text(
        'signrules = 1\n[rules.failing.layers]\naccept_absence = "=1+1 on Monday"\n'
        '[rules.contrast.reflectance]\noff = "the customer measures it"\n'
    )
    return [CLINIC, "--plugin", failing, "--shop", str(shop)]


@pytest.mark.thorough
def test_every_output_says_on_which_terms_a_job_was_judged(
    terms: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", *terms]) == 0
    check = capsys.readouterr().out.splitlines()
    start = check.index("Shop file:")
    said = check[start : check.index("Set by the shop:") + 2]
    assert said[1] == f"  {terms[-1]}"
    assert "Accepted: =1+1 on Monday" in said[4]
    assert said[-1] == "  contrast.reflectance is off: the customer measures it"

    assert main(["estimate", *terms]) == 0
    estimate = capsys.readouterr().out.splitlines()
    start = estimate.index("Shop file:")
    assert estimate[start : start + len(said)] == said

    assert main(["estimate", *terms, "--format", "csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    _, *notes = [row["note"] for row in rows if row["kind"] == "job"]
    file, name, _, title, *faults, _, second, off = said
    assert len(faults) == 3  # The rule fails on each pass.
    assert notes == [
        f"{file} {name.strip()}",
        *(f"{title} {fault.strip()}" for fault in faults),
        f"{second} {off.strip()}",
    ]

    assert main(["estimate", *terms, "--format", "json"]) == 0
    estimated = json.loads(capsys.readouterr().out)
    assert main(["check", *terms, "--format", "json"]) == 0
    checked = json.loads(capsys.readouterr().out)
    assert estimated["accepted"] == checked["accepted"] != []
    assert estimated["shop"] == checked["shop"]
    assert main(["order", *terms]) == 0
    order = capsys.readouterr()
    assert order.out.split() == ["ground", "dots", "ink-on-dots"]
    told = order.err.splitlines()
    assert told[1 : told.index("Cautions:")] == [line for line in said if line]


def test_where_there_are_no_terms_nothing_is_said_of_them(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["order", CLINIC]) == 0
    verdict, cautions, *_ = capsys.readouterr().err.splitlines()
    assert verdict.startswith("CHECKS PASS")
    assert cautions == "Cautions:"
    assert main(["estimate", CLINIC]) == 0
    assert not {"Accepted as absent:", "Set by the shop:"} & set(
        capsys.readouterr().out.splitlines()
    )


def test_a_job_without_a_plan_says_its_terms_beside_the_reason(
    terms: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "none.toml"
    ground = 'id = "ground"\n'
    text = Path(CLINIC).read_text(encoding="utf-8")
    assert text.count(ground) == 1
    job.write_text(text.replace(ground, ground + 'after = ["dots"]\n'), encoding="utf-8")
    for command in ("estimate", "order"):
        assert main([command, str(job), *terms[1:]]) == 1
        shown = capsys.readouterr()
        assert shown.out == ""
        assert shown.err.splitlines()[1].startswith("No safe order")
        assert "Accepted: =1+1 on Monday" in shown.err
        assert "contrast.reflectance is off" in shown.err
