"""Running rules in another Python, where texts hash otherwise: `python -m
signrules.testing.other_python`.
"""

from __future__ import annotations

import importlib
import importlib.util
import inspect
import json
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import ModuleType
from typing import Any

from signrules.plain import check_to_dict
from signrules.plugin_sources import FromSource
from signrules.plugins import load_plugins
from signrules.rules.declaration import Rule, RuleSet
from signrules.rules.engine import Facts, PlacedRule
from signrules.testing.altered_documents import Document
from signrules.testing.run_rules import facts_of_document, placed_rules, run_placed

SEEDS = ("1", "2")
ASKED = "SIGNRULES_ASKED_ELSEWHERE"
"""The environment variable by which another Python knows that it is one."""

_WAIT_S = 120


def hash_differences(
    rules: Sequence[Rule], documents: Sequence[Document]
) -> Iterator[tuple[str, str, Document]]:
    """The rules that answer otherwise under another hash seed, or where the jobs are judged in
    another order: name, how, and document of each.

    Rules that another Python cannot find again (those made inside a function or in a script that is
    run) are left out. Raises RuntimeError, with what it said, where another Python ends before it
    has answered.
    """
    if ASKED in os.environ:
        # Asked by a module that another Python imports to find a rule: that would never end.
        return
    asked, turned = (
        _asked_of_python(rules, asked_documents) for asked_documents in (documents, documents[::-1])
    )
    with ExitStack() as ending:
        running = [_started_python(seed) for seed in SEEDS]
        # The second judges the jobs the other way round: what is kept from one job to the next and
        # should not be shows where two of them are alike.
        for process in running:
            ending.enter_context(process)
            ending.callback(process.kill)
        first, second = (
            _answer_of(process, text)
            for process, text in zip(running, (asked, turned), strict=True)
        )
    for rule in rules:
        first_answers, second_answers = first.get(rule.name), second.get(rule.name)
        for document, first_answer, second_answer in zip(
            documents, first_answers or (), (second_answers or ())[::-1], strict=False
        ):
            if first_answer != second_answer:
                both = f"{first_answer} and {second_answer}"
                problem = f"under another hash seed, and after other jobs, it answered {both}"
                yield rule.name, problem, document


def _asked_of_python(rules: Sequence[Rule], documents: Sequence[Document]) -> str:
    asked = {
        # The empty entry stands for the working directory, which `-m` puts there by itself.
        "path": [entry for entry in sys.path if entry],
        "rules": [_address_of_rule(rule) for rule in rules],
        "documents": list(documents),
    }
    return json.dumps(asked, default=str)


def _started_python(seed: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-W", "ignore", "-m", "signrules.testing.other_python"]
    environment = {**os.environ, "PYTHONHASHSEED": seed, ASKED: "1"}
    return subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
    )


def _answer_of(process: subprocess.Popen[bytes], asked: str) -> dict[str, Any]:
    output, errors = process.communicate(asked.encode(), timeout=_WAIT_S)
    # An import that fails there fails here in another way: what it said is all there is to go by.
    if process.returncode != 0:
        raise RuntimeError(
            f"another Python ended with {process.returncode}:"
            f" {errors.decode(errors='replace')[-2000:]}"
        )
    answer: dict[str, Any] = json.loads(output)
    return answer


def _address_of_rule(rule: Rule) -> dict[str, str]:
    function = inspect.unwrap(rule.function)
    code = getattr(function, "__code__", None)
    return {
        "name": rule.name,
        "module": getattr(function, "__module__", "") or "",
        "file": getattr(code, "co_filename", ""),
    }


def _found_rule(address: dict[str, str]) -> Rule | None:
    """The rule where another Python finds it: in its module, or in its file, if that module is
    another one there.

    A script is not run again: it may ask at its top level, and do more than define rules.
    """
    if address["module"] == "__main__":
        return None
    try:
        rule = _rule_in(importlib.import_module(address["module"]), address["name"])
    except Exception:
        # Another module may have that name there, or none.
        rule = None
    return rule or _rule_in(_module_of(Path(address["file"])), address["name"])


def _rule_in(module: ModuleType | None, name: str) -> Rule | None:
    for value in vars(module or object).values():
        several: tuple[Rule, ...] = ()
        if isinstance(value, RuleSet):
            several = value.rules
        elif isinstance(value, Rule):
            several = (value,)
        for rule in several:
            if rule.name == name:
                return rule
    return None


def _module_of(path: Path) -> ModuleType | None:
    if not path.is_file():
        return None
    spec = importlib.util.spec_from_file_location(f"_elsewhere_{path.stem}", path)
    if spec is None or spec.loader is None:
        return None
    if isinstance(spec.loader, SourceFileLoader):
        spec.loader = FromSource(spec.name, str(path))
    module = importlib.util.module_from_spec(spec)
    # Before it runs: attrs and dataclasses look their own module up.
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def _answers_to(asked: dict[str, Any]) -> dict[str, list[Any]]:
    sys.path[:] = [*asked["path"], *sys.path]
    plugins = load_plugins()
    # None where a document names a table that only the plugins of the other Python bring.
    facts = [facts_of_document(document, plugins) for document in asked["documents"]]
    answers: dict[str, list[Any]] = {}
    for address in asked["rules"]:
        try:
            rule = _found_rule(address)
        except Exception:
            rule = None
        if rule is not None:
            own_rules = placed_rules(rule)
            answers[rule.name] = [
                facts_of_job and _checks_as_data(own_rules, facts_of_job) for facts_of_job in facts
            ]
    return answers


def _checks_as_data(rules: tuple[PlacedRule, ...], facts: Facts) -> list[dict[str, Any]]:
    checks, _ = run_placed(rules, facts)
    return [check_to_dict(check) for check in checks]


if __name__ == "__main__":
    out = sys.stdout.buffer
    sys.stdout = sys.stderr  # What a module or a rule prints is no part of the answer.
    out.write(json.dumps(_answers_to(json.load(sys.stdin.buffer))).encode())
