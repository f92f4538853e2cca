"""Settings of hooks: a plugin declares them, a shop sets them, every hook that is called for a job
gets them.
"""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
from types import SimpleNamespace

import pytest
from attrs import define, frozen

import signrules
from signrules import (
    RuleSet,
    ShopError,
    check,
    evaluate,
    hookimpl,
    job_from_dict,
    load_plugins,
    rule,
    sample_job,
    setting,
    shop_from_dict,
    shop_practice,
)
from signrules.cli import main
from signrules.reports.catalogue import rule_catalogue
from signrules.reports.text_report import evaluation_text

JOB = job_from_dict(sample_job())


@frozen
class Film:
    margin: float = setting(20.0, unit="mm", doc="how far film stands out")
    name: str = setting("film_m2", doc="what it is called")


def counting(settings=Film, name="film"):
    def signrules_quantities(job, settings):
        if settings is None:
            return {"without_settings": 1}
        (sheet,) = job.media
        return {
            settings.name: (sheet.size[0] + 2 * settings.margin)
            * (sheet.size[1] + 2 * settings.margin)
            / 1e6
        }

    plugin = SimpleNamespace(__name__=name, signrules_quantities=hookimpl(signrules_quantities))
    if settings is not None:
        plugin.signrules_settings = settings
    return plugin


def shop(plugin="film", /, **settings):
    return shop_from_dict({"signrules": 1, "plugins": {plugin: {"settings": settings}}})


def quantities(plugins, shop=None):
    result = evaluate(JOB, plugins=plugins, shop=shop)
    assert result.faults == ()
    return result.quantities


def test_the_defaults_and_what_a_shop_sets():
    plugins = load_plugins(objects=[counting()])
    assert quantities(plugins)["film_m2"] == pytest.approx(
        0.28 * 0.36
    )  # 240 x 320 mm and 20 mm all round
    assert quantities(plugins, shop(margin="1 cm"))["film_m2"] == pytest.approx(0.26 * 0.34)
    named = shop_from_dict({"signrules": 1, "plugins": {"film": {"settings": {"name": "foil_m2"}}}})
    assert quantities(plugins, named)["foil_m2"] > 0
    assert quantities(plugins)["film_m2"] == pytest.approx(0.28 * 0.36), (
        "the plugins themselves are as they were"
    )


def test_a_plugin_without_settings_gets_none():
    assert quantities(load_plugins(objects=[counting(None)]))["without_settings"] == 1


def test_the_other_hooks_get_them_too():
    @frozen
    class Words:
        first: str = setting("dots", doc="what comes first")
        cells: str = setting("⠁", doc="what everything is in braille")

    def signrules_precedence(job, settings):
        other = {"dots": "letters", "letters": "dots"}[settings.first]
        return [(settings.first, other, "so the shop likes it")]

    def signrules_translate_braille(text, settings):
        return settings.cells

    plugin = SimpleNamespace(
        __name__="words",
        signrules_settings=Words,
        signrules_precedence=hookimpl(signrules_precedence),
        signrules_translate_braille=hookimpl(signrules_translate_braille),
    )
    plugins = load_plugins(objects=[plugin])
    for first in ("dots", "letters"):
        order = evaluate(JOB, plugins=plugins, shop=shop("words", first=first)).order
        assert sorted(["dots", "letters"], key=order.index)[0] == first
    assert plugins.translate("x")[0] == "⠁"
    assert plugins.configured(shop("words", cells="⠃")).translate("x")[0] == "⠃"


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        (
            {"margins": 1},
            "plugins.film.settings.margins: found an unknown setting, expected 'margin' perhaps",
        ),
        ({"margin": "wide"}, "plugins.film.settings.margin: found 'wide', expected"),
        ({"name": 7}, "plugins.film.settings.name: found 7, expected a text"),
    ],
)
def test_what_does_not_fit(settings, expected):
    with pytest.raises(ShopError) as caught:
        evaluate(JOB, plugins=load_plugins(objects=[counting()]), shop=shop(**settings))
    assert expected in str(caught.value)


def test_all_that_does_not_fit_is_told_at_once():
    document = {
        "signrules": 1,
        "rules": {"throw": {"reech": {"off": "a slip"}}},
        "plugins": {
            "film": {"settings": {"margins": 1}},
            "foil": {"settings": {}},
            "plain": {"settings": {"x": 1}},
        },
    }
    plugins = load_plugins(objects=[counting(), counting(None, name="plain")])
    with pytest.raises(ShopError) as caught:
        evaluate(JOB, plugins=plugins, shop=shop_from_dict(document))
    text = str(caught.value)
    assert "'throw.reach' perhaps" in text
    assert "plugins.film.settings.margins" in text
    assert "plugins.foil: found an unknown plugin" in text
    assert "plugins.plain.settings: found" in text
    assert "nothing: this plugin has no settings" in text


def test_a_plugin_that_could_not_be_loaded_may_have_settings_and_be_accepted():
    broken = counting()
    broken.signrules_api = "9.0"
    document = {
        "signrules": 1,
        "plugins": {"film": {"settings": {"margin": 1}, "accept_absence": "mended on Monday"}},
    }
    result = evaluate(JOB, plugins=load_plugins(objects=[broken]), shop=shop_from_dict(document))
    assert result.complete
    assert [reason for _, reason in result.accepted] == ["mended on Monday"]


def test_rules_of_a_plugin_that_could_not_be_loaded_may_be_set_too():
    broken = counting()
    broken.signrules_api = "9.0"
    document = {
        "signrules": 1,
        "rules": {"film": {"width": {"settings": {"least": 1}}}},
        "plugins": {"film": {"accept_absence": "mended on Monday"}},
    }
    plugins = load_plugins(objects=[broken])
    assert evaluate(JOB, plugins=plugins, shop=shop_from_dict(document)).complete
    document["rules"]["throw"] = {"reech": {"off": "a slip of the pen"}}
    with pytest.raises(ShopError) as caught:
        evaluate(JOB, plugins=plugins, shop=shop_from_dict(document))
    assert [fault.path for fault in caught.value.faults] == ["rules.throw.reech"]
    with pytest.raises(ShopError) as caught:
        evaluate(JOB, plugins=load_plugins(objects=[counting()]), shop=shop_from_dict(document))
    assert [fault.path for fault in caught.value.faults] == [
        "rules.film.width",
        "rules.throw.reech",
    ]


SLIP = {
    "signrules": 1,
    "rules": {"clearanc": {"strike": {"level": "NOTE", "reason": "a slip of the pen"}}},
}


def unloaded(*names):
    broken = [counting(name=name) for name in names]
    for one in broken:
        one.signrules_api = "9.0"
    return load_plugins(objects=broken)


def test_a_misspelt_set_of_rules_is_told_while_it_may_be_that_of_a_plugin():
    result = evaluate(JOB, plugins=unloaded("film"), shop=shop_from_dict(SLIP))
    loading, slip = result.faults
    assert loading.rule == "(loading)"
    assert (slip.plugin, slip.subject) == ("film", "rules.clearanc.strike")
    assert slip.error == (
        "no such rule is known here; it may belong to a plugin that was not loaded, 'film', "
        "or 'clearance.strike' is meant"
    )
    assert "rules.clearanc.strike: no such rule is known here" in evaluation_text(result)
    with pytest.raises(ShopError, match=r"'clearance\.strike' perhaps"):
        evaluate(JOB, shop=shop_from_dict(SLIP))


def test_a_rule_that_is_like_none_is_told_without_a_guess():
    far = {"signrules": 1, "rules": {"zzz": {"qq": {"off": "not ours"}}}}
    _, told = evaluate(JOB, plugins=unloaded("film"), shop=shop_from_dict(far)).faults
    assert told.error.endswith("a plugin that was not loaded, 'film'")


@pytest.mark.parametrize(
    ("accepted", "complete"), [((), False), (("tape",), False), (("film", "tape"), True)]
)
def test_what_may_be_of_plugins_that_are_all_accepted_is_accepted_with_them(accepted, complete):
    plugins = {name: {"accept_absence": "mended on Monday"} for name in accepted}
    result = evaluate(
        JOB, plugins=unloaded("tape", "film"), shop=shop_from_dict(SLIP | {"plugins": plugins})
    )
    assert result.complete is complete
    told = [*result.faults, *(fault for fault, _ in result.accepted)]
    (slip,) = [fault for fault in told if fault.rule == "(shop)"]
    assert (slip in result.faults) is not complete
    assert "one of the plugins that were not loaded, 'film', 'tape', or" in slip.error


@define
class Thawed:
    margin: float = setting(20.0, unit="mm", doc="how far film stands out")


@frozen
class Undocumented:
    margin: float = 20.0


@pytest.mark.parametrize(
    ("settings", "why"), [(Thawed, "frozen"), (Undocumented, "setting("), (7, "attrs.frozen")]
)
def test_settings_that_are_none(settings, why):
    (failed,) = load_plugins(objects=[counting(settings)]).failed
    assert failed.error.startswith("signrules_settings: ")
    assert why in failed.error


def test_reports_say_what_is_set():
    result = evaluate(JOB, plugins=load_plugins(objects=[counting()]), shop=shop(margin="1 cm"))
    assert 'plugin film: margin = "1 cm"' in evaluation_text(result)
    assert result.to_dict()["shop"]["plugin_settings"] == [
        {"plugin": "film", "settings": {"margin": "1 cm"}}
    ]


PLUGIN = """
from attrs import frozen
from signrules import hookimpl, setting

@frozen
class Film:
    margin: float = setting(20.0, unit="mm", doc="how far film stands out")

signrules_settings = Film

@hookimpl
def signrules_quantities(job, settings):
    return {"margin_mm": settings.margin}
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "film_file.py"
    path.write_text(PLUGIN, encoding="utf-8")
    return path


def test_the_command_lists_them(file, capsys):
    assert main(["plugins", "--plugin", str(file)]) == 0
    assert "  setting margin = 20.0 mm: how far film stands out" in capsys.readouterr().out
    assert main(["plugins", "--plugin", str(file), "--format", "json"]) == 0
    (own,) = [
        one for one in json.loads(capsys.readouterr().out)["loaded"] if one["name"] == "film_file"
    ]
    assert own["settings"]["properties"]["margin"]["default"] == 20.0


def test_plugins_that_have_travelled_are_set_again(file):
    plugins = load_plugins(files=[file])
    set_ = shop("film_file", margin=3)
    there = pickle.loads(pickle.dumps(plugins.configured(set_)))
    assert quantities(there, set_)["margin_mm"] == 3.0
    (many,) = signrules.evaluate_many([JOB], plugins=plugins, shop=set_)
    assert many.result.quantities["margin_mm"] == 3.0


def test_the_catalogue_lists_settings_and_does_without_examples():
    @rule("ourshop.few", each="pass", source=shop_practice("an invented house rule"), settings=Film)
    def few(item, settings):
        """Few layers.

        Why it matters: a test.
        A job that breaks it: any.
        One that meets it: none.
        """
        yield check("the layers", measured=item.layers, most=settings.margin, unit="")

    class House:
        @hookimpl
        def signrules_rule_sets(self):
            return [RuleSet("ourshop", (few,))]

    _, told = rule_catalogue(load_plugins(objects=[House()])).split("### ourshop.few")
    own = told.split("###")[0]
    assert "- **Setting `margin`:** how far film stands out Without it: `20.0` mm" in own
    assert "In the sample job" not in own


def test_the_catalogue_is_written_by_its_module():
    shown = subprocess.run(
        [sys.executable, "-m", "signrules.reports.catalogue"], capture_output=True, check=True
    )
    assert shown.stdout.decode().replace("\r\n", "\n") == rule_catalogue(load_plugins())


def test_a_shop_that_holds_itself_is_refused_by_its_keys():
    document = {"signrules": 1, "rules": {}}
    document["itself"] = document
    with pytest.raises(ShopError) as caught:
        shop_from_dict(document)
    assert [(fault.path, fault.found) for fault in caught.value.faults] == [
        ("itself", "an unknown key")
    ]
