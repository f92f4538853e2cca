"""Translators: the first that answers is heard, and one that fails is a fault that names its
plugin.
"""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import Level, RuleSet, check, hookimpl, load_plugins, rule, shop_practice

JOB = signrules.job_from_dict(sign_job())


def translator(name, answer):
    def signrules_translate_braille(text, grade, language):
        return answer(text, grade, language)

    return SimpleNamespace(
        __name__=name, signrules_translate_braille=hookimpl(signrules_translate_braille)
    )


def fails(*_):
    raise OSError("the table is gone")


def leaves(*_):
    raise SystemExit(3)


def test_nobody_translates_unless_a_plugin_does():
    assert load_plugins().translate("stop") == (None, [])


def test_the_first_by_name_that_answers_is_heard():
    plugins = load_plugins(
        objects=[
            translator("b", lambda *_: "⠃"),
            translator(
                "a",
                lambda text, grade, language: (
                    "⠁" if (grade, language) == ("uncontracted", "sv") else None
                ),
            ),
        ]
    )
    assert plugins.translate("x") == ("⠃", [])
    assert plugins.translate("x", "uncontracted", "sv") == ("⠁", [])


def test_a_translator_may_ask_for_the_text_alone():
    def signrules_translate_braille(text):
        return "⠁" * len(text)

    plugin = SimpleNamespace(
        __name__="short", signrules_translate_braille=hookimpl(signrules_translate_braille)
    )
    assert load_plugins(objects=[plugin]).translate("abc") == ("⠁⠁⠁", [])


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (fails, "OSError: the table is gone"),
        (leaves, "SystemExit: 3"),
        (
            lambda *_: "stop",
            "signrules_translate_braille gave back 'stop', expected Unicode braille patterns",
        ),
        (
            lambda *_: 7,
            "signrules_translate_braille gave back 7, expected Unicode braille patterns",
        ),
    ],
)
def test_one_that_fails_is_a_fault_and_the_next_is_asked(answer, said):
    plugins = load_plugins(objects=[translator("a", answer), translator("b", lambda *_: "⠌⠕⠏")])
    cells, (fault,) = plugins.translate("stop")
    assert cells == "⠌⠕⠏"
    assert (fault.rule, fault.plugin, fault.subject) == (
        "signrules_translate_braille",
        "a",
        "'stop'",
    )
    assert fault.error.startswith(said)


def asking():
    def asks(item, translate):
        """A thing.

        Why it matters: because.
        A job that breaks it: one.
        One that meets it: another.
        """
        found = [translate("stop", "contracted", "en") for _ in range(3)]
        yield check(
            "answers",
            measured=len([each for each in found if each == "⠌⠕⠏"]),
            least=3,
            unit="answers",
        )

    declared = rule("ourshop.asks", each="sign", level=Level.STOP, source=shop_practice("x"))(asks)

    def signrules_rule_sets():
        return [RuleSet("ourshop", (declared,))]

    return SimpleNamespace(__name__="ourshop", signrules_rule_sets=hookimpl(signrules_rule_sets))


def asked(*plugins):
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[asking(), *plugins]))
    (found,) = [each.measured.nominal for each in result.checks if each.rule == "ourshop.asks"]
    return found, result


def test_a_rule_asks_by_the_parameter_translate():
    assert asked()[0] == 0
    found, result = asked(translator("a", lambda *_: "⠌⠕⠏"))
    assert (found, result.faults) == (3, ())


def test_a_translator_that_fails_makes_the_evaluation_incomplete_and_is_named_once_for_each_text():
    found, result = asked(translator("a", fails), translator("b", lambda *_: "⠌⠕⠏"))
    assert found == 3
    assert [fault.plugin for fault in result.faults if fault.subject == "'stop'"] == ["a"]
    assert {fault.plugin for fault in result.faults} == {"a"}
    assert not result.complete
