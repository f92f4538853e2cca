"""What the commands say of artwork that has changed since a job was read from it."""

from __future__ import annotations

import json
import re
from xml.etree import ElementTree

import pytest
from artwork_commands import drawn, place, run

__all__ = ["place"]


@pytest.mark.thorough
def test_check_says_when_artwork_has_changed(place, capsys):
    art = drawn(place)
    run("read", art, "-o", "new.toml")
    capsys.readouterr()
    before = run("check", "new.toml", "--format", "json")
    assert "changed" not in capsys.readouterr().err
    (place / art).write_text((place / art).read_text() + "\n")
    assert run("check", "new.toml", "--format", "json") == 1
    said = "new.toml: art.drawn has changed since dots were read from it"
    assert said in capsys.readouterr().err
    (place / art).unlink()
    assert run("check", "new.toml") == before
    assert "art.drawn cannot be read" in capsys.readouterr().err


@pytest.mark.thorough
def test_every_command_on_a_job_says_when_artwork_has_changed(place, capsys):
    art = drawn(place)
    run("read", art, "-o", "new.toml")
    commands = [
        ("sheet", "new.toml", "-o", "new.html"),
        ("order", "new.toml"),
        ("estimate", "new.toml"),
        ("draw", "new.toml", "-o", "dots.svg"),
        ("queue", "new.toml"),
    ]
    for command in commands:
        capsys.readouterr()
        run(*command)
        assert "has changed" not in capsys.readouterr().err
    (place / art).write_text((place / art).read_text() + "\n")
    for command in commands:
        assert run(*command) == 1, command
        assert "new.toml: art.drawn has changed since" in capsys.readouterr().err


def test_json_and_sarif_of_check_have_changed_artwork(place, capsys):
    art = drawn(place)
    run("read", art, "-o", "new.toml")
    capsys.readouterr()
    run("check", "new.toml", "--format", "json")
    assert "changed_artwork" not in json.loads(capsys.readouterr().out)
    (place / art).write_text((place / art).read_text() + "\n")
    run("check", "new.toml", "--format", "json")
    [changed] = json.loads(capsys.readouterr().out)["changed_artwork"]
    assert (changed["file"], changed["lost"]) == (art, False)
    assert "dots" in changed["passes"]
    run("check", "new.toml", "--format", "sarif")
    [log] = json.loads(capsys.readouterr().out)["runs"]
    told = log["invocations"][0]["toolExecutionNotifications"]
    warnings = [each["message"]["text"] for each in told if each["level"] == "warning"]
    assert [text for text in warnings if "art.drawn has changed" in text]


@pytest.mark.thorough
def test_the_run_sheet_and_junit_have_changed_artwork(place, capsys):
    art = drawn(place)
    run("read", art, "-o", "new.toml")
    run("sheet", "new.toml", "-o", "new.html")
    assert "has changed" not in (place / "new.html").read_text("utf-8")
    capsys.readouterr()
    run("check", "new.toml", "--format", "junit")
    assert "artwork.changed" not in capsys.readouterr().out
    (place / art).write_text((place / art).read_text() + "\n")
    run("sheet", "new.toml", "-o", "new.html")
    page = (place / "new.html").read_text("utf-8")
    assert "DO NOT PRINT" in page
    assert "art.drawn has changed since" in page
    assert '<input type="checkbox"' not in page
    capsys.readouterr()
    run("check", "new.toml", "--format", "junit")
    suites = ElementTree.fromstring(capsys.readouterr().out)
    [failure] = suites.findall(".//testcase[@classname='artwork.changed']/failure")
    assert "art.drawn has changed since" in failure.get("message")


@pytest.mark.thorough
def test_a_folder_of_jobs_has_changed_artwork(place, capsys):
    """Without a work order each job is a load of its own; only one of them was read."""
    folder = place / "jobs"
    folder.mkdir()
    art = drawn(place)
    run("read", art, "-o", "jobs/new.toml")
    commands = [
        ("check", "jobs", "--by-cause"),
        ("estimate", "jobs"),
        ("sheet", "jobs", "-o", "pages"),
    ]
    capsys.readouterr()
    for command in commands:
        run(*command)
    told = "".join(capsys.readouterr()) + (place / "pages" / "index.html").read_text("utf-8")
    assert "has changed" not in told
    (place / art).write_text((place / art).read_text() + "\n")
    for command in commands:
        assert run(*command) == 1, command
        out, err = capsys.readouterr()
        assert "jobs/new.toml: ../art.drawn has changed since" in err
        if command[0] != "sheet":
            assert re.search(
                r"DO NOT PRINT: 1 load of 1, artwork of 1 load \('\S*new\S*'\) changed", out
            )
    for name in ("index.html", "new.html"):
        page = (place / "pages" / name).read_text("utf-8")
        assert "art.drawn has changed since" in page
        assert "DO NOT PRINT" in page
    (place / art).unlink()
    run("estimate", "jobs")
    out, _ = capsys.readouterr()
    assert "CHECKS PASS: 1 load" in out
    assert "artwork of 1 load ('jobs/new.toml') cannot be read" in out


@pytest.mark.thorough
def test_the_first_line_and_the_tally_say_that_artwork_has_changed(place, capsys):
    art = drawn(place)
    run("read", art, "-o", "new.toml")
    run("read", art, "-o", "other.toml")
    (place / "other.toml").write_text((place / "other.toml").read_text().replace(art, "gone"))
    (place / art).write_text((place / art).read_text() + "\n")
    changed = "DO NOT PRINT: artwork has changed since the job was read from it"
    for options in ((), ("--colour", "always")):
        capsys.readouterr()
        assert run("check", "new.toml", *options) == 1
        heading = capsys.readouterr().out.splitlines()[0]
        assert changed in heading
        assert "CHECKS PASS" not in heading
    run("check", "new.toml", "other.toml")
    *_, first, second = [line for line in capsys.readouterr().out.splitlines() if ".toml: " in line]
    assert first.startswith("  new.toml: ")
    assert first.endswith(changed)
    assert second.startswith("  other.toml: ")
    assert second.endswith("; artwork that it was read from cannot be read")
    assert run("sheet", "new.toml", "-o", "new.html") == 1
    assert capsys.readouterr().out == f"new.html: {changed}\n"
