"""What signrules tells those who listen, and that it is silent where nobody does."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import events

JOB = signrules.job_from_dict(sign_job())


@pytest.fixture
def lines(caplog):
    caplog.set_level(logging.DEBUG, logger="signrules")
    return lambda level: [each.getMessage() for each in caplog.records if each.levelno == level]


def run(code):
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return shown.stdout, shown.stderr


def test_files_and_jobs_are_told(lines, tmp_path):
    path = tmp_path / "job.json"
    path.write_text(json.dumps(sign_job()), "utf-8")
    signrules.evaluate(signrules.read_job(path))
    told = lines(logging.INFO)
    assert told[0] == f"read the job {path}: 3 passes"
    assert told[1].startswith("evaluated an invented sign: CHECKS PASS")


def test_a_file_at_fault_is_not_told_as_read(lines, tmp_path):
    path = tmp_path / "job.json"
    path.write_text("{}", "utf-8")
    with pytest.raises(signrules.JobError):
        signrules.read_job(path)
    assert lines(logging.INFO) == []


def test_a_shop_file_is_told(lines, tmp_path):
    path = tmp_path / "signrules.toml"
    path.write_text("signrules = 1\n", "utf-8")
    signrules.read_shop(path)
    assert lines(logging.INFO) == [f"read the shop file {path}"]


def test_plugins_are_told_and_those_that_failed_as_a_warning(lines):
    good, bad = SimpleNamespace(__name__="quay"), SimpleNamespace(__name__="pier", signrules_api=1)
    signrules.load_plugins(objects=[good, bad])
    assert lines(logging.INFO) == ["loaded the plugin quay  (object)"]
    (warning,) = lines(logging.WARNING)
    assert warning.startswith("the plugin pier was not loaded: signrules_api is 1")


def test_stages_and_times_are_told_to_who_asks_for_more(lines):
    signrules.evaluate(JOB)
    told = lines(logging.DEBUG)
    assert any(each.startswith("planner stage circle: ") for each in told)
    for name in ("plan", "judge", "evaluate"):
        assert sum(each.startswith(f"{name} took ") for each in told) == 1


def test_trials_of_remedies_are_not_told(lines):
    result = signrules.evaluate(JOB)
    before = lines(logging.INFO)
    document = sign_job()
    document["passes"][1]["layers"] = 20
    trial, states = result._again.trial(signrules.job_from_dict(document), 1000)
    assert trial.checks
    assert states > 0
    assert lines(logging.INFO) == before


def test_the_trials_of_remedies_and_of_headroom_are_silent_at_every_level(lines):
    result = signrules.evaluate(signrules.read_job("docs/examples/clinic-scrapes.toml"))
    before = lines(logging.DEBUG)
    assert any(check.remedies for check in result.checks)
    assert signrules.headroom(JOB, "passes.dots.layers").up is not None
    after = lines(logging.DEBUG)[len(before) :]
    # Of headroom, the job itself is evaluated once.
    assert sum(each.startswith("plan took ") for each in after) <= 1


def test_the_line_says_what_came_of_the_job(lines):
    for name in ("clinic", "clinic-scrapes"):
        result = signrules.evaluate(signrules.read_job(f"docs/examples/{name}.toml"))
        counts = f"{len(result.checks)} checks, 0 faults"
        told = lines(logging.INFO)[-1]
        assert told == f"evaluated {result.job.name}: {result.verdict}; {counts}"


def test_a_name_can_neither_forge_a_line_nor_steer_a_terminal(lines):
    for name in ("a\nevaluated b: CHECKS PASS\x1b[31m\u202e", "x" * 3000):
        signrules.evaluate(signrules.job_from_dict(sign_job(name=name)))
        told = lines(logging.INFO)[-1]
        assert told.isprintable()
        assert len(told) < events.MOST_OF_A_TEXT + 200


@pytest.mark.thorough
def test_nothing_is_shown_and_nothing_is_imported_where_nobody_listens():
    code = (
        "import signrules, sys; from types import SimpleNamespace;"
        " signrules.load_plugins(objects=[SimpleNamespace(__name__='pier', signrules_api=1)]);"
        " print('opentelemetry' in sys.modules)"
    )
    assert run(code) == ("False\n", "")
    assert run(f"import logging; {code}") == ("False\n", "")


def test_the_handler_is_added_once():
    logger = logging.getLogger("signrules")
    for _ in range(3):
        events.tell_event(events.INFO, "nobody hears this")
    assert len(logger.handlers) <= 1


def test_without_logging_nothing_happens(monkeypatch):
    monkeypatch.delitem(sys.modules, "logging")
    assert events._logger() is None


@pytest.mark.thorough
def test_spans_stand_within_each_other_and_hold_an_error():
    """Made with the in-memory exporter of the SDK, in a process of its own."""
    code = """
import signrules, sys
from opentelemetry import trace
from opentelemetry.sdk.trace import TracerProvider
from opentelemetry.sdk.trace.export import SimpleSpanProcessor
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
spans = InMemorySpanExporter()
provider = TracerProvider()
provider.add_span_processor(SimpleSpanProcessor(spans))
trace.set_tracer_provider(provider)
job = signrules.job_from_dict(signrules.sample_job())
signrules.evaluate(job)
found = {span.name: span for span in spans.get_finished_spans()}
print(sorted(found))
whole = found["signrules.evaluate"]
print(whole.attributes["signrules.passes"] == len(job.passes))
for name in ("signrules.plan", "signrules.judge"):
    print(found[name].parent.span_id == whole.context.span_id)
spans.clear()
wrong = signrules.job_from_dict(signrules.sample_job() | {"standards": ["none-such"]})
try:
    signrules.evaluate(wrong)
except signrules.JobError:
    pass
(last,) = [span for span in spans.get_finished_spans() if span.name == "signrules.evaluate"]
print(last.status.status_code.name)
"""
    out, _ = run(code)
    names = ["evaluate", "judge", "load_plugins", "plan"]
    expected = [str([f"signrules.{name}" for name in names]), "True", "True", "True", "ERROR"]
    assert out.splitlines() == expected
