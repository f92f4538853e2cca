"""What the author of a rule is told where its declaration, its settings or its checks are not what
they must be.
"""

from __future__ import annotations

import signal

import pytest
from attrs import evolve, frozen
from scenario import sign_job

import signrules
from signrules import (
    Level,
    RuleSet,
    check,
    load_plugins,
    missing,
    rule,
    setting,
    shop_from_dict,
    shop_practice,
)
from signrules.documents.refusal import Refused
from signrules.rules.containment import Contained, call_contained, describe_error
from signrules.rules.engine import PlacedRule
from signrules.rules.settings import settings_from, settings_of
from signrules.rules.sound_drafts import demand_limit, demand_sound
from signrules.testing.run_rules import facts_of, run_placed

JOB = signrules.job_from_dict(sign_job())
DOC = "A thing.\n\nWhy it matters: it does.\nA job that breaks it: any.\nOne that meets it: none.\n"


def declared(function=None, **more):
    def plain(item):
        yield check("x", measured=1, least=0, unit="mm")

    function = plain if function is None else function
    function.__doc__ = DOC
    return rule(**{"name": "ourshop.thing", "each": "pass", "source": shop_practice("x"), **more})(
        function
    )


@frozen
class Limit:
    most: float = setting(3.0, unit="mm", doc="the most of it")


@frozen
class Counts:
    count: list[int] = setting((), doc="how many")  # noqa: RUF009


@frozen
class Ill:
    most: int = setting(0.5, doc="the most of it")


@frozen
class Nameless:
    most: Nowhere = setting(1, doc="of a type that nobody knows")  # noqa: F821, RUF009


@frozen
class Ordered:
    words: tuple[str, ...] = setting(("a",), doc="words")
    least: float = setting(1.0, doc="the least of it")
    most: float = setting(2.0, doc="the most of it")

    def __attrs_post_init__(self):
        if self.least > self.most:
            raise ValueError("the least is above the most")


def with_settings(item, settings):
    yield check("x", measured=1, least=0, unit="mm")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: declared(source="a norm"), "source='a norm', expected a source"),
        (lambda: declared(level="GRAVE"), "level='GRAVE', expected one of STOP, REVIEW, NOTE"),
        (
            lambda: rule("ourshop.x", each="pass", source=shop_practice("x"))(7),
            "expected a function that yields checks, got int",
        ),
        (lambda: declared(with_settings), "declares no class of them"),
        (lambda: declared(settings=Limit), "declares settings and does not ask for them"),
        (
            lambda: declared(with_settings, settings=Counts),
            r"Counts.count: expected a type of .*, got list\[int\]",
        ),
        (
            lambda: declared(with_settings, settings=Ill),
            "Ill.most: its default is 0.5, expected a whole number",
        ),
        (
            lambda: declared(with_settings, settings=Nameless),
            "rule ourshop.thing: settings Nameless: .*'Nowhere'",
        ),
        (
            lambda: RuleSet("ourshop", [7]),
            "rule set ourshop: expected rules made with @rule, got 7",
        ),
        (
            lambda: RuleSet("yours", [declared()]),
            "its rules must be called yours.something, got ourshop.thing",
        ),
        (
            lambda: RuleSet("ourshop", [declared(), declared()]),
            "two rules are called ourshop.thing",
        ),
    ],
)
def test_what_is_wrong_is_said(make, said):
    with pytest.raises(signrules.RuleError, match=said):
        make()


def test_parameters_that_take_anything():
    def many(*item):
        yield check("x", measured=1, least=0, unit="mm")

    with pytest.raises(signrules.RuleError, match=r"expected plain parameters, got \*item"):
        declared(many)


def test_settings_that_are_right_one_by_one_and_not_together():
    assert settings_from(Ordered, {"words": ["b", "c"], "least": 2}).words == ("b", "c")
    with pytest.raises(Refused) as caught:
        settings_from(Ordered, {"least": 3})
    assert "the least is above the most" in str(caught.value.faults[0])


@pytest.mark.parametrize("value", ["many", True, float("inf")])
def test_a_setting_that_is_no_number(value):
    with pytest.raises(Refused) as caught:
        settings_from(Ordered, {"most": value})
    assert caught.value.faults[0].path == "most"
    assert caught.value.faults[0].expected == "a number"


def test_a_draft_is_sound_to_its_last_field():
    draft = check("x", measured=1, least=0, others=("job",), unit="mm")
    demand_sound(draft, JOB)
    with pytest.raises(ValueError, match="a check with strictly 1, expected True or False"):
        demand_sound(evolve(draft, strictly=1), JOB)
    with pytest.raises(ValueError, match=r"a check with others 'passes\.nobody'"):
        demand_sound(evolve(draft, others=("passes.nobody",)), JOB)


def test_a_check_says_what_it_compares():
    with pytest.raises(ValueError, match="a check with what ' ', expected words for what"):
        demand_sound(check(" ", measured=1, least=0, unit="mm"), JOB)


NO_LIMIT = check("the reach", measured=1, unit="mm")


@pytest.mark.parametrize("level", [Level.STOP, Level.REVIEW])
def test_a_comparison_with_nothing_is_refused(level):
    with pytest.raises(
        ValueError, match=rf"check\('the reach', ...\) of level {level} has no limit"
    ):
        demand_limit(NO_LIMIT, level)


def test_a_note_needs_no_limit_and_one_limit_will_do():
    demand_limit(NO_LIMIT, Level.NOTE)
    demand_limit(missing("printer.max_throw", "the reach"), Level.STOP)
    for limit in ({"least": 0}, {"most": 2}, {"above": 0}):
        demand_limit(check("the reach", measured=1, unit="mm", **limit), Level.STOP)


def test_a_limit_that_the_job_leaves_out_is_a_fault_and_no_pass():
    def reach(item, printer):
        yield check("the reach", measured=1, most=printer.max_throw, unit="mm")

    facts = facts_of(evolve(JOB, printer=evolve(JOB.printer, max_throw=None)), load_plugins())
    placed = PlacedRule(declared(reach), "ourshop", "0", foreign=True)
    checks, faults = run_placed([placed], facts)
    assert checks == []
    assert {fault.subject for fault in faults} == {f"passes.{item.id}" for item in JOB.passes}
    assert "has no limit, so it would always be met" in faults[0].error


@pytest.mark.parametrize("foreign", [True, False])
def test_a_note_without_a_limit_that_a_shop_makes_more_of_is_a_fault(foreign):
    def reach(item):
        yield check("the reach", measured=1, unit="mm")

    rule_of_notes = declared(reach, level=Level.NOTE)
    facts = facts_of(JOB, load_plugins())
    as_declared = PlacedRule(rule_of_notes, "ourshop", "0", foreign=foreign)
    assert run_placed([as_declared], facts)[1] == []
    checks, faults = run_placed([evolve(as_declared, level=Level.STOP)], facts)
    assert checks == []
    assert "of level STOP has no limit" in faults[0].error


def test_a_built_in_rule_that_yields_no_check_fails_too():
    def rubbish(item):
        yield 42

    facts = facts_of(JOB, load_plugins())
    checks, faults = run_placed(
        [PlacedRule(declared(rubbish, each="job"), "signrules", "0", foreign=False)], facts
    )
    assert checks == []
    assert "expected check(...), one_of(...) or missing(...), got 42" in faults[0].error


def test_settings_for_a_rule_that_has_none_and_the_absence_of_one_that_must_be():
    document = {"signrules": 1, "rules": {"clearance": {"margin": {"settings": {"x": 1}}}}}
    with pytest.raises(signrules.ShopError, match="nothing: this rule has no settings"):
        signrules.evaluate(JOB, shop=shop_from_dict(document))
    document = {"signrules": 1, "rules": {"clearance": {"margin": {"reason": "we are careful"}}}}
    with pytest.raises(signrules.ShopError, match="reason: found 'we are careful', expected a lev"):
        signrules.evaluate(JOB, shop=shop_from_dict(document))
    document = {
        "signrules": 1,
        "rules": {"clearance": {"margin": {"accept_absence": "it is late"}}},
    }
    with pytest.raises(signrules.ShopError, match="a rule without which no order is safe"):
        signrules.evaluate(JOB, shop=shop_from_dict(document))


def from_the_keyboard():
    signal.raise_signal(signal.SIGINT)


def turned_into_another_error():
    try:
        from_the_keyboard()
    except KeyboardInterrupt:
        raise ValueError from None


def raised_again():
    try:
        from_the_keyboard()
    except KeyboardInterrupt as error:
        raise error


def raised_in_answer():
    try:
        from_the_keyboard()
    except KeyboardInterrupt:
        raise KeyboardInterrupt from None


@pytest.mark.parametrize(
    "call", [from_the_keyboard, turned_into_another_error, raised_again, raised_in_answer]
)
def test_an_interrupt_is_never_contained(call):
    with pytest.raises(KeyboardInterrupt):
        call_contained(call)


def test_an_interrupt_by_a_handler_of_the_signal_is_never_contained():
    def handler(number, frame):
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, handler)
    try:
        with pytest.raises(KeyboardInterrupt):
            call_contained(from_the_keyboard)
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize("kind", [KeyboardInterrupt, SystemExit, GeneratorExit])
def test_what_looks_like_an_interrupt_and_was_raised_by_the_code_itself_is_contained(kind):
    def mistaken():
        raise kind

    with pytest.raises(Contained, match=kind.__name__):
        call_contained(mistaken)


def test_an_error_whose_text_cannot_be_asked_for():
    class Stubborn(Exception):
        def __str__(self):
            from_the_keyboard()

    class Mistaken(Exception):
        def __str__(self):
            raise KeyboardInterrupt

    class Mute(Exception):
        def __str__(self):
            raise ZeroDivisionError

    with pytest.raises(KeyboardInterrupt):
        describe_error(Stubborn())
    assert describe_error(Mistaken()) == "Mistaken: (no text: KeyboardInterrupt)"
    assert describe_error(Mute()) == "Mute: (no text: ZeroDivisionError)"
    with pytest.raises(Contained, match="it took longer than 0 s"):
        call_contained(lambda: sum(range(10)), seconds=0.0)


def test_an_error_is_told_in_a_line_that_can_be_read_however_long_its_text():
    told = describe_error(ValueError("too long\n" * 10_000))
    assert told.startswith("ValueError: too long too long")
    assert 100 < len(told) < 1_000
    assert describe_error(ValueError("short")) == "ValueError: short"


def test_what_ends_within_its_time_is_given_back():
    def sum_of_some():
        return sum(each for each in range(10))

    assert call_contained(sum_of_some, seconds=3600.0) == 45
    with pytest.raises(Contained, match="ZeroDivisionError"):
        call_contained(lambda: 1 // 0, seconds=3600.0)


def house_of(function):
    class House:
        @signrules.hookimpl
        def signrules_rule_sets(self):
            return [RuleSet("ourshop", (declared(function),))]

    return load_plugins(objects=[House()])


def test_a_rule_that_fails_within_its_time_judges_what_comes_after():
    def layers(item):
        if item.id == "dots":
            raise ValueError("no")
        yield check("layers", measured=item.layers, most=30, unit="layers")

    found = signrules.evaluate(JOB, plugins=house_of(layers), seconds=3600.0)
    assert [fault.subject for fault in found.faults] == ["passes.dots"]
    judged = [one.subjects[0] for one in found.checks if one.rule == "ourshop.thing"]
    assert judged == ["passes.ground", "passes.ink-on-dots"]


def test_a_rule_whose_time_is_up_is_asked_no_more():
    def never_ends(item):
        while True:
            pass
        yield

    found = signrules.evaluate(JOB, plugins=house_of(never_ends), seconds=0.05)
    assert [fault.subject for fault in found.faults] == ["passes.ground"]
    assert "took longer" in found.faults[0].error


def test_a_rule_that_has_time_enough_judges_as_without_a_limit():
    def layers(item):
        yield check("layers", measured=item.layers, most=30, unit="layers")

    plugins = house_of(layers)
    found = signrules.evaluate(JOB, plugins=plugins, seconds=3600.0)
    mine = [one.measured for one in found.checks if one.rule == "ourshop.thing"]
    assert mine == [signrules.Interval.exact(item.layers) for item in JOB.passes]
    assert found.faults == ()
    assert found.checks == signrules.evaluate(JOB, plugins=plugins).checks


def test_settings_that_refuse_their_own_defaults_are_told_as_such():
    @frozen
    class Layers:
        most: int = setting(3, doc="the most layers", unit="layers")

        def __attrs_post_init__(self):
            if self.most < 5:
                raise ValueError("at least 5 layers")

    with pytest.raises(signrules.RuleError, match="defaults are refused: at least 5 layers"):
        settings_of(Layers)
