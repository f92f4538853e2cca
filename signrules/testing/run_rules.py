"""Running single rules on a job, on the same facts as an evaluation gives them."""

from __future__ import annotations

import pickle
from collections.abc import Iterable, Iterator, Mapping
from itertools import chain
from typing import Any

from attrs import evolve

from signrules.documents.reading import job_from_dict
from signrules.errors import JobError, RuleError
from signrules.evaluation.live import machine_of, standards_of
from signrules.evaluation.result import counted_quantities
from signrules.model.job import Job
from signrules.planning.pipeline import BUDGET
from signrules.planning.planner import Outcome, plan_job, replay_order
from signrules.plugins import Plugins, load_plugins
from signrules.rules.checks import Check, Draft
from signrules.rules.declaration import Rule, RuleSet
from signrules.rules.engine import Facts, Fault, PlacedRule, run_rules
from signrules.rules.rule_stages import asked_rules
from signrules.testing.work_bounds import call_bounded

Rules = Rule | RuleSet | Iterable["Rule | RuleSet"]
"""What a test may name as rules: one, a set of them, or several of either."""


def rules_of(rules: Rules) -> tuple[Rule, ...]:
    """The rules one by one. Raises RuleError for anything that is none."""
    if isinstance(rules, Rule):
        return (rules,)
    if isinstance(rules, RuleSet):
        return rules.rules
    if isinstance(rules, str):
        raise RuleError(f"expected a rule, a rule set or several of them, got the text {rules!r}")
    try:
        several = tuple(rules)
    except TypeError:
        raise RuleError(
            f"expected a rule, a rule set or several of them, got {type(rules).__name__}"
        ) from None
    return tuple(chain.from_iterable(map(rules_of, several)))


def placed_rules(rules: Rules, settings: Any = None) -> tuple[PlacedRule, ...]:
    """The rules as the engine takes them, with their own settings where none are given for them."""

    def own(rule: Rule) -> Any:
        if rule.settings is None:
            return None
        return settings if isinstance(settings, rule.settings) else rule.settings()

    return tuple(PlacedRule(rule, "under test", "", False, own(rule)) for rule in rules_of(rules))


def facts_of(job: Job, plugins: Plugins, *, planned: bool = False) -> Facts:
    """What rules may read of a job, over a copy of it.

    `planned` has it planned as an evaluation does. Otherwise the job's sequence, or the order in
    which it declares its passes, is replayed, which is quick and is what rules see of a job that
    has no safe order. Raises JobError where the job names a table that nothing brings.
    """
    # A copy: a rule that changes its job must not change the one that laws compare with.
    job = pickle.loads(pickle.dumps(job))
    extra, _ = plugins.precedence(job)
    machine = machine_of(job, extra)
    ordered = False
    if planned:
        outcome = plan_job(machine, BUDGET)
        timeline, ordered = outcome.timeline, outcome.plan is not None and not outcome.plan.judged
    elif job.sequence is not None:
        timeline = replay_order(machine, tuple(machine.index[name] for name in job.sequence))
    else:
        timeline = replay_order(machine, machine.declared_order())
    standards = standards_of(job, plugins)

    def translate(text: str, grade: str, language: str) -> str | None:
        return plugins.translate(text, grade, language)[0]

    facts = Facts(
        job,
        timeline,
        standards,
        ordered=ordered,
        materials=plugins.materials,
        translate=translate,
        own_data=plugins.data_by_rule,
        quantities=_quantities(plugins, outcome) if planned else {},
    )
    asked = asked_rules(plugins.rules)
    found, faults, _ = run_rules(asked, facts)
    failed = {fault.rule for fault in faults}
    facts.outcomes = {
        placed.rule.name: tuple(check for check in found if check.rule == placed.rule.name)
        for placed in asked
        if placed.rule.name not in failed
    }
    return facts


def _quantities(plugins: Plugins, outcome: Outcome) -> dict[str, float]:
    """What a plan takes, that which plugins count of it too."""
    if outcome.plan is None:
        return {}
    plan, job = outcome.plan, outcome.timeline.machine.job
    counted = counted_quantities(plan, outcome.timeline)
    return counted | plugins.quantities(job, plan.order, counted)[0]


def facts_of_document(document: Mapping[str, Any], plugins: Plugins) -> Facts | None:
    """What rules may read of the job that a document describes; None where it describes none."""
    try:
        return facts_of(job_from_dict(document, plugins=plugins), plugins)
    except JobError:
        return None


def run_placed(rules: Iterable[PlacedRule], facts: Facts) -> tuple[list[Check], list[Fault]]:
    """The checks and the faults of rules on facts; they are given these very facts and no copy.

    Raises TooMuchWork where rules that are not built in take more steps than may be.
    """
    placed = tuple(rules)
    # Counting steps slows everything down several times, and built-in rules are known.
    if all(_is_built_in(placed_rule.rule) for placed_rule in placed):
        checks, faults, *_ = run_rules(placed, facts)
    else:
        checks, faults, *_ = call_bounded(lambda: run_rules(placed, facts))
    return checks, faults


def _is_built_in(rule: Rule) -> bool:
    return str(getattr(rule.function, "__module__", "")).startswith("signrules.rules.")


def drafts_of(placed: PlacedRule, facts: Facts) -> Iterator[tuple[str, Draft]]:
    """What a rule yields, by subject, before the engine has judged it; it is given the very
    settings of the rule.
    """
    for subject, item in facts.subjects(placed.rule.each):
        given = facts.given_to(placed.rule, item)
        if "settings" in placed.rule.reads:
            given["settings"] = placed.settings
        yield from ((subject, draft) for draft in placed.rule(**given))


def checks_of(
    rules: Rules,
    job: Job | Mapping[str, Any],
    *,
    plugins: Plugins | None = None,
    settings: Any = None,
) -> list[Check]:
    """The checks that rules make of a job, or of a document, planned as in an evaluation.

    `plugins` bring standards, materials and a translator, `settings` is an instance of the rule's
    settings class. Raises RuleError where a rule fails, JobError where the document is no job.
    """
    if plugins is None:
        plugins = load_plugins()
    job_made = job if isinstance(job, Job) else job_from_dict(dict(job), plugins=plugins)
    # Foreign as in an evaluation: what they yield is looked at before it is believed.
    placed = [
        evolve(placed, foreign=not _is_built_in(placed.rule))
        for placed in placed_rules(rules, settings)
    ]
    checks, faults = run_placed(placed, facts_of(job_made, plugins, planned=True))
    if faults:
        raise RuleError("; ".join(str(fault) for fault in faults))
    return checks
