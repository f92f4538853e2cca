"""Imports point one way: a module may import from its own layer and from those beneath it."""

from __future__ import annotations

import argparse
import ast
import importlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

import signrules
from signrules.cli import COMMANDS

PACKAGE = Path(signrules.__file__).parent
ROOT = Path(__file__).parents[1]

LAYERS = [
    {"cautions", "errors", "events", "given_values", "notebook_tables"},
    {"model"},
    {"catalogue", "page_languages"},
    {"physics", "documents"},
    {"standards"},
    {"job_graphs", "braille"},
    {"rules", "artwork"},
    {"artwork_files", "report_formats"},
    {"hookspecs", "load_answers", "planning", "schedules", "shop"},
    {
        "builtin",
        "plain",
        "shop_file",
        "hook_answers",
        "plugin_sources",
    },
    {"plugin_loading"},
    {"language_ranks", "reader_ranks", "plugin_demands", "plugin_order"},
    {"plugin_gathering"},
    {"plugins"},
    {"remedies"},
    {"evaluation"},
    {"estimating", "many_jobs", "measuring", "order_faults", "schemas", "whatif"},
    {"work_order_files"},
    {"composing", "reports"},
    {"continuing"},
    {"sheet"},
    {"cli", "testing"},
    {"__main__", "__init__"},
]
DEPTH = {name: depth for depth, names in enumerate(LAYERS) for name in names}
MODULES = sorted(PACKAGE.rglob("*.py"))


def layer_of(module: Path) -> str:
    first = module.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imported(module: Path):
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: relative import"
            if node.module == "signrules":
                names = [f"signrules.{alias.name}" for alias in node.names]
            else:
                names = [node.module or ""]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        yield from (name.split(".")[1] for name in names if name.startswith("signrules."))


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(module):
    here = layer_of(module)
    for name in imported(module):
        if name == "__version__":
            continue
        below = DEPTH[name] < DEPTH[here] or name == here
        assert below, f"{module.relative_to(PACKAGE)} ({here}) imports {name}"


PLANNING = [
    {"bitmasks", "setup_cost", "plan", "predecessors"},
    {"gaps", "audit"},
    {"order"},
    {"conflict"},
    {"pipeline"},
    {"why_here", "planner"},
]
"""The layers within `signrules/planning`, the lowest first."""
PLANNING_DEPTH = {name: depth for depth, names in enumerate(PLANNING) for name in names}
PLANNING_MODULES = sorted(module for module in MODULES if layer_of(module) == "planning")


def part_of_planning(module: Path) -> str:
    return module.relative_to(PACKAGE / "planning").parts[0].removesuffix(".py")


def parts_imported(module: Path):
    """The parts of `signrules/planning` that one of its modules imports."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
            "signrules.planning."
        ):
            yield node.module.split(".")[2]


def planning_breaks(here: str, name: str) -> bool:
    """Whether one part of planning may not import another; the audit may import the plan alone."""
    if name == here:
        return False
    if "audit" in (here, name):
        return (here, name) != ("audit", "plan")
    return PLANNING_DEPTH[name] >= PLANNING_DEPTH[here]


@pytest.mark.parametrize(
    "module", PLANNING_MODULES, ids=lambda path: str(path.relative_to(PACKAGE))
)
def test_imports_point_down_within_planning(module):
    here = part_of_planning(module)
    broken = [name for name in parts_imported(module) if planning_breaks(here, name)]
    assert not broken, f"{here} imports {broken}"


def test_every_part_of_planning_has_a_layer():
    assert {part_of_planning(module) for module in PLANNING_MODULES} - {"__init__"} == set(
        PLANNING_DEPTH
    )


def test_every_module_has_a_layer():
    assert {layer_of(module) for module in MODULES} <= set(DEPTH)


def test_no_file_holds_two_things():
    long = {
        str(m.relative_to(PACKAGE)): n
        for m in MODULES
        if (n := len(m.read_text("utf-8").splitlines())) > 420
    }
    assert not long


def test_the_stub_lists_what_the_package_exports():
    tree = ast.parse((PACKAGE / "__init__.pyi").read_text(encoding="utf-8"))
    stub = {
        alias.asname: node.module
        for node in tree.body
        if isinstance(node, ast.ImportFrom) and node.module
        for alias in node.names
    }
    exported = {
        name: f"signrules.{home}" for home, names in signrules._HOMES.items() for name in names
    }
    assert stub == exported
    assert set(signrules.__all__) == set(stub)
    assert set(dir(signrules)) == {"__version__", *stub}
    for name in signrules.__all__:
        assert getattr(signrules, name) is not None


def test_import_loads_nothing_heavy():
    heavy = [
        "networkx",
        "cattrs",
        "pluggy",
        "attr",
        "importlib.metadata",
        "json",
        "argparse",
        "hypothesis",
    ]
    code = f"import sys, signrules; print([m for m in {heavy} if m in sys.modules])"
    # Where coverage is measured in other Pythons too, it comes with modules of its own.
    plain = {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE")}
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=plain
    )
    assert shown.stdout.strip() == "[]"


SELDOM_NEEDED = [
    "fontTools",
    "hypothesis",
    "networkx",
    "numpy",
    "openpyxl",
    "ortools",
    "PIL",
    "rectpack",
    "shapely",
    "signrules.composing",
    "signrules.estimating",
    "signrules.many_jobs.job_sequence",
    "signrules.schedules",
    "signrules.work_order_files",
]
"""What judging one job has no use for."""


@pytest.mark.parametrize(
    "statement",
    [
        "signrules.evaluate(signrules.read_job('docs/examples/clinic.toml'))",
        "from signrules.cli import main; main(['check', 'docs/examples/clinic.toml'])",
    ],
    ids=["evaluate", "check"],
)
def test_judging_a_job_loads_nothing_heavy(statement):
    code = (
        f"import sys, signrules; {statement};"
        f" print([name for name in {SELDOM_NEEDED} if name in sys.modules], file=sys.stderr)"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert shown.stderr.strip() == "[]"


@pytest.mark.thorough
def test_a_command_loads_no_other():
    code = (
        "import sys; from signrules.cli import main; main(['order', 'docs/examples/clinic.toml']);"
        " print([name for name in sys.modules if name.endswith(('_command', '_commands'))],"
        " file=sys.stderr)"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert shown.stderr.splitlines()[-1] == "['signrules.cli.order_command']"


def test_every_command_is_added_by_its_module():
    for name, module in COMMANDS.items():
        parser = argparse.ArgumentParser()
        commands = parser.add_subparsers()
        importlib.import_module(f"signrules.cli.{module}").add_command(commands)
        assert name in commands.choices
        assert set(commands.choices) <= set(COMMANDS)
