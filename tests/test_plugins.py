"""Plugins: what they bring, and that one which fails takes nothing else down."""

from __future__ import annotations

import sys
from types import ModuleType, SimpleNamespace

import pytest
from effort import first_quick
from scenario import sign_job

import signrules
import signrules.builtin
from signrules import Level, RuleSet, check, hookimpl, load_plugins, rule, shop_practice
from signrules.cli import main
from signrules.plugin_loading import bring_plugin

JOB = signrules.job_from_dict(sign_job())
DOC = """{}

Why it matters: because.
A job that breaks it: one.
One that meets it: another.
"""


def declared(function, name="ourshop.thing", each="pass", level=Level.STOP):
    function.__doc__ = DOC.format("A thing.")
    return rule(name, each=each, level=level, source=shop_practice("a house rule"))(function)


def plugin_with(*rules, name="ourshop"):
    def signrules_rule_sets():
        return [RuleSet(rules[0].name.partition(".")[0], rules)]

    return SimpleNamespace(__name__=name, signrules_rule_sets=hookimpl(signrules_rule_sets))


def own(checks):
    return [c for c in checks if not c.rule.startswith("ourshop.")]


def test_a_shop_rule_joins_the_built_in_ones():
    def two_clears(item, inks):
        if inks[item.ink].role == "clear":
            yield check("clear layers", measured=item.layers, most=20, unit="layers")

    result = signrules.evaluate(
        JOB, plugins=load_plugins(objects=[plugin_with(declared(two_clears))])
    )
    found = [c for c in result.checks if c.rule == "ourshop.thing"]
    assert [(c.subjects, c.outcome.value, c.margin) for c in found] == [
        (("passes.dots",), "BROKEN", -4.0)
    ]
    assert not result.ok
    assert result.order_is_safe
    assert own(result.checks) == list(signrules.evaluate(JOB).checks)


def raises(item):
    raise ZeroDivisionError("one by nought")
    yield


def leaves(item):
    sys.exit(0)
    yield


def rubbish(item):
    yield 42


def not_a_number(item):
    yield check("x", measured=float("nan"), least=0, unit="mm")


def no_generator(item):
    return 7


def mutates(item):
    item.layers = 1
    yield check("x", measured=1, least=0, unit="mm")


def spoils_the_graph(graph):
    graph.clear()
    yield check("x", measured=1, least=0, unit="mm")


def never_ends(item):
    while True:
        yield check("x", measured=1, least=0, unit="mm")


def recurses(item):
    yield from recurses(item)


BAD = [
    raises,
    leaves,
    rubbish,
    not_a_number,
    no_generator,
    mutates,
    spoils_the_graph,
    recurses,
]


@pytest.mark.parametrize(
    "function", [*BAD, *first_quick(0, [never_ends])], ids=lambda f: f.__name__
)
def test_a_bad_rule_is_a_fault_and_changes_no_other_check(function):
    plugins = load_plugins(objects=[plugin_with(declared(function, each="job"))])
    result = signrules.evaluate(JOB, plugins=plugins)
    assert [(f.rule, f.plugin, f.subject) for f in result.faults] == [
        ("ourshop.thing", "ourshop", "job")
    ]
    assert own(result.checks) == list(signrules.evaluate(JOB).checks)
    assert not result.ok
    assert not result.complete
    assert result.order == ()
    with pytest.raises(signrules.NoSafeOrder, match="incomplete"):
        signrules.safe_order(JOB, plugins=plugins)


def test_extra_precedence_is_planned_for():
    def signrules_precedence(job):
        return [("dots", "ground", "the ground shows better over clear")]

    late = SimpleNamespace(__name__="late", signrules_precedence=hookimpl(signrules_precedence))
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[late]))
    assert result.plan is None
    assert "the ground shows better over clear" in result.conflict.message


@pytest.mark.parametrize(
    "pairs",
    [[("dots", "nowhere", "x")], [("dots", "dots", "x")], [("dots",)], 7, [("dots", 3, "x")]],
)
def test_bad_precedence_is_a_fault(pairs):
    def signrules_precedence(job):
        return pairs

    bad = SimpleNamespace(__name__="bad", signrules_precedence=hookimpl(signrules_precedence))
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[bad]))
    assert [(f.rule, f.plugin) for f in result.faults] == [("signrules_precedence", "bad")]
    assert result.order == ()


def test_what_is_built_in_stands_up_to_what_is_asked_of_plugins():
    asked = bring_plugin("signrules", "", "built in", lambda: signrules.builtin)
    assert asked.loaded.unusual == ()
    known = load_plugins()
    assert {table.id for table in asked.standards} == set(known.standards)
    assert set(asked.printers) == set(known.printers)
    assert asked.loaded.adds == known.loaded[0].adds


def test_a_plugin_file(tmp_path):
    path = tmp_path / "shop_rules.py"
    path.write_text(
        "from signrules import RuleSet, check, hookimpl, rule, shop_practice\n"
        "@rule('ourshop.few-layers', each='pass', source=shop_practice('few layers'))\n"
        "def few(item):\n"
        '    """Few layers.\n\n    Why it matters: time.\n'
        '    A job that breaks it: 30.\n    One that meets it: 3.\n    """\n'
        "    yield check('layers', measured=item.layers, most=10, unit='layers')\n"
        "@hookimpl\n"
        "def signrules_rule_sets():\n"
        "    return [RuleSet('ourshop', (few,))]\n",
        encoding="utf-8",
    )
    plugins = load_plugins(files=[path])
    assert [p.name for p in plugins.loaded] == ["signrules", "shop_rules"]
    result = signrules.evaluate(JOB, plugins=plugins)
    assert [c.subjects[0] for c in result.violations if c.rule == "ourshop.few-layers"] == [
        "passes.dots"
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1/0", "ZeroDivisionError"),
        ("def (", "SyntaxError"),
        ("import sys; sys.exit(3)", "SystemExit"),
    ],
)
def test_a_plugin_that_does_not_load_makes_the_evaluation_incomplete(tmp_path, text, said):
    path = tmp_path / "broken.py"
    path.write_text(text, encoding="utf-8")
    plugins = load_plugins(files=[path, tmp_path / "absent.py"])
    assert [f.name for f in plugins.failed] == ["absent", "broken"]
    result = signrules.evaluate(JOB, plugins=plugins)
    assert said in result.faults[1].error
    assert "importlib" not in result.faults[1].error
    # Python's own text of a slip in the syntax has the place.
    assert ("line 1 of broken.py" in result.faults[1].error) == (said != "SyntaxError")
    assert not result.complete


def test_unknown_hooks_and_wrong_kinds_fail_the_plugin_alone():
    def signrules_rule_setz():
        return []

    def signrules_rule_sets():
        return [3]

    odd = SimpleNamespace(__name__="odd", signrules_rule_setz=hookimpl(signrules_rule_setz))
    wrong = SimpleNamespace(__name__="wrong", signrules_rule_sets=hookimpl(signrules_rule_sets))
    plugins = load_plugins(objects=[odd, wrong])
    assert {f.name for f in plugins.failed} == {"odd", "wrong"}
    assert len(plugins.rules) == len(load_plugins().rules)


@pytest.mark.parametrize(
    ("hooks", "said"),
    [
        (
            {"signrules_rule_sets": hookimpl(lambda job: [])},
            "the hook signrules_rule_sets asks for 'job', expected no parameters",
        ),
        (
            {"signrules_precedence": hookimpl(lambda jobs, settings: [])},
            "the hook signrules_precedence asks for 'jobs', expected any of 'job', 'settings'",
        ),
        (
            {"signrules_rules": hookimpl(lambda: ())},
            "there is no hook signrules_rules, expected signrules_rule_sets perhaps",
        ),
        (
            {"signrules_zzz": hookimpl(lambda: ())},
            "there is no hook signrules_zzz, expected one of signrules_handling_kinds, ",
        ),
        (
            {"signrules_rule_sets": lambda: ()},
            "signrules_rule_sets is named like a hook: write @hookimpl above it",
        ),
        (
            {"signrules_rule_sets": hookimpl(wrapper=True)(lambda: ())},
            "Plugin 'slips' for hook 'signrules_rule_sets' hookimpl definition: ",
        ),
        (
            {"signrules_rule_sets": hookimpl(lambda: None)},
            "signrules_rule_sets gave back None, expected a list of RuleSet",
        ),
        (
            {"signrules_printers": hookimpl(lambda: None)},
            "signrules_printers gave back None, expected a mapping of ids to tables",
        ),
    ],
)
def test_a_hook_that_is_written_wrongly_is_told_in_plain_words(hooks, said):
    plugins = load_plugins(objects=[SimpleNamespace(__name__="slips", **hooks)])
    (failed,) = plugins.failed
    assert failed.error.startswith(said)


def test_hooks_of_a_class_may_ask_for_self_and_for_what_has_a_default():
    class Shop:
        @hookimpl
        def signrules_rule_sets(self):
            return []

        @hookimpl
        def signrules_precedence(self, job, because="it is so"):
            return []

    assert load_plugins(objects=[Shop()]).failed == ()


def test_a_name_that_one_plugin_brings_twice_names_that_plugin():
    def thing(item):
        yield check("x", measured=1, least=0, unit="mm")

    twice = hookimpl(
        lambda: [RuleSet("ourshop", [declared(thing)]), RuleSet("ourshop", [declared(thing)])]
    )
    with pytest.raises(
        signrules.PluginError,
        match=r"rule ourshop\.thing is brought twice by forgetful: bring it once",
    ):
        load_plugins(objects=[SimpleNamespace(__name__="forgetful", signrules_rule_sets=twice)])


def test_name_clashes_name_both():
    def thing(item):
        yield check("x", measured=1, least=0, unit="mm")

    one, two = (plugin_with(declared(thing), name=n) for n in ("one", "two"))
    with pytest.raises(
        signrules.PluginError, match=r"rule ourshop\.thing is brought twice, by one and two"
    ):
        load_plugins(objects=[one, two])
    assert len(load_plugins(objects=[one, two], block=["two"]).loaded) == 2
    with pytest.raises(signrules.PluginError, match="2 plugins are called one"):
        load_plugins(objects=[one, one])


@pytest.mark.parametrize(
    ("name", "hint"), [("ourshp", "; did you mean ourshop?"), ("zzz", ""), ("signrules", "")]
)
def test_a_plugin_that_is_left_out_must_be_there(name, hint, tmp_path, capsys):
    file = tmp_path / "ourshop.py"
    file.write_text("")
    assert [one.name for one in load_plugins(files=[file], block=["ourshop"]).loaded] == [
        "signrules"
    ]
    message = f"no plugin that can be left out is called {name}{hint}"
    with pytest.raises(signrules.PluginError) as raised:
        load_plugins(files=[file], block=["ourshop", name])
    assert str(raised.value) == message
    assert main(["check", "docs/examples/clinic.toml", "--plugin", str(file), "--block", name]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith(message.partition(";")[0])


def test_the_name_of_a_plugin_comes_from_how_it_is_loaded_and_those_of_its_rules_do_not(
    tmp_path, monkeypatch
):
    """As the table in docs/plugins.md says."""

    def thing(item):
        yield check("x", measured=1, least=0, unit="mm")

    plugin = plugin_with(declared(thing), name="ourshop.plugin")
    module = ModuleType("ourshop.plugin")
    module.signrules_rule_sets = plugin.signrules_rule_sets

    class OurShop:
        signrules_rule_sets = staticmethod(plugin.signrules_rule_sets)

    monkeypatch.setitem(sys.modules, "ourshop_module", module)
    file = tmp_path / "own.plugin.py"
    file.write_text("from ourshop_module import signrules_rule_sets\n")
    monkeypatch.setattr(
        "signrules.plugin_sources.installed_plugins",
        lambda: [("signrules-ourshop", "2", lambda: module)],
    )
    loaded = {
        "signrules-ourshop": load_plugins(entry_points=True),
        "own.plugin": load_plugins(files=[file]),
        "ourshop.plugin": load_plugins(objects=[module]),
        "OurShop": load_plugins(objects=[OurShop()]),
        "": load_plugins(objects=[OurShop]),
    }
    for name, plugins in loaded.items():
        assert plugins.failed == ()
        assert plugins.names == ("signrules", name or "OurShop")
        assert plugins.rule_named("ourshop.thing").name == "ourshop.thing"
    with pytest.raises(signrules.PluginError, match=r"brought twice, by .*own\.plugin"):
        load_plugins(entry_points=True, files=[file])
    assert load_plugins(entry_points=True, files=[file], block=["signrules-ourshop"]).names[1:] == (
        "own.plugin",
    )


def test_the_order_of_plugins_makes_no_difference():
    def thing(item):
        yield check("x", measured=1, least=2, unit="mm")

    one = plugin_with(declared(thing, "a.thing"), name="one")
    two = plugin_with(declared(thing, "b.thing"), name="two")
    forth = signrules.evaluate(JOB, plugins=load_plugins(objects=[one, two])).to_dict()
    assert forth == signrules.evaluate(JOB, plugins=load_plugins(objects=[two, one])).to_dict()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"name": "strike"}, "two words"),
        ({"name": "Our.Shop"}, "two words"),
        ({"each": "passes"}, "expected one of"),
    ],
)
def test_bad_declarations(arguments, said):
    def thing(item):
        yield check("x", measured=1, least=0, unit="mm")

    with pytest.raises(signrules.RuleError, match=said):
        declared(thing, **arguments)


def test_parameters_that_nobody_provides():
    def timelin(timelin):
        yield check("x", measured=1, least=0, unit="mm")

    with pytest.raises(signrules.RuleError, match="did you mean 'timeline'"):
        declared(timelin)

    def many(*rest):
        yield check("x", measured=1, least=0, unit="mm")

    with pytest.raises(signrules.RuleError):
        declared(many)

    def printing(printing):
        yield check("x", measured=1, least=0, unit="mm")

    with pytest.raises(signrules.RuleError, match="each='pass'"):
        declared(printing, each="job")


def test_a_rule_without_documentation_is_refused():
    def bare(item):
        """Only this."""
        yield check("x", measured=1, least=0, unit="mm")

    with pytest.raises(signrules.RuleError, match="Why it matters"):
        rule("ourshop.bare", each="pass", source=shop_practice("x"))(bare)


def test_every_subject_kind_reaches_its_rule():
    seen = {}
    for each in ("job", "pass", "step", "media", "sign", "pair"):

        def looks(item, each=each):
            yield check("x", measured=1, least=0, unit="mm")

        def look(
            item,
            job,
            printer,
            media,
            inks,
            passes,
            signs,
            handling,
            alignments,
            standards,
            heights,
            timeline,
            cycle,
        ):
            assert job.printer == printer
            yield check("x", measured=1, least=0, unit="mm")

        name = f"ourshop.{each}"
        plugins = load_plugins(objects=[plugin_with(declared(look, name, each))])
        result = signrules.evaluate(JOB, plugins=plugins)
        seen[each] = [c.subjects[0] for c in result.checks if c.rule == name]
        assert not result.faults
    assert seen == {
        "job": ["job"],
        "pass": ["passes.ground", "passes.dots", "passes.ink-on-dots"],
        "step": ["passes.ground", "passes.dots", "passes.ink-on-dots"],
        "media": ["media.panel"],
        "sign": ["signs.room"],
        "pair": ["passes.ground", "passes.ground", "passes.dots"],
    }


def test_a_plugin_that_cannot_even_say_its_name_goes_by_its_class():
    class Nameless:
        @property
        def __name__(self):
            raise RuntimeError("no name for you")

        @hookimpl
        def signrules_precedence(self, job):
            return [("dots", "ground", "for the look of it")]

    plugins = load_plugins(objects=[Nameless()])
    assert "Nameless" in plugins.names


def test_a_file_that_is_no_python(tmp_path):
    path = tmp_path / "rules.txt"
    path.write_text("hello", encoding="utf-8")
    (failed,) = load_plugins(files=[str(path)]).failed
    assert "is not a Python file" in failed.error


def test_plugins_of_installed_distributions_are_loaded_when_asked_for(tmp_path, monkeypatch):
    facts = tmp_path / "ourshop-1.2.dist-info"
    facts.mkdir()
    (facts / "METADATA").write_text("Metadata-Version: 2.1\nName: ourshop\nVersion: 1.2\n", "utf-8")
    (facts / "entry_points.txt").write_text("[signrules]\nourshop = ourshop_installed\n", "utf-8")
    (tmp_path / "ourshop_installed.py").write_text("from signrules import hookimpl\n", "utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    assert "ourshop" not in load_plugins().names
    (one,) = [one for one in load_plugins(entry_points=True).loaded if one.name == "ourshop"]
    assert (one.version, one.origin) == ("1.2", "entry point")


def test_a_file_that_does_not_load_leaves_the_one_of_that_name_in_place(tmp_path):
    first, second = tmp_path / "a" / "house.py", tmp_path / "b" / "house.py"
    for path, text in ((first, "HOUSE = 'the first'"), (second, "HOUSE = 'the second'; 1/0")):
        path.parent.mkdir()
        path.write_text(text, encoding="utf-8")
    assert not load_plugins(files=[first]).failed
    assert sys.modules["signrules_plugin_house"].HOUSE == "the first"
    (failed,) = load_plugins(files=[second]).failed
    assert "ZeroDivisionError" in failed.error
    assert sys.modules["signrules_plugin_house"].HOUSE == "the first"
