"""Wrong plugins, each told where it should be: when it is loaded, when a job is judged, or by the
testing kit.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest
from effort import first_quick
from more_wrong_plugins import WRONG
from wrong_plugins import START

import signrules
from signrules import load_plugins
from signrules.testing import ContractBroken, assert_hook_contract, assert_rule_contract

SHORT_S, LONG_S = 0.5, 3600.0
ENDLESS = ("does not end", "swallows the end of its time")
FEW = 8
LATER = {
    "signrules_precedence",
    "signrules_quantities",
    "signrules_translate_braille",
    "signrules_printers",
    "signrules_materials",
}
BUT = {"answers alike elsewhere": "none of these depends on it, and it starts two Pythons for each"}
STAGES = ("load", "judge", "kit", "silent")


def file_of(tmp_path, name):
    file = tmp_path / "own_plugin.py"
    file.write_text(START + WRONG[name][1], encoding="utf-8")
    return file


def told_when_loaded(file):
    return bool(load_plugins(files=[file]).failed)


def told_when_judged(file, seconds):
    job = signrules.job_from_dict(signrules.sample_job())
    return bool(signrules.evaluate(job, plugins=load_plugins(files=[file]), seconds=seconds).faults)


def law_that_is_broken(file):
    spec = importlib.util.spec_from_file_location("own_plugin", file)
    module = importlib.util.module_from_spec(spec)
    sys.modules["own_plugin"] = module
    try:
        spec.loader.exec_module(module)
        if hasattr(module, "one"):
            assert_rule_contract(module.one, max_examples=FEW, but=BUT)
        if LATER & set(vars(module)):
            assert_hook_contract(module, max_examples=FEW)
    except ContractBroken as broken:
        return broken.law
    finally:
        del sys.modules["own_plugin"]
    return None


BY_STAGE = sorted(WRONG, key=lambda name: STAGES.index(WRONG[name][0].partition(":")[0]))
WITHOUT_THE_KIT = sum(WRONG[name][0] in ("load", "judge") for name in WRONG)


@pytest.mark.parametrize("name", first_quick(WITHOUT_THE_KIT, BY_STAGE))
def test_a_wrong_plugin_is_told_where_it_should_be(tmp_path, name):
    stage, _, law = WRONG[name][0].partition(": ")
    file = file_of(tmp_path, name)
    assert stage in STAGES
    assert bool(law) is (stage == "kit")
    assert told_when_loaded(file) is (stage == "load")
    if stage != "load":
        assert told_when_judged(file, SHORT_S if name in ENDLESS else LONG_S) is (stage == "judge")
    if stage in ("kit", "silent"):
        assert law_that_is_broken(file) == (law or None)


def test_few_of_them_are_told_by_nobody():
    silent = [name for name, (stage, _) in WRONG.items() if stage == "silent"]
    assert len(WRONG) >= 40
    assert len(silent) * 10 < len(WRONG)
    page = (Path(__file__).parents[2] / "docs" / "testing-kit.md").read_text(encoding="utf-8")
    assert f"Of {len(WRONG)} wrong plugins" in page
    assert f"{len(silent)} are told by nobody" in page
