"""What the kit does with work that does not end, with fields that decide whether a rule looks, and
with sound plugins that look odd.
"""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest
from work import NOT_TRACED

from signrules import (
    check,
    hookimpl,
    job_from_dict,
    load_plugins,
    missing,
    rule,
    sample_job,
    shop_practice,
)
from signrules.documents.fields import states_field
from signrules.testing import ContractBroken, assert_hook_contract, assert_rule_contract, checks_of
from signrules.testing.run_rules import facts_of, placed_rules, run_placed
from signrules.testing.work_bounds import TooMuchWork, call_bounded

JOB = job_from_dict(sample_job())
FEW = 5
DOC = "A thing.\n\nWhy it matters: it does.\nA job that breaks it: any.\nOne that meets it: none.\n"
BUT = {"answers alike elsewhere": "it starts two Pythons"}


def declared(function, each="pass", **examples):
    function.__doc__ = DOC
    source = shop_practice("an invented rule")
    return rule("own.thing", each=each, source=source, **examples)(function)


@NOT_TRACED
def test_an_endless_loop_is_stopped_and_a_short_one_is_not():
    def endless():
        while True:
            pass

    with pytest.raises(TooMuchWork, match="a loop may have no end"):
        call_bounded(endless, most=1000)
    assert call_bounded(lambda: sum(number for number in range(100)), most=1000) == 4950
    assert sys.gettrace() is None


def test_under_a_tracer_nothing_is_counted():
    def tracer(frame, event, argument):
        return None

    def long():
        for _ in range(100):
            pass
        return "done"

    sys.settrace(tracer)
    try:
        done = call_bounded(long, most=10)
        still = sys.gettrace()
    finally:
        sys.settrace(None)
    assert done == "done"
    assert still is tracer


@NOT_TRACED
def test_the_end_of_the_work_is_not_contained_as_a_fault():
    def endless(item):
        while True:
            try:
                while True:
                    pass
            except Exception:
                pass
        yield

    with pytest.raises(TooMuchWork):
        run_placed(placed_rules(declared(endless)), facts_of(JOB, load_plugins()))


@NOT_TRACED
@pytest.mark.slow
def test_a_loop_that_may_not_end_can_be_left_out_of_the_contract():
    def endless(item):
        while item.layers > 1:
            pass
        yield check("layers", measured=1, most=2, unit="")

    without = BUT | {
        "its work stays in bounds": "a trial",
        "its examples hold": "a trial",
    }
    assert_rule_contract(declared(endless), but=without, max_examples=FEW)
    with pytest.raises(ContractBroken) as broken:
        assert_rule_contract(declared(endless), but=BUT, max_examples=FEW)
    assert broken.value.law == "its work stays in bounds"


@pytest.mark.slow
def test_a_symmetrical_rule_on_pairs_keeps_the_contract():
    def alike(item):
        one, other = item
        if one.id in other.over or other.id in one.over:
            apart = abs(one.directions - other.directions)
            advice = "Print both one-way."
            yield check("the directions", measured=apart, most=0, unit="", advice=advice)

    examples = {
        "breaks": {},
        "meets": {"passes.ink-on-dots.directions": 1},
    }
    assert_rule_contract(declared(alike, each="pair", **examples), but=BUT, max_examples=FEW)


@pytest.mark.slow
def test_a_rule_on_pairs_that_goes_by_their_places_is_told():
    def apart(item):
        one, other = item
        advice = "Print fewer."
        more = one.layers - other.layers
        yield check("the layers", measured=more, most=30, unit="", advice=advice)

    without = BUT | {"its examples hold": "a trial"}
    with pytest.raises(ContractBroken) as broken:
        assert_rule_contract(declared(apart, each="pair"), but=without, max_examples=FEW)
    assert broken.value.law == "goes by no names"


@pytest.mark.slow
def test_what_turns_into_a_verdict_without_a_field_is_told():
    def unlike(item, inks):
        if inks[item.ink].role != "clear":
            advice = "Print fewer."
            yield check("the layers", measured=item.layers, most=30, unit="", advice=advice)

    with pytest.raises(ContractBroken) as broken:
        assert_rule_contract(declared(unlike), but=BUT, max_examples=FEW)
    assert broken.value.law == "assumes nothing"
    assert "without inks." in broken.value.problem


@pytest.mark.parametrize(
    ("path", "stated"),
    [
        ("inks.clear.layer", True),
        ("inks.clear.role", True),
        ("printer.max_throw", True),
        ("signs.room-214.braille", True),
        ("signs.room-214.measured", False),
        ("passes.ground.layers", False),  # 1, which holds where it is left out too.
        ("passes.dots.layers", True),
        ("passes.dots.over", False),  # A list may lack one of its elements.
        ("passes", False),
        ("passes.nobody.layers", False),
        ("passes[0].ink", True),
        ("passes.dots.ink.role", False),
        ("printer..max_throw", False),
    ],
)
def test_what_a_job_surely_states(path, stated):
    assert states_field(JOB, path) is stated


def test_what_is_stated_may_be_too_little_where_the_rule_says_why():
    def thing(item):
        yield missing(f"signs.{item.id}.text", "the words", advice="there is one word only")
        yield missing("printer.max_throw", "the throw", advice="it is of another printer")

    assert [one.missing for one in checks_of(declared(thing, each="sign"), JOB)] == [
        "signs.room-214.text",
        "printer.max_throw",
    ]


def test_a_translator_of_one_language_and_one_grade_keeps_the_laws():
    letters = dict(zip("abcdefghij", "⠁⠃⠉⠙⠑⠋⠛⠓⠊⠚", strict=True))

    def signrules_translate_braille(text, grade, language):
        if (grade, language) != ("uncontracted", "en") or not set(text) <= set(letters):
            return None
        return "".join(letters[letter] for letter in text)

    ours = SimpleNamespace(
        __name__="ours", signrules_translate_braille=hookimpl(signrules_translate_braille)
    )
    assert_hook_contract(ours, max_examples=FEW)


@pytest.mark.slow
def test_a_larger_number_of_layers_than_is_usual_is_tried():
    seen = set()

    def thing(item):
        seen.add(item.layers)
        yield check("the layers", measured=item.layers, most=2000, unit="", advice="Fewer.")

    without = BUT | {"its examples hold": "a trial"}
    assert_rule_contract(declared(thing), but=without, max_examples=FEW)
    assert max(seen) > 500
