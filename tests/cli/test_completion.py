"""Completion by shells and the manual page are made of the commands as they are declared."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import signrules
from signrules.cli import command_parser, main
from signrules.cli.completion_command import SHELLS
from signrules.cli.misspelt_words import sub_parsers
from signrules.cli.shared_options import EXIT_STATUSES

PAGE = Path(__file__).parents[2] / "docs" / "command-line.md"


@pytest.fixture
def script(capsys):
    def script(shell: str) -> str:
        pytest.importorskip("shtab", reason="the extra completion is not installed")
        assert main(["completion", shell]) == 0
        return capsys.readouterr().out

    return script


def test_the_page_names_each_shell():
    assert [shell for shell in SHELLS if f"`{shell}`" not in PAGE.read_text("utf-8")] == []


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_gets_every_command(script, shell):
    text = script(shell)
    assert [name for name in sub_parsers(command_parser()) if name not in text] == []


def completed(text: str, folder: Path, *words: str) -> list[str]:
    """What bash offers for the last of some words, by the function that it was given."""
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("there is no bash")
    quoted = " ".join(shlex.quote(word) for word in words)
    lines = [
        text,
        f"COMP_WORDS=({quoted}); COMP_CWORD={len(words) - 1}; COMP_POINT=0",
        "function_of_it=$(complete -p signrules | sed 's/.*-F \\([^ ]*\\).*/\\1/')",
        f'"$function_of_it" signrules {shlex.quote(words[-1])} {shlex.quote(words[-2])}',
        'printf "%s\\n" "${COMPREPLY[@]}"',
    ]
    done = subprocess.run(
        [bash, "--norc", "-c", "\n".join(lines)], cwd=folder, capture_output=True, text=True
    )
    return done.stdout.split()


def test_bash_completes_commands_options_words_and_files(script, tmp_path):
    text = script("bash")
    (tmp_path / "clinic.toml").write_text("")
    assert completed(text, tmp_path, "signrules", "che") == ["check"]
    assert "--colour" in completed(text, tmp_path, "signrules", "check", "--co")
    assert completed(text, tmp_path, "signrules", "check", "--colour", "al") == ["always"]
    assert "clinic.toml" in completed(text, tmp_path, "signrules", "check", "cl")


def test_bash_completes_the_words_that_signrules_brings(script, tmp_path):
    text = script("bash")
    for words, expected in (
        (("check", "--format", "js"), ["json", "jsonl"]),
        (("schema", "sh"), ["shop"]),
        (("explain", "clearance.str"), ["clearance.strike"]),
    ):
        assert sorted(completed(text, tmp_path, "signrules", *words)) == expected
    table, *others = signrules.load_plugins().standards
    assert others
    assert completed(text, tmp_path, "signrules", "standards", table) == [table]


def test_without_the_extra_it_says_what_to_install(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "shtab", None)
    assert main(["completion", "bash"]) == 2
    assert "pip install 'signrules[completion]'" in capsys.readouterr().err


def test_the_manual_page_has_every_command_and_option(tmp_path):
    pytest.importorskip("argparse_manpage", reason="argparse-manpage is not installed")
    marked = re.search(r"<!-- manual-command -->\n```sh\n(.*?)\n```", PAGE.read_text(), re.S)
    line, whole_words = marked[1].splitlines()
    columns, command, *words = shlex.split(line)
    assert command == "argparse-manpage"
    code = "from argparse_manpage.cli import main; main()"
    environment = {**os.environ, "COLUMNS": columns.removeprefix("COLUMNS=")}
    subprocess.run([sys.executable, "-c", code, *words], cwd=tmp_path, env=environment, check=True)
    subprocess.run(shlex.split(whole_words), cwd=tmp_path, check=True)
    text = (tmp_path / "signrules.1").read_text("utf-8").replace("\\-", "-")
    for name, parser in sub_parsers(command_parser()).items():
        assert f"signrules {name}\\fR" in text
        for action in parser._actions:
            for option in action.option_strings[-1:]:
                if option == "--help":  # Each has it, and the page leaves it out.
                    continue
                assert option in text, (name, option)
    assert "judges and orders the passes" in text
    for status, words in EXIT_STATUSES.items():
        assert f"{status} {words}" in text
    if shutil.which("groff") is None:
        return
    shown = subprocess.run(
        ["groff", "-man", "-Tascii", "-P-cbou", "signrules.1"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    # What groff does not understand it says on standard error.
    assert (shown.returncode, shown.stderr) == (0, "")
    assert "{auto,always,never}" in shown.stdout


def test_the_page_has_every_exit_status():
    rows = re.findall(r"^\| (\d+) \| (.+) \|$", PAGE.read_text("utf-8"), re.M)
    assert rows == [(str(status), words) for status, words in EXIT_STATUSES.items()]
