"""`signrules check` with many files and folders."""

from __future__ import annotations

import io
import json
import os
import pty
import signal
import subprocess
import sys

import pytest
from effort import first_quick
from scenario import sign_job

import signrules
from signrules.cli import main, progress_line


@pytest.fixture
def jobs(tmp_path, monkeypatch):
    """A folder `jobs`: a sound job, one that scrapes, one that is none; and what is not to be taken
    along.
    """
    folder = tmp_path / "jobs"
    (folder / "deeper" / ".hidden").mkdir(parents=True)
    (folder / "b-sound.json").write_text(json.dumps(sign_job(name="sound")), encoding="utf-8")
    scrapes = sign_job(name="scrapes", sequence=["dots", "ink-on-dots", "ground"])
    (folder / "a-scrapes.json").write_text(json.dumps(scrapes), encoding="utf-8")
    (folder / "c-none.toml").write_text("signrules = 1\n", encoding="utf-8")
    (folder / "deeper" / "sound.JSON").write_text(
        json.dumps(sign_job(name="deep")), encoding="utf-8"
    )
    for name in (".hidden.json", "notes.txt", "deeper/.hidden/x.json"):
        (folder / name).write_text("neither", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return folder


def lines_of(capsys) -> list[dict]:
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_a_folder_as_json_lines(jobs, capsys):
    assert main(["check", "jobs", "--format", "jsonl"]) == 2
    captured = capsys.readouterr()
    assert captured.err == ""
    lines = [json.loads(line) for line in captured.out.splitlines()]
    assert [line["file"] for line in lines] == [
        "jobs/a-scrapes.json",
        "jobs/b-sound.json",
        "jobs/c-none.toml",
    ]
    assert (
        lines[0]["report"]
        == signrules.evaluate(signrules.read_job("jobs/a-scrapes.json")).to_dict()
    )
    assert [line["report"]["ok"] for line in lines[:2]] == [False, True]
    assert "report" not in lines[2]
    assert lines[2]["error"]["message"].startswith("jobs/c-none.toml: ")
    assert "printer" in [fault["path"] for fault in lines[2]["error"]["faults"]]


def test_folders_inside_are_taken_when_asked_for(jobs, capsys):
    main(["check", "jobs", "--recursive", "--format", "jsonl"])
    names = ["a-scrapes.json", "b-sound.json", "c-none.toml", "deeper/sound.JSON"]
    assert [line["file"] for line in lines_of(capsys)] == [f"jobs/{name}" for name in names]


@pytest.mark.parametrize("form", ["text", "json", "jsonl", "sarif", "junit"])
def test_a_file_is_judged_once_however_often_it_is_named(jobs, form, capsys):
    (jobs / "empty").mkdir()
    main(["check", "jobs", "jobs/empty", "nowhere.json", "--format", form])
    once = capsys.readouterr()
    again = [
        "jobs/b-sound.json",
        "./jobs",
        str(jobs / "c-none.toml"),
        "jobs/../jobs/empty",
        "./nowhere.json",
    ]
    main(["check", "jobs", "jobs/empty", "nowhere.json", *again, "--format", form])
    assert capsys.readouterr() == once


def test_a_link_to_a_file_is_a_file_of_its_own(jobs, capsys):
    (jobs / "tonight.json").symlink_to(jobs / "b-sound.json")
    main(["check", "jobs/b-sound.json", "jobs/tonight.json", "--format", "jsonl"])
    assert [line["file"] for line in lines_of(capsys)] == ["jobs/b-sound.json", "jobs/tonight.json"]


def test_a_folder_without_jobs_is_an_error_that_stops_nothing(jobs, capsys):
    (jobs / "empty").mkdir()
    assert main(["check", "jobs/empty", "jobs/b-sound.json"]) == 2
    captured = capsys.readouterr()
    assert "jobs/empty: 1 fault\n  the document: found a folder without jobs" in captured.err
    assert "--recursive" in captured.err
    assert captured.out.startswith("jobs/b-sound.json\nsound: CHECKS PASS, ")
    assert main(["check", "jobs/empty", "--recursive", "--format", "jsonl"]) == 2
    (line,) = lines_of(capsys)
    assert line["file"] == "jobs/empty"
    assert "error" in line


@pytest.mark.thorough
@pytest.mark.parametrize("form", first_quick(1, ["jsonl", "text", "json", "sarif", "junit"]))
def test_worker_processes_print_the_same_bytes_and_end_with_the_same_status(jobs, form, capsys):
    one = main(["check", "jobs", "--recursive", "--format", form]), *capsys.readouterr()
    two = (
        main(["check", "jobs", "--recursive", "--format", form, "--jobs", "2"]),
        *capsys.readouterr(),
    )
    assert one == two
    assert one[0] == 2
    assert "scrapes" in one[1]


@pytest.mark.slow
def test_a_plugin_of_a_file_works_in_the_workers(jobs, capsys):
    (jobs.parent / "broken.py").write_text("1/0", encoding="utf-8")
    assert (
        main(["check", "jobs/b-sound.json", "jobs/deeper", "--plugin", "broken.py", "--jobs", "2"])
        == 3
    )
    assert capsys.readouterr().out.count("ZeroDivisionError") == 2


def test_one_file_is_one_document_and_a_folder_is_a_list(jobs, capsys):
    main(["check", "jobs/b-sound.json", "--format", "json"])
    assert json.loads(capsys.readouterr().out)["job"] == "sound"
    main(["check", "jobs/deeper", "--format", "json"])
    assert [report["job"] for report in json.loads(capsys.readouterr().out)] == ["deep"]


@pytest.mark.parametrize("count", ["0", "-1", "two", "1.5", "9999999999999"])
def test_a_number_of_processes_that_is_none(count, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["check", "somewhere.toml", "--jobs", count])
    assert ended.value.code == 2
    assert "a whole number from 1 to" in capsys.readouterr().err


def test_a_failure_of_signrules_in_one_job_is_told_and_the_others_are_judged(
    jobs, capsys, monkeypatch
):
    real = signrules.evaluate

    def evaluate(job, **options):
        if job.name == "scrapes":
            raise RuntimeError("a fault of ours")
        return real(job, **options)

    monkeypatch.setattr("signrules.evaluation.evaluate", evaluate)
    assert main(["check", "jobs"]) == 3
    captured = capsys.readouterr()
    assert "jobs/a-scrapes.json was not evaluated: RuntimeError: a fault of ours" in captured.err
    assert "Traceback" in captured.err
    assert "sound: CHECKS PASS, " in captured.out
    assert main(["check", "jobs", "--format", "jsonl"]) == 3
    assert [list(line) for line in lines_of(capsys)] == [
        ["file", "error"],
        ["file", "report"],
        ["file", "error"],
    ]


def test_text_of_several_jobs_says_whose_it_is(jobs, capsys):
    alike = json.dumps(sign_job(name="sound"))
    (jobs / "again.json").write_text(alike, encoding="utf-8")
    assert main(["check", "jobs/b-sound.json"]) == 0
    report, _, cautions = capsys.readouterr().out.partition("\nCautions:\n")
    assert report.startswith("sound: CHECKS PASS, ")
    assert main(["check", "jobs/b-sound.json", "jobs/again.json"]) == 0
    both = f"jobs/b-sound.json\n{report}\njobs/again.json\n{report}"
    told_once = f"\nCautions:\n{cautions}\n2 jobs: 2 pass.\n"
    assert capsys.readouterr().out == both + told_once


@pytest.mark.parametrize("form", ["text", "jsonl"])
def test_a_report_is_there_before_the_next_job_is_judged(jobs, monkeypatch, form):
    real, arrived, before_each = signrules.evaluate, io.BytesIO(), []

    def evaluate(job, **options):
        before_each.append(arrived.getvalue())
        return real(job, **options)

    monkeypatch.setattr("signrules.evaluation.evaluate", evaluate)
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(arrived, encoding="utf-8"))
    assert main(["check", "jobs/b-sound.json", "jobs/a-scrapes.json", "--format", form]) == 1
    first, second = before_each
    assert first == b""
    assert b"sound" in second
    assert b"scrapes" not in second


@pytest.mark.slow
def test_whoever_reads_may_stop_reading(jobs):
    for number in range(40):
        (jobs / f"d{number}.json").write_text(json.dumps(sign_job()), encoding="utf-8")
    for more in ([], ["--jobs", "2"]):
        command = [sys.executable, "-m", "signrules", "check", "jobs", "--format", "jsonl", *more]
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
            assert json.loads(run.stdout.readline())["file"] == "jobs/a-scrapes.json"
            run.stdout.close()
            assert run.stderr.read() == b""
            assert run.wait() == 141


def interrupted(jobs, count, on_interrupt):
    """What comes of many more files when all processes are interrupted; the first was started to
    mind that or not.
    """
    for number in range(count):
        (jobs / f"d{number}.json").write_text(json.dumps(sign_job()), encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "signrules",
        "check",
        "jobs",
        "--format",
        "jsonl",
        "--jobs",
        "2",
    ]
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, on_interrupt),
    ) as run:
        # By then both workers have started.
        for _ in range(60):
            run.stdout.readline()
        # To the whole group, as a terminal does.
        os.killpg(run.pid, signal.SIGINT)
        out, err = run.communicate()
    return run.returncode, out, err


@pytest.mark.slow
def test_what_was_started_not_to_mind_interrupts_goes_on_with_all_its_workers(jobs):
    _, out, err = interrupted(jobs, 100, signal.SIG_IGN)
    assert err == b""
    assert b"was not evaluated" not in out
    assert out.count(b"\n") > 40


@pytest.mark.slow
def test_an_interrupt_ends_it_without_a_traceback(jobs):
    status, out, err = interrupted(jobs, 400, signal.SIG_DFL)
    assert (status, err) == (130, b"Stopped.\n")
    assert out.count(b"\n") < 340


def on_a_terminal(command: list[str]) -> str:
    """What a command writes to standard error where that is a terminal."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=theirs) as run:
        os.close(theirs)
        written = b""
        while True:
            try:
                piece = os.read(ours, 4096)
            except OSError:
                break
            if not piece:
                break
            written += piece
        run.wait()
    os.close(ours)
    return written.decode()


SLOW = """
import time
import signrules

@signrules.rule("slow.rule", each="job", source=signrules.shop_practice("none"))
def slow(item):
    \"\"\"It takes its time.

    Why it matters: a test.
    A job that breaks it: none.
    One that meets it: any.
    \"\"\"
    time.sleep(1.6)
    yield signrules.check("nothing", measured=0, most=0, unit="")

@signrules.hookimpl
def signrules_rule_sets():
    return [signrules.RuleSet("slow", (slow,))]
"""


@pytest.fixture
def slow(jobs):
    """A plugin by which each evaluation takes over a second."""
    (jobs.parent / "slow.py").write_text(SLOW, encoding="utf-8")
    return ["--plugin", "slow.py"]


def command_of(*words: str) -> list[str]:
    return [sys.executable, "-m", "signrules", *words]


@pytest.mark.slow
def test_progress_is_shown_on_a_terminal_of_what_takes_over_a_second(jobs, slow):
    (jobs / "c-none.toml").unlink()
    (jobs / "a-scrapes.json").unlink()
    (jobs / "again.json").write_text((jobs / "b-sound.json").read_text("utf-8"), encoding="utf-8")
    shown = on_a_terminal(command_of("check", "jobs", *slow))
    assert [f"{done} of 2 jobs" in shown for done in range(2)] == [True] * 2
    # Nothing of it is left.
    assert shown.endswith("\r\x1b[K")
    assert on_a_terminal(command_of("check", "jobs")) == ""


@pytest.mark.slow
def test_of_trials_it_is_shown_how_many_are_used_up(jobs, slow, tmp_path):
    shown = on_a_terminal(
        command_of("check", "jobs/a-scrapes.json", *slow, "--mend", str(tmp_path / "new.json"))
    )
    assert "judging jobs/a-scrapes.json" in shown
    assert "mending" in shown
    assert " % of the trials" in shown
    assert shown.endswith("\r\x1b[K")


@pytest.mark.slow
@pytest.mark.parametrize("command", ["check", "order", "estimate"])
def test_one_job_has_a_line_too_and_a_pipe_has_none(jobs, slow, command):
    words = command_of(command, "jobs/b-sound.json", *slow)
    shown = on_a_terminal(words)
    assert "judging jobs/b-sound.json" in shown
    assert "\r\x1b[K" in shown
    assert b"\x1b" not in subprocess.run(words, capture_output=True, check=True).stderr


def test_a_terminal_sees_how_many_are_done(jobs, capsys, monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(progress_line, "PATIENCE_S", 0.0)
    monkeypatch.setattr(progress_line, "AGAIN_S", 0.001)
    main(["check", "jobs/a-scrapes.json", "jobs/b-sound.json", "--format", "jsonl"])
    captured = capsys.readouterr()
    assert len(captured.out.splitlines()) == 2
    assert "1 of 2 jobs" in captured.err
    assert captured.err.endswith("\r\x1b[K")


def test_a_folder_that_cannot_be_read(jobs, capsys, monkeypatch):
    def walk(top, onerror=None, **_):
        onerror(PermissionError(13, "Permission denied", os.fspath(top)))
        return iter(())

    monkeypatch.setattr("os.walk", walk)
    assert main(["check", "jobs", "--format", "jsonl"]) == 2
    assert "permission denied" in "".join(capsys.readouterr())
