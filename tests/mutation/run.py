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
import contextlib
import gc
import importlib
import importlib.machinery
import importlib.util
import json
import resource
import sys
import time
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from forks import EXAMPLES, PASSED, ROOT, Kit, in_child, run_tests
from line_map import AGAIN_SECONDS, chosen_tests, likeliest, whole_map
from report import explained, tables, write

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
MEMORY = 4 << 30


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


def asked_for():
    """What the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    option = parser.add_argument
    work = ROOT / "build" / "mutation"
    option("--work", type=Path, default=work, help="folder for what was found")
    option("--seed", type=int, default=9)
    option("--sample", type=int, default=12, help="mutants of each module")
    option("--more", type=int, default=20, help="mutants of each module that computes")
    option("--packages", nargs="*", default=PACKAGES, choices=PACKAGES, help="of these alone")
    option("--only", nargs="*", default=[], help="names of modules")
    option("--minutes", type=float, default=1e9, help="stop after so long: still a fair sample")
    option("--map", action="store_true", help="find out anew which tests run which lines")
    option("--again", action="store_true", help="show survivors to new tests, and to more of old")
    option("--full", action="store_true", help="property tests take all their examples")
    option("--write", type=Path, help="put the table into this page")
    return parser.parse_args()


def load_others(names):
    """Load every other library, so that no mutant has to; what signrules is made of stays out."""
    for name in names:
        with contextlib.suppress(Exception), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            # What is private is loaded by what is public, and some of it too early for hypothesis.
            if not name.startswith(("signrules", "conftest", "_")) and "._" not in name:
                importlib.import_module(name)
    assert not any(name.split(".")[0] == "signrules" for name in sys.modules), (
        "signrules was loaded before its mutants"
    )
    gc.freeze()


def known_results(file):
    """What was found before, by the key of the mutant."""
    lines = file.read_text().splitlines() if file.exists() else ()
    return {row["key"]: row for row in map(json.loads, lines)}


def due(mutants, results, *, again):
    """The mutants that are to be shown: those of which nothing is known, or else survivors that
    nobody explains.
    """
    reasons = explained()
    for mutant in mutants:
        known = results.get(mutant.key)
        if again and known:
            if known["outcome"] == "survived" and mutant.key not in reasons:
                yield mutant
        elif not again and not known:
            yield mutant


def main():
    arguments = asked_for()
    arguments.work.mkdir(parents=True, exist_ok=True)
    sys.dont_write_bytecode, sys.pycache_prefix = False, str(arguments.work.resolve() / "bytecode")
    until = time.monotonic() + 60 * arguments.minutes
    tests = whole_map(arguments.work / "map.json", anew=arguments.map)
    load_others(tests["others"])

    results_file = arguments.work / "results.jsonl"
    results, mutants = known_results(results_file), sample(arguments)
    examples = None if arguments.full else EXAMPLES
    module = mutants[0].module
    chosen, _ = chosen_tests(tests, module, mutants[0].line)
    passes_whole(module, chosen, "the first tests", examples)
    if arguments.again:
        for first in {mutant.module.split("/")[1]: mutant.module for mutant in mutants}.values():
            passes_whole(first, [], "the new tests", examples, tests["names"])
    with results_file.open("a") as file:
        for mutant in due(mutants, results, again=arguments.again):
            if time.monotonic() > until:
                break
            found = outcome_of(mutant, tests, examples, again=arguments.again)
            about = {name: getattr(mutant, name) for name in ("key", "module", "line", "operator")}
            row = results[mutant.key] = about | found
            file.write(json.dumps(row) + "\n")
            file.flush()
            print(f"{row['outcome']:9} {row['seconds']:6.1f} s  {mutant.key}", flush=True)

    rows = [results[mutant.key] for mutant in mutants if mutant.key in results]
    killers = {row["by"] for row in rows if row["outcome"] == "killed" and row["by"]}
    killers = sorted(name for name in killers if "::" in name)
    passes_whole(module, killers, "tests that killed mutants", examples)
    text = tables(rows, arguments.seed)
    print(text)
    if arguments.write:
        write(arguments.write, text)


if __name__ == "__main__":
    main()
