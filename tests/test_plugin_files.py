"""Plugins of files: the bytes that a file holds are what judges, each time it is loaded."""

from __future__ import annotations

import json
import os
import py_compile
import sys
import traceback
from pathlib import Path

import pytest
from scenario import sign_job

import signrules
from signrules import load_plugins
from signrules.cli import main
from signrules.many_jobs.kept_results import plugins_as_plain

JOB = signrules.job_from_dict(sign_job())
STAMP = (1_798_000_000, 1_798_000_000)
"""When each of the files was last changed, to the second."""

PLUGIN = """\
from signrules import RuleSet, check, hookimpl, rule, shop_practice

@rule("mole.few-layers", each="pass", source=shop_practice("ours crack above"))
def few_layers(item):
    '''A pass has few layers.

    Why it matters: cracks.
    A job that breaks it: one of 30 layers.
    One that meets it: one of 3 layers.
    '''
    yield check("the build-up", measured=item.layers, most=MOST, unit="layers")

@hookimpl
def signrules_rule_sets():
    return [RuleSet("mole", [few_layers])]
"""


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    return tmp_path / "mole.py"


def write(file, text):
    """The file with its stamp as it was: as if an archive were unpacked, or saved in a hurry."""
    file.write_text(text, encoding="utf-8")
    os.utime(file, STAMP)


def most_of(plugins):
    """The limits by which the plugin judges."""
    result = signrules.evaluate(JOB, plugins=plugins)
    return {check.limit[1] for check in result.checks if check.rule == "mole.few-layers"}


def test_a_file_that_was_changed_within_the_second_is_compiled_anew(file):
    for most in (40, 20, 30):
        write(file, PLUGIN.replace("MOST", str(most)))
        assert most_of(load_plugins(files=[file])) == {most}
    assert [path.name for path in file.parent.iterdir()] == ["mole.py"]


def test_bytecode_that_someone_else_left_is_not_taken(file):
    write(file, PLUGIN.replace("MOST", "40"))
    stale = py_compile.compile(str(file))
    before = Path(stale).read_bytes()
    write(file, PLUGIN.replace("MOST", "20"))
    assert most_of(load_plugins(files=[file])) == {20}
    assert Path(stale).read_bytes() == before


def test_slips_are_looked_for_in_the_lines_of_today(file):
    sound = PLUGIN.replace("MOST", "40")
    write(file, sound)
    assert not load_plugins(files=[file]).failed
    write(file, sound.replace("yield check(", "check(      "))
    assert file.stat().st_size == len(sound)
    (failed,) = load_plugins(files=[file]).failed
    assert "check(...) on line 11 is lost" in failed.error


def test_a_traceback_names_the_file_and_the_line(file):
    write(file, PLUGIN.replace("MOST", "item.colour"))
    plugins = load_plugins(files=[file])
    (fault, *_) = signrules.evaluate(JOB, plugins=plugins).faults
    assert fault.error.endswith("no attribute 'colour' (line 11 of mole.py)")
    rule = plugins.rule_named("mole.few-layers")
    with pytest.raises(AttributeError) as caught:
        list(rule.function("no pass"))
    (*_, frame) = traceback.extract_tb(caught.value.__traceback__)
    assert (frame.filename, frame.lineno) == (str(file), 11)
    assert frame.line.startswith("yield check(")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("import signrules\n\n1 / 0\n", "ZeroDivisionError: division by zero (line 3 of mole.py)"),
        ("import signrules\nrule = = 1\n", "(mole.py, line 2)"),
    ],
)
def test_a_file_that_cannot_be_loaded_is_told_with_its_line(file, text, told):
    write(file, text)
    (failed,) = load_plugins(files=[file]).failed
    assert told in failed.error


def test_plugins_are_known_by_the_bytes_that_were_loaded(file):
    write(file, PLUGIN.replace("MOST", "40"))
    old = load_plugins(files=[file])
    known = plugins_as_plain(old)
    write(file, PLUGIN.replace("MOST", "20"))
    assert plugins_as_plain(old) == known
    assert plugins_as_plain(load_plugins(files=[file])) != known
    write(file, PLUGIN.replace("MOST", "40"))
    assert plugins_as_plain(load_plugins(files=[file])) == known
    assert [one.digest == "" for one in old.loaded] == [True, False]


def test_plugins_that_failed_are_known_by_why(file):
    known = []
    for text in ("1 / 0\n", "raise SystemExit\n", "1 / 0\n"):
        write(file, text)
        known.append(plugins_as_plain(load_plugins(files=[file])))
    assert known[0] == known[2] != known[1]


def test_a_version_is_that_which_the_file_states(file):
    write(file, "from signrules import *\n")
    (*_, loaded) = load_plugins(files=[file]).loaded
    assert loaded.version == ""
    write(file, "from signrules import *\n__version__ = '1.2'\n")
    (*_, loaded) = load_plugins(files=[file]).loaded
    assert loaded.version == "1.2"


def test_plugins_that_cannot_be_used_together_are_listed_before_it_is_said_why(tmp_path, capsys):
    files = [tmp_path / name for name in ("mole.py", "vole.py", "shrew.py")]
    for path in files[:2]:
        path.write_text(PLUGIN.replace("MOST", "40"), encoding="utf-8")
    files[2].write_text("1 / 0\n", encoding="utf-8")
    named = [word for path in files for word in ("--plugin", str(path))]
    told = "rule mole.few-layers is brought twice, by mole and vole: rename it, or block a plugin"

    assert main(["plugins", *named]) == 2
    printed = capsys.readouterr()
    assert [line for line in printed.out.splitlines() if "adds: 1 rule" in line] == [
        "  adds: 1 rule"
    ] * 2
    assert f"shrew ({files[2]}) FAILED: ZeroDivisionError" in printed.out
    assert told in printed.err

    assert main(["plugins", *named, "--format", "json"]) == 2
    printed = capsys.readouterr()
    listed = {one["name"]: one["adds"] for one in json.loads(printed.out)["loaded"]}
    assert listed["mole"] == listed["vole"] == ["rule mole.few-layers"]
    assert told in printed.err


def test_plugins_of_one_name_are_not_listed(tmp_path, capsys):
    named = []
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        path = tmp_path / folder / "mole.py"
        path.write_text(PLUGIN.replace("MOST", "40"), encoding="utf-8")
        named += ["--plugin", str(path)]
    assert main(["plugins", *named]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "2 plugins are called mole: give one another name, or block both" in printed.err
