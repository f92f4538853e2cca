"""Formats of reports that plugins bring."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import ReportFormat, SignrulesError, hookimpl, load_plugins
from signrules.cli import main

PLUGIN = """
from signrules import ReportFormat, SignrulesError, hookimpl

def write(results):
    rows = [
        f"{type(found).__name__} {isinstance(found, SignrulesError)}" for found in results.values()
    ]
    return ";".join(rows) + ";"

def breaks(results):
    return 1 / 0

def never_ends(results):
    while True:
        pass

@hookimpl
def signrules_report_formats():
    return [ReportFormat("rows", write, "rows"), ReportFormat("breaks", breaks, "fails"),
        ReportFormat("never", never_ends, "goes on for ever")]
"""


def bringing(*formats):
    hook = hookimpl(lambda: list(formats))
    return SimpleNamespace(__name__="quay", signrules_report_formats=hook)


@pytest.fixture
def paths(tmp_path):
    (tmp_path / "good.json").write_text(json.dumps(sign_job()), "utf-8")
    (tmp_path / "bad.json").write_text("{}", "utf-8")
    (tmp_path / "quay.py").write_text(PLUGIN, "utf-8")
    return tmp_path


def test_the_command_writes_what_the_plugin_makes_of_all_jobs(paths, capsys):
    jobs = [str(paths / "good.json"), str(paths / "bad.json")]
    command = ["check", *jobs, "--plugin", str(paths / "quay.py"), "--format", "rows"]
    assert main(command) == 2
    rows = capsys.readouterr().out.split(";")
    assert sorted(rows) == ["", "Evaluation False", "JobError True"]


def test_a_format_that_fails_ends_with_3_and_names_the_plugin(paths, capsys):
    command = ["check", str(paths / "good.json"), "--plugin", str(paths / "quay.py")]
    assert main([*command, "--format", "breaks"]) == 3
    assert "the format breaks (plugin quay) failed: ZeroDivisionError" in capsys.readouterr().err


def test_a_format_that_takes_too_long_is_stopped(paths, capsys):
    command = ["check", str(paths / "good.json"), "--plugin", str(paths / "quay.py")]
    assert main([*command, "--seconds", "20", "--format", "rows"]) == 0
    assert main([*command, "--seconds", "0.5", "--format", "never"]) == 3
    told = "the format never (plugin quay) failed: stopped: it took longer than 0.5 s"
    assert told in capsys.readouterr().err


def test_an_unknown_format_is_told_before_any_job_is_judged(paths, capsys):
    command = ["check", str(paths / "good.json"), "--plugin", str(paths / "quay.py")]
    assert main([*command, "--format", "rowz"]) == 2
    told = capsys.readouterr()
    assert "no plugin brings the format rowz, expected 'rows' perhaps" in told.err
    assert told.out == ""


@pytest.mark.parametrize("name", ["jsn", "Json", "jsno", "JSON"])
def test_a_misspelt_format_of_the_command_is_told_the_one_that_was_meant(name, paths, capsys):
    assert main(["check", str(paths / "good.json"), "--format", name]) == 2
    assert f"format {name}, expected 'json" in capsys.readouterr().err


def test_a_format_that_is_like_none_is_told_all_that_there_are(paths, capsys):
    command = ["check", str(paths / "good.json"), "--plugin", str(paths / "quay.py")]
    assert main([*command, "--format", "xml"]) == 2
    everything = "text, json, jsonl, sarif, junit, breaks, never, rows"
    assert f"expected one of {everything}" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["json", "Rows", "two words", "", 5])
def test_a_name_that_cannot_be_asked_for_is_refused(name):
    plugins = load_plugins(objects=[bringing(ReportFormat(name, str, "rows"))])
    assert "expected a word in lower case" in plugins.failed[0].error


@pytest.mark.parametrize(
    ("each", "told"),
    [
        (ReportFormat("rows", None, "rows"), "None as `write`, expected a function that writes it"),
        (ReportFormat("rows", str, " "), "' ' as `summary`, expected a word on what it is"),
    ],
)
def test_a_format_needs_a_function_and_a_word(each, told):
    plugins = load_plugins(objects=[bringing(each)])
    assert told in plugins.failed[0].error


def test_what_is_no_text_is_told():
    plugins = load_plugins(objects=[bringing(ReportFormat("rows", lambda results: 5, "rows"))])
    with pytest.raises(SignrulesError, match=r"gave back 5, expected text"):
        signrules.plugin_report(plugins, "rows", {})


def test_half_a_surrogate_pair_is_no_text():
    half = ReportFormat("rows", lambda results: "a \ud800 b", "rows")
    plugins = load_plugins(objects=[bringing(half)])
    with pytest.raises(SignrulesError, match=r"gave back .*ud800.*, expected text"):
        signrules.plugin_report(plugins, "rows", {})


def test_two_plugins_cannot_bring_one_format():
    other = bringing(ReportFormat("rows", str, "rows"))
    other.__name__ = "pier"
    with pytest.raises(SignrulesError, match="format rows is brought twice, by pier and quay"):
        load_plugins(objects=[bringing(ReportFormat("rows", str, "rows")), other])
