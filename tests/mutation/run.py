"""How much the tests notice: plants faults in a sample of places, and counts those that no test
sees.

    python tests/mutation/run.py --work build/mutation --sample 12 --more 20

First every test runs once with coverage, so that each mutant is shown only to tests that run its
line, the likeliest and shortest first. Then a process is forked for each mutant, with every other
library loaded beforehand. It stands in memory alone: no file of the checkout changes. What was
found is kept in the work folder, and a run goes on where it was stopped; `--again` shows the
survivors to new tests, and to those that were left out for their time.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import gc
import importlib
import importlib.machinery
import importlib.util
import json
import os
import resource
import select
import signal
import sys
import time
import warnings
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

os.environ["SIGNRULES_FULL"] = "1"

import hypothesis  # noqa: E402
import pytest  # noqa: E402
from report import explained, tables, write  # noqa: E402

PACKAGES = ("physics", "rules", "planning", "braille", "standards", "documents")
COMPUTING = {
    "landing",
    "flight",
    "relief",
    "standing",
    "planes",
    "zones",
    "thermal",
    "error_budget",
    "heights",
    "bed_layout",
    "machine",
    "replaying",
    "timeline",
    "checks",
    "engine",
    "containment",
    "audit",
    "reduction",
    "solver",
    "step_search",
    "next_items",
    "changeover",
    "peeling",
    "cheapest",
    "gap_candidates",
    "plane_reaches",
    "bounds",
    "shrinking",
    "finding",
    "spelling",
    "contractions",
    "reading_back",
    "dot_layout",
    "dimension_tables",
    "table_reading",
    "written_numbers",
    "lengths",
    "measures",
    "figures",
    "money",
    "json_patch",
    "source_places",
}
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
EXAMPLES = 15
"""Examples for each property test, of the 60 to 400 that the suite takes."""
SLOW_SECONDS = 4.0
"""Tests that take longer than this are left out."""
ENOUGH_SECONDS = 10.0
"""Tests are shown to one mutant up to this much time in all."""
AGAIN_SECONDS = 60.0
"""The same for a survivor that is shown to the tests once more."""
MEMORY = 4 << 30
PASSED = (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)
FEW_FILES = 3


class Kit:
    """A pytest plugin: caps property tests, keeps chosen tests, notes how long each took, and which
    failed first.
    """

    def __init__(self, chosen=None, coverage=None, examples=EXAMPLES, known=()):
        self.chosen, self.coverage, self.examples, self.known = (
            chosen,
            coverage,
            examples,
            set(known),
        )
        self.seconds, self.failed = {}, None

    def pytest_collection_modifyitems(self, config, items):
        if self.chosen is not None:
            rank = {name: n for n, name in enumerate(self.chosen)}
            if self.known:
                rank |= {item.nodeid: -1 for item in items if item.nodeid not in self.known}
            items[:] = sorted(
                (item for item in items if item.nodeid in rank), key=lambda item: rank[item.nodeid]
            )
        for item in items:
            function = getattr(item.obj, "__func__", item.obj)
            stated = getattr(function, "_hypothesis_internal_use_settings", None)
            if stated is not None and self.examples:
                function._hypothesis_internal_use_settings = hypothesis.settings(
                    stated,
                    max_examples=min(stated.max_examples, self.examples),
                    phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
                    database=None,
                )

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        start = time.process_time()
        if self.coverage:
            self.coverage.switch_context(item.nodeid)
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - start

    def pytest_runtest_logreport(self, report):
        if report.failed and self.failed is None:
            self.failed = report.nodeid


def run_tests(paths, kit, *more):
    arguments = [
        "-q",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:cov",
        "-p",
        "no:xdist",
        "-m",
        "",
        "--rootdir",
        str(ROOT),
    ]
    arguments += ["-W", "ignore::pytest.PytestAssertRewriteWarning", "--tb=no", *more]
    os.chdir(ROOT)
    return int(pytest.main([*arguments, *paths], plugins=[kit]))


def in_child(work, seconds):
    """What `work()` gives back as plain data, from a process of its own, or why there
    is nothing.

    `seconds` are seconds of the processor, so that a busy machine lets nothing come late. A process
    that only waits is given up after ten times as long.
    """
    reader, writer = os.pipe()
    child = os.fork()
    seconds, patience = int(seconds) + 1, 10 * (int(seconds) + 1)
    if child == 0:
        os.setpgid(0, 0)
        signal.alarm(patience + 60)  # Should the parent be gone by then.
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 60))
        os.close(reader)
        with open(os.devnull, "w") as nowhere:
            for stream in (1, 2):
                os.dup2(nowhere.fileno(), stream)
        os.write(writer, json.dumps(work()).encode())
        os._exit(0)
    os.close(writer)
    told, until = b"", time.monotonic() + patience
    while (left := until - time.monotonic()) > 0:
        if select.select([reader], [], [], left)[0]:
            if not (part := os.read(reader, 1 << 16)):
                break
            told += part
    late = left <= 0
    if late:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)  # What it has started and not ended.
    late = late or (os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGXCPU)
    os.close(reader)
    if late:
        return "late"
    return json.loads(told) if told else "died"


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


class Planted(importlib.machinery.SourceFileLoader):
    """Loads one module from a source that stands in no file."""

    def __init__(self, name, path, source):
        super().__init__(name, path)
        self.source = source

    def get_code(self, fullname):
        return compile(self.source, self.path, "exec", dont_inherit=True)


class Finder:
    def __init__(self, name, path, source):
        self.name, self.path, self.source = name, path, source

    def find_spec(self, fullname, path=None, target=None):
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(
            fullname, self.path, loader=Planted(fullname, self.path, self.source)
        )


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


def shown(module, source, chosen, examples=EXAMPLES, known=()):
    """What the chosen tests say of the module with that source; with `known`, those of its package
    that the map does not know.
    """

    def work():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        name = module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        sys.meta_path.insert(0, Finder(name, str(ROOT / module), source))
        kit = Kit(chosen=chosen, examples=examples, known=known)
        paths = (
            [f"tests/{module.split('/')[1]}"]
            if known
            else sorted({test.split("::")[0] for test in chosen})
        )
        return {"code": run_tests(paths, kit, "-x"), "by": kit.failed}

    return work


def passes_whole(module, chosen, which, examples, known=()):
    """Ends the run where tests fail with a module as it is."""
    source = (ROOT / module).read_text(encoding="utf-8")
    told = in_child(shown(module, source, chosen, examples, known), 900)
    if not isinstance(told, dict) or told["code"] not in PASSED:
        sys.exit(f"{which} fail without any mutant: {told}")


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


def outcome_of(mutant, tests, examples=EXAMPLES, *, again=False):
    chosen, seconds = chosen_tests(tests, mutant.module, mutant.line)
    if again:
        shown_before = set(chosen)
        chosen, seconds = chosen_tests(tests, mutant.module, mutant.line, AGAIN_SECONDS)
        chosen = [test for test in chosen if test not in shown_before]
    outcome, by = "survived", None if chosen else "no test runs it"
    start = time.monotonic()
    parts = [(part, ()) for part in likeliest(chosen)]
    if again:
        parts.insert(0, ([], tests["names"]))
    for part, known in parts:
        work = shown(mutant.module, mutant.source, part, examples, known)
        told = in_child(work, 30 + 8 * seconds * (1 if examples else 15))
        if told == "late":
            outcome = "timed out"
        elif told == "died":
            outcome, by = "killed", "the process ended"
        elif told["code"] not in PASSED:
            outcome, by = "killed", told["by"]
        if outcome != "survived":
            break
    return {"outcome": outcome, "by": by, "seconds": round(time.monotonic() - start, 2)}


def modules_of(packages, only):
    for package in packages:
        for path in sorted((ROOT / "signrules" / package).rglob("*.py")):
            module = str(path.relative_to(ROOT))
            if path.stem != "__init__" and (not only or path.stem in only):
                yield module, path


def sample(arguments):
    """The mutants of the sample: the first of each module, then the second of each, and so on."""
    from mutants import drawn

    rows = []
    for module, path in modules_of(arguments.packages, arguments.only):
        computing = path.stem in COMPUTING or path.parent.name in COMPUTING
        wanted = arguments.more if computing else arguments.sample
        for number, mutant in enumerate(drawn(module, path, arguments.seed)):
            if number == wanted:
                break
            rows.append((number / wanted, module, mutant))
    return [mutant for _, _, mutant in sorted(rows, key=lambda row: row[:2])]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--work", type=Path, default=ROOT / "build" / "mutation", help="folder for what was found"
    )
    parser.add_argument("--seed", type=int, default=9)
    parser.add_argument("--sample", type=int, default=12, help="mutants of each module")
    parser.add_argument("--more", type=int, default=20, help="mutants of each module that computes")
    parser.add_argument(
        "--packages", nargs="*", default=PACKAGES, choices=PACKAGES, help="of these alone"
    )
    parser.add_argument("--only", nargs="*", default=[], help="names of modules")
    parser.add_argument(
        "--minutes",
        type=float,
        default=1e9,
        help="stop after so long; what was done is a fair sample",
    )
    parser.add_argument(
        "--map", action="store_true", help="find out anew which tests run which lines"
    )
    parser.add_argument(
        "--again", action="store_true", help="show survivors to new tests and to more of the old"
    )
    parser.add_argument(
        "--full", action="store_true", help="property tests take all their examples"
    )
    parser.add_argument("--write", type=Path, help="put the table into this page")
    arguments = parser.parse_args()
    arguments.work.mkdir(parents=True, exist_ok=True)
    sys.dont_write_bytecode, sys.pycache_prefix = False, str(arguments.work.resolve() / "bytecode")
    until = time.monotonic() + 60 * arguments.minutes

    map_file, results_file = arguments.work / "map.json", arguments.work / "results.jsonl"
    tests = whole_map(map_file, anew=arguments.map)
    for name in tests["others"]:
        with contextlib.suppress(Exception), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            # What is private is loaded by what is public, and some of it too early for hypothesis.
            if not name.startswith(("signrules", "conftest", "_")) and "._" not in name:
                importlib.import_module(name)
    assert not any(name.split(".")[0] == "signrules" for name in sys.modules), (
        "signrules was loaded before its mutants"
    )

    gc.freeze()
    results = {}
    if results_file.exists():
        for line in results_file.read_text().splitlines():
            row = json.loads(line)
            results[row["key"]] = row
    mutants = sample(arguments)
    examples = None if arguments.full else EXAMPLES
    module = mutants[0].module
    chosen, _ = chosen_tests(tests, module, mutants[0].line)
    passes_whole(module, chosen, "the first tests", examples)
    if arguments.again:
        for first in {mutant.module.split("/")[1]: mutant.module for mutant in mutants}.values():
            passes_whole(first, [], "the new tests", examples, tests["names"])
    reasons = explained()
    with results_file.open("a") as file:
        for mutant in mutants:
            known = results.get(mutant.key)
            if known and not (
                arguments.again and known["outcome"] == "survived" and mutant.key not in reasons
            ):
                continue
            if time.monotonic() > until:
                break
            if arguments.again and not known:
                continue
            row = {
                "key": mutant.key,
                "module": mutant.module,
                "line": mutant.line,
                "operator": mutant.operator,
            }
            row |= outcome_of(mutant, tests, examples, again=arguments.again)
            results[mutant.key] = row
            file.write(json.dumps(row) + "\n")
            file.flush()
            print(f"{row['outcome']:9} {row['seconds']:6.1f} s  {mutant.key}", flush=True)
    rows = [results[mutant.key] for mutant in mutants if mutant.key in results]
    killers = sorted(
        {row["by"] for row in rows if row["outcome"] == "killed" and "::" in (row["by"] or "")}
    )
    passes_whole(module, killers, "tests that killed mutants", examples)
    text = tables(rows, arguments.seed)
    print(text)
    if arguments.write:
        write(arguments.write, text)


if __name__ == "__main__":
    main()
