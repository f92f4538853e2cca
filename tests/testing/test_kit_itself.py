"""The kit says what is wrong with what it was given, and never ends with an error of its own."""

from __future__ import annotations

from time import time
from types import SimpleNamespace

import planted
import pytest
from attrs import frozen
from work import NOT_TRACED

import signrules
from signrules import (
    check,
    hookimpl,
    job_from_dict,
    load_plugins,
    rule,
    sample_job,
    setting,
    shop_practice,
)
from signrules.documents.fields import is_unknown
from signrules.testing import (
    HOOK_LAWS,
    ContractBroken,
    assert_hook_contract,
    assert_rule_contract,
    work_growth,
)
from signrules.testing.run_rules import facts_of, placed_rules

FEW = 3
DOC = "A thing.\n\nWhy it matters: a test.\nA job that breaks it: any.\nOne that meets it: none.\n"


def declared(function, each="pass", **more):
    function.__doc__ = DOC
    more.setdefault("breaks", {"passes.dots.layers": 40})
    more.setdefault("meets", {})
    return rule("own.thing", each=each, source=shop_practice("an invented rule"), **more)(function)


def draft_of(item, **changes):
    made = check("layers", measured=item.layers, most=30, unit="layers", advice="Do something.")
    for key, value in changes.items():
        object.__setattr__(made, key, value)
    return made


# --- odd answers are a broken law -----------------------------------------------------------------


def yields_a_number(item):
    yield 3


def yields_none(item):
    yield None


def gives_back_none(item):
    draft_of(item)


def measures_text(item):
    yield draft_of(item, measured="thick")


def measures_a_number(item):
    yield draft_of(item, measured=3.0)


def limits_in_text(item):
    yield draft_of(item, most="30")


def has_no_words(item):
    yield draft_of(item, what=None)


def has_odd_others(item):
    yield draft_of(item, others=3)


def has_an_odd_unit(item):
    yield draft_of(item, unit=None)


def has_an_odd_field(item):
    yield draft_of(item, missing=7, measured=None)


ODD = [
    yields_a_number,
    yields_none,
    gives_back_none,
    measures_text,
    measures_a_number,
    limits_in_text,
    has_no_words,
    has_odd_others,
    has_an_odd_unit,
    has_an_odd_field,
]


@pytest.mark.parametrize("function", ODD, ids=lambda f: f.__name__)
@pytest.mark.parametrize(
    "but", [{}, {"raises nothing": "to see what the other laws make of it"}], ids=["all", "but"]
)
def test_whatever_a_rule_yields_a_law_is_broken_and_nothing_else(function, but):
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(declared(function), max_examples=FEW, but=but)
    assert found.value.law not in but
    assert found.value.says in str(found.value)


@pytest.mark.parametrize("answer", [None, 3, {"passes.dots": None}, {"passes.dots": ("a", "b")}])
def test_a_reference_with_odd_answers_is_a_broken_law(answer):
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(planted.sound, reference=lambda job, order: answer, max_examples=FEW)
    assert found.value.law == "agrees with the reference"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"plugins": [planted]}, r"plugins is .*, expected what load_plugins\(...\) gives"),
        (
            {"silent_without": "printer.max_throw"},
            "silent_without is the text 'printer.max_throw', expected several",
        ),
        ({"assumes": "printer.max_throw"}, "assumes is the text"),
    ],
)
def test_arguments_that_would_say_nothing(arguments, said):
    with pytest.raises(ValueError, match=said):
        assert_rule_contract(planted.sound, max_examples=FEW, **arguments)


def test_without_a_rule_nothing_is_held():
    with pytest.raises(ValueError, match="there is no rule in what was given"):
        assert_rule_contract([], max_examples=FEW)
    with pytest.raises(signrules.RuleError, match="got the text 'rules'"):
        assert_rule_contract("rules", max_examples=FEW)
    with pytest.raises(signrules.RuleError, match="got function"):
        assert_rule_contract(yields_none, max_examples=FEW)


def test_an_example_with_a_table_that_nothing_brings_does_not_fit():
    def thing(item):
        yield draft_of(item)

    with pytest.raises(ContractBroken, match="does not fit the sample job"):
        assert_rule_contract(declared(thing, breaks={"standards": ["nowhere"]}), max_examples=FEW)


# --- settings in examples -------------------------------------------------------------------------


@frozen
class Limits:
    most: int = setting(30, doc="the most layers", unit="layers")
    width: float = setting(20.0, doc="a length", unit="mm")


def within(item, settings):
    most, advice = settings.most + settings.width - 20, "Fewer."
    yield check("layers", measured=item.layers, most=most, unit="layers", advice=advice)


@pytest.mark.slow
@pytest.mark.parametrize(
    "breaks",
    [
        {"settings.most": 20},
        {"settings.width": "1 mm"},
        {"settings.most": 33, "passes.dots.layers": 34},
    ],
)
def test_an_example_may_change_settings(breaks):
    one = declared(within, settings=Limits, breaks=breaks, meets={"settings.most": 26})
    assert_rule_contract(one, max_examples=FEW)


def test_an_example_with_settings_is_held_to_what_it_says():
    one = declared(within, settings=Limits, breaks={"settings.most": 27})
    with pytest.raises(ContractBroken, match="gives MET, expected it to be broken or doubtful"):
        assert_rule_contract(one, max_examples=FEW)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            {"settings": Limits, "breaks": {"settings.least": 3}},
            "settings: least: found an unknown setting",
        ),
        (
            {"settings": Limits, "breaks": {"settings.most": "many"}},
            "settings: most: found 'many', expected a whole",
        ),
    ],
)
def test_settings_of_an_example_must_fit(more, said):
    with pytest.raises(signrules.RuleError, match=said):
        declared(within, **more)


def test_settings_of_an_example_need_a_class():
    with pytest.raises(
        signrules.RuleError, match="an example changes settings, and it declares none"
    ):
        declared(yields_none, breaks={"settings.most": 3})


# --- fields that are not stated, and work ---------------------------------------------------------


def test_what_is_unknown_and_what_has_a_default():
    job = job_from_dict(sample_job())
    panel, dots = 0, [item.id for item in job.passes].index("dots")
    assert not is_unknown(job, ("media", panel, "hold"))
    assert is_unknown(job, ("signs", 0, "surface", "gloss")) is (job.signs[0].surface.gloss is None)
    assert not is_unknown(job, ("passes", dots, "gap", "above"))
    assert not is_unknown(job, ("printer", "locating", "pins"))
    assert is_unknown(job, ("printer", "locating", "clamps"))
    assert not is_unknown(job, ("passes", dots, "side"))
    # What its declaration says to hold instead: one dot pitch.
    bare = signrules.changed(
        sample_job(), {"printer.landing_tolerance": None, "printer.max_throw": None}
    )
    assert not is_unknown(job_from_dict(bare), ("printer", "landing_tolerance"))
    assert is_unknown(job_from_dict(bare), ("printer", "max_throw"))


@pytest.mark.slow
def test_a_field_may_be_assumed_where_the_author_says_so():
    def thing(item):
        hold, advice = item.hold or "vacuum", "Hold it."
        yield signrules.one_of("the hold", found=hold, allowed=["vacuum"], advice=advice)

    one = declared(thing, each="media", breaks={"media.panel.hold": "tape"})
    with pytest.raises(
        ContractBroken, match=r"without media\.panel\.hold it judges all the same|without media\."
    ):
        assert_rule_contract(one, max_examples=FEW)
    assert_rule_contract(one, assumes=("media.*.hold",), max_examples=FEW)


def test_copies_of_a_job_are_jobs_of_their_own():
    job = job_from_dict(work_growth.copies_of(sample_job(), 3))
    assert len(job.passes) == 3 * len(sample_job()["passes"])
    assert len({sheet.load for sheet in job.media}) == 3
    assert {
        name.rpartition("-")[2]
        for item in job.passes
        for name in item.over
        if item.id.endswith("-1")
    } == {"1"}


def counting(turns):
    def thing(item):
        every = list(item.passes)
        for _ in range(len(every) ** turns):
            pass
        yield draft_of(every[0])

    return placed_rules(declared(thing, each="job"))[0]


@NOT_TRACED
@pytest.mark.parametrize(("turns", "too_fast"), [(0, False), (1, False), (2, False), (3, True)])
def test_work_is_counted_and_the_cube_is_too_much(turns, too_fast):
    few, many = (
        facts_of(job_from_dict(work_growth.copies_of(sample_job(), n)), load_plugins())
        for n in (3, 30)
    )
    assert work_growth.grows_too_fast(counting(turns), few, many) is too_fast
    # A loop of n**turns turns runs at least as many lines: n is the number of passes.
    assert (
        work_growth.lines_run(counting(1), many) - work_growth.lines_run(counting(1), few)
        >= len(many.job.passes) * 0.9
    )


# --- hooks ----------------------------------------------------------------------------------------


def hooks(**made):
    return SimpleNamespace(
        __name__="own", **{name: hookimpl(value) for name, value in made.items()}
    )


@pytest.mark.thorough
def test_sound_hooks_keep_every_law():
    pairs = hooks(
        signrules_precedence=lambda job: [
            (under, item.id, "what lies on top comes last")
            for item in job.passes
            for under in item.over
        ],
        signrules_quantities=lambda job: {"sheets": len(job.media)},
    )
    assert_hook_contract(pairs, max_examples=FEW)


@pytest.mark.thorough
def test_a_sound_hook_that_adds_lines_keeps_every_law():
    def discount(estimate):
        many = estimate["sign_count"] > 20
        return [{"name": "by quantity", "share": "-5 %"}] if many else []

    assert_hook_contract(hooks(signrules_price_lines=discount), max_examples=FEW)


@pytest.mark.parametrize(
    ("made", "law"),
    [
        ({"signrules_price_lines": lambda estimate: []}, "says something"),
        (
            {"signrules_price_lines": lambda estimate: [{"name": "rush", "price": 0.5}]},
            "answers in kind",
        ),
        (
            {"signrules_price_lines": lambda estimate: [{"name": str(time()), "price": 1}]},
            "answers alike",
        ),
        ({"signrules_precedence": lambda job: []}, "says something"),
        (
            {
                "signrules_quantities": lambda job, quantities: {
                    "x_min": quantities["setup_minutes"]
                }
            },
            "answers in kind",
        ),
        (
            {"signrules_quantities": lambda job: {"film_mm": job.media[0].size[0]}},
            "goes by no names",
        ),
    ],
)
def test_hooks_that_answer_for_some_jobs_alone_are_told(made, law):
    with pytest.raises(ContractBroken) as found:
        assert_hook_contract(hooks(**made), max_examples=FEW)
    assert found.value.law == law


def test_a_hook_that_goes_by_names_is_told():
    made = hooks(signrules_quantities=lambda job: {"sheets": float(job.media[0].id < "n")})
    with pytest.raises(ContractBroken) as found:
        assert_hook_contract(made, max_examples=FEW)
    assert found.value.law == "goes by no names"
    made = hooks(
        signrules_precedence=lambda job: [
            (job.passes[0].id, i.id, "x") for i in job.passes if i.id == "dots"
        ]
    )
    with pytest.raises(ContractBroken) as found:
        assert_hook_contract(made, max_examples=FEW)
    assert found.value.law == "goes by no names"


def test_a_hook_that_remembers_is_told():
    seen = []

    def remembers(job):
        seen.append(len(job.passes))
        return {"most": float(max(seen))}

    with pytest.raises(ContractBroken) as found:
        assert_hook_contract(hooks(signrules_quantities=remembers), max_examples=20)
    assert found.value.law == "answers alike"


def test_a_law_of_hooks_may_be_left_out_with_a_reason_only():
    made = hooks(signrules_quantities=lambda job: {"rest": -1.0})
    assert_hook_contract(
        made, but={"counts nothing below zero": "it is a balance"}, max_examples=FEW
    )
    with pytest.raises(ValueError, match="and a reason"):
        assert_hook_contract(made, but={"counts nothing below zero": ""})
    with pytest.raises(ValueError, match="expected one of"):
        assert_hook_contract(made, but={"is beautiful": "never mind"})


@pytest.mark.parametrize(
    ("plugin", "said"),
    [
        (SimpleNamespace(__name__="empty"), "empty implements no hook"),
        (
            SimpleNamespace(__name__="broken", signrules_api="9.0"),
            "broken is not loaded: written for version 9.0",
        ),
        ([planted], "expected one module or object with hooks"),
        (load_plugins(), "expected one module or object with hooks"),
    ],
)
def test_what_is_no_plugin_with_hooks(plugin, said):
    with pytest.raises(ValueError, match=said):
        assert_hook_contract(plugin)


def test_each_law_of_hooks_says_what_it_asks_for():
    assert all(text.endswith(".") and text[0].isupper() for text in HOOK_LAWS.values())
