"""The line that tells how far a command is: its words, its place, and when there is none."""

from __future__ import annotations

import io
import time

import pytest

from signrules.cli import progress_line
from signrules.cli.progress_line import CLEAR_LINE, ProgressLine


class Terminal(io.StringIO):
    """A stream that says it is a terminal, and when something is first written."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def at_once(monkeypatch):
    """The line is shown at once and again all the time."""
    monkeypatch.setattr(progress_line, "PATIENCE_S", 0.0)
    monkeypatch.setattr(progress_line, "AGAIN_S", 0.001)


def wait_for(stream, text):
    """Until something is written; the test is ended from outside where it never is."""
    while text not in stream.getvalue():
        time.sleep(0.001)  # Lets the thread that writes have its turn.


def test_what_is_said_is_taken_away(at_once):
    stream = Terminal()
    with ProgressLine(stream) as line:
        line.show("judging a job")
        wait_for(stream, "judging a job, 0 s")
        line.trials(1, 3)
        wait_for(stream, "judging a job, 33 % of the trials, 0 s")
        line.hide()
        hidden = stream.getvalue()
        assert hidden.endswith(CLEAR_LINE)
        line.show("mending")
        wait_for(stream, "mending, 0 s")
    assert stream.getvalue().endswith(CLEAR_LINE)


def test_a_long_name_stays_on_one_line(at_once, monkeypatch):
    monkeypatch.setenv("COLUMNS", "30")
    stream = Terminal()
    with ProgressLine(stream) as line:
        line.show("x" * 200)
        wait_for(stream, ", 0 s")
    # By hand: 30 columns less one that stays free, and less the five of ", 0 s".
    assert "x" * 24 in stream.getvalue()
    assert "x" * 25 not in stream.getvalue()


def test_nothing_within_the_first_second(monkeypatch):
    monkeypatch.setattr(progress_line, "PATIENCE_S", 3600.0)
    stream = Terminal()
    with ProgressLine(stream) as line:
        line.show("judging a job")
        line.trials(0, 0)
    assert stream.getvalue() == ""


def test_nothing_where_there_is_no_terminal(at_once):
    stream = io.StringIO()
    with ProgressLine(stream) as line:
        line.show("judging a job")
        assert not line._thread.is_alive()
    assert stream.getvalue() == ""


def test_a_terminal_that_is_gone_ends_nothing(at_once):
    class Gone(Terminal):
        def write(self, text: str) -> int:
            raise OSError("gone")

    with ProgressLine(Gone()) as line:
        line.show("judging a job")
        line._ended.wait()
        line.hide()
    assert line._ended.is_set()
