"""What values show in a notebook, and the records that become tables of data."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from types import SimpleNamespace

import pytest
from attrs import evolve
from scenario import sign_job

import signrules
from signrules.cautions import CAUTIONS
from signrules.notebook_tables import MOST_OF_A_TEXT, MOST_ROWS, notebook_html, shown_text

HOSTILE = "<script>alert('x')</script> & \x1b[31m\u202e"
VOID = {"br"}


class Page(HTMLParser):
    """The tags of some HTML, which must close as they open, and its text."""

    def __init__(self, html):
        super().__init__()
        self.open, self.tags, self.text, self.asked = [], [], "", []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.asked += [value for name, value in attrs if name in ("src", "href")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


def page_of(value):
    html = value._repr_html_()
    page = Page(html)
    assert page.open == []
    assert page.asked == []
    assert "url(" not in html
    assert "@import" not in html
    assert "script" not in page.tags
    return page


def judged(**changes):
    return signrules.evaluate(signrules.job_from_dict(sign_job(**changes)))


def in_conflict():
    """The carriage at 0.1 mm over the sheet prints nothing with 1 mm to keep clear."""
    document = sign_job()
    document["printer"] |= {"base_gap": "0.1 mm", "gap": {"control": "spacers", "spacers": []}}
    for item in document["passes"]:
        item.pop("gap", None)
    return signrules.evaluate(signrules.job_from_dict(document))


def test_an_evaluation_shows_its_verdict_what_is_wrong_and_the_cautions():
    result = judged(registration_tolerance="0.001 mm")
    assert result.violations
    text = page_of(result).text
    assert result.verdict in text
    assert all(check.rule in text for check in result.violations)
    assert ", ".join(result.order) in text
    assert all(caution in text for caution in result.to_dict(remedies=False)["cautions"])


def test_an_evaluation_names_what_was_not_checked_and_what_of_it_may_stop_the_print():
    result = signrules.evaluate(signrules.read_job("docs/examples/clinic.toml"))
    stops = [check for check in result.unassessed if check.level is signrules.Level.STOP]
    assert 0 < len(stops) < len(result.unassessed)
    text = page_of(result).text
    assert f"could not be made: {len(stops)} of level STOP, and each may still" in text
    assert all(f"{check.rule}{check.message}" in text for check in result.unassessed)


def test_an_evaluation_shows_what_the_shop_accepts_and_what_it_has_set():
    stated = {
        "signrules": 1,
        "plugins": {"pier": {"accept_absence": "mended on Monday"}},
        "rules": {"alignment": {"through": {"off": "not needed here"}}},
    }
    broken = SimpleNamespace(__name__="pier", signrules_api=1)
    result = signrules.evaluate(
        signrules.job_from_dict(sign_job()),
        plugins=signrules.load_plugins(objects=[broken]),
        shop=signrules.shop_from_dict(stated),
    )
    assert len(result.accepted) == 1
    text = page_of(result).text
    assert "Accepted: mended on Monday" in text
    assert "pier" in text
    assert "alignment.through is off: not needed here" in text


def test_a_plan_shows_the_cautions():
    text = page_of(judged().plan).text
    assert all(str(caution) in text for caution in CAUTIONS)


def test_a_conflict_shows_why_and_so_does_its_evaluation():
    result = in_conflict()
    for value in (result, result.conflict):
        assert result.conflict.message.splitlines()[0] in page_of(value).text
    doubtful = evolve(result.conflict, proven=False)
    assert "not all were tried" in page_of(doubtful).text
    assert "not all were tried" not in page_of(result.conflict).text


def test_a_plan_shows_each_step():
    plan = judged().plan
    text = page_of(plan).text
    for step in plan.steps:
        assert step.kind in text
        assert (step.subject or "") in text


def test_a_plan_that_is_not_to_be_printed_says_so_first():
    result = signrules.evaluate(signrules.read_job("docs/examples/clinic-scrapes.toml"))
    assert not result.ok
    assert result.verdict.startswith("DO NOT PRINT: ")
    text = page_of(result.plan).text
    assert text.index(result.verdict) < text.index("the sequence as given")
    assert repr(result.plan).startswith(f"<Plan: {result.verdict}; ")
    assert "DO NOT PRINT" not in page_of(judged().plan).text
    assert "DO NOT PRINT" not in repr(judged().plan)


@pytest.mark.parametrize("name", ["clinic", "two-thicknesses"])
def test_a_plan_shows_over_what_each_gap_is_set(name):
    result = signrules.evaluate(signrules.read_job(f"docs/examples/{name}.toml"))
    html = result.plan._repr_html_()
    gaps = [record for record in result.plan.records() if record["kind"] == "gap"]
    assert gaps
    surfaces = {"media": "over {}", "build-up": "over the build-up on {}"}
    for gap in gaps:
        words = surfaces[gap["above"]].format(gap["media"])
        assert f"<td>{gap['step']}</td><td>gap</td><td>{words}</td>" in html


def test_headroom_shows_both_ways():
    job = signrules.job_from_dict(sign_job())
    found = signrules.headroom(job, "passes.dots.layers")
    text = page_of(found).text
    for reach in (found.down, found.up):
        assert f"{reach.limit:.9g}" in text
    breaking = [reach.breaks.rule for reach in (found.down, found.up) if reach.breaks]
    assert breaking
    assert all(rule in text for rule in breaking)


def test_names_are_escaped_and_cannot_steer():
    result = judged(name=HOSTILE)
    html = result._repr_html_()
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert "\x1b" not in html
    assert "\u202e" not in html
    assert page_of(result)


def test_short_cells_break_in_no_word_and_the_last_one_gives_way():
    """Of `overflow-wrap: anywhere` each letter counts as a place to break where the width of a
    column is worked out, of `break-word` none does (CSS Text Module Level 3, section 5.5).
    """
    style = notebook_html("t", "", (), [(("a", "b"), [("STOP", "x" * 400)])])
    assert "overflow-wrap: break-word" in style
    assert "anywhere" not in style.replace(
        "td:last-child { overflow-wrap: anywhere; min-width: 7em; }", ""
    )


def test_colours_are_those_of_the_notebook():
    html = judged()._repr_html_()
    # The property `white-space` is no colour.
    assert not re.search(r"#[0-9a-fA-F]{3,6}\b|rgb\(|\b(white|black)\b(?!-)", html)
    assert "currentColor" in html


def test_long_tables_and_texts_are_cut_and_say_so():
    rows = [(str(number),) for number in range(MOST_ROWS + 5)]
    html = notebook_html("t", "", (), [(("n",), rows)])
    assert html.count("<tr>") == MOST_ROWS + 1
    assert "and 5 more" in html
    assert f"({MOST_OF_A_TEXT + 1} characters)" in shown_text("x" * (MOST_OF_A_TEXT + 1))
    assert notebook_html("t", "", (), [(("n",), [])]).count("<table") == 0


@pytest.mark.parametrize(
    "what", ["evaluation", "plan", "timeline", "plugins", "no plan", "headroom"]
)
def test_a_repr_is_a_line(what):
    result = judged()
    values = {
        "evaluation": result,
        "plan": result.plan,
        "timeline": result.timeline,
        "plugins": signrules.load_plugins(),
        "no plan": in_conflict(),
        "headroom": signrules.headroom(result.job, "passes.ground.layers"),
    }
    shown = repr(values[what])
    assert shown.startswith("<")
    assert "\n" not in shown
    assert len(shown) < 400
    assert "1 loads" not in shown


def test_a_plan_in_words_says_how_good_it_is():
    plan = judged().plan
    assert repr(plan).endswith("none cheaper>")
    assert repr(evolve(plan, optimal=False)).endswith("the cheapest found>")
    assert repr(evolve(plan, judged=True)).endswith("the sequence as given>")
    assert "minutes" not in repr(evolve(plan, in_minutes=False))


def test_plugins_that_failed_are_in_the_repr():
    plugins = signrules.load_plugins(objects=[SimpleNamespace(__name__="pier", signrules_api=1)])
    assert repr(plugins).endswith("; pier failed>")


@pytest.mark.parametrize("of", ["checks", "steps"])
def test_records_are_flat_and_have_the_same_keys(of):
    result = judged()
    records = result.records() if of == "checks" else result.plan.records()
    assert len(records) == len(result.checks if of == "checks" else result.plan.steps)
    assert len({tuple(record) for record in records}) == 1
    for record in records:
        assert all(isinstance(each, str | float | int | None) for each in record.values())


def test_a_record_has_the_numbers_of_its_check():
    result = judged()
    for record, check in zip(result.records(), result.checks, strict=True):
        assert record["rule"] == check.rule
        assert record["margin"] == check.margin
        assert (record["least"], record["most"]) == check.limit
        if check.measured is not None:
            assert record["measured_low"] == check.measured.low


def test_pandas_makes_a_table_of_them():
    pandas = pytest.importorskip("pandas")
    result = judged()
    table = pandas.DataFrame(result.records())
    assert len(table) == len(result.checks)
    assert table["margin"].dtype.kind == "f"


def test_polars_makes_a_table_of_them():
    polars = pytest.importorskip("polars")
    result = judged()
    table = polars.DataFrame(result.records(), infer_schema_length=None)
    assert table.height == len(result.checks)
    assert table["margin"].dtype == polars.Float64
