"""Runs rules over a job: calls each with what it asks for, judges what it yields, contains what
goes wrong.
"""

from __future__ import annotations

import pickle
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cached_property, partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from attrs import frozen

from signrules.documents.plugin_tables import NO_OWN_DATA, OwnData
from signrules.model.job import Alignment, Job
from signrules.model.media import Ink, Media
from signrules.model.passes import Handling, Pass
from signrules.model.printer import Printer
from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, Precedence
from signrules.physics.timeline import Printing, Timeline
from signrules.rules.check_memory import Found, Kept, Memory
from signrules.rules.checks import Check, Level
from signrules.rules.containment import Contained, call_contained, failure_of
from signrules.rules.declaration import Rule
from signrules.rules.known_values import known_values
from signrules.rules.own_data import OF_THE_RULE, own_data_of
from signrules.rules.plugin_output import OutputAside
from signrules.rules.rule_drafts import drafts_of_subject, judged_check
from signrules.rules.rule_stages import (
    NO_OUTCOMES,
    Outcomes,
    outcomes_found,
    outcomes_given_to,
    rules_that_failed,
    stages_of,
)
from signrules.rules.translating import Translate, no_translation

if TYPE_CHECKING:
    import networkx

    from signrules.catalogue.materials import Material
    from signrules.standards.dimension_tables import Standard

MOST_CHECKS, MOST_CHECKS_EACH = 100_000, 100
"""The most checks that one rule may yield in all, and for each subject where that is more."""


@frozen
class Fault:
    """A rule or plugin that failed; the evaluation is then incomplete."""

    rule: str
    plugin: str
    version: str
    subject: str
    error: str

    def __str__(self) -> str:
        plugin = f"{self.plugin} {self.version}".rstrip()
        return f"{self.rule} (plugin {plugin}) failed on {self.subject}: {self.error}"


@frozen
class PlacedRule:
    """A rule, the plugin that brought it, and what a shop has set for it.

    `settings` is an instance of the rule's settings class, `level` the level of all its checks
    where a shop has changed it. `foreign` rules come from a plugin that is not built in.
    """

    rule: Rule
    plugin: str
    version: str
    foreign: bool = True
    settings: Any = None
    level: Level | None = None


class TooMany(Exception):
    """A rule yields more checks than anyone could read."""


class Facts:
    """What rules may read. Each fact is worked out when the first rule asks for it."""

    def __init__(
        self,
        job: Job,
        timeline: Timeline,
        standards: tuple[Standard, ...],
        *,
        ordered: bool,
        materials: Mapping[str, Material] = MappingProxyType({}),
        translate: Translate = no_translation,
        own_data: Mapping[str, OwnData] = NO_OWN_DATA,
        quantities: Mapping[str, float] = MappingProxyType({}),
    ) -> None:
        self.job = job
        self.timeline = timeline
        self.machine: Machine = timeline.machine
        self.heights: Heights = self.machine.heights
        self.standards = standards
        self.materials = materials
        self.translate = translate
        self.own_data = own_data
        self.quantities = known_values(quantities)
        self.outcomes: Outcomes = NO_OUTCOMES
        self.failed_rules: Collection[str] = ()
        self._ordered = ordered
        self._subjects: dict[str, tuple[tuple[str, Any], ...]] = {}

    def copied(self) -> Facts:
        """These facts over copies of the job, its replay, the standards and the materials."""
        given = (self.job, self.timeline, self.standards, dict(self.materials))
        # Together, so that what they share is shared in the copies; and faster than a deep copy.
        job, timeline, standards, materials = pickle.loads(pickle.dumps(given))
        copy = Facts(
            job,
            timeline,
            standards,
            ordered=self._ordered,
            materials=MappingProxyType(materials),
            translate=self.translate,
            own_data=self.own_data,
            quantities=self.quantities,
        )
        copy.outcomes, copy.failed_rules = self.outcomes, self.failed_rules
        return copy

    def equals(self, other: Facts) -> bool:
        """Whether both have the same job, replay, standards and materials."""
        same_job = self.job == other.job and self.machine.job == other.machine.job
        same_tables = self.standards == other.standards and self.materials == other.materials
        return same_job and same_tables and self.timeline.shows_the_same(other.timeline)

    def unchanged_subjects(self, each: str, other: Facts) -> bool:
        """Whether rules for `each` look at the same subjects in both."""
        if each == "job":
            return self.job == other.job
        if each == "media":
            return self.job.media == other.job.media
        if each == "sign":
            return self.job.signs == other.job.signs
        return self.timeline is other.timeline  # Passes, steps and pairs are of the replay.

    @property
    def printer(self) -> Printer:
        """The job's printer."""
        return self.job.printer

    @property
    def alignments(self) -> tuple[Alignment, ...]:
        """The alignments on record that are not older than the last work on the heads."""
        return self.job.usable_alignments

    @cached_property
    def media(self) -> Mapping[str, Media]:
        """The sheets by id."""
        return MappingProxyType({m.id: m for m in self.job.media})

    @cached_property
    def inks(self) -> Mapping[str, Ink]:
        """The inks by id."""
        return MappingProxyType({ink.id: ink for ink in self.job.inks})

    @cached_property
    def passes(self) -> Mapping[str, Pass]:
        """The passes by id."""
        return MappingProxyType({item.id: item for item in self.job.passes})

    @cached_property
    def handling(self) -> Mapping[str, Handling]:
        """The handling by id."""
        return MappingProxyType({item.id: item for item in self.job.handling})

    @cached_property
    def signs(self) -> Mapping[str, Sign]:
        """The signs by id."""
        return MappingProxyType({sign.id: sign for sign in self.job.signs})

    @cached_property
    def graph(self) -> networkx.DiGraph[str]:
        """The job graph, frozen; its heights are those of the order that is judged."""
        import networkx

        from signrules.job_graphs import graph_of

        graph = graph_of(self.machine, self.timeline.order)
        networkx.freeze(graph)
        return graph

    @cached_property
    def cycle(self) -> tuple[Precedence, ...]:
        """A cycle in the precedence of the passes, declared or by clearance; empty where an order
        has been found.
        """
        from signrules.job_graphs import precedence_cycle

        return () if self._ordered else precedence_cycle(self.machine)

    def subjects(self, each: str) -> tuple[tuple[str, Any], ...]:
        """The paths and items that a rule looks at one by one; listed once for all rules."""
        if each not in self._subjects:
            self._subjects[each] = tuple(self._listed_subjects(each))
        return self._subjects[each]

    def _listed_subjects(self, each: str) -> Iterator[tuple[str, Any]]:
        match each:
            case "job":
                yield "job", self.job
            case "pass":
                yield from ((f"passes.{item.id}", item) for item in self.job.passes)
            case "step":
                yield from self.subjects("pass")
                yield from ((f"handling.{item.id}", item) for item in self.job.handling)
            case "media":
                yield from ((f"media.{item.id}", item) for item in self.job.media)
            case "sign":
                yield from ((f"signs.{item.id}", item) for item in self.job.signs)
            case _:  # "pair"
                for pass_index, item in enumerate(self.job.passes):
                    for other in self.machine.partners(pass_index):
                        # Each pair once, at the pass that is declared first.
                        if pass_index < other:
                            yield f"passes.{item.id}", (item, self.job.passes[other])

    def given_to(self, rule: Rule, item: Any) -> dict[str, Any]:
        """What a rule gets for its parameters, but for its settings."""
        given = {name: self.reading(name, item) for name in rule.reads if name not in OF_THE_RULE}
        if "data" in rule.reads:
            given["data"] = own_data_of(rule, self.own_data)
        if "outcomes" in rule.reads:
            given["outcomes"] = outcomes_given_to(rule, self.outcomes, self.failed_rules)
        return given

    def reading(self, name: str, item: Any) -> Any:
        """What a rule gets for one of its parameters."""
        if name == "item":
            return item
        if name == "printing":
            return self.timeline.printings[self.heights.index[item.id]]
        return getattr(self, name)


def run_rules(
    rules: Iterable[PlacedRule],
    facts: Facts,
    *,
    seconds: float | None = None,
    memory: Memory | None = None,
) -> tuple[list[Check], list[Fault], Memory]:
    """Every check that the rules make, ordered by rule name and then by the job's own order; every
    fault; a memory.

    The rules of each plugin that is not built in judge a copy of the facts: what one of them does
    to it reaches no other plugin. `seconds` is the time that each of these rules may take, for all
    its subjects together. With the memory of an earlier run, rules are called only where something
    that they read has changed since. Of a rule that takes longer, or yields more than
    `MOST_CHECKS`, nothing counts.
    """
    memory = Memory() if memory is None else memory
    # By name, so that reports do not depend on the order in which plugins were found.
    placed_rules = sorted(rules, key=lambda placed: placed.rule.name)
    kept_by_rule: dict[str, Found] = {}
    known = facts.outcomes
    for stage in stages_of(placed_rules):
        facts.outcomes = {**known, **outcomes_found(kept_by_rule)}
        facts.failed_rules = rules_that_failed(kept_by_rule)
        kept_by_rule |= _run_stage(stage, facts, memory, seconds)
    results = [kept for name in sorted(kept_by_rule) for kept in kept_by_rule[name].values()]
    checks = [check for kept in results for check in kept.checks]
    faults = [fault for kept in results for fault in kept.faults]
    # What failed is not kept, so that the next run asks again; nor what hangs on other rules.
    left_out = {placed.rule.name for placed in placed_rules if placed.rule.outcomes_of}
    left_out.update(fault.rule for fault in faults)
    sound = {name: kept for name, kept in kept_by_rule.items() if name not in left_out}
    return checks, faults, Memory(facts, sound)


def _run_stage(
    stage: list[PlacedRule], facts: Facts, memory: Memory, seconds: float | None
) -> dict[str, Found]:
    # Entered once for all of these: each rule enters it again, which is then next to nothing.
    with OutputAside():
        kept_by_rule = {
            placed.rule.name: _found_by_rule(placed, facts, memory, facts)
            for placed in stage
            if not placed.foreign
        }
    foreign_rules = [placed for placed in stage if placed.foreign]
    for plugin in sorted({placed.plugin for placed in foreign_rules}):
        rules_of_plugin = [placed for placed in foreign_rules if placed.plugin == plugin]
        kept_by_rule |= _run_foreign(rules_of_plugin, facts, memory, seconds)
    return kept_by_rule


def _run_foreign(
    rules: list[PlacedRule], facts: Facts, memory: Memory, seconds: float | None
) -> dict[str, Found]:
    kept_by_rule: dict[str, Found] = {}
    copy = None
    for placed in rules:
        if memory.holds_whole(placed.rule, facts) and (kept := memory.of(placed.rule, facts)):
            kept_by_rule[placed.rule.name] = kept
            continue
        # Made once a rule must be called: in an editor mostly all is kept, and none is needed.
        copy = facts.copied() if copy is None else copy
        result = dict(_found_by_rule(placed, facts, memory, copy, seconds))
        # Each rule has a graph of its own: whether one was changed would be long to find out.
        vars(copy).pop("graph", None)
        if not _still_equal(copy, facts):
            # The rules after it get a new copy, so that only the one that did it is to blame.
            text = "it changed the job that it was given to judge"
            fault = Fault(placed.rule.name, placed.plugin, placed.version, "job", text)
            result["changed"] = Kept(None, None, (), (fault,))
            copy = None
        kept_by_rule[placed.rule.name] = result
    return kept_by_rule


def _still_equal(copy: Facts, facts: Facts) -> bool:
    """Whether a rule left a copy as it was; what it put there may fail when it is compared."""
    try:
        return call_contained(partial(copy.equals, facts))
    except Contained:
        return False


def _found_by_rule(
    placed: PlacedRule, facts: Facts, memory: Memory, given: Facts, seconds: float | None = None
) -> Found:
    """What a rule yields about every subject; it is called with `given`, which is a copy where it
    is foreign.
    """
    before = memory.of(placed.rule, facts)
    if before and memory.holds_whole(placed.rule, facts):
        return before
    asking = _Asking(placed, facts, given, before)
    try:
        call_contained(asking.ask_all, seconds)
    except Contained as failure:
        # Of a rule that was stopped nothing counts: how far it came depends on the machine.
        return {asking.subject: Kept(None, None, (), (asking.fault(failure),))}
    return asking.found


class _Asking:
    """Asks one rule about each of its subjects; `subject` is the one that it is asked about."""

    def __init__(self, placed: PlacedRule, facts: Facts, given: Facts, before: Found) -> None:
        self.found: dict[str, Kept] = {}
        self.subject = "job"
        self._placed, self._facts, self._given, self._before = placed, facts, given, before
        self._room = MOST_CHECKS

    def ask_all(self) -> None:
        rule = self._placed.rule
        # Listed beforehand, since a rule may change what it is given.
        subjects = self._facts.subjects(rule.each)
        handed_over = self._given.subjects(rule.each)
        self._room = max(MOST_CHECKS, MOST_CHECKS_EACH * len(subjects))
        reads_item, reads_printing = "item" in rule.reads, "printing" in rule.reads
        for (self.subject, item), (_, handed) in zip(subjects, handed_over, strict=True):
            key = f"{self.subject} {item[1].id}" if rule.each == "pair" else self.subject
            # Kept is the item itself and not the copy that the rule is handed, which it may change.
            looked_at = item if reads_item else None
            printing = self._facts.reading("printing", item) if reads_printing else None
            kept = self._before.get(key)
            if kept is None or not kept.holds_for(looked_at, printing):
                kept = self._asked(looked_at, printing, handed)
            self.found[key] = kept
            self._room -= len(kept.checks)
            if self._room < 0:
                raise TooMany(
                    f"expected at most {MOST_CHECKS:,} checks, or {MOST_CHECKS_EACH} for each"
                    " subject"
                )

    def _asked(self, looked_at: Any, printing: Printing | None, handed: Any) -> Kept:
        try:
            drafts = drafts_of_subject(self._placed, handed, self._given, self._room)
            checks = [judged_check(self._placed, self.subject, draft) for draft in drafts]
        except BaseException as error:
            return Kept(looked_at, printing, (), (self.fault(failure_of(error)),))
        return Kept(looked_at, printing, tuple(checks))

    def fault(self, failure: Contained) -> Fault:
        placed = self._placed
        return Fault(placed.rule.name, placed.plugin, placed.version, self.subject, str(failure))
