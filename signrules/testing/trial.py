"""One job on which rules are tried, with the facts that the laws need of it, each
worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import Any

from attrs import field, frozen

from signrules.documents.writing import job_to_dict
from signrules.model.job import Job
from signrules.plugins import Plugins
from signrules.rules.checks import Check
from signrules.rules.engine import Facts, Fault, PlacedRule
from signrules.testing.altered_documents import Document, Where, with_value
from signrules.testing.run_rules import facts_of, facts_of_document, run_placed

Reference = Callable[[Job, tuple[str, ...]], Mapping[str, tuple[float, float]]]
"""What should be measured, by another method: from a job and the order of its passes to low and
high by subject.
"""

REFERENCE = "the reference"

Found = tuple[list[Check], list[Fault]]


@frozen
class World:
    """What a contract is held with: plugins, what the author claims, and what was seen so far.

    `monotone` maps patterns of paths to claims; `silent_without` are patterns of fields without
    which a rule has nothing to say, `assumes` of those without which it judges all the same;
    `reference` says what should be measured.
    `units` are those of each check, `tried` the patterns of claims that a number was found for, and
    REFERENCE once the reference has named a subject.
    """

    plugins: Plugins
    monotone: Mapping[str, str] = MappingProxyType({})
    silent_without: tuple[str, ...] = ()
    assumes: tuple[str, ...] = ()
    reference: Reference | None = None
    copies: dict[str, Facts | None] = field(factory=dict)
    units: dict[tuple[str, str], str] = field(factory=dict)
    tried: set[str] = field(factory=set)


@frozen
class Trial:
    """One job on which rules are tried.

    Of the fields that could be altered some are, and `pick` chooses which; all of them with
    `every_field`.
    """

    job: Job
    world: World
    pick: int = 0
    every_field: bool = False
    cache: dict[Any, Any] = field(factory=dict, eq=False, repr=False)

    @cached_property
    def document(self) -> Document:
        """The job as a document."""
        return job_to_dict(self.job)

    def facts(self, name: str, job: Job | None = None) -> Facts:
        """Facts kept under a name, so that they are worked out once for all rules."""
        if name not in self.cache:
            self.cache[name] = facts_of(job or self.job, self.world.plugins)
        kept_facts: Facts = self.cache[name]
        return kept_facts

    def found(self, placed: PlacedRule, name: str = "first") -> Found:
        """What a rule makes of facts of that name, worked out once."""
        key = (placed.rule.name, name)
        if key not in self.cache:
            self.cache[key] = run_placed([placed], self.facts(name))
        kept_found: Found = self.cache[key]
        return kept_found

    def checks(self, placed: PlacedRule, document: Document) -> list[Check] | None:
        """The checks of a rule on another document; None where that is no job."""
        facts = facts_of_document(document, self.world.plugins)
        return None if facts is None else run_placed([placed], facts)[0]

    def facts_with(self, where: Where, value: Any) -> Facts | None:
        """Facts of the job with another value at one place; None where that is no job."""
        # By its text: 1, 1.0 and True are equal, and are not the same in a document.
        key = (where, repr(value))
        if key not in self.cache:
            self.cache[key] = facts_of_document(
                with_value(self.document, where, value), self.world.plugins
            )
        kept_facts: Facts | None = self.cache[key]
        return kept_facts
