"""Laws on jobs that hold the same twice, on other statements of the same, and on what is yielded:
each finds the mistake that is planted for it, and lets the rule pass that makes it not.
"""

from __future__ import annotations

from types import SimpleNamespace

import planted
import planted_beside as beside
import pytest
from work import NOT_TRACED

from signrules import (
    HeadAboveBed,
    Interval,
    RuleError,
    check,
    hookimpl,
    job_from_dict,
    load_plugins,
    missing,
    rule,
    sample_job,
    shop_practice,
)
from signrules.model.declared import classes_within, declared_fields
from signrules.model.job import Job
from signrules.rules.containment import describe_error
from signrules.testing import ContractBroken, assert_hook_contract, checks_of, other_python
from signrules.testing.altered_documents import (
    OTHER_WAYS,
    larger_table,
    larger_value,
    stated_otherwise,
    twinned_document,
    with_value,
)
from signrules.testing.beside_copies import (
    goes_by_no_exact_number,
    judges_each_by_itself,
    minds_no_waivers,
    names_count_nowhere,
    takes_what_is_stated,
)
from signrules.testing.left_out import assumes_nothing
from signrules.testing.lost_checks import makes_no_check_in_vain
from signrules.testing.rule_contract import _examples_hold, _larger_sample
from signrules.testing.rule_laws import minds_tolerances, raises_nothing
from signrules.testing.run_rules import facts_of_document, placed_rules
from signrules.testing.setting_laws import settings_amiss
from signrules.testing.trial import Trial, World
from signrules.testing.what_is_meant import says_what_it_means
from signrules.testing.work_growth import FEW, MANY, chain_of, grows_too_fast

PLUGINS = load_plugins()
SAMPLE = job_from_dict(sample_job())


@pytest.fixture(scope="module")
def trial():
    return Trial(SAMPLE, World(PLUGINS), every_field=True)


def placed(function):
    (one,) = placed_rules(function)
    return one


LAWS = [
    (minds_tolerances, beside.takes_the_better_end, "further from its limit than before"),
    (says_what_it_means, beside.fills_nothing_in, "says '{item.id}'"),
    (says_what_it_means, beside.says_the_same_of_each_area, "another one has the same words"),
    (says_what_it_means, beside.misses_a_field_of_no_row, "without media.panel.hold it misses"),
    (names_count_nowhere, beside.ends_where_it_should_go_on, "where one of two lacks media.hold"),
    (names_count_nowhere, beside.looks_at_the_first_alone, "in another order"),
    (takes_what_is_stated, beside.takes_one_material_for_all, "a table of materials"),
    (judges_each_by_itself, beside.counts_what_is_of_others_too, "beside a copy"),
    (minds_no_waivers, beside.passes_over_what_is_waived, "waived"),
    (goes_by_no_exact_number, beside.compares_lengths_by_equality, "a little more"),
    (assumes_nothing, beside.misses_it_and_judges_too, "judges all the same"),
    (raises_nothing, beside.takes_a_height_for_a_gap, "with passes.ground.gap = {'head_above_bed'"),
]


@pytest.mark.parametrize(("law", "function", "text"), LAWS, ids=[each[1].name for each in LAWS])
def test_a_mistake_is_told(trial, law, function, text):
    assert any(text in problem for problem in law(trial, placed(function)))


RIGHT = [
    (minds_tolerances, beside.takes_the_worse_end),
    (says_what_it_means, planted.sound),
    (names_count_nowhere, beside.goes_on_where_it_should),
    (names_count_nowhere, beside.looks_at_all_of_them),
    (judges_each_by_itself, planted.sound),
    (judges_each_by_itself, beside.looks_at_all_of_them),
    (minds_no_waivers, planted.sound),
    (goes_by_no_exact_number, planted.sound),
    (assumes_nothing, beside.goes_on_where_it_should),
    (raises_nothing, planted.sound),
]


@pytest.mark.parametrize(
    ("law", "function"), RIGHT, ids=[f"{law.__name__}-{each.name}" for law, each in RIGHT]
)
def test_a_right_rule_is_left_alone(trial, law, function):
    assert list(law(trial, placed(function))) == []


def test_built_in_rules_take_what_the_sheet_states_before_the_table(trial):
    found = [each for each in PLUGINS.rules if "materials" in each.rule.reads]
    assert "registration.growth" in {each.rule.name for each in found}
    for each in found:
        assert list(takes_what_is_stated(trial, each)) == []


def test_a_check_that_is_made_and_never_yielded_is_told():
    facts = [facts_of_document(sample_job(), PLUGINS)]
    lost = list(makes_no_check_in_vain(placed(beside.makes_two_checks_and_yields_one), facts))
    assert len(lost) == 1
    line = beside.makes_two_checks_and_yields_one.function.__code__.co_firstlineno
    number = int(lost[0].split("line ")[1].split()[0])
    assert 0 < number - line < 12
    assert list(makes_no_check_in_vain(placed(beside.yields_the_worst_of_two), facts)) == []


@NOT_TRACED
def test_work_along_chains_is_counted():
    few, many = (facts_of_document(chain_of(sample_job(), count), PLUGINS) for count in (FEW, MANY))
    assert len(many.job.passes) == MANY
    assert grows_too_fast(placed(beside.follows_each_of_two_down), few, many)
    assert not grows_too_fast(placed(beside.follows_each_down_once), few, many)


def test_an_example_that_breaks_no_more_than_a_note_is_told():
    told = [
        text
        for text, _ in _examples_hold(placed(beside.weighs_less_where_it_is_broken), World(PLUGINS))
    ]
    assert any("breaks nothing but notes" in text for text in told)
    assert list(_examples_hold(placed(planted.sound), World(PLUGINS))) == []


def test_a_limit_in_hours_is_none_in_minutes():
    told = list(
        settings_amiss(placed(beside.compares_minutes_with_hours), World(PLUGINS), [SAMPLE])
    )
    assert any("is in 'h', and the check whose limit it is in 'min'" in text for text in told)


@pytest.mark.slow
def test_what_is_kept_by_too_little_is_wrong_for_the_next_job():
    documents = [sample_job(), larger_table(sample_job(), "inks")]
    told = [
        name
        for name, _, _ in other_python.hash_differences([beside.keeps_by_too_little], documents)
    ]
    assert set(told) == {"planted.kept"}
    assert list(other_python.hash_differences([planted.sound], documents)) == []


# --- other statements of the same -----------------------------------------------------------------


def test_each_table_with_several_ways_is_stated_in_each_of_them():
    several = {
        f"{cls.__name__}.{name}": set(declared.tables.values())
        for cls in (Job, *classes_within(Job))
        for name, declared in declared_fields(cls).items()
        if declared.kind in ("table by key", "table by control")
    }
    assert set(several) == {"Pass.gap", "Printer.gap"}
    made = {"passes": set(), "printer": set()}
    for where, way in stated_otherwise(sample_job()):
        job = job_from_dict(with_value(sample_job(), where, way))
        gap = job.printer.gap if where[0] == "printer" else job.passes[where[1]].gap
        made[where[0]].add(type(gap))
    assert made["printer"] == several["Printer.gap"]
    assert made["passes"] == {*several["Pass.gap"], type(None)}
    assert set(OTHER_WAYS) == {"passes.gap", "printer.gap"}


def test_a_height_of_the_head_is_no_gap():
    height = HeadAboveBed(Interval.exact(6.0))
    assert height.stated == height.head_above_bed == Interval.exact(6.0)
    assert not hasattr(height, "extra")


def test_units_with_an_exponent_keep_it():
    assert larger_value("1000 kg/m3") == "1250 kg/m3"
    assert larger_value("0.5 J/cm2", 2) == "1 J/cm2"
    assert larger_value("2 W/m2K", 2) == "4 W/m2K"


@pytest.mark.parametrize("table", ["printer", "media", "inks", "signs"])
def test_jobs_with_larger_numbers_in_one_table_are_jobs(table):
    assert job_from_dict(larger_table(sample_job(), table)) != SAMPLE


def test_the_two_orders_begin_with_jobs_of_the_same_ids_and_other_numbers():
    job = job_from_dict(_larger_sample())
    assert [item.id for item in job.items] == [item.id for item in SAMPLE.items]
    assert all(one.layer != other.layer for one, other in zip(job.inks, SAMPLE.inks, strict=True))
    assert job.media[0].thickness != SAMPLE.media[0].thickness
    assert job.printer.base_gap != SAMPLE.printer.base_gap


def test_twins_have_a_layer_more_and_an_area_more():
    job = job_from_dict(twinned_document(sample_job()))
    ids = [item.id for item in job.passes]
    assert ids[:2] == ["ground", "ground-twin"]
    assert [item.layers for item in job.passes][2:4] == [22, 23]
    assert len(job.passes[2].areas) == 2


# --- what authors are told ------------------------------------------------------------------------


def named(function, **more):
    function.__doc__ = planted.sound.function.__doc__
    return rule("own.thing", each="pass", source=shop_practice("an invented rule"), **more)(
        function
    )


@named
def fails_with_a_key(item):
    yield check("a", measured={}[item.id], most=1, unit="", advice="Do something.")


@named
def misses_nothing_that_is(item):
    yield missing("media.hold")


def test_a_fault_names_the_line_of_whoever_wrote_it():
    with pytest.raises(RuleError) as found:
        checks_of(fails_with_a_key, sample_job())
    line = fails_with_a_key.function.__code__.co_firstlineno + 2
    assert f"KeyError: 'ground' (line {line} of test_laws_beside.py)" in str(found.value)


def test_a_fault_that_the_library_finds_in_an_answer_has_no_line():
    with pytest.raises(RuleError) as found:
        checks_of(misses_nothing_that_is, sample_job())
    assert "(line" not in str(found.value)
    assert describe_error(ValueError("no traceback")) == "ValueError: no traceback"


def test_single_rules_fail_where_an_evaluation_does():
    with pytest.raises(RuleError, match="a field of the job document"):
        checks_of(misses_nothing_that_is, sample_job())


# --- hooks ----------------------------------------------------------------------------------------

CELLS = dict(zip("abcdefghij", "⠁⠃⠉⠙⠑⠋⠛⠓⠊⠚", strict=True))
DIGITS = dict(zip("1234567890", CELLS.values(), strict=True))


def translator(sign, speaks):
    def signrules_translate_braille(text, grade, language):
        if not speaks(language) or grade != "uncontracted":
            return None
        return "".join(
            sign + DIGITS[each] if each in DIGITS else CELLS.get(each.lower(), "⠿") for each in text
        )

    return SimpleNamespace(
        __name__="own", signrules_translate_braille=hookimpl(signrules_translate_braille)
    )


@pytest.mark.parametrize(
    ("sign", "speaks", "law"),
    [
        ("", lambda language: language == "en", "tells lines apart"),
        ("⠼", lambda language: language.startswith("e"), "tells grades apart"),
    ],
)
def test_a_translator_with_a_mistake_is_told(sign, speaks, law):
    with pytest.raises(ContractBroken) as found:
        assert_hook_contract(translator(sign, speaks), max_examples=2)
    assert found.value.law == law


def test_a_translator_without_one_is_left_alone():
    assert_hook_contract(translator("⠼", lambda language: language == "en"), max_examples=2)


def signrules_quantities(job):
    return {"spare_mm": 600 - sum(sheet.size[0] for sheet in job.media)}


def test_many_sheets_are_tried():
    ours = SimpleNamespace(__name__="own", signrules_quantities=hookimpl(signrules_quantities))
    with pytest.raises(ContractBroken) as found:
        assert_hook_contract(ours, max_examples=2)
    assert found.value.law == "counts nothing below zero"
