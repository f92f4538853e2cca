"""Plugins are found by the short name of their distribution, in the shop file and in jobs."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from attrs import field, frozen
from scenario import sign_job

import signrules
from signrules import PluginError, hookimpl, load_plugins, plain_number, setting

JOB = signrules.job_from_dict(sign_job())


@frozen
class Depth:
    metres: float = setting(4.0, unit="m", doc="how deep the water is")


@frozen
class Tide:
    hours: float | None = field(
        default=None, metadata=plain_number("hours", 0, 24, "when it is low", unit="h")
    )


@hookimpl
def signrules_quantities(settings, data, job):
    tide = data.of(job)
    return {"depth_m": settings.metres, "tide_h": 0.0 if tide is None else tide.hours}


@hookimpl
def failing(job):
    raise ZeroDivisionError


def quay(name="signrules-quay", hook=signrules_quantities):
    return SimpleNamespace(
        __name__=name,
        signrules_settings=Depth,
        signrules_data={"job": Tide},
        signrules_quantities=hook,
    )


def shop_with(**tables):
    return signrules.shop_from_dict({"signrules": 1, "plugins": tables})


def depth(shop, *plugins):
    result = signrules.evaluate(JOB, plugins=load_plugins(objects=plugins), shop=shop)
    return result.quantities["depth_m"]


@pytest.mark.parametrize("name", ["quay", "signrules-quay"])
def test_a_shop_sets_a_plugin_by_either_name(name):
    assert depth(shop_with(**{name: {"settings": {"metres": 3}}}), quay()) == 3


@pytest.mark.parametrize("name", ["quay", "signrules-quay"])
def test_many_jobs_and_the_absence_of_a_plugin_know_both_names(name):
    plugins = load_plugins(objects=[quay(hook=failing)])
    shop = shop_with(**{name: {"accept_absence": "mended on Monday"}})
    (many,) = signrules.evaluate_many([JOB], plugins=plugins, shop=shop)
    assert [reason for _, reason in many.result.accepted] == ["mended on Monday"]


def test_a_plugin_that_is_called_so_goes_first():
    shop = shop_with(quay={"settings": {"metres": 3}})
    short = SimpleNamespace(__name__="quay", signrules_settings=Depth)
    assert depth(shop, quay(), short) == 4


def test_both_names_of_one_plugin_are_refused():
    row = {"settings": {"metres": 3}}
    with pytest.raises(signrules.ShopError, match=r"the plugin signrules-quay twice"):
        depth(shop_with(**{"quay": row, "signrules-quay": row}), quay())


def test_an_unknown_name_is_still_told():
    with pytest.raises(signrules.ShopError, match=r"plugins\.kay: found an unknown plugin"):
        depth(shop_with(kay={"settings": {"metres": 3}}), quay())


def test_a_job_holds_data_by_the_short_name():
    plugins = load_plugins(objects=[quay()])
    document = sign_job(data={"quay": {"hours": 5}})
    result = signrules.evaluate(signrules.job_from_dict(document, plugins=plugins), plugins=plugins)
    assert result.quantities["tide_h"] == 5


def test_a_plugin_is_left_out_by_its_short_name_too():
    both = [SimpleNamespace(__name__=name) for name in ("signrules-quay", "signrules-pier")]
    assert load_plugins(objects=both, block=["quay"]).names == ("signrules", "signrules-pier")
    # One that is called so goes first.
    named = [*both, SimpleNamespace(__name__="quay")]
    left = load_plugins(objects=named, block=["quay"]).names
    assert left == ("signrules", "signrules-pier", "signrules-quay")
    with pytest.raises(PluginError, match="called quai; did you mean quay"):
        load_plugins(objects=named, block=["quai"])


@pytest.mark.parametrize(
    ("written", "loaded"),
    [
        ("signrules-quay", "quay"),
        ("signrules_quay", "quay"),
        ("quay", "signrules_quay"),
        ("signrules-quay", "signrules_quay"),
        ("old-quay", "old_quay"),
        ("quaj", "signrules-quay"),
    ],
)
def test_another_name_of_a_plugin_is_told_with_its_own(written, loaded):
    shop = shop_with(**{written: {"settings": {"metres": 3}}})
    with pytest.raises(signrules.ShopError) as told:
        depth(shop, quay(loaded))
    (fault,) = told.value.faults
    assert (fault.path, fault.expected) == (f"plugins.{written}", f"{loaded!r} perhaps")
    with pytest.raises(PluginError, match=f"did you mean {loaded}"):
        load_plugins(objects=[quay(loaded)], block=[written])


def test_the_built_in_plugin_is_not_near_for_its_prefix():
    with pytest.raises(signrules.ShopError, match="expected a plugin that is loaded"):
        depth(shop_with(**{"signrules-ferry": {"settings": {}}}), quay())
