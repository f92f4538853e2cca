"""The command `signrules`.

Exit status: 0 nothing of level STOP is broken or doubtful; 1 something is; 2 the input is at fault; 3 the evaluation
is incomplete.
"""

from __future__ import annotations

import argparse
import io
import json
import sys
import traceback
from collections.abc import Sequence
from typing import TYPE_CHECKING

from signrules import __version__
from signrules.errors import SignrulesError

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation
    from signrules.plugins import Plugins

FINE, BROKEN, BAD_INPUT, INCOMPLETE = 0, 1, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit status."""
    options = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        # A job may hold any character; where the terminal cannot show one, its code stands for it.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        return int(options.run(options))
    except SignrulesError as error:
        from signrules.reports.text import plain

        print(plain(str(error)), file=sys.stderr)
        return BAD_INPUT
    except Exception:
        # A fault of signrules itself must not look like a verdict.
        traceback.print_exc()
        return INCOMPLETE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="signrules", description="Judge and order the passes of a printed sign.")
    parser.add_argument("--version", action="version", version=f"signrules {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    check = commands.add_parser("check", help="judge jobs: checks with numbers, violations, a safe order")
    check.add_argument("jobs", nargs="+", metavar="JOB", help="a job document, .toml or .json")
    check.add_argument("--all", action="store_true", help="list met checks and notes too")
    check.set_defaults(run=_check)

    order = commands.add_parser("order", help="the safe order of a job, one id a line")
    order.add_argument("job", metavar="JOB")
    order.add_argument("--why", action="store_true", help="say of each why it does not come one place earlier")
    order.set_defaults(run=_order)

    rules = commands.add_parser("rules", help="list the rules")
    rules.set_defaults(run=_rules)

    explain = commands.add_parser("explain", help="what a rule checks, why, and where its limit comes from")
    explain.add_argument("rule", metavar="RULE")
    explain.set_defaults(run=_explain)

    standards = commands.add_parser("standards", help="list the dimension tables, or put some of them together")
    standards.add_argument("--together", nargs="+", metavar="ID", help="the range of each quantity that satisfies all")
    standards.set_defaults(run=_standards)

    for command in (check, order, rules, explain, standards):
        command.add_argument("--format", choices=("text", "json"), default="text")
        command.add_argument("--plugin", action="append", default=[], metavar="FILE", help="a Python file with rules")
        command.add_argument("--block", action="append", default=[], metavar="NAME", help="leave a plugin out")
    return parser


def _plugins(options: argparse.Namespace) -> Plugins:
    from signrules.plugins import load_plugins

    return load_plugins(entry_points=True, files=options.plugin, block=options.block)


def _evaluated(path: str, plugins: Plugins) -> Evaluation:
    from signrules.documents import read_job
    from signrules.errors import JobError
    from signrules.evaluation import evaluate

    try:
        return evaluate(read_job(path, plugins=plugins), plugins=plugins)
    except JobError as error:
        raise error if error.origin else JobError(error.faults, path) from None


def _status(result: Evaluation, *, fine: bool) -> int:
    if not result.complete:
        return INCOMPLETE
    return FINE if fine else BROKEN


def _check(options: argparse.Namespace) -> int:
    from signrules.reports.text import evaluation_text, plain

    plugins = _plugins(options)
    status = FINE
    reports = []
    for path in options.jobs:
        try:
            result = _evaluated(path, plugins)
        except SignrulesError as error:
            print(plain(str(error)), file=sys.stderr)
            status = max(status, BAD_INPUT)
            continue
        status = max(status, _status(result, fine=result.ok))
        if options.format == "json":
            reports.append(result.to_dict())
        else:
            others = ", ".join(plugin.name for plugin in plugins.loaded[1:])
            sys.stdout.write(evaluation_text(result, everything=options.all))
            sys.stdout.write(f"\nPlugins: {plain(others) or 'none besides the built-in sets'}\n")
    if reports:
        _print_json(reports[0] if len(options.jobs) == 1 else reports)
    return status


def _order(options: argparse.Namespace) -> int:
    from signrules.reports.text import plain

    result = _evaluated(options.job, _plugins(options))
    if options.format == "json":
        data = result.to_dict()
        wanted = {key: data[key] for key in ("signrules", "job", "order", "plan", "conflict", "faults")}
        _print_json(wanted | ({"why": _why(result)} if options.why else {}))
    elif result.order_is_safe:
        why = {place["item"]: f": {place['text']}" for place in _why(result)} if options.why else {}
        print("\n".join(plain(name + why.get(name, "")) for name in result.order))
    else:
        from signrules.evaluation import why_not_safe

        print(plain(why_not_safe(result).message), file=sys.stderr)
    return _status(result, fine=result.order_is_safe)


def _why(result: Evaluation) -> list[dict[str, str]]:
    from signrules.planning.account import account

    places = () if result.plan is None else account(result.plan)
    return [{"item": place.item, "kind": place.kind, "text": place.text} for place in places]


def _rules(options: argparse.Namespace) -> int:
    rules = [placed.rule for placed in sorted(_plugins(options).rules, key=lambda placed: placed.rule.name)]
    if options.format == "json":
        rows = [
            {"rule": r.name, "each": r.each, "level": r.level.value, "summary": r.summary, "source": str(r.source)}
            for r in rules
        ]
        _print_json(rows)
        return FINE
    width = max(len(rule.name) for rule in rules)
    for rule in rules:
        print(f"{rule.name:<{width}}  {rule.level.value:<6}  {rule.summary}")
    return FINE


def _explain(options: argparse.Namespace) -> int:
    rule = _plugins(options).rule_named(options.rule)
    sections = dict(rule.sections)
    if options.format == "json":
        _print_json(
            {"rule": rule.name, "each": rule.each, "level": rule.level.value, "reads": list(rule.reads)}
            | {"what_it_checks": rule.summary, "source": str(rule.source)}
            | {heading.lower().replace(" ", "_"): text for heading, text in sections.items()}
        )
        return FINE
    print(f"{rule.name} ({rule.level.value}, for each {rule.each})\n")
    print(f"{rule.summary}\n")
    for heading, text in sections.items():
        print(f"{heading}: {text}")
    print(f"Source: {rule.source}")
    print(f"Reads: {', '.join(rule.reads)}")
    return FINE


def _standards(options: argparse.Namespace) -> int:
    from signrules.reports.standards import tables_text, tables_to_dict, together_text
    from signrules.standards.together import together

    known = _plugins(options).standards
    if options.together is None:
        _print_json(tables_to_dict(known)) if options.format == "json" else sys.stdout.write(tables_text(known))
        return FINE
    found = together([known.get(name, name) for name in options.together])
    _print_json(found.to_dict()) if options.format == "json" else sys.stdout.write(together_text(found))
    return FINE


def _print_json(data: object) -> None:
    unicode = (sys.stdout.encoding or "").lower().startswith("utf")
    print(json.dumps(data, indent=2, ensure_ascii=not unicode))
