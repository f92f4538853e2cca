"""Cautions for people: one wording, wherever somebody may go to the machine from."""

from __future__ import annotations

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import signrules
from signrules.cautions import CAUTIONS
from signrules.cli import main

ROOT = Path(__file__).parents[2]
CLINIC = str(ROOT / "docs" / "examples" / "clinic.toml")
SAID = [str(caution) for caution in CAUTIONS]


def words(text):
    return " ".join(text.split())


def test_what_the_cautions_are_about():
    told = words(" ".join(SAID)).lower()
    for matter in (
        "moving carriage",
        "uv light",
        "uncured ink",
        "can cause a permanent skin allergy",
        "ventilate",
        "local codes",
        "manual",
        "safety data sheet",
        "licensed practice come first",
    ):
        assert matter in told, matter


def test_the_readme_has_them_word_for_word():
    section = (ROOT / "README.md").read_text("utf-8").split("\n## Cautions\n")[1].split("\n## ")[0]
    points = [words(point) for point in re.split(r"^- ", section, flags=re.MULTILINE)[1:]]
    assert points == [f"**{caution.about}.** {caution.says}" for caution in CAUTIONS]


def test_reports_have_them(capsys):
    assert main(["check", CLINIC]) == 0
    lines = capsys.readouterr().out.splitlines()
    start = lines.index("Cautions:") + 1
    assert [line.strip() for line in lines[start : lines.index("", start)]] == SAID
    for command in ("check", "order"):
        assert main([command, CLINIC, "--format", "json"]) == 0
        assert json.loads(capsys.readouterr().out)["cautions"] == SAID


@pytest.mark.parametrize("name", ["clinic", "clinic-scrapes"])
def test_an_order_has_them_beside_the_ids(name, capsys):
    main(["order", str(ROOT / "docs" / "examples" / f"{name}.toml")])
    told = capsys.readouterr()
    assert [line.strip() for line in told.err.partition("Cautions:\n")[2].splitlines()] == SAID
    assert "WARNING" not in told.out


def test_the_picture_of_a_plan_has_them_and_that_of_the_graph_has_not(capsys):
    result = signrules.evaluate(signrules.read_job(CLINIC))
    drawn = ElementTree.fromstring(signrules.plan_svg(result).encode())
    lines = list(drawn.iter("{http://www.w3.org/2000/svg}text"))
    texts = words(" ".join(each.text or "" for each in lines))
    for said in SAID:
        assert said in texts
    height = float(drawn.get("height", ""))
    assert all(float(each.get("y", "")) < height for each in lines)
    mermaid = re.sub(r"#(\d+);", lambda code: chr(int(code[1])), signrules.plan_mermaid(result))
    for said in SAID:
        assert f'["{said}"]' in mermaid
    assert "WARNING" not in signrules.graph_svg(result)
