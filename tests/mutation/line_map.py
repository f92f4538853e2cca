"""Which tests run which lines, found with coverage, and which of them are shown to a mutant."""

from __future__ import annotations

import ast
import json
import sys
import time
from pathlib import Path

from forks import ROOT, Kit, in_child, run_tests

TESTS = [
    "physics",
    "rules",
    "planning",
    "evaluation",
    "braille",
    "standards",
    "documents",
    "continuing",
    "measuring",
    "estimating",
    "remedies",
    "whatif",
    "schedules/test_sign_types.py",
    "schedules/test_jobs.py",
    "schedules/test_plugin_data.py",
    "schedules/test_placing.py",
    "schedules/test_lettering.py",
    "composing/test_compose_command.py",
    "composing/test_kept_places.py",
    "artwork/test_job_making.py",
    "fuzz/test_patches.py",
    "test_main_job.py",
    "test_graph.py",
    "test_plugins.py",
    "test_plugin_settings.py",
    "test_plugin_data.py",
    "test_sabotage.py",
    "test_slips.py",
    "test_catalogue.py",
]
SLOW_SECONDS = 4.0
"""Tests that take longer than this are left out."""
ENOUGH_SECONDS = 10.0
"""Tests are shown to one mutant up to this much time in all."""
AGAIN_SECONDS = 60.0
"""The same for a survivor that is shown to the tests once more."""
FEW_FILES = 3


def mapped(path):
    """Which tests of a file or folder run which line, how long each takes, and what other libraries
    they load; without tests that are marked as slow.
    """
    from coverage import Coverage

    coverage = Coverage(source_pkgs=["signrules"], data_file=None, config_file=False)
    kit = Kit(coverage=coverage)
    coverage.start()
    code = run_tests([f"tests/{path}"], kit, "-m", "not slow")
    coverage.stop()
    data = coverage.get_data()
    names = sorted(kit.seconds)
    number = {name: n for n, name in enumerate(names)}
    lines = {
        str(Path(file).relative_to(ROOT)): {
            line: sorted(number[context] for context in contexts if context in number)
            for line, contexts in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
    }
    others = sorted(
        name
        for name, module in list(sys.modules.items())
        if (file := getattr(module, "__file__", None))
        and not Path(file).is_relative_to(ROOT)
        and "coverage" not in name
    )
    seconds = [kit.seconds[name] for name in names]
    return {
        "code": code,
        "failed": kit.failed,
        "names": names,
        "seconds": seconds,
        "lines": lines,
        "others": others,
    }


def joined(tests, path, more):
    """The map of some tests, with that of another file or folder."""
    start = len(tests["names"])
    lines = {module: dict(some) for module, some in tests["lines"].items()}
    for module, some in more["lines"].items():
        here = lines.setdefault(module, {})
        for line, numbers in some.items():
            here[line] = [*here.get(line, []), *(start + number for number in numbers)]
    return {
        "paths": [*tests["paths"], path],
        "names": [*tests["names"], *more["names"]],
        "seconds": [*tests["seconds"], *more["seconds"]],
        "lines": lines,
        "others": sorted({*tests["others"], *more["others"]}),
    }


def whole_map(map_file, *, anew):
    """The map of all tests: each file or folder has a process of its own, and is kept as soon as it
    has run.
    """
    tests = {"paths": [], "names": [], "seconds": [], "lines": {}, "others": []}
    if map_file.exists() and not anew:
        tests = json.loads(map_file.read_text())
    for path in TESTS:
        if path in tests["paths"]:
            continue
        start = time.monotonic()
        more = in_child(lambda path=path: mapped(path), 3600)
        if not isinstance(more, dict) or more["code"] != 0:
            sys.exit(
                f"tests/{path} fails without any mutant:"
                f" {more if isinstance(more, str) else more['failed']}"
            )
        print(f"tests/{path}: mapped in {time.monotonic() - start:.0f} s", flush=True)
        tests = joined(tests, path, more)
        map_file.write_text(json.dumps(tests))
    return tests


def around(module, line):
    """First and last line of a line, of each function around it, the innermost first, and of the
    whole module.

    A line outside the bodies of functions is left out by itself: it runs at import alone, in
    whichever test happens to be the first that needs the module.
    """
    source = (ROOT / module).read_text(encoding="utf-8")
    functions = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.FunctionDef)]
    spans = {
        (node.lineno, node.end_lineno)
        for node in functions
        if node.lineno <= line <= node.end_lineno
    }
    in_body = any(node.body[0].lineno <= line <= node.end_lineno for node in functions)
    return [
        *([(line, line)] if in_body else []),
        *sorted(spans, key=lambda span: span[1] - span[0]),
        (1, len(source.splitlines())),
    ]


def running_tests(tests, module, line):
    """The tests that run a line, or else anything of the function around it, or else anything of
    the module.

    No test is known for what runs while another trace function is in place.
    """
    lines = {int(number): some for number, some in tests["lines"].get(module, {}).items()}
    for first, last in around(module, line):
        if running := {
            test for number, some in lines.items() if first <= number <= last for test in some
        }:
            return running
    return set()


def chosen_tests(tests, module, line, enough=ENOUGH_SECONDS):
    """The tests that run a line, the likeliest and shortest first, up to a time in all; and that
    time.
    """
    running = running_tests(tests, module, line)
    package = f"tests/{module.split('/')[1]}/"
    weight = {
        test: tests["seconds"][test] * (1 if tests["names"][test].startswith(package) else 3)
        for test in running
        if tests["seconds"][test] <= SLOW_SECONDS
    }
    chosen, total = [], 0.0
    for test in sorted(weight, key=lambda test: (weight[test], test)):
        if total + tests["seconds"][test] <= enough:
            chosen.append(tests["names"][test])
            total += tests["seconds"][test]
    return chosen, total


def likeliest(chosen):
    """Some first tests from few files, which are quickly collected, and the others."""
    files, first = [], []
    for test in chosen[:60]:
        file = test.split("::")[0]
        if file not in files:
            files.append(file)
        if file in files[:FEW_FILES]:
            first.append(test)
    return [part for part in (first, [test for test in chosen if test not in first]) if part]
