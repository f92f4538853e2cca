"""The main job: evaluate a job, and again when it has changed."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Iterable

from attrs import evolve, frozen

from signrules.documents.plugin_tables import faults_of_tables, tables_of_job
from signrules.errors import DocumentFault, JobError, SignrulesError
from signrules.evaluation.asked_lines import Answers, Translator
from signrules.evaluation.kept_conflict import still_in_conflict
from signrules.evaluation.result import Evaluation, counted_quantities, why_not_safe
from signrules.events import INFO, is_heard, tell_event, untold_work, work_stage
from signrules.given_values import day_or_today, demand_bounds, demand_given
from signrules.hook_answers import PluginPrecedence
from signrules.model.job import Job, same_work
from signrules.model.wording import counted_things, expected_name
from signrules.physics.heights import Heights
from signrules.physics.machine import PLUGIN, Machine, Precedence
from signrules.planning.audit import audit
from signrules.planning.pipeline import BUDGET
from signrules.planning.plan import NoSafeOrder
from signrules.planning.planner import Outcome, plan_job, replay_order
from signrules.plugins import BUILT_IN, Plugins, load_plugins
from signrules.remedies.finder import Finder
from signrules.remedies.plugin_offers import NO_OFFERS, Offers, offered_changes
from signrules.remedies.trial_budget import TrialBudget
from signrules.remedies.trials import Progress, Trials
from signrules.rules.check_memory import Memory
from signrules.rules.checks import Check
from signrules.rules.engine import Facts, Fault, run_rules
from signrules.rules.silent_rules import rules_without_a_word
from signrules.rules.unread_data import unread_data
from signrules.rules.waivers import apply_waivers
from signrules.shop import Shop
from signrules.standards.dimension_tables import Standard, not_available


class Live:
    """Evaluates a job again and again while it is being changed: for a form or an editor that asks
    at every keystroke.

    Works out anew what a change touches, and keeps the rest: heights, plan and audit as long as
    nothing has changed but name, signs, standards and waivers; of each rule what it made of a
    subject as long as nothing that it reads has changed. What comes out is what `evaluate` gives.

    `plugins` is what `load_plugins` gave; left out, the built-in sets alone. `shop` is what
    `read_shop` gave. `budget` is how many states the planner opens at the most. `audited` has
    each plan replayed independently; what does not hold then is a fault. `seconds` is the time
    that each rule and hook of a plugin may take; one that takes longer is a fault. Raises
    ShopError where the shop sets something that does not fit the rules, TypeError or ValueError
    for a budget or seconds that are none.
    """

    def __init__(
        self,
        *,
        plugins: Plugins | None = None,
        shop: Shop | None = None,
        budget: int = BUDGET,
        audited: bool = True,
        seconds: float | None = None,
    ) -> None:
        demand_given("Live", (plugins, Plugins | None), (shop, Shop | None))
        demand_bounds(budget=budget, seconds=seconds)
        plugins = load_plugins() if plugins is None else plugins
        self._shop = (Shop() if shop is None else shop).with_whole_names(plugins.names)
        self._rules = self._shop.placed(plugins.rules, plugins.names, plugins.settings)
        self._plugins = plugins.configured(self._shop)
        unloaded = [failure.fault() for failure in plugins.failed]
        self._unloaded = [
            *unloaded,
            *self._shop.faults_of_unknown(plugins.rules, [fault.plugin for fault in unloaded]),
        ]
        self._budget, self._audited, self._seconds = budget, audited, seconds
        self._planned: _Planned | None = None
        self._is_trial = self._starts_from_plan = False
        self._memory = Memory()
        self._answers: Answers = {}

    def evaluate(self, job: Job, *, today: datetime.date | None = None) -> Evaluation:
        """Judge a job and plan it; `today` is the day for which waivers are judged.

        Raises JobError where the job names a standard that nothing brings, or holds data that its
        plugin does not allow.
        """
        demand_given("evaluate", (job, Job))
        today = day_or_today(today)
        # Trials are many, and what is found by them is evaluated once more.
        if self._is_trial:
            with untold_work():
                return self._evaluated(job, today)
        with work_stage("evaluate", passes=len(job.passes), signs=len(job.signs)):
            result = self._evaluated(job, today)
        # The verdict looks at every check: it is worked out for those who listen alone.
        if is_heard(INFO):
            checks = counted_things(len(result.checks), "check")
            faults = counted_things(len(result.faults), "fault")
            tell_event(INFO, "evaluated %s: %s; %s, %s", job.name, result.verdict, checks, faults)
        return result

    def _evaluated(self, job: Job, today: datetime.date) -> Evaluation:
        plugins, seconds = self._plugins, self._seconds
        standards = standards_of(job, plugins)
        # Before any rule or hook: they are given instances of the data, which must be sound.
        demand_sound_data(job, plugins)
        extra, hook_faults = plugins.precedence(job, seconds)
        planned = self._plan(job, extra)
        quantities, further, quantity_faults = self._quantities(job, planned)
        translator = Translator(plugins, seconds, self._answers)
        facts = Facts(
            job,
            planned.outcome.timeline,
            standards,
            ordered=planned.ordered,
            materials={**plugins.materials, **self._shop.stock.materials},
            translate=translator.translate,
            own_data=plugins.data_by_rule,
            quantities=quantities,
        )
        with work_stage("judge", rules=len(self._rules)):
            checks, rule_faults, memory = run_rules(
                self._rules, facts, seconds=seconds, memory=self._memory
            )
        offers, offer_faults = self._offers(job, checks)
        rule_faults += offer_faults
        faults = [*self._unloaded, *hook_faults, *translator.faults, *rule_faults, *quantity_faults]
        accepted = tuple(
            (fault, reason) for fault in faults if (reason := self._shop.accepts(fault))
        )
        not_accepted = [fault for fault in faults if not self._shop.accepts(fault)]
        all_checks = [*checks, *unread_data(job, plugins.data)]
        result = Evaluation(
            job=job,
            checks=tuple(apply_waivers(all_checks, job.waivers, today)),
            faults=(*not_accepted, *planned.audit_faults),
            timeline=planned.outcome.timeline,
            found_plan=planned.outcome.plan,
            conflict=planned.outcome.conflict,
            accepted=accepted,
            shop=self._shop,
            plugin_quantities=further,
            states=planned.outcome.states,
            rules_run=len(self._rules),
            silent_rules=rules_without_a_word(self._rules, checks, rule_faults),
        )
        # Kept last, so that a job that cannot be judged leaves what was known before it.
        self._planned = planned
        # A translator that failed is asked again next time, and the rules that heard of it too.
        translator.forget_failures()
        self._memory = Memory() if translator.faults else memory
        return _with_finder(result, _Again(self._fork(), today), offers)

    def machine(self, job: Job) -> Machine:
        """What the planner is given of a job: its items, and what plugins say of their order."""
        extra, _ = self._plugins.precedence(job, self._seconds)
        return machine_of(job, extra)

    def adopted(self, result: Evaluation, *, today: datetime.date) -> Evaluation:
        """An evaluation from another process, which left rules and plugins behind, as if it had
        been made here.
        """
        if result._again is not None:
            return result
        return _with_finder(result, _Again(self._fork(), today))

    def _plan(self, job: Job, extra: list[PluginPrecedence]) -> _Planned:
        before = self._planned
        # What these jobs may differ in moves nothing at the machine: the plan stays what it is.
        if before is not None and before.extra == extra and same_work(before.job, job):
            return before
        machine = machine_of(job, extra)
        outcome = self._kept_conflict(machine, extra)
        if outcome is None:
            known_outcome = None
            # Never for an answer that counts: of orders that cost the same, it may end at another
            # one than a planner that starts from nothing.
            if before is not None and self._starts_from_plan:
                known_outcome = before.outcome
            with work_stage("plan", items=len(machine.items)):
                outcome = plan_job(machine, self._budget, known_outcome)
        faults: list[Fault] = []
        if self._audited and outcome.plan is not None:
            wrong = audit(job, outcome.plan)
            faults = [Fault("(audit)", BUILT_IN, "", "plan", finding) for finding in wrong]
        plan = outcome.plan
        counted = {} if plan is None else counted_quantities(plan, outcome.timeline)
        return _Planned(job, extra, outcome, faults, counted)

    def _kept_conflict(self, machine: Machine, extra: list[PluginPrecedence]) -> Outcome | None:
        """The outcome of the job before where its conflict stays one; None where it may not.

        Most changes that are tried on a job without an order leave it without one, and to find that
        out once more would cost a search each time.
        """
        before = self._planned
        if before is None or before.extra != extra or not self._is_trial:
            return None
        if not still_in_conflict(before.outcome.conflict, before.job, machine.job):
            return None
        # The reasons are those of before; what the rules read is of the job as it is now.
        timeline = replay_order(machine, machine.declared_order())
        return evolve(before.outcome, timeline=timeline, states=0)

    def _offers(self, job: Job, checks: Iterable[Check]) -> tuple[Offers, list[Fault]]:
        """What plugins would change where their rules are broken; of a trial nobody asks that."""
        if self._is_trial:
            return {}, []
        return offered_changes(self._plugins, job, checks, self._seconds)

    def _quantities(
        self, job: Job, planned: _Planned
    ) -> tuple[dict[str, float], dict[str, float], list[Fault]]:
        """All that a plan takes, what plugins count of it, and the faults of those that failed."""
        plan, counted = planned.outcome.plan, planned.counted
        if plan is None:
            return {}, {}, []
        further, faults = self._plugins.quantities(job, plan.order, counted, self._seconds)
        return counted | further, further, faults

    def _fork(self) -> Live:
        """One that goes on from here, and leaves this one as it is."""
        # A shallow copy will do: what is kept is replaced and not changed, but for the answers of
        # translators, which are the same for all.
        return copy.copy(self)

    def _for_trial(self, most: int, *, from_plan: bool) -> Live:
        """A fork for trials: without an audit, and with at most so many states for the planner.

        `from_plan` makes the planner start from the plan that there is.
        """
        fork = self._fork()
        fork._is_trial, fork._starts_from_plan, fork._budget = True, from_plan, most
        # What a trial finds is evaluated once more before anybody sees it.
        fork._audited = False
        return fork


def machine_of(job: Job, extra: Iterable[PluginPrecedence]) -> Machine:
    """The machine of a job with the precedence of plugins."""
    ids = {item.id: item_index for item_index, item in enumerate(job.items)}
    precedence = [
        Precedence(ids[said.first], ids[said.later], PLUGIN, said.reason, said.plugin)
        for said in extra
    ]
    return Machine(Heights(job), precedence)


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
    """Judge a job and plan it, as `Live` does; `today` is the day for which waivers are judged.

    Raises JobError where the job names a standard that nothing brings or holds data that its plugin
    does not allow, ShopError where the shop sets something that does not fit the rules.
    """
    demand_given("evaluate", (job, Job), (plugins, Plugins | None), (shop, Shop | None))
    live = Live(plugins=plugins, shop=shop, budget=budget, audited=audited, seconds=seconds)
    return live.evaluate(job, today=today)


def safe_order(
    job: Job, *, plugins: Plugins | None = None, shop: Shop | None = None, budget: int = BUDGET
) -> tuple[str, ...]:
    """The ids of the passes in a safe order, the cheapest that was found.

    Raises NoSafeOrder, whose `conflict` says why: no order is safe, the job's own sequence is not,
    or a rule or plugin failed, so that no order may be called safe.
    """
    demand_given("safe_order", (job, Job), (plugins, Plugins | None), (shop, Shop | None))
    result = evaluate(job, plugins=plugins, shop=shop, budget=budget)
    if result.order_is_safe:
        ids = {item.id for item in job.passes}
        return tuple(name for name in result.order if name in ids)
    raise NoSafeOrder(why_not_safe(result))


@frozen(eq=False)
class _Planned:
    """The plan of a job, what its extra precedence was, what the audit found, what it takes."""

    job: Job
    extra: list[PluginPrecedence]
    outcome: Outcome
    audit_faults: list[Fault]
    counted: dict[str, float]

    @property
    def ordered(self) -> bool:
        """Whether an order is known: the planner found one, perhaps beside a given sequence."""
        plan = self.outcome.plan
        return plan is not None and (not plan.judged or plan.best is not None)


@frozen(eq=False)
class _Again:
    """How an evaluation came about, to evaluate a changed job in the same way and from there."""

    live: Live
    today: datetime.date
    from_plan: bool = False

    def __call__(self, job: Job) -> Evaluation:
        return self.live._fork().evaluate(job, today=self.today)

    @property
    def budget(self) -> int:
        """The states that the planner opens at the most."""
        return self.live._budget

    def trial(self, job: Job, most: int) -> tuple[Evaluation, int]:
        """A changed job judged without an audit, and how many states the planner opened for it, at
        most so many.
        """
        live = self.live._for_trial(most, from_plan=self.from_plan)
        before = live._planned
        result = live.evaluate(job, today=self.today)
        if live._planned is before:
            return result, 0  # The plan was kept, and so is what it cost.
        return result, result.states

    def __reduce__(self) -> tuple[object, ...]:
        # Rules and plugins cannot travel to another process.
        return type(None), ()


def trials_of(
    result: Evaluation,
    total: TrialBudget | int,
    *,
    from_plan: bool = False,
    progress: Progress | None = None,
) -> Trials[Evaluation]:
    """Trials of changes to an evaluated job, evaluated in the same way, as long as a budget lasts.

    With `from_plan` the planner starts from the plan that there is: faster, and of orders that cost
    the same it may come to another than it would without. So what is kept of such trials is
    evaluated from scratch. Raises SignrulesError for an evaluation that came from another process.
    """
    again = result._again
    if not isinstance(again, _Again):
        raise SignrulesError(
            "this evaluation came from another process: evaluate its job again to change it"
        )
    return Trials(result, evolve(again, from_plan=from_plan), total, progress=progress)


def _with_finder(result: Evaluation, again: _Again, offers: Offers = NO_OFFERS) -> Evaluation:
    finder = Finder(result, again, offers)
    checks = list(result.checks)
    for place, check in enumerate(checks):
        # Only what is bad has remedies, and most checks are met.
        if check.is_bad:
            checks[place] = evolve(check, finder=finder)
    return evolve(result, checks=tuple(checks), finder=finder, again=again)


def standards_of(job: Job, plugins: Plugins) -> tuple[Standard, ...]:
    """The tables that a job names. Raises JobError where nothing brings one of them.

    It may be one of a plugin that was not loaded: these are named then, each with the reason.
    """
    faults = []
    for number, name in enumerate(job.standards):
        if name in plugins.standards:
            continue
        expected = _why_no_table(name)
        if not expected:
            one_of_them = f"one of {', '.join(sorted(plugins.standards))}"
            loaded = expected_name(name, tuple(plugins.standards), one_of_them)
            expected = f"a standard that is loaded: {loaded}{plugins.unloaded_words()}"
        faults.append(DocumentFault(f"standards[{number}]", repr(name), expected))
    if faults:
        raise JobError(faults)
    return tuple(plugins.standards[name] for name in dict.fromkeys(job.standards))


def demand_sound_data(job: Job, plugins: Plugins) -> None:
    """Raises JobError where a job holds data that its plugin does not allow.

    Such a job was read without that plugin, or made by hand.
    """
    faults = list(faults_of_tables(tables_of_job(job), plugins.data))
    if faults:
        raise JobError(faults)


def _why_no_table(name: str) -> str:
    """Why a standard that is known has no table; empty for one that is not known."""
    for standard in not_available():
        if standard.id == name:
            what_is_known = f"{standard.title} is known but not available: {standard.reason}"
            return f"a standard with a table; {what_is_known}"
    return ""
