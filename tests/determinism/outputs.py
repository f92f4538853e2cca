"""Everything that signrules makes of a folder of jobs, as one JSON text in ASCII. Run by several
Pythons.

It needs signrules and what that needs, nothing of the tests.
"""

from __future__ import annotations

import datetime
import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import signrules

TODAY = datetime.date(2026, 6, 1)
RATES = {
    "signrules_rates": 1,
    "currency": "EUR",
    "minute": {"all": "0.85"},
    "ink_role": {"clear": "0.4", "colour": "0.2"},
    "waste": {"ink": "5 %"},
    "markup": "15 %",
}


def _estimated(result: signrules.Evaluation) -> signrules.Estimate:
    return signrules.estimate(result, signrules.rates_from_dict(RATES))


def _json(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1)


ALWAYS: Mapping[str, Callable[[signrules.Evaluation], str]] = {
    "report": lambda result: _json(result.to_dict(remedies=False)),
    "text": lambda result: signrules.evaluation_text(result, everything=True),
    "sarif": lambda result: _json(signrules.sarif({"job.toml": result})),
    "junit": lambda result: signrules.junit({"job.toml": result}, today=TODAY),
    "run sheet": signrules.run_sheet,
    "graph, svg": signrules.graph_svg,
    "graph, mermaid": signrules.graph_mermaid,
    "document": lambda result: _json(signrules.job_to_dict(result.job)),
}
WITH_A_PLAN: Mapping[str, Callable[[signrules.Evaluation], str]] = {
    "plan, svg": signrules.plan_svg,
    "plan, mermaid": signrules.plan_mermaid,
    "estimate, json": lambda result: _json(_estimated(result).to_dict()),
    "estimate, text": lambda result: signrules.estimate_text(_estimated(result)),
    "estimate, csv": lambda result: signrules.estimate_csv(_estimated(result)),
}


def outputs_of(path: Path, *, remedies: bool) -> dict[str, str]:
    """What is made of one job, by format."""
    result = signrules.evaluate(signrules.read_job(path), today=TODAY)
    makers = dict(ALWAYS) | (dict(WITH_A_PLAN) if result.plan is not None else {})
    made = {name: make(result) for name, make in makers.items()}
    return made | ({"remedies": _json(result.to_dict())} if remedies else {})


def all_outputs(folder: Path) -> dict[str, dict[str, str]]:
    """What is made of each job of a folder; of those in TOML also the remedies, which
    take trials.
    """
    paths = sorted(folder.iterdir(), key=lambda path: path.name)
    return {path.name: outputs_of(path, remedies=path.suffix == ".toml") for path in paths}


if __name__ == "__main__":
    print(json.dumps(all_outputs(Path(sys.argv[1]))))
