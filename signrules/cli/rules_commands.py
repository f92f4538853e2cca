"""`signrules rules` and `signrules explain`: what rules there are, and what one of them says."""

from __future__ import annotations

import argparse

from signrules.cli.shared_options import (
    Commands,
    add_shared,
    plugins_of,
    print_json,
    without_failed,
)


def add_command(commands: Commands) -> None:
    """Add the commands."""
    rules = commands.add_parser("rules", help="list the rules")
    rules.set_defaults(run=_print_rules)
    add_shared(rules)

    explain = commands.add_parser(
        "explain", help="what a rule checks, why, and where its limit comes from"
    )
    explain.add_argument("rule", metavar="RULE", help="its name, as `signrules rules` lists it")
    explain.set_defaults(run=_print_rule)
    add_shared(explain)


def _print_rules(options: argparse.Namespace) -> int:
    plugins = plugins_of(options)
    # A rule may be missing from the list because its plugin failed.
    status = without_failed(plugins)
    rules = [placed.rule for placed in sorted(plugins.rules, key=lambda placed: placed.rule.name)]
    if options.format == "json":
        rows = [
            {
                "rule": r.name,
                "each": r.each,
                "level": r.level.value,
                "summary": r.summary,
                "source": str(r.source),
            }
            for r in rules
        ]
        print_json(rows)
        return status
    width = max(len(rule.name) for rule in rules)
    for rule in rules:
        print(f"{rule.name:<{width}}  {rule.level.value:<6}  {rule.summary}")
    return status


def _print_rule(options: argparse.Namespace) -> int:
    from signrules.reports.explaining import explained_rule, rule_to_dict

    plugins = plugins_of(options)
    status = without_failed(plugins)
    rule = plugins.rule_named(options.rule)
    if options.format == "json":
        print_json(rule_to_dict(rule))
    else:
        print("\n".join(explained_rule(rule)))
    return status
