"""Slips in plugins that nobody would notice: told when the plugin is loaded, or a fault of the
evaluation.
"""

from __future__ import annotations

import importlib
import json
import sys
from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import (
    Interval,
    Level,
    RuleSet,
    check,
    hookimpl,
    load_plugins,
    missing,
    rule,
    shop_practice,
)
from signrules.documents.fields import why_no_field

JOB = signrules.job_from_dict(sign_job())
SOURCE = shop_practice("an invented house rule")
DOC = "A thing.\n\nWhy it matters: a test.\nA job that breaks it: any.\nOne that meets it: none.\n"


def declared(function, name="slips.thing", each="pass", **more):
    function.__doc__ = DOC
    return rule(name, each=each, source=SOURCE, **more)(function)


def thing(item):
    yield check("layers", measured=item.layers, least=1, unit="layers")


def plugin(*rules, name="slips", **hooks):
    made = {key: hookimpl(value) for key, value in hooks.items()}
    if rules:
        made["signrules_rule_sets"] = hookimpl(
            lambda: [RuleSet(rules[0].name.partition(".")[0], rules)]
        )
    return SimpleNamespace(__name__=name, **made)


def why_not_loaded(made):
    """Why a plugin is not loaded; the evaluation with it is then incomplete."""
    plugins = load_plugins(objects=[made])
    assert not signrules.evaluate(JOB, plugins=plugins).complete
    (failed,) = plugins.failed
    return failed.error


def faults_of(made):
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[made]))
    assert not result.order_is_safe or not result.faults
    return [fault.error for fault in result.faults]


# --- hooks that answer nothing --------------------------------------------------------------------


@pytest.mark.parametrize("hook", ["signrules_precedence", "signrules_quantities"])
def test_a_hook_that_gives_back_none_is_a_fault(hook):
    (error,) = faults_of(plugin(**{hook: lambda job: None}))
    assert f"{hook} gave back None, expected" in error
    assert "a `yield` or a `return` may be missing" in error


@pytest.mark.parametrize("answer", [(), [], iter(())])
def test_nothing_to_say_is_an_answer(answer):
    assert faults_of(plugin(signrules_precedence=lambda job: answer)) == []
    assert faults_of(plugin(signrules_quantities=lambda job: {})) == []


@pytest.mark.parametrize("answer", [0, "", {}, False])
def test_nothing_of_another_kind_is_none(answer):
    (error,) = faults_of(plugin(signrules_precedence=lambda job: answer))
    assert f"gave back {answer!r}, expected tuples" in error


def test_what_a_generator_returns_is_not_lost():
    def pairs(job):
        if not job.passes:
            yield ("a", "b", "never")
        return [("ground", "dots", "lost")]

    def sets():
        if JOB.handling:
            yield RuleSet("slips", ())
        return [RuleSet("slips", (declared(thing),))]

    def early(item):
        if item.layers > 1:
            return missing("printer.max_throw")
        yield check("layers", measured=item.layers, most=1, unit="layers")

    (error,) = faults_of(plugin(signrules_precedence=pairs))
    assert "it returned [('ground', 'dots', 'lost')] where it should `yield` it" in error
    assert "it returned [RuleSet(" in why_not_loaded(plugin(signrules_rule_sets=sets))
    (error,) = faults_of(plugin(declared(early)))
    assert "it returned Draft(" in error


def test_a_rule_that_yields_nothing_is_told_how():
    def silent(item):
        check("layers", measured=item.layers, most=1, unit="layers")

    def gives_back(item):
        return check("layers", measured=item.layers, most=1, unit="layers")

    errors = faults_of(plugin(declared(silent)))
    assert len(errors) == len(JOB.passes)
    assert "it gave back None: write `yield`" in errors[0]
    assert "gave back a check" in faults_of(plugin(declared(gives_back)))[0]


# --- told when loaded -----------------------------------------------------------------------------


def module_of(tmp_path, text, name="own_shop"):
    file = tmp_path / f"{name}.py"
    start = "from signrules import Level, RuleSet, check, hookimpl, rule, setting, shop_practice\n"
    doc = '"""' + DOC.rstrip().replace("\n", "\n    ") + '"""'
    file.write_text(start + text.replace("DOC", doc), encoding="utf-8")
    return file


def why_no_module(tmp_path, text):
    (failed,) = load_plugins(files=[module_of(tmp_path, text)]).failed
    return failed.error


ONE = """
@rule("own.one", each="pass", source=shop_practice("x"))
def one(item):
    DOC
    yield check("layers", measured=item.layers, least=1, unit="")
"""
TWO = ONE.replace("one", "two")
SETS = """
@hookimpl
def signrules_rule_sets():
    return [RuleSet("own", [one])]
"""


def test_a_rule_that_stands_in_no_set(tmp_path):
    assert load_plugins(files=[module_of(tmp_path, ONE + SETS)]).failed == ()
    for text in (ONE + TWO + SETS, ONE + TWO.replace("own.two", "other.two") + SETS):
        error = why_no_module(tmp_path, text)
        assert "would never run: give them back in a RuleSet" in error
        assert "two" in error
    assert "the rule 'own.one' would never run" in why_no_module(tmp_path, ONE)
    made = plugin(declared(thing))
    made.other = declared(thing, "slips.other")
    assert "'slips.other' would never run" in why_not_loaded(made)


def test_a_rule_in_another_module_of_the_package_that_stands_in_no_set(tmp_path, monkeypatch):
    package = tmp_path / "ownshop"
    package.mkdir()
    module_of(package, ONE + TWO, "laws")
    (package / "__init__.py").write_text("")
    module_of(package, "from ownshop.laws import one\n" + SETS, "plugin")
    monkeypatch.syspath_prepend(tmp_path)
    made = importlib.import_module("ownshop.plugin")
    try:
        assert "'own.two' would never run" in why_not_loaded(made)
        assert (
            load_plugins(objects=[SimpleNamespace(__name__="borrows", one=made.one)]).failed != ()
        )
    finally:
        for name in ("ownshop", "ownshop.laws", "ownshop.plugin"):
            sys.modules.pop(name, None)


def test_a_rule_of_others_that_is_only_imported_is_none_of_the_plugin(tmp_path):
    text = "from signrules.rules.clearance import clearance_strike\n" + ONE + SETS
    assert load_plugins(files=[module_of(tmp_path, text)]).failed == ()


def test_a_hook_or_a_rule_that_is_defined_twice(tmp_path):
    again = SETS.replace("[one]", "[]")
    error = why_no_module(tmp_path, ONE + SETS + again)
    assert error.startswith(
        "signrules_rule_sets is defined on lines 13 and 17: only the last counts"
    )
    assert "one is defined on lines " in why_no_module(
        tmp_path, ONE + ONE.replace("own.one", "own.more") + SETS
    )
    undecorated = SETS.replace("@hookimpl", "")
    assert "signrules_rule_sets is defined on lines" in why_no_module(
        tmp_path, ONE + undecorated + SETS
    )
    twice = "def helper(): ...\ndef helper(): ...\n"
    assert load_plugins(files=[module_of(tmp_path, twice + ONE + SETS)]).failed == ()


class Twice:
    @hookimpl
    def signrules_precedence(self, job):
        return []

    @hookimpl
    def signrules_precedence(self, job):  # noqa: F811
        return []


def test_a_hook_that_is_defined_twice_in_a_class():
    assert "signrules_precedence is defined on lines" in why_not_loaded(Twice())


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("signrules_apis", "signrules_api"),
        ("signrules_API", "signrules_api"),
        ("signrule_api", "signrules_api"),
        ("sign_rules_api", "signrules_api"),
        ("signrules_setting", "signrules_settings"),
        ("signrules_setings", "signrules_settings"),
        ("SIGNRULES_SETTINGS", "signrules_settings"),
        ("signrules_rulesets", "signrules_rule_sets"),
        ("signrules_precedences", "signrules_precedence"),
        ("sigrules_quantities", "signrules_quantities"),
    ],
)
def test_names_that_are_almost_read(name, near):
    error = why_not_loaded(SimpleNamespace(__name__="slips", **{name: "1.0"}))
    assert error == f"{name} is called almost like {near}: write {near}, or call it something else"


@pytest.mark.parametrize(
    "name", ["settings", "api", "standards", "rules", "precedence", "signrules", "_signrules_apis"]
)
def test_names_that_are_no_slips(name):
    assert load_plugins(objects=[SimpleNamespace(__name__="fine", **{name: "1.0"})]).failed == ()


def test_modules_are_no_slips(tmp_path):
    text = "import signrules as signrules_api_of_ours\nimport json as signrules_apis\n"
    assert load_plugins(files=[module_of(tmp_path, text)]).failed == ()


@pytest.mark.parametrize("level", [Level.REVIEW, Level.NOTE])
def test_only_a_rule_of_level_stop_decides(level):
    with pytest.raises(
        signrules.RuleError, match=r"decides=True and level=.*expected level=Level\.STOP"
    ):
        declared(thing, level=level, decides=True)
    declared(thing, level=Level.STOP, decides=True)


def test_every_built_in_rule_that_decides_is_of_level_stop():
    deciding = [one.rule for one in load_plugins().rules if one.rule.decides]
    assert len(deciding) > 5
    assert {one.level for one in deciding} == {Level.STOP}


@pytest.mark.parametrize("name", ["clearance", "braille", "waivers", "document"])
def test_nobody_adds_rules_to_a_set_that_is_built_in(name):
    error = why_not_loaded(plugin(declared(thing, f"{name}.ours")))
    assert error.startswith(f"the set {name} belongs to signrules and takes no rules of others")


def test_a_rule_is_no_coroutine():
    async def later(item):
        pass

    async def yields_later(item):
        yield missing("printer.max_throw", "how far drops fly")

    for function in (later, yields_later):
        with pytest.raises(
            signrules.RuleError, match="expected a function that yields checks, got async def"
        ):
            declared(function)


# --- what a rule yields ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "instead"),
    [
        ("printer.maximum_throw", "'max_throw' perhaps"),
        ("media.panel.holds", "'hold' perhaps"),
        ("printers.max_throw", "'printer' perhaps"),
        ("the hold of the sheet", "one of "),
        ("", "a path into the job"),
    ],
)
def test_what_is_missing_must_be_a_field(path, instead):
    def lacks(item):
        yield missing(path, "a thing")

    (error,) = faults_of(plugin(declared(lacks, each="job")))
    assert (
        f"a check with missing {path!r}, expected a field of the job document: {instead}" in error
    )


SAMPLE = signrules.job_from_dict(signrules.sample_job())


@pytest.mark.parametrize(
    ("path", "instead"),
    [
        ("printer.max_throw", None),
        ("printer.locating.pins", None),
        ("printer.locating.anything", None),
        ("printer.locating.pins.x", "nothing more: this is a plain value"),
        ("printer.moving_bed.acceleration", None),
        ("printer.gap.control", None),
        ("printer.gap.spacers", None),
        ("printer.gap.steps", "'step' perhaps"),
        ("passes.dots.gap.extra", None),
        ("passes.dots.gap.above", None),
        ("passes.dots.gap.reference", "one of 'extra', 'above', 'head_above_bed'"),
        ("passes.dotz.layers", "'dots' perhaps"),
        ("passes[0].layers", None),
        ("passes[9].layers", "one of 'ground', 'dots', 'letters', 'ink-on-dots'"),
        ("media", None),
        ("media.panel", None),
        ("media.panel.size", None),
        ("signs.room-214.braille.dot_height", None),
        ("signs.room-214.measured.dot_height", None),
        ("alignments[0].date", None),
        ("registration_tolerance", None),
        ("registration_tolerance.x", "nothing more: this is a plain value"),
        ("printer.max_throw.x", "nothing more: this is a plain value"),
    ],
)
def test_fields_that_a_document_could_state(path, instead):
    assert why_no_field(SAMPLE, path) == instead


def test_a_plain_number_needs_its_unit():
    with pytest.raises(
        ValueError, match=r"the gap: a plain number needs its unit, such as unit='mm'"
    ):
        check("the gap", measured=0.5, least=0)
    assert check("the gap", measured=Interval.exact(0.5), least=0).unit == "mm"
    assert check("the passes", measured=3, least=0, unit="").unit == ""


# --- who says so ----------------------------------------------------------------------------------


def late(name, first, then, why):
    return plugin(name=name, signrules_precedence=lambda job: [(first, then, why)])


def test_a_plugin_that_closes_a_circle_is_named_in_the_conflict():
    made = late("our-shop", "ink-on-dots", "dots", "colour goes first")
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[made]))
    assert (
        "ink-on-dots must come before dots: colour goes first (plugin our-shop)."
        in result.conflict.reasons
    )
    (cycle,) = [one for one in result.checks if one.rule == "order.cycle"]
    assert "colour goes first (plugin our-shop)" in cycle.message


def test_plugins_that_contradict_each_other_are_both_named():
    one, other = (
        late("one", "ground", "dots", "low first"),
        late("other", "dots", "ground", "high first"),
    )
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[one, other]))
    said = " ".join(result.conflict.reasons)
    assert "low first (plugin one)" in said
    assert "high first (plugin other)" in said


def test_all_plugins_that_a_sequence_goes_against_are_named():
    order = [item.id for item in JOB.items]
    at = order.index("dots")
    made = [late(name, order[-1], "dots", f"{name} says so") for name in ("one", "other")]
    job = signrules.job_from_dict(sign_job() | {"sequence": order})
    assert at < len(order) - 1
    result = signrules.evaluate(job, plugins=load_plugins(objects=made))
    broken = [
        one.message
        for one in result.checks
        if one.rule == "order.sequence" and one.outcome == "BROKEN"
    ]
    assert len(broken) == 1
    assert "one says so (plugin one); other says so (plugin other)" in broken[0]


def test_a_plugin_that_orders_a_pass_by_way_of_handling_is_named():
    document = sign_job() | {"handling": [{"id": "wait", "does": "pause"}]}
    pairs = [
        ("dots", "wait", "it cools"),
        ("wait", "ground", "it cools"),
        ("ground", "dots", "our way"),
    ]
    made = plugin(name="cooling", signrules_precedence=lambda job: pairs)
    result = signrules.evaluate(
        signrules.job_from_dict(document), plugins=load_plugins(objects=[made])
    )
    assert result.conflict is not None
    assert all("(plugin cooling)" in reason for reason in result.conflict.reasons)


def test_why_an_order_names_the_plugin():
    letters_first = late("our-shop", "letters", "dots", "letters first")
    result = signrules.evaluate(SAMPLE, plugins=load_plugins(objects=[letters_first]))
    said = [place.text for place in signrules.account(result.plan)]
    assert "letters first (plugin our-shop)" in said


def test_every_check_says_which_plugin_it_comes_from():
    made = plugin(declared(thing), name="our-shop")
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[made]))
    found = {
        (one["rule"] == "slips.thing", one["plugin"])
        for one in result.to_dict(remedies=False)["checks"]
    }
    assert found == {(True, "our-shop"), (False, "signrules")}


def test_a_table_of_a_plugin_that_was_not_loaded_is_named_with_the_reason(tmp_path):
    file = module_of(tmp_path, "raise OSError('no table today')", "town")
    plugins = load_plugins(files=[file])
    job = signrules.job_from_dict(sign_job() | {"standards": ["town-tactile"]})
    with pytest.raises(signrules.JobError) as found:
        signrules.evaluate(job, plugins=plugins)
    assert "it may be one of the plugin town, which was not loaded: OSError: no table today" in str(
        found.value
    )
    document = sign_job() | {"printer": {"use": "town-flatbed"}}
    with pytest.raises(signrules.JobError) as found:
        signrules.job_from_dict(document, plugins=plugins)
    assert "it may be one of the plugin town, which was not loaded: OSError: no table today" in str(
        found.value
    )
    with pytest.raises(signrules.JobError) as found:
        signrules.evaluate(job)
    assert "which was not loaded" not in str(found.value)
    json.dumps(str(found.value))
