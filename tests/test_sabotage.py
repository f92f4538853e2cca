"""Bad plugins, each contained: a fault names it, nothing is called safe, and every other check is
as without it.
"""

from __future__ import annotations

import asyncio
import itertools
import json
import time
from functools import cache
from types import SimpleNamespace

import pytest
from attrs import evolve, frozen
from effort import first_quick
from scenario import sign_job

import signrules
from signrules import (
    Interval,
    Level,
    RuleChange,
    RuleSet,
    Shop,
    check,
    hookimpl,
    load_plugins,
    missing,
    rule,
    setting,
    shop_practice,
)
from signrules.reports.text_report import evaluation_text

JOB = signrules.job_from_dict(sign_job())
RULE = "sabotage.bad"
SOURCE = shop_practice("an invented house rule")
DOC = (
    "A thing.\n\nWhy it matters: it is bad.\nA job that breaks it: any.\nOne that meets it: none.\n"
)


def declared(function, name=RULE, each="pass", **more):
    function.__doc__ = DOC
    return rule(name, each=each, source=SOURCE, **more)(function)


def fine(item, graph, timeline, heights, standards, printing):
    """A sound rule that reads what the bad ones spoil."""
    edges = sum(len(data) for _, _, data in graph.edges(data=True))
    yield check(
        "what it read", measured=edges + sum(len(s.rows) for s in standards), least=0, unit=""
    )
    yield check("the clearance", measured=printing.clearance, least=-100, unit="mm")
    yield check("the layers", measured=item.layers, least=1, unit="layers")


def plugin(name, *rules, **hooks):
    def signrules_rule_sets():
        return [
            RuleSet(group, tuple(some))
            for group, some in itertools.groupby(rules, lambda r: r.name.split(".")[0])
        ]

    hooks = {key: hookimpl(value) if callable(value) else value for key, value in hooks.items()}
    if rules:
        hooks["signrules_rule_sets"] = hookimpl(signrules_rule_sets)
    return SimpleNamespace(__name__=name, **hooks)


def beside():
    return plugin("beside", declared(fine, "beside.fine"))


def in_the_same_plugin():
    return declared(fine, "sabotage.fine")


# Rules that raise.


class Quit(BaseException):
    pass


class Mute(Exception):
    def __str__(self):
        raise SystemExit("no text")


def raiser(name, make):
    def bad(item):
        raise make()
        yield

    bad.__name__ = name
    return bad


def bad_after_one(item):
    yield check("fine so far", measured=1, least=0, unit="")
    raise ValueError("and then not")


def recurses(item):
    yield from recurses(item)


def deep_text(item):
    raise ValueError("x" * 1_000_000)
    yield


def odd_text(item):
    raise ValueError("\x1b[31m \udc80 \u202e \n")
    yield


def no_text_at_all(item):
    raise type("\udc80", (Exception,), {})("odd name")
    yield


# Rules that yield rubbish.


def yields(value, name):
    def bad(item):
        yield value

    bad.__name__ = name
    return bad


def returns(value, name):
    def bad(item):
        return value

    bad.__name__ = name
    return bad


def drafted(name, what="layers", measured=1, least=0, **changes):
    """A rule that yields a check of which something was changed behind the back of `check`."""

    def bad(item):
        made = check(what, measured=measured, least=least, unit="")
        for key, value in changes.items():
            object.__setattr__(made, key, value)
        yield made

    bad.__name__ = name
    return bad


def never_a_generator(item):
    return check("returned, not yielded", measured=1, least=0, unit="mm")


async def later():
    await asyncio.sleep(0)


def waits_for_nobody(item):
    return later()


class Liar:
    @property
    def __class__(self):
        return type(check("x", measured=1, least=0, unit="mm"))


class Text(str):
    """A text that cannot be written."""

    def __str__(self):
        raise SystemExit("not a text")

    def __format__(self, how):
        raise SystemExit("not a text")


def spoilt_interval(item):
    made = Interval.exact(1)
    object.__setattr__(made, "low", float("nan"))
    yield check("x", measured=made, least=0, unit="mm")


# Rules that do not end.


def never_ends(item):
    while True:
        yield check("x", measured=1, least=0, unit="mm")


def ends_badly(item):
    try:
        while True:
            yield check("x", measured=1, least=0, unit="mm")
    finally:
        raise RuntimeError("and when it is closed it raises")


def does_not_close(item):
    while True:
        try:
            yield check("x", measured=1, least=0, unit="mm")
        except GeneratorExit:
            yield check("not yet", measured=1, least=0, unit="mm")


def loops(item):
    while True:
        pass
    yield


def sleeps(item):
    time.sleep(0.08)
    yield check("x", measured=1, least=0, unit="mm")


def naps(item):
    for _ in range(1000):
        time.sleep(0.001)
    yield check("x", measured=1, least=0, unit="mm")


# Rules that change what they are given.


def sets(name, reach, key, value):
    def bad(item, job, timeline, heights, standards, printing):
        object.__setattr__(reach(SimpleNamespace(**locals())), key, value)
        yield check("x", measured=1, least=0, unit="mm")

    bad.__name__ = name
    return bad


class Explosive:
    """A value that fails when it is compared."""

    def __eq__(self, other):
        raise SystemExit("boom")

    def __ne__(self, other):
        raise SystemExit("boom")

    __hash__ = None


def deep_job(item, job):
    object.__setattr__(job, "passes", ())
    yield check("x", measured=1, least=0, unit="mm")


CHANGES = [
    sets("a_pass", lambda o: o.item, "layers", 1000),
    sets("the_job", lambda o: o.job, "registration_tolerance", 99.0),
    sets("all_passes", lambda o: o.job, "passes", ()),
    sets("a_sheet", lambda o: o.job.media[0].thickness, "high", 99.0),
    sets("the_printer", lambda o: o.job.printer, "min_clearance", 0.0),
    sets("an_explosive_job", lambda o: o.job, "name", Explosive()),
    sets("an_explosive_pass", lambda o: o.item, "layers", Explosive()),
    sets("the_replay", lambda o: o.printing, "clearance", Interval.exact(99)),
    sets("the_order", lambda o: o.timeline, "order", ()),
    sets("the_moves", lambda o: o.timeline, "moves", [(0, "nonsense")]),
    sets("a_standard", lambda o: o.standards[0], "rows", ()),
    sets("a_row", lambda o: o.standards[0].rows[0], "quantity", "nothing"),
    deep_job,
]

RAISES = [
    raiser("exception", lambda: ZeroDivisionError("one by nought")),
    raiser("base_exception", Quit),
    raiser("system_exit", lambda: SystemExit(0)),
    raiser("generator_exit", GeneratorExit),
    raiser("stop_iteration", lambda: StopIteration(3)),
    raiser("mute", Mute),
    raiser("memory", MemoryError),
    raiser("recursion", RecursionError),
    raiser("group", lambda: BaseExceptionGroup("several", [KeyError("one"), SystemExit(2)])),
    bad_after_one,
    recurses,
    deep_text,
    odd_text,
    no_text_at_all,
]
RUBBISH = [
    *(
        yields(v, f"yields_{n}")
        for n, v in {"number": 42, "none": None, "text": "x", "list": [1], "liar": Liar()}.items()
    ),
    *(
        returns(v, f"returns_{n}")
        for n, v in {"none": None, "number": 7, "text": "abc", "table": {"a": 1}}.items()
    ),
    never_a_generator,
    waits_for_nobody,
    drafted("what_is_no_text", what=3),
    drafted("what_is_an_odd_text", what=Text("x")),
    drafted("what_is_huge", what="x" * 1_000_000),
    drafted("what_has_surrogates", what="half \udc80"),
    drafted("what_has_control_characters", what="\x1b[2J"),
    drafted("unit_is_none", unit=None),
    drafted("advice_is_a_list", advice=["do"]),
    drafted("others_are_numbers", others=(1,)),
    drafted("others_is_a_text", others="passes.dots"),
    drafted("others_are_not_there", others=("passes.nowhere",)),
    drafted("level_is_a_text", level="STOP"),
    drafted("level_is_unheard_of", level="CATASTROPHE"),
    drafted("source_is_a_text", source="my word"),
    drafted("limit_is_a_text", least="0"),
    drafted("limit_is_infinite", most=float("inf")),
    drafted("found_is_a_number", found=3),
    drafted("allowed_is_none", allowed=None),
    yields(signrules.Draft("neither measured nor missing"), "yields_nothing_measured"),
    spoilt_interval,
    raiser("not_a_number", lambda: check("x", measured=float("nan"), least=0, unit="mm")),
    raiser("infinite", lambda: check("x", measured=float("inf"), least=0, unit="mm")),
]
ENDLESS = [never_ends, ends_badly, does_not_close]
SLOW = [loops, sleeps, naps]
QUICK = [one for some in (RAISES, RUBBISH, CHANGES) for one in first_quick(4, some)]


@cache
def without_it():
    return signrules.evaluate(JOB, plugins=load_plugins(objects=[beside()]))


def all_but(name, checks):
    return [one for one in checks if one.rule != name]


def held(result, rule_name, plugin_name, known):
    """All that must hold of an evaluation with a bad plugin."""
    assert result.faults
    assert {(fault.rule, fault.plugin) for fault in result.faults} == {(rule_name, plugin_name)}
    assert not result.complete
    assert not result.ok
    assert not result.order_is_safe
    assert result.order == ()
    assert all_but(RULE, known(result.checks)) == list(without_it().checks)
    data = json.dumps(result.to_dict(remedies=False), ensure_ascii=False, allow_nan=False).encode()
    assert json.loads(data)["complete"] is False


def accepted(plugins, names, reason="it is being mended"):
    """The same evaluation where a shop accepts the absence, by name and with a reason."""
    rules = {placed.rule.name for placed in plugins.rules}
    result = signrules.evaluate(
        JOB, plugins=plugins, shop=Shop().accepting(dict.fromkeys(names, reason), rules)
    )
    assert result.complete
    assert result.order == without_it().order
    told = json.loads(json.dumps(result.to_dict(remedies=False)))["accepted"]
    assert told
    assert {one["reason"] for one in told} == {reason}
    assert reason in evaluation_text(result)


def of_others(checks):
    return [one for one in checks if one.rule != "sabotage.fine"]


@pytest.mark.parametrize("bad", [*QUICK, *first_quick(0, ENDLESS)], ids=lambda f: f.__name__)
def test_a_bad_rule_is_a_fault_and_nothing_else_changes(bad):
    reads_printing = "printing" in bad.__code__.co_varnames
    one = declared(bad, each="pass" if reads_printing or bad in CHANGES else "job")
    plugins = load_plugins(objects=[plugin("saboteur", one, in_the_same_plugin()), beside()])
    result = signrules.evaluate(JOB, plugins=plugins)
    held(result, RULE, "saboteur", of_others)
    # The other rule of the same plugin is as good as ever, and so is the next job.
    mine = [(c.subjects, c.measured) for c in result.checks if c.rule == "sabotage.fine"]
    assert mine == [(c.subjects, c.measured) for c in result.checks if c.rule == "beside.fine"]
    assert signrules.evaluate(JOB).to_dict(remedies=False) == fresh()
    accepted(plugins, [RULE])


@cache
def fresh():
    return signrules.evaluate(JOB, plugins=load_plugins()).to_dict(remedies=False)


@pytest.mark.parametrize("bad", SLOW, ids=lambda f: f.__name__)
def test_a_slow_rule_is_stopped_when_it_is_given_a_time(bad):
    plugins = load_plugins(
        objects=[plugin("saboteur", declared(bad, each="job"), in_the_same_plugin()), beside()]
    )
    result = signrules.evaluate(JOB, plugins=plugins, seconds=0.05 if bad is not loops else 0.2)
    assert [(fault.rule, fault.plugin) for fault in result.faults] == [(RULE, "saboteur")]
    assert "took longer" in result.faults[0].error
    assert all_but(RULE, of_others(result.checks)) == list(without_it().checks)


def test_a_rule_that_changes_its_settings_reaches_no_other_evaluation():
    @frozen
    class Limits:
        most: int = setting(30, doc="the most layers", unit="layers")

    def bad(item, settings):
        yield check(
            "layers", measured=item.layers, most=settings.most, unit="layers", advice="Fewer."
        )
        object.__setattr__(settings, "most", 0)

    plugins = load_plugins(objects=[plugin("saboteur", declared(bad, settings=Limits))])
    shop = Shop({RULE: RuleChange(settings={"most": 31})})
    for _ in range(2):
        result = signrules.evaluate(JOB, plugins=plugins, shop=shop)
        assert {c.limit for c in result.checks if c.rule == RULE} == {(None, 31)}


def test_a_rule_that_clears_the_graph_is_a_fault_and_what_it_writes_reaches_no_other_rule():
    def bad(graph):
        graph.clear()
        yield check("x", measured=1, least=0, unit="mm")

    def sly(graph):
        for _, data in graph.nodes(data=True):
            data.clear()
            data["lies"] = 1
        for _, _, data in graph.edges(data=True):
            data.clear()
        yield check("x", measured=1, least=0, unit="mm")

    for function, faults in ((bad, {(RULE, "saboteur")}), (sly, set())):
        one = declared(function, each="job")
        plugins = load_plugins(objects=[plugin("saboteur", one, in_the_same_plugin()), beside()])
        result = signrules.evaluate(JOB, plugins=plugins)
        assert {(fault.rule, fault.plugin) for fault in result.faults} == faults
        mine = [(c.subjects, c.measured) for c in result.checks if c.rule == "sabotage.fine"]
        assert mine == [(c.subjects, c.measured) for c in result.checks if c.rule == "beside.fine"]


# Hooks that are asked for each job.


def endless_pairs(job):
    while True:
        yield ("ground", "dots", "again")


def pairs_and_then_not(job):
    yield ("ground", "dots", "fine so far")
    raise ValueError("and then not")


def hook(name, make):
    def answer(**given):
        return make(**given)

    signatures = {
        "signrules_precedence": lambda job: make(job),
        "signrules_quantities": lambda job, order, quantities: make(job),
        "signrules_translate_braille": lambda text, grade, language: make(text),
    }
    return {name: signatures[name]}


def fails(error):
    def make(given):
        raise error

    return make


def spoils(given):
    object.__setattr__(given.passes[0], "layers", Explosive())
    return []


def spoils_quietly(given):
    object.__setattr__(given.passes[0], "layers", 1000)
    return []


def circle(given):
    return [("ground", "dots", "one way"), ("dots", "ground", "and the other")]


PRECEDENCE = {
    "raises": fails(KeyError("no")),
    "exits": fails(SystemExit(1)),
    "is_a_number": lambda given: 7,
    "is_a_text": lambda given: "ground, dots",
    "is_a_table": lambda given: {"ground": "dots"},
    "has_pairs_of_two": lambda given: [("ground", "dots")],
    "has_numbers": lambda given: [("ground", 3, "x")],
    "names_nobody": lambda given: [("ground", "nowhere", "x")],
    "says_itself": lambda given: [("dots", "dots", "x")],
    "has_odd_texts": lambda given: [("ground", "dots", "half \udc80")],
    "has_lying_texts": lambda given: [(Text("ground"), "dots", "x")],
    "is_endless": endless_pairs,
    "raises_midway": pairs_and_then_not,
    "changes_the_job": spoils_quietly,
    "spoils_the_job": spoils,
}
QUANTITIES = {
    "raises": fails(Quit()),
    "is_a_list": lambda given: [1, 2],
    "is_none": lambda given: 0,
    "is_not_a_number": lambda given: {"film_m2": float("nan")},
    "is_infinite": lambda given: {"film_m2": float("inf")},
    "is_true": lambda given: {"film_m2": True},
    "is_huge": lambda given: {"film_m2": 10**400},
    "is_a_text": lambda given: {"film_m2": "3"},
    "has_a_name_that_is_taken": lambda given: {"bed_loads": 3.0},
    "has_an_odd_name": lambda given: {"Film (m2)": 3.0},
    "has_a_number_for_a_name": lambda given: {3: 3.0},
}


@pytest.mark.parametrize(
    ("name", "make"),
    [("signrules_precedence", m) for m in PRECEDENCE.values()]
    + [("signrules_quantities", m) for m in QUANTITIES.values()],
    ids=[*(f"precedence_{n}" for n in PRECEDENCE), *(f"quantities_{n}" for n in QUANTITIES)],
)
def test_a_bad_hook_is_a_fault_and_nothing_else_changes(name, make):
    plugins = load_plugins(objects=[plugin("saboteur", **hook(name, make)), beside()])
    result = signrules.evaluate(JOB, plugins=plugins)
    held(result, name, "saboteur", list)
    accepted(plugins, ["saboteur"])


def test_precedence_that_runs_in_a_circle_gives_a_conflict_that_names_its_reasons():
    plugins = load_plugins(objects=[plugin("saboteur", **hook("signrules_precedence", circle))])
    result = signrules.evaluate(JOB, plugins=plugins)
    assert result.plan is None
    assert "one way" in result.conflict.message
    assert "and the other" in result.conflict.message
    assert not result.ok


TRANSLATORS = {
    "raises": fails(RuntimeError("no table")),
    "is_a_number": lambda given: 3,
    "is_latin": lambda given: "room",
    "is_a_list": lambda given: ["⠗"],
    "is_a_lying_text": lambda given: Text("⠗"),
}


@pytest.mark.parametrize("make", TRANSLATORS.values(), ids=TRANSLATORS)
def test_a_bad_translator_is_a_fault_and_the_braille_is_not_assessed(make):
    plugins = load_plugins(
        objects=[plugin("saboteur", **hook("signrules_translate_braille", make)), beside()]
    )
    job = signrules.job_from_dict(signrules.sample_job())
    result = signrules.evaluate(job, plugins=plugins)
    assert {(f.rule, f.plugin) for f in result.faults} == {
        ("signrules_translate_braille", "saboteur")
    }
    expected = signrules.evaluate(job, plugins=load_plugins(objects=[beside()]))
    assert list(result.checks) == list(expected.checks)
    assert not result.order_is_safe


# Plugins that cannot be loaded.


class RaisesWhenAsked:
    __name__ = "saboteur"

    def __getattr__(self, name):
        raise SystemExit(f"no {name}")


class RaisesInDir:
    __name__ = "saboteur"

    def __dir__(self):
        raise RuntimeError("no list of names")


def loading(**hooks):
    return lambda: plugin("saboteur", **hooks)


def changed_rule(**changes):
    def make():
        one = declared(lambda item: iter(()))
        for key, value in changes.items():
            object.__setattr__(one, key, value)
        return plugin("saboteur", one)

    return make


class LyingRuleSet:
    @property
    def __class__(self):
        return RuleSet


class LyingTable(dict):
    def items(self):
        raise SystemExit("no items")


def endless(value):
    return lambda: itertools.repeat(value)


def raises_midway():
    yield RuleSet("sabotage", (declared(fine),))
    raise OSError("and then not")


LOADING = {
    "raises_at_every_attribute": RaisesWhenAsked,
    "raises_in_dir": RaisesInDir,
    "api_too_new": loading(signrules_api="1.99"),
    "api_of_another_kind": loading(signrules_api=3),
    "api_older": loading(signrules_api="0.9"),
    "api_nonsense": loading(signrules_api="one point nought"),
    "unknown_hook": loading(signrules_rule_setz=lambda: [3]),
    "unknown_argument": loading(signrules_precedence=lambda order: []),
    "rule_sets_raise": loading(signrules_rule_sets=lambda: 1 / 0),
    "rule_sets_exit": loading(signrules_rule_sets=lambda: exec("raise SystemExit")),
    "rule_sets_are_numbers": loading(signrules_rule_sets=lambda: [3]),
    "rule_sets_are_one": loading(signrules_rule_sets=lambda: RuleSet("sabotage", ())),
    "rule_sets_lie": loading(signrules_rule_sets=lambda: [LyingRuleSet()]),
    "rule_sets_are_endless": loading(signrules_rule_sets=endless(RuleSet("sabotage", ()))),
    "rule_sets_raise_midway": loading(signrules_rule_sets=raises_midway),
    "standards_are_tables": loading(signrules_standards=lambda: [{"id": "x"}]),
    "standards_are_endless": loading(signrules_standards=endless(3)),
    "materials_are_none": loading(signrules_materials=lambda: 3),
    "printers_are_a_list": loading(signrules_printers=lambda: [{"bed": 3}]),
    "printers_are_garbage": loading(signrules_printers=lambda: {"x": 3}),
    "printers_have_odd_names": loading(signrules_printers=lambda: {3: {}}),
    "printers_lie": loading(signrules_printers=lambda: LyingTable(x={})),
    "rule_without_a_subject": changed_rule(each="nobody"),
    "rule_that_reads_nonsense": changed_rule(reads=("item", "secrets")),
    "rule_that_reads_printing_of_a_job": changed_rule(each="job", reads=("printing",)),
    "rule_without_a_function": changed_rule(function=None),
    "rule_of_an_odd_level": changed_rule(level="STOP"),
    "rule_of_no_name": changed_rule(name=3),
}


@pytest.mark.parametrize("make", first_quick(8, LOADING.values()), ids=LOADING)
def test_a_plugin_that_cannot_be_loaded_is_a_fault_and_nothing_else_changes(make):
    plugins = load_plugins(objects=[make(), beside()])
    assert [failed.name for failed in plugins.failed] == ["saboteur"]
    result = signrules.evaluate(JOB, plugins=plugins)
    held(result, "(loading)", "saboteur", list)
    accepted(plugins, ["saboteur"])


def test_a_table_that_amends_an_unknown_one_fails_its_plugin_alone():
    def signrules_standards():
        ada = load_plugins().standards["us-ada-2010"]
        return [evolve(ada, id="town", amends="nowhere")]

    plugins = load_plugins(
        objects=[plugin("saboteur", signrules_standards=signrules_standards), beside()]
    )
    assert "amends nowhere" in plugins.failed[0].error
    held(signrules.evaluate(JOB, plugins=plugins), "(loading)", "saboteur", list)


IMPORTS = {
    "raises": "1/0",
    "exits": "import sys; sys.exit(0)",
    "does_not_parse": "def (",
    "is_no_text": "\udc80",
    "raises_with_no_text": "class E(Exception):\n    def __str__(self): raise SystemExit\nraise E",
}


@pytest.mark.parametrize("text", IMPORTS.values(), ids=IMPORTS)
def test_a_file_that_cannot_be_imported_is_a_fault(tmp_path, text):
    path = tmp_path / "saboteur.py"
    path.write_text(text, encoding="utf-8", errors="surrogateescape")
    plugins = load_plugins(files=[path], objects=[beside()])
    assert [failed.name for failed in plugins.failed] == ["saboteur"]
    held(signrules.evaluate(JOB, plugins=plugins), "(loading)", "saboteur", list)


def test_plugins_of_odd_names_go_by_names_that_can_be_written():
    odd = [SimpleNamespace(__name__=3), SimpleNamespace(__name__="half \udc80")]
    names = [one.name for one in load_plugins(objects=odd).loaded]
    assert names[0] == "signrules"
    assert sorted(names[1:]) == sorted(["SimpleNamespace", "half \\udc80"])
    json.dumps(names, ensure_ascii=False).encode()


def test_garbage_of_a_printer_is_told_when_it_is_loaded_and_to_the_job_that_uses_it():
    plugins = load_plugins(
        objects=[
            plugin("saboteur", signrules_printers=lambda: {"wreck": {"bed": "wide"}}),
            beside(),
        ]
    )
    (failed,) = plugins.failed
    assert "the printer wreck is one that no job can use: bed: found 'wide'" in failed.error
    result = signrules.evaluate(JOB, plugins=plugins)
    assert list(result.checks) == list(without_it().checks)
    document = sign_job() | {"printer": {"use": "wreck"}}
    with pytest.raises(signrules.JobError) as found:
        signrules.job_from_dict(document, plugins=plugins)
    assert any(fault.path.startswith("printer") for fault in found.value.faults)


def test_clashes_name_both():
    one, two = plugin("one", declared(fine)), plugin("two", declared(fine))
    with pytest.raises(
        signrules.PluginError, match=r"sabotage\.bad is brought twice, by one and two"
    ):
        load_plugins(objects=[one, two])
    with pytest.raises(signrules.PluginError, match="2 plugins are called one"):
        load_plugins(objects=[one, plugin("one")])
    taken = "^a plugin is called signrules, as the built-in one is: give it another name$"
    with pytest.raises(signrules.PluginError, match=taken):
        load_plugins(objects=[plugin("signrules")])
    assert load_plugins(objects=[plugin("signrules")], block=["signrules"]).names == ("signrules",)


def test_two_plugins_that_count_the_same_thing():
    hooks = hook("signrules_quantities", lambda given: {"film_m2": 1.0})
    plugins = load_plugins(objects=[plugin("one", **hooks), plugin("two", **hooks)])
    result = signrules.evaluate(JOB, plugins=plugins)
    assert [(f.rule, f.plugin) for f in result.faults] == [("signrules_quantities", "two")]
    told = "PluginError: the quantity film_m2 is counted already by one: give it another name"
    assert result.faults[0].error == told
    assert result.plugin_quantities == {"film_m2": 1.0}


def test_a_plugin_that_counts_what_signrules_counts():
    hooks = hook("signrules_quantities", lambda given: {"bed_loads": 1.0})
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[plugin("one", **hooks)]))
    told = (
        "PluginError: the quantity bed_loads is counted already by signrules: give it another name"
    )
    assert [(f.plugin, f.error) for f in result.faults] == [("one", told)]


def test_a_rule_may_misbehave_on_one_subject_alone():
    def bad(item):
        if item.id == "dots":
            raise ValueError("not dots")
        yield check("layers", measured=item.layers, least=1, unit="layers")

    result = signrules.evaluate(
        JOB, plugins=load_plugins(objects=[plugin("saboteur", declared(bad)), beside()])
    )
    assert [fault.subject for fault in result.faults] == ["passes.dots"]
    assert [c.subjects[0] for c in result.checks if c.rule == RULE] == [
        "passes.ground",
        "passes.ink-on-dots",
    ]


def test_what_is_merely_missing_is_no_fault():
    def good(item):
        yield missing("printer.swath", "the swath")
        yield check("layers", measured=item.layers, least=1, unit="layers", level=Level.NOTE)

    assert not signrules.evaluate(
        JOB, plugins=load_plugins(objects=[plugin("good", declared(good))])
    ).faults
