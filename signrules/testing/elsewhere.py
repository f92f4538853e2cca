"""Running rules in another Python, where texts hash otherwise: `python -m signrules.testing.elsewhere`."""

from __future__ import annotations

import importlib
import importlib.util
import inspect
import json
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from signrules.plain import check_to_dict
from signrules.plugins import load_plugins
from signrules.rules.declaration import Rule, RuleSet
from signrules.rules.engine import Facts
from signrules.testing.altering import Document
from signrules.testing.running import facts_of_document, placed, run

SEEDS = ("1", "2")
_WAIT_S = 120


def differences(rules: Sequence[Rule], documents: Sequence[Document]) -> Iterator[tuple[str, str, Document]]:
    """For each rule that answers otherwise under another hash seed: its name, how, and the document.

    Rules that another Python cannot find again (those made inside a function) are left out.
    """
    asked = json.dumps(
        {
            "path": [entry for entry in sys.path if entry],
            "rules": [_address(rule) for rule in rules],
            "documents": list(documents),
        },
        default=str,
    )
    running = [_started(seed) for seed in SEEDS]
    answers = [json.loads(process.communicate(asked.encode(), timeout=_WAIT_S)[0] or b"{}") for process in running]
    for rule in rules:
        one, other = (answer.get(rule.name) for answer in answers)
        for document, a, b in zip(documents, one or (), other or (), strict=False):
            if a != b:
                yield rule.name, f"under two hash seeds it answered {a} and {b}", document


def _started(seed: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-W", "ignore", "-m", "signrules.testing.elsewhere"]
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    return subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment
    )


def _address(rule: Rule) -> dict[str, str]:
    function = inspect.unwrap(rule.function)
    code = getattr(function, "__code__", None)
    return {
        "name": rule.name,
        "module": getattr(function, "__module__", "") or "",
        "file": "" if code is None else code.co_filename,
    }


def _found(address: dict[str, str]) -> Rule | None:
    """The rule where another Python finds it: in its module, or in its file."""
    module = None
    try:
        module = importlib.import_module(address["module"])
    except Exception:
        path = Path(address["file"])
        spec = importlib.util.spec_from_file_location(f"_elsewhere_{path.stem}", path) if path.is_file() else None
        if spec is not None and spec.loader is not None:
            module = importlib.util.module_from_spec(spec)
            sys.modules[spec.name] = module
            spec.loader.exec_module(module)
    named = [value for value in vars(module or object).values() if isinstance(value, Rule | RuleSet)]
    several = (one for value in named for one in (value.rules if isinstance(value, RuleSet) else (value,)))
    return next((one for one in several if one.name == address["name"]), None)


def _answers(asked: dict[str, Any]) -> dict[str, list[Any]]:
    sys.path[:] = [*asked["path"], *sys.path]
    plugins = load_plugins()
    facts: list[Facts | None] = []
    for document in asked["documents"]:
        try:
            facts.append(facts_of_document(document, plugins))
        except KeyError:  # A standard that only the plugins of the other Python bring.
            facts.append(None)
    found: dict[str, list[Any]] = {}
    for address in asked["rules"]:
        try:
            rule = _found(address)
        except Exception:
            rule = None
        if rule is not None:
            own = placed(rule)
            found[rule.name] = [
                None if some is None else [check_to_dict(check) for check in run(own, some)[0]] for some in facts
            ]
    return found


if __name__ == "__main__":
    answers = _answers(json.load(sys.stdin.buffer))
    sys.stdout.buffer.write(json.dumps(answers).encode())
