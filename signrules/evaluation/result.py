"""What comes of evaluating a job."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import Any

from attrs import evolve, field, frozen

from signrules.cautions import CAUTIONS
from signrules.documents.json_patch import Patch
from signrules.errors import SignrulesError
from signrules.evaluation.figure_origins import Figure, figures_of
from signrules.evaluation.terms import on_terms
from signrules.evaluation.verdict import is_settled, unsettled_checks, verdict_of
from signrules.model.job import Job
from signrules.model.wording import counted_things, shown_value
from signrules.notebook_tables import Table, notebook_html
from signrules.physics.duration import printing_minutes
from signrules.physics.ink_use import ink_ml
from signrules.physics.timeline import Timeline
from signrules.plain import (
    check_to_dict,
    conflict_to_dict,
    fault_to_dict,
    plan_to_dict,
    rounded_number,
)
from signrules.planning.plan import Conflict, Plan
from signrules.remedies.applying import patched_job
from signrules.remedies.finder import Finder
from signrules.remedies.found_remedies import Reported
from signrules.remedies.trials import Progress
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.engine import Fault
from signrules.rules.remedy import Remedy
from signrules.rules.silent_rules import SilentRule
from signrules.shop import Shop

FORMAT = 1
"""The version of the shape that `Evaluation.to_dict` gives."""


@frozen(eq=False)
class Evaluation:
    """What is known of a job: checks with numbers, faults, and a plan or why there is none.

    `timeline` is the replay on which the rules judged: the plan's, or the declared order's where
    there is no plan.
    `accepted` are faults that the shop accepts, each with its reason; they do not make the
    evaluation incomplete.
    `shop` is what the shop has set for the rules; `plugin_quantities` what plugins count besides.
    `states` is how many states the planner opened.
    `rules_run` is how many rules judged; `silent_rules` are those of them that said nothing of this
    job, neither good nor bad.
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
    states: int = 0
    rules_run: int = 0
    silent_rules: tuple[SilentRule, ...] = ()
    _finder: Finder | None = field(default=None, repr=False)
    _again: Callable[[Job], Evaluation] | None = field(default=None, repr=False)

    @property
    def complete(self) -> bool:
        """Whether every rule and plugin did its work."""
        return not self.faults

    @property
    def ok(self) -> bool:
        """No STOP check broken or doubtful, no fault, no conflict."""
        return (
            self.complete
            and self.conflict is None
            and not any(check.holds_back for check in self.checks)
        )

    @property
    def settled(self) -> bool:
        """Whether it is `ok`, every check of level STOP could be made, and none depends on a figure
        that is assumed or not measured closely enough.
        """
        return is_settled(self)

    @cached_property
    def figures(self) -> tuple[Figure, ...]:
        """The figures that the job does not state itself, or that say how they came about.

        Those in doubt are tried at both ends of what they may be, which takes two evaluations each.
        """
        return figures_of(self, self._again)

    @cached_property
    def verdict(self) -> str:
        """What was decided and what was not looked at, in the words that begin every report."""
        return verdict_of(self)

    @cached_property
    def plan(self) -> Plan | None:
        """The plan; None where there is no safe order, or where the evaluation is incomplete.

        A sequence that the job brought along is replayed whatever came of it. Where the job is not
        to be printed, the plan says so when it shows itself.
        """
        # With a rule that failed nobody knows whether its order is safe. A sequence is the author's
        # own, and shown so that it can be discussed.
        found = self.found_plan
        if found is None or not (self.complete or found.judged):
            return None
        return found if self.ok else evolve(found, refusal=self.verdict)

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
        violations = [check for check in self.checks if check.is_violation]
        return tuple(sorted(violations, key=lambda check: check.level is not Level.STOP))

    @cached_property
    def unassessed(self) -> tuple[Check, ...]:
        """The checks that the job does not say enough for."""
        return tuple(check for check in self.checks if check.outcome is Outcome.UNASSESSED)

    @cached_property
    def quantities(self) -> dict[str, float]:
        """What the job takes, by name; units in the names."""
        if self.plan is None:
            return {}
        return counted_quantities(self.plan, self.timeline) | dict(self.plugin_quantities)

    @property
    def reported_remedies(self) -> Reported:
        """The remedies of the conflict and of all violations, as far as the trials that a report
        may take go.
        """
        return self.look_for_remedies()

    def look_for_remedies(self, progress: Progress | None = None) -> Reported:
        """The remedies that a report shows, looked for once and kept.

        `progress` is called after each trial with the planner states spent and those available.
        """
        if self._finder is None:
            return Reported()
        return self._finder.report(self.violations, progress)

    @property
    def conflict_remedies(self) -> tuple[Remedy, ...]:
        """Changes with which there is a safe order, each tried; none where there is one already."""
        if self._finder is None or self.conflict is None:
            return ()
        return self._finder.found(None).remedies

    def with_change(self, patch: Patch) -> Evaluation:
        """An evaluation of the job changed by a JSON Patch (RFC 6902) on its document.

        Raises PatchError where the patch does not fit, JobError where what comes of it is no job,
        SignrulesError for an evaluation that came from another process, since rules cannot travel.
        """
        return self.with_job(patched_job(self.job, patch))

    def with_job(self, job: Job) -> Evaluation:
        """Another job, evaluated in the same way and from here.

        Raises JobError where it names a standard that nothing brings, SignrulesError for an
        evaluation that came from another process.
        """
        if self._again is None:
            raise SignrulesError(
                "this evaluation came from another process: evaluate its job again to change it"
            )
        return self._again(job)

    def records(self) -> list[dict[str, Any]]:
        """A flat record for each check, for tables of data; numbers are in `unit`."""
        return [_record_of_check(check) for check in self.checks]

    def __repr__(self) -> str:
        steps = "no plan" if self.plan is None else f"{len(self.plan.steps)} steps"
        checks = f"{len(self.checks)} checks"
        return f"<Evaluation of {shown_value(self.job.name)}: {self.verdict}; {checks}, {steps}>"

    def _repr_html_(self) -> str:
        """What a notebook shows: the verdict, on which terms, what is wrong, what was not checked,
        the order.
        """
        lines = [str(fault) for fault in self.faults]
        for title, texts in on_terms(self.accepted, self.shop):
            lines += (f"{title}: {text}" for text in texts)
        if self.conflict is not None:
            lines.append(self.conflict.message)
        if self.order:
            safe = "Order" if self.order_is_safe else "Order, not safe"
            lines.append(f"{safe}: {', '.join(self.order)}")
        lines.append(self._how_many_unmade())
        lines.append(f"{len(self.silent_rules)} of {self.rules_run} rules said nothing.")
        rows = [
            (check.level.value, check.outcome.value, check.rule, check.message)
            for check in self.violations
        ]
        unmade = [(check.level.value, check.rule, check.message) for check in self.unassessed]
        tables: list[Table] = [
            (("level", "outcome", "rule", "what"), rows),
            (("level", "not checked", "why"), unmade),
            (("cautions",), [(str(caution),) for caution in CAUTIONS]),
        ]
        return notebook_html(self.job.name or "job", self.verdict, lines, tables)

    def _how_many_unmade(self) -> str:
        """How many checks could not be made, and what that means where they could stop a print."""
        unmade = f"{counted_things(len(self.unassessed), 'check')} could not be made"
        stops = len(unsettled_checks(self))
        if not stops:
            return f"{unmade}."
        return f"{unmade}: {stops} of level STOP, and each may still forbid the print."

    def to_dict(self, *, remedies: bool = True) -> dict[str, Any]:
        """Plain, versioned data, ready for JSON; `remedies` take trial evaluations."""
        reported = self.reported_remedies if remedies else Reported()
        conflict = None
        if self.conflict is not None:
            conflict = conflict_to_dict(self.conflict, reported.of_conflict)
        return {
            "signrules": FORMAT,
            "job": self.job.name,
            "verdict": self.verdict,
            "ok": self.ok,
            "settled": self.settled,
            "complete": self.complete,
            "order": list(self.order),
            "order_is_safe": self.order_is_safe,
            "plan": self.plan and plan_to_dict(self.plan),
            "conflict": conflict,
            "checks": [_check_to_dict(check, reported) for check in self.checks],
            "remedies_left_out": reported.left_out,
            "remedies_not_tried": [
                {"rule": rule, "subject": subject} for rule, subject in reported.not_tried
            ],
            "faults": [fault_to_dict(fault) for fault in self.faults],
            "accepted": [
                fault_to_dict(fault) | {"reason": reason} for fault, reason in self.accepted
            ],
            "rules_run": self.rules_run,
            "silent_rules": [
                {"rule": silent.rule, "plugin": silent.plugin} for silent in self.silent_rules
            ],
            "shop": self.shop.to_dict(),
            "read_notes": list(self.job.read_notes),
            "figures": [figure.to_dict() for figure in self.figures],
            "quantities": {name: rounded_number(value) for name, value in self.quantities.items()},
            "cautions": [str(caution) for caution in CAUTIONS],
        }


Judge = Callable[[Job], Evaluation]
"""Evaluates a job, in one way each time."""


def _record_of_check(check: Check) -> dict[str, Any]:
    measured, (least, most) = check.measured, check.limit
    return {
        "rule": check.rule,
        "plugin": check.plugin,
        "subject": check.subjects[0],
        "level": check.level.value,
        "outcome": check.outcome.value,
        "measured_low": None if measured is None else measured.low,
        "measured_high": None if measured is None else measured.high,
        "least": least,
        "most": most,
        "unit": check.unit,
        "margin": check.margin,
        "found": check.found,
        "missing": check.missing,
        "waived": check.waiver is not None,
        "source": str(check.source),
        "message": check.message,
    }


def _check_to_dict(check: Check, reported: Reported) -> dict[str, Any]:
    """A check with its remedies, or with the subject of the alike one that has the same."""
    # Most have none, and to look one up words its message.
    if not check.is_bad:
        return check_to_dict(check)
    if check in reported.as_on:
        return check_to_dict(check) | {"remedies_as": reported.as_on[check]}
    return check_to_dict(check, reported.of_checks.get(check, ()))


def counted_quantities(plan: Plan, timeline: Timeline) -> dict[str, float]:
    """What a plan takes, by name; units in the names."""
    counts = {"bed_loads": float(plan.loads), "gap_settings": float(timeline.gap_settings)}
    counts["new_alignments"] = float(len(timeline.new_alignments))
    if plan.setup_minutes is not None:
        counts["setup_minutes"] = plan.setup_minutes
    return counts | printing_minutes(timeline.machine.job) | ink_ml(timeline.machine.heights)


def why_not_safe(result: Evaluation) -> Conflict:
    """Why an evaluation's order may not be called safe."""
    if result.conflict is not None:
        return result.conflict
    if result.faults:
        reasons = tuple(str(fault) for fault in result.faults)
        head = "No order is called safe: the evaluation is incomplete."
        return Conflict((), reasons, _with_reasons(head, reasons), proven=False)
    broken = [check for check in result.checks if check.holds_back and check.decides]
    subjects = tuple(dict.fromkeys(check.subjects[0] for check in broken))
    reasons = tuple(check.message for check in broken)
    judged = result.found_plan is not None and result.found_plan.judged
    head = "The sequence is not safe." if judged else "The order is not safe."
    return Conflict(subjects, reasons, _with_reasons(head, reasons))


def _with_reasons(head: str, reasons: Iterable[str]) -> str:
    """A message of one line with its reasons under it."""
    return "\n".join([head, *(f"  {reason}" for reason in reasons)])
