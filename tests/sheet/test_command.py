"""`signrules sheet`: writes all of the page or nothing, never over the job, and says what `check`
would say.
"""

from __future__ import annotations

import os
import sys

import pytest
from sheet.pages import EXAMPLES, example
from sheet.test_page import conflict_job

import signrules
from signrules.cli import main

CLINIC = str(EXAMPLES / "clinic.toml")


def test_it_writes_the_page_and_says_the_verdict(tmp_path, capsys):
    target = tmp_path / "sheet.html"
    assert main(["sheet", CLINIC, "-o", str(target)]) == 0
    assert target.read_bytes() == example("clinic")[1].encode()
    assert capsys.readouterr().out == f"{target}: {example('clinic')[0].verdict}\n"
    assert os.listdir(tmp_path) == ["sheet.html"]


def test_what_stands_there_is_replaced(tmp_path):
    target = tmp_path / "sheet.html"
    target.write_text("an older sheet")
    assert main(["sheet", CLINIC, "-o", str(target)]) == 0
    assert "an older sheet" not in target.read_text("utf-8")


def test_a_link_is_written_through(tmp_path):
    (tmp_path / "real.html").write_text("older")
    (tmp_path / "link.html").symlink_to(tmp_path / "real.html")
    assert main(["sheet", CLINIC, "-o", str(tmp_path / "link.html")]) == 0
    assert (tmp_path / "link.html").is_symlink()
    assert "Harbour clinic" in (tmp_path / "real.html").read_text("utf-8")


@pytest.mark.parametrize("way", ["plain", "link", "dots"])
def test_never_over_the_job_itself(way, tmp_path, capsys):
    job = tmp_path / "job.toml"
    job.write_bytes((EXAMPLES / "clinic.toml").read_bytes())
    (tmp_path / "link.toml").symlink_to(job)
    (tmp_path / "in").mkdir()
    target = {
        "plain": job,
        "link": tmp_path / "link.toml",
        "dots": tmp_path / "in" / ".." / "job.toml",
    }[way]
    assert main(["sheet", str(job), "-o", str(target)]) == 2
    assert "expected another file" in capsys.readouterr().err
    assert job.read_bytes() == (EXAMPLES / "clinic.toml").read_bytes()


def test_a_place_that_cannot_be_written(tmp_path, capsys):
    assert main(["sheet", CLINIC, "-o", str(tmp_path / "nowhere" / "sheet.html")]) == 2
    assert "expected a file that can be written" in capsys.readouterr().err
    assert main(["sheet", CLINIC, "-o", str(tmp_path)]) == 2
    assert os.listdir(tmp_path) == []


def test_what_goes_wrong_on_the_way_leaves_the_older_sheet(tmp_path, monkeypatch, capsys):
    target = tmp_path / "sheet.html"
    target.write_text("an older sheet")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert main(["sheet", CLINIC, "-o", str(target)]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert target.read_text() == "an older sheet"
    assert os.listdir(tmp_path) == ["sheet.html"]


def test_statuses_are_those_of_check(tmp_path):
    target = tmp_path / "sheet.html"
    scrapes = str(EXAMPLES / "clinic-scrapes.toml")
    assert main(["sheet", scrapes, "-o", str(target)]) == main(["check", scrapes]) == 1
    assert "DO NOT PRINT" in target.read_text("utf-8")
    conflict = tmp_path / "conflict.json"
    signrules.write_job(signrules.job_from_dict(conflict_job()), conflict)
    assert main(["sheet", str(conflict), "-o", str(target)]) == 1
    bad = tmp_path / "bad.toml"
    bad.write_text("signrules = 2")
    target.unlink()
    assert main(["sheet", str(bad), "-o", str(target)]) == 2
    assert not target.exists()


def test_a_rule_that_fails_gives_status_3(tmp_path):
    plugin = tmp_path / "shop.py"
    plugin.write_text(
        "import signrules\n"
        '@signrules.rule("shop.broken", each="job", source=signrules.shop_practice("a test"))\n'
        "def broken(job):\n"
        '    """A rule that fails.\n\n    Why it matters: a test.\n'
        '    A job that breaks it: every one.\n    One that meets it: none.\n    """\n'
        '    raise RuntimeError("out of paper")\n    yield\n'
        "@signrules.hookimpl\n"
        'def signrules_rule_sets():\n    return [signrules.RuleSet("shop", [broken])]\n'
    )
    target = tmp_path / "sheet.html"
    assert main(["sheet", CLINIC, "-o", str(target), "--plugin", str(plugin)]) == 3
    page = target.read_text("utf-8")
    assert "DO NOT PRINT" in page
    assert "out of paper" in page


def test_without_jinja2_it_says_what_to_install(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "jinja2", None)
    target = tmp_path / "sheet.html"
    assert main(["sheet", CLINIC, "-o", str(target)]) == 2
    assert "pip install 'signrules[sheet]'" in capsys.readouterr().err
    assert os.listdir(tmp_path) == []
    with pytest.raises(signrules.SignrulesError, match="jinja2"):
        signrules.run_sheet(example("clinic")[0])
