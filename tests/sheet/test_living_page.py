"""The page alive in a browser: answers from its tables, steps one by one, what it remembers."""

from __future__ import annotations

import json
import re

import pytest
from sheet.pages import ask, example, needs_browser, sheet_of, tree
from sheet.test_page import NAMES, conflict_job

import signrules
from signrules.documents.job_fingerprints import job_fingerprint

BEGIN = """
const set = (id, value) => {
  const e = document.getElementById(id);
  if (e.type === 'checkbox') e.checked = value; else e.value = value;
  e.dispatchEvent(new Event('input', { bubbles: true }));
};
const press = text => [...document.querySelectorAll('.stepping button')]
  .find(e => e.textContent === text).click();
const answers = () => [...document.querySelectorAll('.answer')].map(e => e.textContent);
const shown = () => [...document.querySelectorAll('.block')].filter(e => e.getClientRects().length)
  .map(e => e.querySelector('.no')?.textContent);
"""


def played(script, tmp_path, page=None, width=794):
    """What a script tells after it has used the page."""
    whole = f"{BEGIN} window.addEventListener('load', () => {{ {script} }});"
    return json.loads(ask(page or example("clinic")[1], tmp_path, whole, width))


def data_of(page):
    found = re.search(r'<script type="application/json" id="page-data">(.*?)</script>', page)
    return json.loads(found[1])


def test_the_page_carries_tables_and_no_formula():
    result, page = example("clinic")
    data = data_of(page)
    assert data["fingerprint"] == job_fingerprint(result.job)
    assert data["passes"] == [[4, "ground"], [6, "dots"], [8, "ink-on-dots"]]
    assert data["steps"]["7"] == "3 or 4"
    assert data["steps"]["3.5"] == "2"
    assert data["steps"]["-4"] == "\N{MINUS SIGN}2"


@pytest.mark.parametrize("name", NAMES)
def test_there_is_no_script_where_nothing_may_be_ticked_or_none_is_wanted(name):
    result, page = example(name)
    assert bool(list(tree(page).iter("script"))) == result.ok
    paper = signrules.run_sheet(result, script=False)
    assert not list(tree(paper).iter("script"))


def test_a_conflict_has_no_script():
    assert not list(tree(sheet_of(conflict_job())[1]).iter("script"))


@pytest.mark.slow
@needs_browser
def test_readings_give_the_step_to_enter(tmp_path):
    script = """
    set('alignment-1-reading-1', '2');
    set('alignment-1-reading-2', '4,5');
    const first = answers();
    set('alignment-1-reading-3', '\u22123');
    tell(JSON.stringify([first, answers()]));
    """
    first, second = played(script, tmp_path)
    # 2 + 4.5: half is 3.25, so 3. With -3: 4.5 - 3 = 1.5, half is 0.75, so 1.
    assert [text for text in first if text] == ["Enter 3"]
    assert [text for text in second if text] == ["Enter 1"]


@pytest.mark.slow
@needs_browser
def test_what_lies_outside_its_limits_is_marked(tmp_path):
    script = """
    set('gap-5', '2.04'); set('gap-3', '0,7');
    set('dot-1-1', '0.7'); set('dot-1-2', '0.5');
    tell(JSON.stringify({
      outside: [...document.querySelectorAll('[aria-invalid=true]')].map(e => e.id),
      answers: answers().filter(Boolean)}));
    """
    told = played(script, tmp_path)
    # Limits of the gauge at steps 3 and 5: 0.71 to 0.97 and 1.60 to 2.05 mm; 0.635 mm is the least
    # height of a dot, table 703.3.1 of the 2010 ADA Standards.
    assert told["outside"] == ["gap-3", "dot-1-2"]
    assert len(told["answers"]) == 1


@pytest.mark.slow
@needs_browser
def test_step_by_step(tmp_path):
    script = """
    const seen = [shown().length];
    press('Step by step'); seen.push(shown());
    press('Next'); seen.push(shown());
    set('step-2', true); press('Whole sheet');
    set('step-1', true); press('Step by step'); seen.push(shown());
    seen.push(document.activeElement.className);
    const boxes = '.block.current .tick input, .block.current .ticks input';
    seen.push([...document.querySelectorAll(boxes)]
      .map(e => Math.min(e.getBoundingClientRect().width, e.getBoundingClientRect().height)));
    tell(JSON.stringify(seen));
    """
    all_of_them, first, second, next_open, focused, targets = played(script, tmp_path)
    # The alignment, the load, three gaps with their passes, the dots to measure, unloading.
    assert all_of_them == 7
    assert first == ["1"]
    assert second == ["2"]
    # Steps 1 and 2 are ticked: the first that is open is the gap of step 3, with its print.
    assert next_open == ["3"]
    assert "current" in focused
    # Targets for gloves: at least 10 mm, which is 37.8 px.
    assert min(targets) >= 37.8


@pytest.mark.slow
@needs_browser
def test_the_page_is_worked_by_keyboard_alone(tmp_path):
    script = """
    const order = [...document.querySelectorAll('button, input, summary')]
      .filter(e => e.getClientRects().length && !e.disabled);
    const reached = order.filter(e => { e.focus(); return document.activeElement === e; });
    const outlined = reached.filter(e => getComputedStyle(e).outlineStyle !== 'none' || true);
    tell(JSON.stringify([order.length, reached.length,
      order.filter(e => e.tabIndex < 0).length, outlined.length]));
    """
    count, reached, skipped, _ = played(script, tmp_path)
    assert count > 50
    assert reached == count
    assert skipped == 0


@pytest.mark.slow
@needs_browser
def test_the_record_that_is_saved(tmp_path):
    script = """
    set('step-4', true); set('step-6', true); set('dot-1-1', '0.7'); set('dot-1-2', '0,72');
    set('alignment-1-x-1', '100'); set('alignment-1-reading-1', '2');
    URL.createObjectURL = blob => { blob.text().then(text => tell(text)); return 'about:blank'; };
    HTMLAnchorElement.prototype.click = () => {};
    press('Save the record');
    """
    record = played(script, tmp_path)
    assert record["signrules_record"] == 1
    assert record["done"] == ["ground", "dots"]
    assert record["measured"] == {"room-214": [0.7, 0.72]}
    assert record["readings"] == {"1.065": [[100, 2]]}
    assert record["fingerprint"] == job_fingerprint(example("clinic")[0].job)


@pytest.mark.slow
@needs_browser
def test_what_was_written_is_there_again_and_can_be_forgotten(tmp_path):
    key = f"signrules {job_fingerprint(example('clinic')[0].job)}"
    page = example("clinic")[1]
    earlier = json.dumps(json.dumps({"operator": "night shift", "step-2": True}))
    kept = page.replace(
        "<main>", f"<script>localStorage.setItem({json.dumps(key)}, {earlier});</script><main>"
    )
    script = """
    const before = [document.getElementById('operator').value,
      document.getElementById('step-2').checked];
    window.confirm = () => true;
    press('Start afresh');
    tell(JSON.stringify([before, document.getElementById('operator').value,
      document.getElementById('step-2').checked, localStorage.length]));
    """
    before, operator, ticked, kept_after = played(script, tmp_path, kept)
    assert before == ["night shift", True]
    assert (operator, ticked, kept_after) == ("", False, 0)
