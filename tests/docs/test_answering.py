"""What the page in the browser shows of a job, without a browser."""

from __future__ import annotations

import json

import pytest
from docs.site_building import ROOT

import signrules

EXAMPLES = ROOT / "docs" / "examples"


@pytest.fixture
def answering(site_modules):
    import answering

    return answering


def clinic():
    return (EXAMPLES / "clinic.toml").read_text("utf-8")


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["clinic", "clinic-scrapes", "two-thicknesses"])
def test_an_example_is_answered_as_outside_the_browser(name, answering):
    answer = json.loads(answering.answer_text((EXAMPLES / f"{name}.toml").read_text("utf-8")))
    result = signrules.evaluate(signrules.read_job(EXAMPLES / f"{name}.toml"))
    assert answer["faults"] == []
    assert (answer["verdict"], answer["ok"]) == (result.verdict, result.ok)
    assert [each["text"] for each in answer["findings"]] == [c.message for c in result.violations]
    assert len(answer["unassessed"]) == len(result.unassessed)
    assert len(answer["steps"]) == len(result.plan.steps)
    assert len(answer["pictures"]) == min(len(result.job.passes), answering.MOST_PICTURES)
    assert answer["graph"].strip() in signrules.graph_svg(result)
    assert answer["sheet"] == signrules.run_sheet(result)
    assert len(answer["cautions"]) == 5


def test_a_finding_and_its_remedy_stand_with_the_line(answering):
    [finding] = answering.answer(clinic())["findings"]
    assert clinic().split("\n")[finding["line"] - 1] == "[[passes]]"
    assert clinic().split("\n")[finding["line"]] == 'id = "dots"'
    assert finding["head"] == "REVIEW alignment.through"
    assert finding["remedy"] == "Remedy: Print dots one-way, which takes longer."


def test_every_fault_of_a_job_stands_with_its_line(answering):
    text = clinic().replace("coverage = 0.3", "coverage = 3").replace("bow =", "bo =")
    faults = answering.answer(text)["faults"]
    lines = text.split("\n")
    rows = {fault["head"]: lines[fault["line"] - 1] for fault in faults}
    assert rows["passes[1].coverage"] == "coverage = 3"
    assert rows["media[0].bo"] == 'bo = "0.2 mm"'
    assert all(fault["text"].startswith("found ") for fault in faults)
    assert "verdict" not in answering.answer(text)


def test_what_is_no_toml_is_told_by_its_line(answering):
    [fault] = answering.answer("signrules = 1\nname = = 3\n")["faults"]
    assert (fault["line"], fault["head"]) == (2, "the document")
    assert fault["text"].startswith("found text that is no TOML")


def test_a_job_without_a_safe_order_has_no_plan_and_says_why(answering):
    text = clinic().replace('"0.3 mm", "0.6 mm", "1.3 mm", "2.1 mm"', '"0.3 mm"')
    answer = answering.answer(text.replace('extra = "1.3 mm"', 'extra = "0.3 mm"'))
    assert not answer["ok"]
    assert answer["conflict"].startswith("No safe order")
    assert (answer["plan"], answer["steps"], answer["pictures"]) == ("", [], [])
    assert "<svg" in answer["graph"]


@pytest.fixture
def browser_page(site_modules):
    for name in ("matplotlib", "packaging"):
        pytest.importorskip(name, reason=f"{name} is not installed; the extra 'docs' brings it")
    import browser_page

    return browser_page


def test_what_is_packed_for_the_browser_is_what_is_needed(browser_page):
    names = {each.name.lower() for each in browser_page.needed_distributions()}
    # The four that signrules needs, what cattrs needs itself, and what the run sheet is made with.
    assert names == {
        "attrs", "cattrs", "networkx", "pluggy", "typing_extensions", "jinja2", "markupsafe"
    }  # fmt: skip


def test_a_folder_without_python_is_told(browser_page, monkeypatch, tmp_path):
    monkeypatch.setenv("SIGNRULES_PYODIDE", str(tmp_path))
    with pytest.raises(SystemExit, match=r"pyodide\.asm\.wasm.* not found"):
        browser_page.python_folder()
    monkeypatch.delenv("SIGNRULES_PYODIDE")
    assert browser_page.python_folder() is None
