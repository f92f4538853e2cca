"""The XML in the style of JUnit, read back by the package junitparser and by the parser of the
standard library.
"""

from __future__ import annotations

from xml.etree import ElementTree

import junitparser
import pytest
from effort import effort
from hypothesis import given, settings
from reports.hostile import PAIRS, harmless, hostile_job
from reports.test_sarif import accepted_fault, conflicting_job, written
from scenario import pass_of, sign_job
from strategies import jobs

from signrules import JobError, evaluate, hookimpl, job_from_dict, load_plugins, read_job
from signrules.cli import main
from signrules.reports.junit import junit
from signrules.rules.checks import Outcome


def parsed(text: str) -> junitparser.JUnitXml:
    return junitparser.JUnitXml.fromstring(text.encode())


def kinds(case: junitparser.TestCase) -> set[str]:
    return {type(result).__name__ for result in case.result}


def test_a_case_for_each_rule_and_subject(tmp_path):
    path = written(sign_job(sequence=["dots", "ink-on-dots", "ground"]), tmp_path)
    result = evaluate(read_job(path))
    (suite,) = parsed(junit({str(path): result}, base=tmp_path))
    cases = {(case.classname, case.name): case for case in suite}
    pairs = {(check.rule, check.subjects[0]) for check in result.checks}
    assert set(cases) == pairs
    assert suite.tests == len(pairs)
    for pair, case in cases.items():
        checks = [check for check in result.checks if (check.rule, check.subjects[0]) == pair]
        if any(check.is_violation for check in checks):
            assert kinds(case) == {"Failure"}
            assert all(
                check.message in case.result[0].text for check in checks if check.is_violation
            )
        elif any(check.outcome is Outcome.UNASSESSED for check in checks):
            assert kinds(case) == {"Skipped"}
        else:
            assert kinds(case) == set()
    margin = cases["clearance.margin", "passes.ground"]
    assert "\nRemedy: " in margin.result[0].text
    failed = {check.rule for check in result.violations}
    assert "clearance.margin" in failed
    assert suite.failures == len({(check.rule, check.subjects[0]) for check in result.violations})


def test_notes_go_to_the_output(tmp_path):
    path = written(sign_job(sequence=["dots", "ink-on-dots", "ground"]), tmp_path)
    result = evaluate(read_job(path))
    notes = [
        c
        for c in result.checks
        if c.level.value == "NOTE" and c.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)
    ]
    text = junit({str(path): result}, base=tmp_path)
    out = " ".join(case.system_out or "" for suite in parsed(text) for case in suite)
    assert notes
    assert all(note.message in out for note in notes)


def test_waived_findings_are_skipped_with_the_reason(tmp_path):
    path = written(hostile_job("agreed with the client", "room"), tmp_path)
    (suite,) = parsed(junit({str(path): evaluate(read_job(path))}, base=tmp_path))
    (case,) = [case for case in suite if case.classname == "contrast.reflectance"]
    assert kinds(case) == {"Skipped"}
    assert "Waived by agreed with the client" in case.result[0].text


@pytest.mark.parametrize("remedies", [True, False])
def test_a_conflict_is_a_failure_line_by_line_with_its_first_remedy(remedies):
    result = evaluate(job_from_dict(conflicting_job()))
    (suite,) = parsed(junit({"job.toml": result}, remedies=remedies))
    (case,) = [case for case in suite if case.classname == "order.none-safe"]
    assert kinds(case) == {"Failure"}
    lines = result.conflict.message.split("\n")
    assert len(lines) > 1
    assert case.result[0].message == lines[0]
    text = case.result[0].text.split("\n")
    assert text[: len(lines)] == lines
    assert len(text) == len(lines) + remedies
    if remedies:
        assert text[-1].startswith(f"Remedy: {result.conflict_remedies[0].summary}")


def test_faults_of_plugins_and_documents_are_errors(tmp_path):
    class Failing:
        __name__ = "failing"

        @hookimpl
        def signrules_precedence(self, job):
            raise ValueError("boom")

    good, bad = (
        written(sign_job(), tmp_path, "good.toml"),
        written(sign_job(standards=3), tmp_path, "bad.toml"),
    )
    result = evaluate(read_job(good), plugins=load_plugins(objects=[Failing()]))
    with pytest.raises(JobError) as caught:
        read_job(bad)
    suites = list(parsed(junit({str(good): result, str(bad): caught.value}, base=tmp_path)))
    assert [suite.errors for suite in suites] == [1, 1]
    (case,) = list(suites[1])
    assert (case.classname, case.name) == ("document.fault", "standards")
    assert kinds(case) == {"Error"}
    line = int(case._elem.get("line"))
    assert bad.read_text("utf-8").split("\n")[line - 1].startswith("standards = 3")


@pytest.mark.parametrize(("name", "id"), PAIRS, ids=lambda text: ascii(text[:12]))
def test_hostile_names_leave_it_well_formed(name, id):
    text = junit({"job.toml": evaluate(job_from_dict(hostile_job(name, id)))})
    root = ElementTree.fromstring(text.encode())
    assert {element.tag for element in root.iter()} <= {
        "testsuites",
        "testsuite",
        "properties",
        "property",
        "testcase",
        "failure",
        "skipped",
        "error",
        "system-out",
    }
    for element in root.iter():
        assert all(harmless(value) for value in (*element.attrib.values(), element.text or ""))


@given(jobs(max_passes=4, sequence=True) | jobs(max_passes=3))
@settings(max_examples=effort(25))
def test_counts_of_generated_jobs(job):
    result = evaluate(job)
    (suite,) = parsed(junit({"job.toml": result}, remedies=False))
    assert suite.tests == len(list(suite))
    assert suite.failures == sum("Failure" in kinds(case) for case in suite)
    assert (suite.failures > 0) == (bool(result.violations) or result.conflict is not None)


def test_the_command(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    good = sign_job()
    pass_of(good, "dots")["directions"] = (
        1  # Both ways, the last of its layers would be one to look at.
    )
    written(good, tmp_path, "good.toml")
    assert main(["check", "good.toml", "--format", "junit"]) == 0
    (suite,) = parsed(capsys.readouterr().out)
    assert suite.name == "an invented sign"
    assert suite.failures == 0


def test_a_fault_that_the_shop_accepts_is_skipped_with_its_reason(tmp_path):
    path, result = accepted_fault(tmp_path)
    (suite,) = parsed(junit({str(path): result}, base=tmp_path))
    (case,) = [case for case in suite if case.classname == "ourshop.fails"]
    assert kinds(case) == {"Skipped"}
    assert "Accepted: it is being mended" in case.result[0].message + str(case.result[0].text)
    assert suite.errors == 0
