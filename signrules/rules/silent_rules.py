"""The rules that looked at a job and said nothing of it.

Not to be mistaken for checks that are met: of those a report can name the numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from signrules.rules.checks import Check
from signrules.rules.engine import Fault, PlacedRule


@frozen
class SilentRule:
    """A rule that yielded no check and did not fail, and the plugin that brought it."""

    rule: str
    plugin: str


def rules_without_a_word(
    rules: Iterable[PlacedRule], checks: Sequence[Check], faults: Sequence[Fault]
) -> tuple[SilentRule, ...]:
    """The rules of which neither a check nor a fault is left, by name."""
    heard = {check.rule for check in checks} | {fault.rule for fault in faults}
    silent = [placed for placed in rules if placed.rule.name not in heard]
    silent.sort(key=lambda placed: placed.rule.name)
    return tuple(SilentRule(placed.rule.name, placed.plugin) for placed in silent)
