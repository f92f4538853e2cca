"""In which order rules run where some of them ask for what others found."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING

from signrules.errors import RuleError
from signrules.rules.declaration import Rule
from signrules.rules.known_values import known_values

if TYPE_CHECKING:
    from signrules.rules.check_memory import Found
    from signrules.rules.checks import Check
    from signrules.rules.engine import PlacedRule

Outcomes = Mapping[str, "tuple[Check, ...]"]
"""What rules found, by their names."""

NO_OUTCOMES: Outcomes = MappingProxyType({})


def stages_of(rules: Iterable[PlacedRule]) -> Iterator[list[PlacedRule]]:
    """The rules in stages: each after all whose outcomes it asks for.

    Those in a circle come together in the last one, and are told then what they lack.
    """
    waiting = list(rules)
    while waiting:
        to_come = {placed.rule.name for placed in waiting}
        ready: list[PlacedRule] = []
        later: list[PlacedRule] = []
        for placed in waiting:
            is_ready = to_come.isdisjoint(placed.rule.outcomes_of)
            (ready if is_ready else later).append(placed)
        yield ready or later
        waiting = later if ready else []


def outcomes_found(kept_by_rule: Mapping[str, Found]) -> Outcomes:
    """What the rules that did not fail have found so far."""
    return {
        name: tuple(check for kept in found.values() for check in kept.checks)
        for name, found in kept_by_rule.items()
        if not any(kept.faults for kept in found.values())
    }


def rules_that_failed(kept_by_rule: Mapping[str, Found]) -> frozenset[str]:
    """The names of the rules that failed so far, on whatever subject."""
    return frozenset(
        name for name, found in kept_by_rule.items() if any(kept.faults for kept in found.values())
    )


def outcomes_given_to(rule: Rule, outcomes: Outcomes, failed: Collection[str] = ()) -> Outcomes:
    """What a rule gets for its parameter `outcomes`.

    Raises RuleError where a rule that it asks for did not run, or is among those that `failed`.
    """
    for name in rule.outcomes_of:
        if name not in outcomes:
            why = "failed" if name in failed else "does not run: it is off"
            raise RuleError(f"rule {rule.name}: it asks for the outcomes of {name}, which {why}")
    return known_values({name: outcomes[name] for name in rule.outcomes_of})


def asked_rules(rules: Sequence[PlacedRule]) -> list[PlacedRule]:
    """Those of some rules for whose outcomes others ask, and for theirs in turn."""
    by_name = {placed.rule.name: placed for placed in rules}
    asked: dict[str, PlacedRule] = {}
    names = [name for placed in rules for name in placed.rule.outcomes_of]
    while names:
        name = names.pop()
        if name in by_name and name not in asked:
            asked[name] = by_name[name]
            names += by_name[name].rule.outcomes_of
    return list(asked.values())
