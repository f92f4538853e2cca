"""A misspelt command or option is told with the name that is nearest."""

from __future__ import annotations

import argparse

import pytest

from signrules.cli import COMMANDS, command_parser, main
from signrules.cli.misspelt_words import sub_parsers


def refusal(capsys, *arguments):
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    return capsys.readouterr().err.splitlines()[-1]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["chekc", "a.toml"], "'chekc', which is no command; did you mean check?"),
        (["zzz"], "'zzz', which is no command; expected one of check, next,"),
        (["help"], "'help', which is no command; signrules --help tells what there is"),
        (["check", "a.toml", "--json"], "did you mean --format json?"),
        (["--versoin"], "'--versoin', which is no option of signrules; did you mean --version?"),
        (["check", "a.toml", "--color", "never"], "did you mean --colour?"),
        (["order", "a.toml", "--formt=json"], "no option of signrules order; did you mean --for"),
        (["sheet", "a.toml", "--ouput", "b.html"], "did you mean --output?"),
        (["rules", "--zzzzz"], "--help lists those that there are"),
        (["CHECK", "a.toml"], "did you mean check?"),
        (["order", "a.toml", "--collor", "never"], "--colour is one of signrules check"),
        (["check", "a.toml", "--colour", "alway"], "found 'alway', expected 'always' perhaps"),
        (["check", "a.toml", "--colour=zzz"], "expected one of auto, always, never"),
        (["graph", "a.toml", "--format", "sgv"], "found 'sgv', expected 'svg' perhaps"),
        (["completion", "bsh"], "found 'bsh', expected 'bash' perhaps"),
        (["check", "a.toml", "--strict=1"], "--strict takes no value: write it by itself"),
        (["check", "a.toml", "--stri=1"], "--stri takes no value"),
        (["check", "a.toml", "-x"], "found '-x', which is no option of signrules check"),
    ],
)
def test_the_nearest_name_is_told(capsys, arguments, told):
    assert told in refusal(capsys, *arguments)


def test_an_option_cut_short_and_what_stands_after_two_dashes_are_taken(capsys):
    assert main(["rules", "--form", "json"]) == 0
    assert main(["explain", "--", "clearance.strike"]) == 0
    assert "clearance.strike" in capsys.readouterr().out


def test_a_rule_may_be_remembered_by_the_end_of_its_name(capsys):
    assert main(["explain", "strike"]) == 2
    assert "no rule is called strike; did you mean clearance.strike?" in capsys.readouterr().err


def test_a_folder_is_never_called_a_dash(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for command in ("schedule", "compose"):
        assert "found -, expected a folder" in refusal(capsys, command, "a.csv", "-o", "-")
    assert list(tmp_path.iterdir()) == []


def test_a_dash_by_itself_and_a_number_below_0_are_no_options(capsys):
    assert main(["check", "-5"]) == 2
    assert "-5: 1 fault" in capsys.readouterr().err
    assert main(["check", "./-x"]) == 2


def test_a_schema_that_is_none_is_told_the_nearest_in_any_case(capsys):
    assert main(["schema", "JOB"]) == 2
    assert "did you mean job?" in capsys.readouterr().err


def test_a_parser_without_commands_has_none():
    assert sub_parsers(argparse.ArgumentParser()) == {}


def test_every_module_of_a_command_is_found():
    parsers = sub_parsers(command_parser())
    assert list(parsers) == list(COMMANDS)
    assert all(parser.prog == f"signrules {name}" for name, parser in parsers.items())
