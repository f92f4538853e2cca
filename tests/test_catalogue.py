"""The catalogue: every number has a source, every printer makes a job, and plugins add to it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from scenario import sign_job

import signrules
from signrules import Interval, Material, PluginError, hookimpl, load_plugins
from signrules.catalogue.materials import builtin_materials, builtin_printers

MATERIALS = {material.id: material for material in builtin_materials()}


@pytest.mark.parametrize("material", MATERIALS.values(), ids=MATERIALS)
def test_every_number_says_where_it_comes_from(material):
    for name in ("expansion", "density", "heat_capacity", "modulus"):
        assert (getattr(material, name) is None) == (material.source_of(name) == "")
        assert "://" not in material.source_of(name)


# Restated by hand: nominal coefficients in millionths per kelvin, and the spread of what is
# published.
EXPANSION = {
    "acrylic": (34, 70, 162),
    "polycarbonate": (38, 65, 122),
    "abs": (53, 75, 110),
    "polystyrene": (54, 80, 150),
    "pvc": (40, 70, 180),
    "pvc-foam": (70, 90, 150),
    "petg": (51, 68, 80),
    "phenolic": (16, 20, 122),
    "aluminium": (21, 23, 24),
    "aluminium-composite": (24, 24, 24),
    "glass": (7, 9, 9),
    "stainless-steel": (17, 17, 17),
}


def test_the_coefficients_are_those_that_were_read():
    found = {
        m.id: (m.expansion.low, m.expansion.nominal, m.expansion.high) for m in MATERIALS.values()
    }
    assert found == EXPANSION
    assert (MATERIALS["acrylic"].density, MATERIALS["acrylic"].heat_capacity) == (1190, 1470)


@pytest.mark.parametrize("printer", builtin_printers())
def test_a_printer_is_reached_by_use(printer):
    document = sign_job(printer={"use": printer}, handling=[])
    document["media"][0]["at"] = [0, 0]
    plugins = load_plugins()
    job = signrules.job_from_dict(document, plugins=plugins)
    assert signrules.evaluate(job, plugins=plugins).complete
    assert "invented" in job.printer.name
    document["printer"]["min_clearance"] = "0.5 mm"
    assert signrules.job_from_dict(document, plugins=plugins).printer.min_clearance == 0.5


def bringing(**hooks):
    return SimpleNamespace(
        __name__="shop",
        **{name: hookimpl(function_named(name, value)) for name, value in hooks.items()},
    )


def function_named(name, value):
    def hook():
        return value

    hook.__name__ = name
    return hook


BAMBOO = Material("bamboo", expansion=Interval.exact(5), sources={"expansion": "an invented test"})


def test_a_plugin_brings_a_material():
    plugins = load_plugins(objects=[bringing(signrules_materials=[BAMBOO])])
    assert plugins.materials["bamboo"] == BAMBOO
    assert plugins.materials["acrylic"] == MATERIALS["acrylic"]


def test_a_material_is_brought_once():
    twice = Material("acrylic", density=1200.0, sources={"density": "an invented test"})
    with pytest.raises(
        PluginError, match="material acrylic is brought twice, by signrules and shop"
    ):
        load_plugins(objects=[bringing(signrules_materials=[twice])])


def test_rubbish_is_a_failed_plugin():
    plugins = load_plugins(objects=[bringing(signrules_materials=["bamboo"])])
    assert [failed.name for failed in plugins.failed] == ["shop"]
    assert not signrules.evaluate(signrules.job_from_dict(sign_job()), plugins=plugins).complete


@pytest.mark.parametrize(
    "wrong",
    [
        {"density": 1200.0},
        {"density": -1.0, "sources": {"density": "from memory"}},
        {"density": float("inf"), "sources": {"density": "from memory"}},
        {"density": float("nan"), "sources": {"density": "from memory"}},
        {"density": True, "sources": {"density": "from memory"}},
        {"density": "1200", "sources": {"density": "from memory"}},
        {"heat_capacity": float("inf"), "sources": {"heat_capacity": "from memory"}},
        {"modulus": float("inf"), "sources": {"modulus": "from memory"}},
        {"modulus": 0.0, "sources": {"modulus": "from memory"}},
        {"expansion": Interval.exact(-1), "sources": {"expansion": "from memory"}},
        {"expansion": Interval.exact(1e5), "sources": {"expansion": "from memory"}},
        {"expansion": 70.0, "sources": {"expansion": "from memory"}},
    ],
)
def test_a_number_without_a_source_or_out_of_range_is_refused(wrong):
    with pytest.raises(ValueError, match=r"^material bamboo: \w+: found .*, expected "):
        Material("bamboo", **wrong)


def test_what_a_sheet_may_state_its_material_may_state_too():
    rigid = Material(
        "rigid", expansion=Interval.exact(0), sources={"expansion": "an invented test"}
    )
    document = sign_job()
    document["media"][0]["expansion"] = "0 ppm/K"
    assert signrules.job_from_dict(document).media[0].expansion == rigid.expansion
