"""The contract finds planted mistakes, each by the law that it breaks and with a small job that
shows it.
"""

from __future__ import annotations

import datetime
import gc
import os
import random
import re
import sys
import time
import tomllib
import uuid

import planted
import pytest
from effort import first_quick

from signrules import job_from_dict, load_plugins, sample_job
from signrules.documents.toml import to_toml
from signrules.documents.writing import job_to_dict
from signrules.testing import (
    LAWS,
    ContractBroken,
    Raster,
    assert_rule_contract,
    jobs,
    rule_contract,
    rule_laws,
)
from signrules.testing.run_rules import placed_rules
from signrules.testing.trial import Trial, World

FEW = 20
FLAT = jobs(
    stated_gaps_only=True,
    references=("media",),
    max_passes=2,
    max_media=2,
    loads=1,
    handling=False,
    signs=False,
)
"""Jobs with gaps over the sheet, which are the same in every order."""


def clearances(job, order):
    """The clearance of each pass by the plain reference; a gap that is set again is the same over
    the sheet.
    """
    raster, found, printed = Raster(job), {}, set()
    for name in order:
        item = next(each for each in job.passes if each.id == name)
        plane = raster.plane(item, item.gap, printed)
        printed |= {name}
        found[f"passes.{name}"] = raster.clearance(item, plane, printed, set())
    return found


MISTAKES = [
    (
        planted.forgets_bow,
        "keeps its claims",
        {"jobs": FLAT, "monotone": {"media.*.bow": "up breaks"}},
    ),
    (planted.forgets_bow, "agrees with the reference", {"jobs": FLAT, "reference": clearances}),
    (
        planted.looks_at_its_own_sheet_and_not_at_the_band,
        "agrees with the reference",
        {"jobs": FLAT, "reference": clearances},
    ),
    (planted.nominal_instead_of_the_bad_end, "minds tolerances", {}),
    (planted.state_between_calls, "answers alike", {}),
    (planted.raises_the_second_time, ("raises nothing", "answers alike"), {}),
    (planted.remembers_the_most_layers, "answers alike", {}),
    (planted.says_more_the_third_time, "answers alike", {}),
    (planted.depends_on_ids, "goes by no names", {}),
    (planted.depends_on_the_order_of_tables, "goes by no names", {}),
    (planted.depends_on_the_hash_of_texts, "answers alike elsewhere", {}),
    (planted.raises_where_a_field_is_left_out, "raises nothing", {}),
    (planted.wrong_unit_now_and_then, "says what it means", {}),
    (planted.micrometres_against_millimetres, "its examples hold", {}),
    (planted.names_a_subject_that_does_not_exist, "says what it means", {}),
    (planted.misses_a_field_that_nobody_knows, "says what it means", {}),
    (planted.silent_on_a_missing_field, "is never silent", {}),
    (planted.silent_on_a_missing_word, "is never silent", {}),
    (planted.silent_on_a_missing_text, "is never silent", {}),
    (planted.silent_on_a_missing_word_that_decides_on_the_limit, "is never silent", {}),
    (
        planted.not_monotone_as_it_claims,
        "keeps its claims",
        {"monotone": {"passes.*.layers": "up never mends"}},
    ),
    (planted.ignores_a_setting, "its settings count", {}),
    (
        planted.tightening_mends,
        "keeps its claims",
        {"monotone": {"settings.most": "up never breaks"}},
    ),
    (planted.changes_its_settings, "changes nothing", {}),
    (planted.changes_the_job, "changes nothing", {}),
    (planted.changes_the_replay, "changes nothing", {}),
    (planted.its_example_does_not_break_it, "its examples hold", {}),
    (planted.its_example_does_not_meet_it, "its examples hold", {}),
    (planted.has_no_example, "its examples hold", {}),
    (planted.asks_for_the_time, "asks nothing else", {}),
    (planted.asks_for_the_day, "asks nothing else", {}),
    (planted.throws_a_die, ("answers alike", "asks nothing else"), {}),
    (planted.gives_no_advice, "says what it means", {}),
    (planted.does_not_say_what, "says what it means", {}),
    (planted.says_its_level_in_a_word, "says what it means", {}),
    (planted.has_no_limit, "says what it means", {}),
    (planted.judges_by_itself, "says what it means", {}),
    (planted.cannot_be_written, ("says what it means", "can be written down"), {}),
    (
        planted.cannot_be_written,
        "can be written down",
        {"but": {"says what it means": "tried above"}},
    ),
    (planted.finds_what_json_has_no_word_for, "raises nothing", {}),
    (planted.sound, "keeps its claims", {"monotone": {"printer.base_gap": "up breaks"}}),
]
ON_THE_SAMPLE = (
    "its examples hold",
    "its settings count",
    "answers alike elsewhere",
    "is never silent",
)
"""Laws about the sample job itself, which is no small one, or that may find the mistake there
first.
"""

TRIED_LONG = ("keeps its claims", "agrees with the reference", *ON_THE_SAMPLE)
"""Laws that take a second or more to be found broken."""

QUICK = [mistake for mistake in MISTAKES if mistake[1] not in TRIED_LONG]
BY_LAW = first_quick(len(QUICK), QUICK + [each for each in MISTAKES if each not in QUICK])


@pytest.mark.parametrize("mistake", BY_LAW, ids=lambda each: f"{each[0].name}-{each[1]}")
def test_a_planted_mistake_is_found_with_a_small_job(mistake):
    rule, law, options = mistake
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(rule, max_examples=FEW, **options)
    broken = found.value
    assert broken.rule == rule.name
    assert broken.law in ((law,) if isinstance(law, str) else law)
    if broken.law not in ON_THE_SAMPLE:
        assert len(broken.job.passes) <= 2
        assert len(broken.job.media) <= 2
        assert len(broken.job.signs) <= 1
        assert len(to_toml(job_to_dict(broken.job)).splitlines()) <= 60


@pytest.mark.slow
@pytest.mark.parametrize(
    ("rule", "text", "options"),
    [
        (
            planted.remembers_the_most_layers,
            "it answered otherwise after it had judged another job",
            {},
        ),
        (
            planted.says_more_the_third_time,
            "asked twice, it answered with 1 checks and then with 2",
            {},
        ),
        (planted.says_its_level_in_a_word, "expected a Level and a Source", {}),
        (
            planted.judges_by_itself,
            "its outcome does not follow from what was measured and the limit",
            {},
        ),
        (
            planted.finds_what_json_has_no_word_for,
            "a check does not come back from JSON as it was",
            {},
        ),
        (
            planted.sound,
            "nothing is broken, and the claim is 'printer.base_gap': 'up breaks'",
            {"monotone": {"printer.base_gap": "up breaks"}},
        ),
    ],
)
def test_what_speaks_against_it_is_said(rule, text, options):
    planted.forget()
    # One sheet and one pass, so that the first answer differs in nothing but what is planted.
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(
            rule, jobs=jobs(max_passes=1, max_media=1), max_examples=FEW, **options
        )
    assert text in found.value.problem


def problems(law, rule):
    """Everything that speaks against a rule in the sample job, not only the first."""
    trial = Trial(job_from_dict(sample_job()), World(load_plugins()))
    return list(law(trial, placed_rules(rule)[0]))


def test_a_law_says_all_that_speaks_against_a_rule():
    passes = [f"passes.{name}" for name in ("ground", "dots", "letters", "ink-on-dots")]
    told = problems(rule_laws.says_what_it_means, planted.does_not_say_what)
    assert told == [f"{subject}: a check does not say what it is about" for subject in passes]
    told = problems(rule_laws.can_be_written_down, planted.cannot_be_written)
    assert [one.partition(":")[0] for one in told] == passes
    assert all("surrogates not allowed" in one for one in told)
    assert problems(rule_laws.changes_nothing, planted.always_raises) == []
    assert len(problems(rule_laws.raises_nothing, planted.always_raises)) == len(passes)


def test_both_examples_are_asked_for_and_tried():
    def told(rule):
        return [
            problem
            for problem, _ in rule_contract._examples_hold(
                placed_rules(rule)[0], World(load_plugins())
            )
        ]

    first, second = told(planted.has_no_example)
    assert first.startswith("it has no example: give breaks=")
    assert second.startswith("it has no example: give meets=")
    first, second = told(planted.its_examples_are_of_another_job)
    assert first.startswith("breaks={'passes.nobody.layers': 30} does not fit the sample job: ")
    assert second.startswith("meets={'passes.nobody.layers': 3} does not fit the sample job: ")


def test_what_the_reference_raises_is_told_with_the_job():
    def reference(job, order):
        raise ZeroDivisionError("by the reference")

    with pytest.raises(ContractBroken, match="it came to ZeroDivisionError: by the reference"):
        assert_rule_contract(planted.sound, reference=reference, max_examples=1)


@pytest.mark.slow
def test_another_python_is_not_asked_where_that_law_is_left_out(monkeypatch):
    asked = []
    monkeypatch.setattr(
        rule_contract.other_python, "hash_differences", lambda *args: asked.append(args) or []
    )
    assert_rule_contract(
        planted.sound,
        max_examples=1,
        but={"answers alike elsewhere": "it is asked there elsewhere"},
    )
    assert asked == []
    assert_rule_contract(planted.sound, max_examples=1)
    assert len(asked) == 1


@pytest.mark.thorough
def test_of_several_rules_the_one_that_breaks_a_law_is_named():
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(
            [planted.sound, planted.gives_no_advice, planted.has_no_example], max_examples=FEW
        )
    assert (found.value.rule, found.value.law) == ("planted.no-advice", "says what it means")


@pytest.mark.slow
def test_a_claim_on_a_setting_is_for_the_rules_that_have_it():
    claims = {"settings.most": "up never breaks"}
    both = [planted.sound, planted.its_limit_is_a_setting]
    assert_rule_contract(both, monotone=claims, max_examples=FEW)
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(
            [planted.sound, planted.tightening_mends], monotone=claims, max_examples=FEW
        )
    assert (found.value.rule, found.value.law) == ("planted.mends", "keeps its claims")


@pytest.mark.slow
@pytest.mark.parametrize(
    "pattern",
    ["settings.beauty", "passes.*.layer", "passes.nobody.layers", "signs.*.kind", "nowhere"],
)
def test_a_claim_that_nothing_was_held_to_is_told(pattern):
    claims = {"settings.most": "up never breaks", pattern: "up never breaks"}
    with pytest.raises(
        ValueError,
        match=re.escape(f"the claim on {pattern} was never tried: expected the path of a"),
    ):
        assert_rule_contract(planted.its_limit_is_a_setting, monotone=claims, max_examples=5)
    without = {"keeps its claims": "they are tried elsewhere"}
    assert_rule_contract(
        planted.its_limit_is_a_setting, monotone=claims, but=without, max_examples=5
    )


@pytest.mark.slow
def test_a_reference_that_says_nothing_is_told():
    with pytest.raises(ValueError, match="the reference named no subject of any job"):
        assert_rule_contract(planted.sound, reference=lambda job, order: {}, max_examples=5)
    without = {"agrees with the reference": "there is none yet"}
    assert_rule_contract(
        planted.sound, reference=lambda job, order: {}, but=without, max_examples=5
    )


@pytest.mark.slow
def test_a_claim_on_a_setting_ends_where_the_setting_does():
    # 10 000 times 2 layers would break the check in the end, and the settings allow no more than
    # 50.
    assert_rule_contract(
        planted.asks_for_layers, monotone={"settings.least": "up breaks"}, max_examples=FEW
    )
    claim = {"settings.least": "up never breaks"}
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(planted.asks_for_layers, monotone=claim, max_examples=FEW)
    assert "settings.least = 3 broke it" in found.value.problem


@pytest.mark.parametrize(
    "ask",
    [
        lambda: time.strftime("%Y"),
        time.ctime,
        time.monotonic_ns,
        time.perf_counter_ns,
        time.process_time,
        lambda: datetime.datetime.now(datetime.UTC),
        lambda: os.urandom(4),
        uuid.uuid4,
        lambda: random.SystemRandom().random(),
    ],
)
def test_other_clocks_and_chances_are_watched_too(ask):
    asking = planted.planted("asking", "job", breaks={}, meets={})(
        lambda item: [ask() for _ in range(1)][1:]
    )
    (told,) = problems(rule_laws.asks_nothing_else, asking)
    assert told.startswith("it asked ")


def test_where_a_profiler_is_at_work_no_clock_is_watched():
    assert len(problems(rule_laws.asks_nothing_else, planted.asks_for_the_time)) == 1

    def profiler(frame, event, called):
        pass

    before = sys.getprofile()
    sys.setprofile(profiler)
    try:
        told = problems(rule_laws.asks_nothing_else, planted.asks_for_the_time)
        still = sys.getprofile()
    finally:
        sys.setprofile(before)
    assert told == []
    assert still is profiler


def test_the_collecting_of_garbage_is_left_as_it_was():
    assert gc.isenabled()
    gc.disable()
    try:
        with pytest.raises(ContractBroken) as found:
            assert_rule_contract(planted.asks_for_the_time, max_examples=1)
        assert found.value.law == "asks nothing else"
        assert not gc.isenabled()
    finally:
        gc.enable()


@pytest.mark.slow
def test_a_sound_rule_keeps_every_law():
    monotone = {"passes.*.layers": "up breaks"}
    assert_rule_contract(planted.sound, max_examples=FEW, monotone=monotone)


def test_the_failure_says_which_law_in_words_and_prints_a_job_that_can_be_read():
    with pytest.raises(AssertionError) as found:
        assert_rule_contract(planted.raises_where_a_field_is_left_out, max_examples=FEW)
    text = str(found.value)
    assert "breaks the law 'raises nothing'" in text
    assert LAWS["raises nothing"] in text
    assert "TypeError" in text or "AttributeError" in text
    document = tomllib.loads(text[text.index("signrules = 1") :])
    assert job_from_dict(document) == found.value.job


def test_small_means_small_numbers_too():
    with pytest.raises(ContractBroken) as found:
        assert_rule_contract(planted.raises_where_a_field_is_left_out, max_examples=FEW)
    (item,) = found.value.job.passes
    assert item.layers == 1
    assert found.value.job.handling == ()


@pytest.mark.slow
def test_a_law_may_be_left_out_with_a_reason_only():
    with pytest.raises(ValueError, match="found no reason for"):
        assert_rule_contract(planted.has_no_example, but={"its examples hold": ""})
    with pytest.raises(ValueError, match="expected one of"):
        assert_rule_contract(planted.has_no_example, but={"is beautiful": "never mind"})
    with pytest.raises(ValueError, match="up never mends"):
        assert_rule_contract(planted.sound, monotone={"passes.*.layers": "upwards"})
    but = {"its examples hold": "it is new, and its examples come later"}
    assert_rule_contract(planted.has_no_example, but=but, max_examples=5)
