"""Whether the settings of a rule count: each changes what it says, and one that is a limit is
so always and in its unit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

from attrs import evolve

from signrules.model.job import Job
from signrules.rules.checks import Check
from signrules.rules.engine import Facts, PlacedRule
from signrules.rules.settings import Setting, settings_of
from signrules.testing.other_values import other_values
from signrules.testing.run_rules import facts_of, run_placed
from signrules.testing.trial import World

PHYSICAL = frozenset(
    (
        *("um", "mm", "cm", "m", "in", "mm/s", "m/s", "mm2", "m2"),
        *("pL", "ml", "l", "mg", "g", "kg", "Pa", "kPa", "K", "degrees C", "%"),
        *("s", "min", "minutes", "h", "hours", "days"),
    )
)
"""Units that a limit and its setting share; a count goes by many names."""


def settings_amiss(placed: PlacedRule, world: World, jobs: Sequence[Job]) -> Iterator[str]:
    """What is wrong with the settings of a rule, on these jobs."""
    if placed.rule.settings is None:
        return
    facts = [facts_of(job, world.plugins) for job in jobs]
    for declared in settings_of(placed.rule.settings):
        others = list(_with_values(placed.settings, declared.name))
        counts = any(
            _checks(placed, other, facts) != _checks(placed, None, facts) for other in others
        )
        if not counts:
            yield (
                f"setting {declared.name} changes nothing in the sample job nor in its examples: "
                "use it, or give an example where it counts"
            )
        else:
            yield from _as_limit(placed, declared, others, facts)


def _checks(given: PlacedRule, settings: Any, facts: Sequence[Facts]) -> list[Check]:
    """What the rule says with some settings, or with its own."""
    placed = given if settings is None else evolve(given, settings=settings)
    return [check for facts_of_job in facts for check in run_placed([placed], facts_of_job)[0]]


def _as_limit(
    placed: PlacedRule, declared: Setting, others: Sequence[Any], facts: Sequence[Facts]
) -> Iterator[str]:
    """A setting that is the limit of a check, and is in another unit or not always the limit."""
    value = getattr(placed.settings, declared.name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return
    before = _checks(placed, None, facts)
    after = {getattr(other, declared.name): _checks(placed, other, facts) for other in others}
    for position, check in enumerate(before):
        for end in (0, 1):
            limits = {
                number: checks[position].limit[end]
                for number, checks in after.items()
                # With another setting the rule may say more or less, and positions mean nothing
                # then.
                if len(checks) == len(before)
            }
            taken = [number for number, limit in limits.items() if limit == number]
            if check.limit[end] != value or not taken:
                continue
            # "passes" and "layers" may be the same count; "mm" and "um" are never the same length.
            if check.unit != declared.unit and PHYSICAL & {check.unit, declared.unit}:
                yield (
                    f"setting {declared.name} is in {declared.unit!r}, and the check whose limit"
                    f" it is in {check.unit!r}: write the same unit in both"
                )
                return
            kept_numbers = [number for number, limit in limits.items() if limit == value]
            if kept_numbers:
                yield (
                    f"setting {declared.name} = {kept_numbers[0]:g} leaves the limit at"
                    f" {value:g}: what a shop sets must count"
                )
                return


def _with_values(plain: Any, name: str) -> Iterator[Any]:
    """The settings with other values of one of them, as far as they may have these."""
    for value in other_values(getattr(plain, name)):
        with suppress(ValueError, TypeError):
            yield evolve(plain, **{name: value})
