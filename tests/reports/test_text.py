"""The report as text: colour, hostile names."""

from __future__ import annotations

import io
import re

import pytest
from reports.hostile import LINES, LONG, PAIRS, harmless, hostile_job
from scenario import sign_job

from signrules import evaluate, job_from_dict
from signrules.cli import main
from signrules.reports.colour import wants_colour
from signrules.reports.text_report import evaluation_text, one_line, step_text

SGR = re.compile(r"\x1b\[[0-9;]*m")
"""Select graphic rendition, ECMA-48, 8.3.117."""


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("everything", [False, True])
@pytest.mark.parametrize("sequence", [None, ["dots", "ink-on-dots", "ground"]])
def test_colour_adds_nothing_but_sequences(everything, sequence):
    changes = {} if sequence is None else {"sequence": sequence}
    result = evaluate(job_from_dict(sign_job(**changes)))
    coloured = evaluation_text(result, everything=everything, colour=True)
    assert SGR.search(coloured)
    assert SGR.sub("", coloured) == evaluation_text(result, everything=everything)
    assert all(not line.startswith("\x1b[0m") for line in coloured.split("\n"))
    assert coloured.count("\x1b[0m") * 2 == len(SGR.findall(coloured))


@pytest.mark.parametrize(
    ("choice", "stream", "environment", "wanted"),
    [
        ("auto", Terminal(), {}, True),
        ("auto", Terminal(), {"NO_COLOR": "1"}, False),
        ("auto", Terminal(), {"NO_COLOR": "0"}, False),
        ("auto", Terminal(), {"NO_COLOR": ""}, True),
        ("auto", Terminal(), {"TERM": "dumb"}, False),
        ("auto", io.StringIO(), {"FORCE_COLOR": "1"}, True),
        ("auto", io.StringIO(), {"FORCE_COLOR": "0"}, True),
        ("auto", io.StringIO(), {"FORCE_COLOR": ""}, False),
        ("auto", io.StringIO(), {"FORCE_COLOR": "1", "TERM": "dumb"}, True),
        ("auto", Terminal(), {"FORCE_COLOR": "1", "NO_COLOR": "1"}, False),
        ("never", Terminal(), {"FORCE_COLOR": "1"}, False),
        ("auto", io.StringIO(), {}, False),
        ("always", io.StringIO(), {"NO_COLOR": "1"}, True),
        ("never", Terminal(), {}, False),
    ],
)
def test_when_there_is_colour(choice, stream, environment, wanted):
    """Source: the conventions of no-color.org and force-color.org: present and not empty counts,
    unless an option of the command says else.
    """
    assert wants_colour(choice, stream, environment) is wanted


def test_the_command_takes_the_choice(capsys, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("FORCE_COLOR", raising=False)
    main(["check", "docs/examples/clinic.toml"])
    without = capsys.readouterr().out
    assert "\x1b" not in without
    main(["check", "--colour", "always", "docs/examples/clinic.toml"])
    assert SGR.sub("", capsys.readouterr().out) == without


@pytest.mark.parametrize(("name", "id"), PAIRS, ids=lambda text: ascii(text[:12]))
def test_hostile_names_do_nothing_in_text(name, id):
    result = evaluate(job_from_dict(hostile_job(name, id)))
    assert result.plan is not None
    text = evaluation_text(result, everything=True)
    assert harmless(text)
    assert max(map(len, text.split("\n"))) < 5000
    assert harmless(SGR.sub("", evaluation_text(result, everything=True, colour=True)))


def test_a_name_cannot_forge_lines():
    calm, forged = (
        evaluation_text(evaluate(job_from_dict(sign_job(name=name)))) for name in ("calm", LINES)
    )
    assert len(calm.splitlines()) == len(forged.splitlines())


def test_a_long_name_is_cut_and_its_length_said():
    text = evaluation_text(evaluate(job_from_dict(sign_job(name=LONG))))
    head = text.split("\n")[0]
    assert head.startswith("xxx")
    assert "... (10000 characters): " in head
    assert len(head) < 200
    assert one_line("x" * 120, 120) == "x" * 120
    assert one_line("x" * 121, 120) == "x" * 120 + "... (121 characters)"


def test_handling_is_told_so_that_it_can_be_done():
    job = sign_job(standards=[], signs=[], registration_tolerance="1 mm")
    del job["passes"][1]["builds"]
    job["media"].append({"id": "{other}", "thickness": 3, "size": [50, 50], "load": "2"})
    for item in job["passes"]:
        item["media"] = "panel"
    job["handling"] = [
        {"id": "a", "does": "reload", "media": "{other}", "locates_by": "pins"},
        {"id": "b", "does": "flip", "media": "{other}"},
        {"id": "c", "does": "release", "media": "panel", "after": ["ink-on-dots"]},
        {"id": "d", "does": "pause"},
    ]
    lines = evaluation_text(evaluate(job_from_dict(job))).split("\n")
    steps = {line.partition(". ")[2] for line in lines if line[:4].strip().isdigit()}
    assert {
        "a: take {other} off and put it back, located by pins",
        "b: turn {other} over",
        "c: release panel and hold it again",
        "d: pause",
    } <= steps


@pytest.mark.parametrize(
    ("back_up", "told"),
    [((), "load 1"), (("left",), "load 1, back up: left"), (("left", "right"), "load 1, back up")],
)
def test_a_load_says_which_sheets_go_on_back_up(back_up, told):
    job = sign_job(standards=[], signs=[])
    job["media"] = [
        {"id": "left", "thickness": 3, "size": [50, 50]},
        {"id": "right", "thickness": 3, "size": [50, 50], "at": [60, 0]},
    ]
    for sheet in job["media"]:
        sheet["up"] = "back" if sheet["id"] in back_up else "front"
    side = job["media"][0]["up"]
    job["passes"] = [{"id": "dots", "ink": "clear", "media": "left", "side": side}]
    result = evaluate(job_from_dict(job))
    loads = [step_text(step, result) for step in result.plan.steps if step.kind == "load"]
    assert loads == [told]
