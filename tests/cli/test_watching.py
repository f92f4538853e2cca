"""`check --watch` judges again when a file has changed, and ends cleanly."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from signrules.cli import main, watching

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
CLINIC = (EXAMPLES / "clinic.toml").read_text("utf-8")
SCRAPES = (EXAMPLES / "clinic-scrapes.toml").read_text("utf-8")


@pytest.fixture
def job(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "job.toml"
    path.write_text(CLINIC, "utf-8")
    return path


def watch(monkeypatch, edits, *options):
    """Run it; each time that it waits the next edit is made, and in the end it is interrupted."""
    waiting = iter(edits)

    def sleep(seconds):
        edit = next(waiting, None)
        if edit is None:
            raise KeyboardInterrupt
        edit()

    monkeypatch.setattr(watching.time, "sleep", sleep)
    return main(["check", "job.toml", "--watch", *options])


def test_each_change_is_judged_and_the_last_status_is_given_back(job, monkeypatch, capsys):
    edits = [
        lambda: None,
        lambda: job.write_text(SCRAPES, "utf-8"),
        lambda: job.write_text("signrules = ", "utf-8"),
        lambda: job.unlink(),
        lambda: job.write_text(SCRAPES + "\n", "utf-8"),
    ]
    assert watch(monkeypatch, edits, "--format", "jsonl") == 1
    told = capsys.readouterr()
    lines = [json.loads(line) for line in told.out.splitlines()]
    assert [line.get("report", {}).get("ok") for line in lines] == [True, False, None, None, False]
    assert "no TOML" in lines[2]["error"]["message"]
    assert told.err.count("job.toml changed.") == 4
    assert told.err.count("Watching.") == 5


def test_the_shop_file_and_plugins_count_too(job, monkeypatch, capsys):
    plugin = job.with_name("own.py")
    plugin.write_text("", "utf-8")
    shop = job.with_name("signrules.toml")
    edits = [
        lambda: shop.write_text("signrules = 1\nrulse = 2\n", "utf-8"),
        lambda: shop.write_text("signrules = 1\n", "utf-8"),
        lambda: plugin.write_text("# Nothing yet.\n", "utf-8"),
    ]
    assert watch(monkeypatch, edits, "--plugin", "own.py") == 0
    told = capsys.readouterr()
    assert told.err.count("signrules.toml changed.") == 2
    assert "rulse: found an unknown key" in told.err
    assert told.err.count("own.py changed.") == 1
    assert told.out.count("CHECKS PASS") == 3


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--mend", "b.toml"], "expected neither"),
        (["--kept-in", "kept"], "expected neither"),
        (["--format", "sarif"], "expected text or jsonl"),
    ],
)
def test_what_makes_no_sense_is_refused(job, capsys, options, told):
    assert main(["check", "job.toml", "--watch", *options]) == 2
    assert told in capsys.readouterr().err


def test_standard_input_does_not_change(job, monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.StringIO(CLINIC))
    assert main(["check", "-", "--watch"]) == 2
    assert "expected files that can change" in capsys.readouterr().err


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="interrupts are sent otherwise there")
def test_an_interrupt_ends_the_process_without_a_traceback(job):
    child = subprocess.Popen(
        [sys.executable, "-m", "signrules", "check", "job.toml", "--watch"],
        cwd=job.parent,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    assert child.stderr is not None
    while "Watching" not in child.stderr.readline():
        assert child.poll() is None
    job.write_text(SCRAPES, "utf-8")
    while "Watching" not in child.stderr.readline():
        assert child.poll() is None
    time.sleep(0.1)
    child.send_signal(signal.SIGINT)
    out, err = child.communicate()
    assert child.returncode == 1
    assert err == ""
    assert "DO NOT PRINT" in out
