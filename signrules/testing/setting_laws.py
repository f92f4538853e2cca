"""Whether the settings of a rule count: each changes what it says, in both directions, in its
unit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

import attrs
from attrs import evolve

from signrules.model.job import Job
from signrules.rules.checks import Check
from signrules.rules.engine import Facts, PlacedRule
from signrules.rules.settings import Setting, settings_of
from signrules.testing.altered_documents import larger_value
from signrules.testing.other_values import other_values
from signrules.testing.run_rules import facts_of, run_placed
from signrules.testing.trial import World

LENGTH = "mm"
"""The unit that a limit and its setting share, or neither: a count goes by many names."""


def settings_amiss(one: PlacedRule, world: World, jobs: Sequence[Job]) -> Iterator[str]:
    """What is wrong with the settings of a rule, on these jobs."""
    assert one.rule.settings is not None
    facts = [facts_of(job, world.plugins) for job in jobs]
    for declared in settings_of(one.rule.settings):
        yield from _idle(one, declared.name, facts)
        yield from _other_unit(one, declared, facts)


def _idle(one: PlacedRule, name: str, facts: Sequence[Facts]) -> Iterator[str]:
    """A setting that changes nothing, or nothing in one direction."""
    plain = one.settings
    value = getattr(plain, name)
    counts = {
        getattr(other, name): _says_otherwise(one, other, facts)
        for other in _with_others(plain, name)
    }
    advice = "use it, or give an example where it counts"
    where = "in the sample job nor in its examples"
    if not any(counts.values()):
        yield f"setting {name} changes nothing {where}: {advice}"
    elif isinstance(value, int | float) and not isinstance(value, bool):
        larger = [counted for other, counted in counts.items() if other > value]
        smaller = [counted for other, counted in counts.items() if other < value]
        for word, counted in (("larger", larger), ("smaller", smaller)):
            if counted and not any(counted):
                yield f"a {word} setting {name} changes nothing {where}: {advice}"


def _says_otherwise(one: PlacedRule, settings: Any, facts: Sequence[Facts]) -> bool:
    other = evolve(one, settings=settings)
    return any(run_placed([other], some) != run_placed([one], some) for some in facts)


def _other_unit(one: PlacedRule, declared: Setting, facts: Sequence[Facts]) -> Iterator[str]:
    """A limit that is the setting itself, and in another unit."""
    value = getattr(one.settings, declared.name)
    larger = None if isinstance(value, str) else larger_value(value)
    for settings in _with_values(one.settings, declared.name, [larger]):
        other = evolve(one, settings=settings)
        for some in facts:
            pairs = zip(run_placed([one], some)[0], run_placed([other], some)[0], strict=False)
            for before, after in pairs:
                units = (before.unit, declared.unit)
                apart = units[0] != units[1] and LENGTH in units
                if apart and _is_limit(before, value) and _is_limit(after, larger):
                    yield (
                        f"setting {declared.name} is in {declared.unit!r}, and the check whose"
                        f" limit it is in {before.unit!r}: write the same unit in both"
                    )
                    return


def _is_limit(check: Check, value: Any) -> bool:
    return value is not None and value in check.limit


def _with_others(plain: Any, name: str) -> Iterator[Any]:
    yield from _with_values(plain, name, other_values(getattr(plain, name)))


def _with_values(plain: Any, name: str, values: Any) -> Iterator[Any]:
    """The settings with each of some values that they may have."""
    for value in values:
        with suppress(ValueError, TypeError):
            made = evolve(plain, **{name: value})
            attrs.validate(made)
            yield made
