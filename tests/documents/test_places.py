"""Places of tables and keys: what stands at a place is parsed by tomllib or json and must be the
value there.
"""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from documents.samples import FULL_TOML
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

from signrules import job_to_dict
from signrules.documents.source_places import Places
from signrules.documents.toml import to_toml

EXAMPLES = sorted((Path(__file__).parents[2] / "docs" / "examples").glob("*.toml"))

TRICKY = '''\
# passes = 1
signrules = 1 # [[media]]
name = """
[[passes]]
id = "not a pass" ""\\" """   # over
"quoted key" = 'C:\\[x]'
'literal.key' = """"two quotes at the end"""""
printer.minutes = { load = 4, "gap time" = [1, 2, { deep = "}" }] }
printer.bed = [
  "600 mm", # a ] in a comment
  """450
mm""",
]
standards = []
when = 2027-03-31 07:32:00

  [[passes]]
    id = "dots"   # the dots
    areas = [[1, 2, 3, 4],
      [5, 6, 7, 8]]

  [passes.gap]
  offset = '''

TRICKY += (
    "'''1 mm'''\nfrom.\"a b\" = +1_000.5e3\n\n[[passes]]\r\nid = 'gröund'\r\n[a.b]\nc ="
    " true\n[a]\nd = 1\n"
)


def text_of(places, region):
    """What stands between the two ends of a region, which count lines and columns from 1."""
    lines = places.text.split("\n")[region.line - 1 : region.end_line]
    lines[-1] = lines[-1][: region.end_column - 1]
    lines[0] = lines[0][region.column - 1 :]
    return "\n".join(lines)


def stated(document: object, path: tuple) -> object:
    for step in path:
        document = document[step]
    return document


def check_toml(text: str) -> int:
    """Every place of a text holds what tomllib finds there; returns how many there are."""
    document, places = tomllib.loads(text), Places(text, "toml")
    count = 0
    for path, region in places.paths():
        held = text_of(places, region)
        wanted = stated(document, path)
        count += 1
        if isinstance(path[-1], int) and not held.startswith("[["):
            assert tomllib.loads(f"value = {held}")["value"] == wanted, (path, held)
        elif held.startswith("["):
            assert walked(tomllib.loads(held), path) == wanted, (path, held)
        else:
            parsed = tomllib.loads(held.replace("\r\n", "\n"))
            names = [step for step in path if isinstance(step, str)]
            while len(parsed) == 1 and isinstance(parsed, dict):
                key, parsed = next(iter(parsed.items()))
                if key == names[-1] and parsed == wanted:
                    break
            assert parsed == wanted, (path, held)
    return count


def walked(document: object, path: tuple) -> object:
    """What a stretch of text that begins with the header of a path holds there: its lists begin
    anew.
    """
    for step in path:
        if isinstance(step, str):
            document = document[step]
        elif isinstance(document, list):
            document = document[0]
    return document


def leaves(value: object) -> int:
    if isinstance(value, dict):
        return sum(1 + leaves(each) for each in value.values())
    return sum(1 + leaves(each) for each in value) if isinstance(value, list) else 0


@pytest.mark.parametrize("text", [*(e.read_text("utf-8") for e in EXAMPLES), FULL_TOML, TRICKY])
def test_every_key_and_element_of_written_documents(text):
    assert check_toml(text) == leaves(tomllib.loads(text))


@pytest.mark.thorough
@given(jobs(physics=True))
def test_every_key_and_element_of_generated_documents(job):
    data = job_to_dict(job)
    text = to_toml(data)
    assert check_toml(text) == leaves(tomllib.loads(text))
    as_json = json.dumps(data, indent=2, ensure_ascii=False)
    places = Places(as_json, "json")
    found = dict(places.paths())
    assert len(found) == leaves(data)
    for path, region in found.items():
        held = text_of(places, region)
        if isinstance(path[-1], str):
            assert json.loads("{" + held + "}") == {path[-1]: stated(data, path)}
        else:
            assert json.loads(held) == stated(data, path)


def test_paths_by_id_and_by_index():
    places = Places(TRICKY, "toml")
    lines = TRICKY.split("\n")
    first, second = places.find("passes.dots"), places.find("passes[1]")
    assert lines[first.line - 1].strip() == "[[passes]]"
    assert (first.line, first.column) == (lines.index("  [[passes]]") + 1, 3)
    assert second.line > first.end_line - 1
    assert places.find("passes.gröund") == second
    assert text_of(places, places.find("passes.dots.gap.offset")) == "offset = '''1 mm'''"
    assert text_of(places, places.find("printer.minutes.load")) == "load = 4"
    assert text_of(places, places.find("passes[0].areas[1][2]")) == "7"


def test_what_is_not_there_falls_back_to_what_is_around_it():
    places = Places(TRICKY, "toml")
    assert places.find("passes.dots.layers") == places.find("passes.dots")
    assert places.find("printer.landing_tolerance") == places.find("printer")
    for path in ("", "job", "signs.room", "[3]", "...", "passes"):
        region = places.find(path)
        assert region is None or path == "passes"


def test_sub_tables_belong_to_the_element_that_they_follow():
    text = (
        '[[signs]]\nid = "a"\n[signs.braille]\nshape = "domed"\n[[signs]]\nid ='
        ' "b"\n[signs.braille]\n'
    )
    places = Places(text, "toml")
    assert places.find("signs.a.braille").line == 3
    assert places.find("signs.b.braille").line == 7
    assert (places.find("signs.a").line, places.find("signs.a").end_line) == (1, 4)


@given(st.text(alphabet="[]{}\"'=.,#\\ \nab1", max_size=60) | st.text(max_size=60))
def test_no_text_breaks_it(text):
    for form in ("toml", "json"):
        places = Places(text, form)
        for _, region in places.paths():
            assert 1 <= region.line <= region.end_line
            assert text.startswith(text_of(places, region), 0) or text_of(places, region) in text


def test_deep_nesting_stops_quietly():
    for text, form in (
        ("a = " + "[" * 5000, "toml"),
        ("[" * 5000, "json"),
        ('{"a":' * 5000, "json"),
    ):
        places = Places(text, form)
        assert places.find("b") is None


def test_a_document_that_is_no_toml_from_some_line_on_keeps_what_came_before():
    places = Places('[printer]\nname = "x"\n\n[[passes]]\nid = = 3\n', "toml")
    assert places.find("printer.name").line == 2
    assert places.find("passes[0]").line == 4


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ('first = 1\nsecond = "\\q"\nthird = 3\n', "toml"),
        ("first = 1\nsecond = \nthird = 3\n", "toml"),
        ('{"first": 1, "sec\\qond": 2, "third": 3}', "json"),
    ],
)
def test_what_comes_before_something_unreadable_is_found(text, form):
    places = Places(text, form)
    assert places.find("first").line == 1
    assert places.find("third") is None


@pytest.mark.parametrize(("form", "levels"), [("json", 99), ("toml", 100)])
def test_a_hundred_levels_are_followed_and_no_more(form, levels):
    head, tail = ('{"a": ', "}") if form == "json" else ("a = ", "\n")
    for deep, held in ((levels, "1"), (levels + 1, "")):
        places = Places(f"{head}{'[' * deep}1{']' * deep}{tail}", form)
        assert text_of(places, places.find(f"a{'[0]' * deep}")) == held


def test_what_follows_a_part_that_is_not_there_is_not_looked_for():
    places = Places(TRICKY, "toml")
    assert places.find("passes.dots") not in (None, places.find("passes"))
    assert places.find("passes.nowhere.dots") == places.find("passes")
