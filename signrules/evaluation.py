"""The main job: evaluate a job, and what comes of it."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from attrs import evolve, field, frozen

from signrules.documents.patching import Patch
from signrules.errors import DocumentFault, JobError, SignrulesError
from signrules.model.job import Job
from signrules.physics.duration import printing_minutes
from signrules.physics.heights import Heights
from signrules.physics.ink_use import ink_ml
from signrules.physics.machine import Machine, Precedence
from signrules.physics.timeline import Timeline
from signrules.plain import check_to_dict, conflict_to_dict, fault_to_dict, plan_to_dict, rounded
from signrules.planning.audit import audit
from signrules.planning.plan import Conflict, NoSafeOrder, Plan
from signrules.planning.planner import BUDGET, plan_job
from signrules.plugins import BUILT_IN, Plugins, load_plugins
from signrules.remedies.applying import patched
from signrules.remedies.finder import Finder, Reported
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.engine import Facts, Fault, apply_waivers, run_rules
from signrules.rules.remedy import Remedy
from signrules.shop import Shop
from signrules.standards.tables import Standard, not_available

FORMAT = 1
"""The version of the shape that `Evaluation.to_dict` gives."""


@frozen(eq=False)
class Evaluation:
    """What is known of a job: checks with numbers, faults, and a plan or the reason why there is none.

    `timeline` is the replay on which the rules judged: the plan's, or the declared order's where there is no plan.
    `accepted` are faults that the shop accepts, each with its reason; they do not make the evaluation incomplete.
    `shop` is what the shop has set for the rules; `plugin_quantities` what plugins count besides.
    """

    job: Job
    checks: tuple[Check, ...]
    faults: tuple[Fault, ...]
    timeline: Timeline
    found_plan: Plan | None
    conflict: Conflict | None
    accepted: tuple[tuple[Fault, str], ...] = ()
    shop: Shop = field(factory=Shop)
    plugin_quantities: Mapping[str, float] = field(factory=dict)
    _finder: Finder | None = field(default=None, repr=False)
    _again: _Again | None = field(default=None, repr=False)

    @property
    def complete(self) -> bool:
        """Whether every rule and plugin did its work."""
        return not self.faults

    @property
    def ok(self) -> bool:
        """No STOP check broken or doubtful, no fault, no conflict."""
        return self.complete and self.conflict is None and not any(check.holds_back for check in self.checks)

    @property
    def plan(self) -> Plan | None:
        """The plan; None where there is no safe order, or where the evaluation is incomplete.

        A sequence that the job brought along is replayed whatever came of it.
        """
        judged = self.found_plan is not None and self.found_plan.judged
        return self.found_plan if self.complete or judged else None

    @property
    def order(self) -> tuple[str, ...]:
        """The ids of passes and handling in the order of the plan; empty without one."""
        return () if self.plan is None else self.plan.order

    @property
    def order_is_safe(self) -> bool:
        """Whether the plan's order may be called safe."""
        if self.plan is None or not self.complete:
            return False
        return not any(check.holds_back and check.decides for check in self.checks)

    @cached_property
    def violations(self) -> tuple[Check, ...]:
        """What is broken or doubtful and not waived, STOP before REVIEW; notes are left out."""
        found = [check for check in self.checks if check.is_violation]
        return tuple(sorted(found, key=lambda check: check.level is not Level.STOP))

    @cached_property
    def unassessed(self) -> tuple[Check, ...]:
        """The checks that the job does not say enough for."""
        return tuple(check for check in self.checks if check.outcome is Outcome.UNASSESSED)

    @cached_property
    def quantities(self) -> dict[str, float]:
        """What the job takes, by name; units in the names."""
        return {} if self.plan is None else _counted(self.plan, self.timeline) | dict(self.plugin_quantities)

    @cached_property
    def reported_remedies(self) -> Reported:
        """The remedies of the conflict and of all violations, as far as the trials that a report may take go."""
        return Reported() if self._finder is None else self._finder.report(self.violations)

    @property
    def conflict_remedies(self) -> tuple[Remedy, ...]:
        """Changes with which there is a safe order, each tried; empty where there is one already."""
        return () if self._finder is None or self.conflict is None else self._finder.found(None).remedies

    def with_change(self, patch: Patch) -> Evaluation:
        """The same job with a JSON Patch (RFC 6902) on its document, evaluated in the same way.

        Raises PatchError where the patch does not fit, JobError where what comes of it is no job, SignrulesError for
        an evaluation that came from another process, since rules cannot travel.
        """
        if self._again is None:
            raise SignrulesError("this evaluation came from another process: evaluate its job anew to change it")
        return self._again(patched(self.job, patch))

    def to_dict(self, *, remedies: bool = True) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON; without `remedies`, which take trial evaluations, if so wished."""
        reported = self.reported_remedies if remedies else Reported()
        return {
            "signrules": FORMAT,
            "job": self.job.name,
            "ok": self.ok,
            "complete": self.complete,
            "order": list(self.order),
            "plan": None if self.plan is None else plan_to_dict(self.plan),
            "conflict": None if self.conflict is None else conflict_to_dict(self.conflict, reported.of_conflict),
            "checks": [check_to_dict(check, reported.of_checks.get(check, ())) for check in self.checks],
            "remedies_left_out": reported.left_out,
            "faults": [fault_to_dict(fault) for fault in self.faults],
            "accepted": [fault_to_dict(fault) | {"reason": reason} for fault, reason in self.accepted],
            "shop": self.shop.to_dict(),
            "quantities": {name: rounded(value) for name, value in self.quantities.items()},
        }


def evaluate(
    job: Job,
    *,
    plugins: Plugins | None = None,
    shop: Shop | None = None,
    budget: int = BUDGET,
    today: datetime.date | None = None,
    audited: bool = True,
    seconds: float | None = None,
) -> Evaluation:
    """Judge a job and plan it.

    `plugins` is what `load_plugins` gave; left out, the built-in sets alone. `shop` is what `read_shop` gave. `budget`
    is how many states the planner opens at the most. `today` is the day for which waivers are judged. `audited` has
    the plan replayed independently; what does not hold then is a fault. `seconds` is the time that each rule and hook
    of a plugin may take; one that takes longer is a fault. Raises JobError where the job names a standard that nothing
    brings, ShopError where the shop sets something that does not fit the rules.
    """
    plugins = load_plugins() if plugins is None else plugins
    shop = Shop() if shop is None else shop
    rules = shop.placed(plugins.rules, plugins.names)
    standards = _standards(job, plugins)
    heights = Heights(job)
    ids = {item.id: at for at, item in enumerate(job.items)}
    pairs, hook_faults = plugins.precedence(job, seconds)
    extra = [Precedence(ids[first], ids[then], by, reason) for first, then, reason, by in pairs]
    machine = Machine(heights, extra)
    outcome = plan_job(machine, budget)
    ordered = outcome.plan is not None and not outcome.plan.judged
    translator = _Translator(plugins, seconds)
    facts = Facts(
        outcome.timeline, standards, ordered=ordered, materials=plugins.materials, translate=translator.translate
    )
    checks, rule_faults = run_rules(rules, facts, seconds=seconds)
    today = today or datetime.date.today()
    checks = apply_waivers(checks, job.waivers, today)
    counted, quantity_faults = _plugin_quantities(plugins, outcome.plan, outcome.timeline, seconds)
    failed = [failure.fault() for failure in plugins.failed]
    wrong = audit(job, outcome.plan) if audited and outcome.plan is not None else []
    audit_faults = [Fault("(audit)", BUILT_IN, "", "plan", finding) for finding in wrong]
    faults = [*failed, *hook_faults, *translator.faults, *rule_faults, *quantity_faults]
    accepted = tuple((fault, reason) for fault in faults if (reason := shop.accepts(fault)))
    faults = [fault for fault in faults if not shop.accepts(fault)]
    result = Evaluation(
        job,
        tuple(checks),
        (*faults, *audit_faults),
        outcome.timeline,
        outcome.plan,
        outcome.conflict,
        accepted,
        shop,
        counted,
    )
    return _with_finder(result, _Again(plugins, shop, budget, today, audited, seconds))


@frozen(eq=False)
class _Again:
    """How an evaluation came about, so that a changed job can be evaluated in the same way."""

    plugins: Plugins
    shop: Shop
    budget: int
    today: datetime.date
    audited: bool
    seconds: float | None

    def __call__(self, job: Job) -> Evaluation:
        return evaluate(
            job,
            plugins=self.plugins,
            shop=self.shop,
            budget=self.budget,
            today=self.today,
            audited=self.audited,
            seconds=self.seconds,
        )

    def __reduce__(self) -> tuple[object, ...]:
        # Rules and plugins cannot travel to another process.
        return type(None), ()


def _with_finder(result: Evaluation, again: _Again) -> Evaluation:
    finder = Finder(result, evolve(again, audited=False))
    checks = tuple(evolve(check, finder=finder) if check.is_bad else check for check in result.checks)
    return evolve(result, checks=checks, finder=finder, again=again)


def _plugin_quantities(
    plugins: Plugins, plan: Plan | None, timeline: Timeline, seconds: float | None
) -> tuple[dict[str, float], list[Fault]]:
    if plan is None:
        return {}, []
    return plugins.quantities(timeline.machine.job, plan.order, _counted(plan, timeline), seconds)


def _counted(plan: Plan, timeline: Timeline) -> dict[str, float]:
    counts = {"bed_loads": float(plan.loads), "gap_settings": float(timeline.gap_settings)}
    counts["new_alignments"] = float(len(timeline.new_alignments))
    if plan.setup_minutes is not None:
        counts["setup_minutes"] = plan.setup_minutes
    return counts | printing_minutes(timeline.machine.job) | ink_ml(timeline.machine.heights)


def safe_order(
    job: Job, *, plugins: Plugins | None = None, shop: Shop | None = None, budget: int = BUDGET
) -> tuple[str, ...]:
    """The ids of the passes in a safe order, the cheapest that was found.

    Raises NoSafeOrder, whose `conflict` says why: no order is safe, the job's own sequence is not, or a rule or
    plugin failed, so that no order may be called safe.
    """
    result = evaluate(job, plugins=plugins, shop=shop, budget=budget)
    if result.order_is_safe:
        ids = {item.id for item in job.passes}
        return tuple(name for name in result.order if name in ids)
    raise NoSafeOrder(why_not_safe(result))


def why_not_safe(result: Evaluation) -> Conflict:
    """Why an evaluation's order may not be called safe."""
    if result.conflict is not None:
        return result.conflict
    if result.faults:
        reasons = tuple(str(fault) for fault in result.faults)
        head = "No order is called safe: the evaluation is incomplete."
        return Conflict((), reasons, "\n".join([head, *(f"  {reason}" for reason in reasons)]), proven=False)
    broken = [check for check in result.checks if check.holds_back and check.decides]
    subjects = tuple(dict.fromkeys(check.subjects[0] for check in broken))
    reasons = tuple(check.message for check in broken)
    return Conflict(subjects, reasons, "\n".join(["The sequence is not safe.", *(f"  {r}" for r in reasons)]))


class _Translator:
    """Asks the plugins once for each line and keeps the faults of those that failed."""

    def __init__(self, plugins: Plugins, seconds: float | None) -> None:
        self.faults: list[Fault] = []
        self._plugins = plugins
        self._seconds = seconds
        self._answers: dict[tuple[str, str, str], str | None] = {}

    def translate(self, text: str, grade: str, language: str) -> str | None:
        key = text, grade, language
        if key not in self._answers:
            self._answers[key], faults = self._plugins.translate(*key, seconds=self._seconds)
            self.faults += faults
        return self._answers[key]


def _standards(job: Job, plugins: Plugins) -> tuple[Standard, ...]:
    faults = []
    unread = {} if set(job.standards) <= set(plugins.standards) else {one.id: one for one in not_available()}
    for number, name in enumerate(job.standards):
        if name in unread and name not in plugins.standards:
            known = f"a standard with a table; {unread[name].title} is known but not available: {unread[name].reason}"
            faults.append(DocumentFault(f"standards[{number}]", repr(name), known))
        elif name not in plugins.standards:
            near = difflib.get_close_matches(name, plugins.standards, n=1)
            known = f"{near[0]!r} perhaps" if near else f"one of {', '.join(sorted(plugins.standards))}"
            faults.append(DocumentFault(f"standards[{number}]", repr(name), f"a standard that is loaded: {known}"))
    if faults:
        raise JobError(faults)
    return tuple(plugins.standards[name] for name in dict.fromkeys(job.standards))
