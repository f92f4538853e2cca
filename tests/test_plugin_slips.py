"""What is told of a plugin when it is loaded: hooks that nobody asks, numbers of another unit."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest

import signrules
from signrules import Material, cli, hookimpl, load_plugins
from signrules.rules.unusual_numbers import unusual_numbers, why_contradictory
from signrules.standards.dimension_tables import builtin_standards, read_standard

HEAD = "from signrules import hookimpl\n"
IN_A_CLASS = """
class Ours:
    @hookimpl
    def signrules_rule_sets(self):
        return []
"""
WHERE_IT_MAY_BE = """
if True:
    @hookimpl
    def signrules_rule_sets():
        return []
"""
TABLE = """
id = "own"
title = "An invented table"
publisher = "nobody"
unit = "mm"
[[rows]]
quantity = "braille.dot_spacing"
clause = "1"
source = "invented"
standing = "read"
"""
BESIDE = """
[[rows]]
quantity = "braille.dot_spacing"
clause = "2"
source = "invented"
standing = "read"
most = "2.5 mm"
"""


def errors_of(tmp_path, text):
    file = tmp_path / "own.py"
    file.write_text(HEAD + text, encoding="utf-8")
    return [one.error for one in load_plugins(files=[file]).failed]


def test_a_hook_in_a_class_is_told_with_its_class(tmp_path):
    (error,) = errors_of(tmp_path, IN_A_CLASS)
    assert error.startswith("signrules_rule_sets stands in the class Ours, where it is never asked")


def test_an_instance_of_a_class_is_a_plugin():
    class Ours:
        @hookimpl
        def signrules_rule_sets(self):
            return []

    assert load_plugins(objects=[Ours()]).failed == ()


def test_a_hook_that_is_there_may_stand_anywhere(tmp_path):
    assert errors_of(tmp_path, WHERE_IT_MAY_BE) == []


def test_a_value_in_place_of_a_hook_is_told(tmp_path):
    (error,) = errors_of(tmp_path, "signrules_rule_sets = []\n")
    assert error.startswith("signrules_rule_sets is [], expected a function with @hookimpl above")


def test_the_version_of_whatever_is_installed_is_told_with_its_line(tmp_path):
    text = "import signrules\nsignrules_api = signrules.API_VERSION\n"
    (error,) = errors_of(tmp_path, text)
    assert error.startswith("signrules_api on line 3 is that of whatever is installed")


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        ('least = "2.4 mm"', 0),
        ('least = "0 mm"', 0),  # No limit at all is no slip.
        ('most = "24 mm"', 0),  # Ten times too much may be meant.
        ('least = "2400 mm"', 1),
        ('most = "0.0024 mm"', 1),
    ],
)
def test_a_limit_in_another_unit_is_said(limit, said):
    found = list(unusual_numbers([read_standard(TABLE + limit, "own.toml")], {}, []))
    assert len(found) == said
    for each in found:
        assert each.startswith("standard own: braille.dot_spacing: ")


def test_the_tables_that_come_with_signrules_are_neither_unusual_nor_contradictory():
    assert list(unusual_numbers(builtin_standards(), {}, [])) == []
    assert [why for each in builtin_standards() for why in why_contradictory(each)] == []


def test_two_rows_that_nothing_can_meet():
    table = read_standard(TABLE + 'least = "2.6 mm"' + BESIDE, "own.toml")
    assert list(why_contradictory(table)) == [
        "braille.dot_spacing must be at least 2.6 mm and at most 2.5 mm"
    ]
    plugin = SimpleNamespace(__name__="own", signrules_standards=hookimpl(lambda: [table]))
    plugin.signrules_standards.__name__ = "signrules_standards"
    (failed,) = load_plugins(objects=[plugin]).failed
    assert failed.error.startswith("the standard own cannot be met: ")


def test_two_rows_that_meet_at_their_limits_can_be_met():
    table = read_standard(TABLE + 'least = "2.5 mm"' + BESIDE, "own.toml")
    assert list(why_contradictory(table)) == []


@pytest.mark.parametrize(
    ("name", "value", "unusual"),
    [
        ("density", 1190.0, False),
        ("density", 1.19, True),  # g/cm3
        ("heat_capacity", 1.47, True),  # kJ/(kg K)
        ("modulus", 3.2, False),
        ("modulus", 3200.0, True),  # MPa
        ("expansion", signrules.Interval(60, 70, 80), False),
        ("expansion", signrules.Interval(6e-5, 7e-5, 8e-5), True),  # per kelvin
    ],
)
def test_a_material_in_another_unit_is_said(name, value, unusual):
    material = Material("own", **{name: value}, sources={name: "invented"})
    found = list(unusual_numbers([], {}, [material]))
    assert bool(found) is unusual
    for each in found:
        assert each.startswith(f"material own: {name}: ")


def test_the_command_says_what_looks_like_another_unit(tmp_path, capsys):
    file = tmp_path / "own.py"
    file.write_text(
        "from signrules import Material, hookimpl\n\n\n@hookimpl\ndef signrules_materials():\n"
        '    return [Material("own", density=1.65, sources={"density": "invented"})]\n',
        encoding="utf-8",
    )
    said = "material own: density: 1.65 kg/m3 is unusual, 300 to 9000 kg/m3 is usual"
    assert cli.main(["plugins", "--plugin", str(file)]) == 0
    assert f"  LOOK AT {said}" in capsys.readouterr().out
    assert cli.main(["plugins", "--plugin", str(file), "--format", "json"]) == 0
    (own,) = (one for one in json.loads(capsys.readouterr().out)["loaded"] if one["name"] == "own")
    assert [each.partition(":")[0] for each in own["unusual"]] == ["material own"]
