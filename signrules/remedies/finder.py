"""The search for remedies: candidates are computed by the makers, and only what a real evaluation
bears out is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import islice
from typing import Any, NamedTuple

from attrs import frozen

from signrules.documents.json_patch import patch_between
from signrules.documents.writing import job_to_dict
from signrules.model.job import Job
from signrules.remedies.after_change import After, worsened_checks
from signrules.remedies.alike_cases import Alike, Case, by_name
from signrules.remedies.candidates import Change, Judged, lasting_changes
from signrules.remedies.found_remedies import (
    NOTHING_FOUND,
    CaseKey,
    Found,
    Reported,
    case_key,
    reported_remedies,
)
from signrules.remedies.makers import needs_no_plan
from signrules.remedies.plugin_offers import NO_OFFERS, Offers
from signrules.remedies.trial_budget import PART_OF_A_CASE, REPORT
from signrules.remedies.trials import Evaluates, Progress, Trial, Trials
from signrules.remedies.unlike_rows import candidate_changes, candidates_for_conflict
from signrules.rules.checks import Check, Level
from signrules.rules.remedy import Remedy

MOST_REMEDIES = 3
"""The most remedies that are looked for, for one finding."""

REPAIRS = 2
"""How many further changes may mend what a change breaks elsewhere."""

WAYS = 3
"""The most ways of each such repair that are tried."""


class _LedTo(NamedTuple):
    """What changes lead to: these, and the job with all of them judged."""

    steps: tuple[Change, ...]
    judged: Judged


class Finder:
    """Finds remedies for the findings of one evaluation, each when it is first asked for."""

    def __init__(
        self, judged: Judged, evaluates: Evaluates[Judged], offers: Offers = NO_OFFERS
    ) -> None:
        self.judged = judged
        self._offers = offers
        self._evaluates = evaluates
        self._found: dict[CaseKey, Found] = {}
        self._reported: dict[CaseKey, Found] = {}
        self._shared: dict[Job, Trial[Judged]] = {}
        self._last: tuple[tuple[Check, ...], Reported] | None = None

    def __reduce__(self) -> tuple[object, ...]:
        # Rules and plugins cannot travel to another process; what has been found can.
        return FoundElsewhere, (self._reported | self._found,)

    def remedies(self, check: Check) -> tuple[Remedy, ...]:
        """The remedies of a check that is broken or doubtful, at most `MOST_REMEDIES`."""
        return self.found(check).remedies

    def found(self, check: Check | None) -> Found:
        """The remedies of a check, or of the conflict for None, with a budget of its own."""
        # By words and not by the check: a finding that came back from a worker is another object.
        key = case_key(check)
        if key not in self._found:
            search = Search(self, self._trials())
            if check is None:
                self._found[key] = search.of_conflict()
            else:
                of_case = search.of_case(self._case_of(check))
                self._found |= {case_key(alike): found for alike, found in of_case.items()}
        return self._found[key]

    def report(self, checks: Iterable[Check], progress: Progress | None = None) -> Reported:
        """The remedies of the conflict, if there is one, and of the checks, as far as one budget
        for all goes.

        Findings whose changes need no plan come first; alike findings are one case. Trials are
        counted as in a search from scratch, so what was asked for before makes no difference.
        """
        checks = tuple(checks)
        if self._last is None or self._last[0] != checks:
            self._last = checks, self._report(checks, progress)
        return self._last[1]

    def _report(self, checks: tuple[Check, ...], progress: Progress | None) -> Reported:
        search = Search(self, self._trials(progress))
        cases = sorted(self.alike.cases(checks), key=_turn_of_case)
        found_by_check: dict[Check, Found] = {}
        # The search for a way out of a conflict may use up the budget, and these take little of it.
        for case in cases:
            if self._is_cheap(case.lead):
                found_by_check |= search.of_case(case)
        conflict = None
        if self.judged.conflict is not None:
            conflict = search.of_conflict()
        for case in cases:
            if not self._is_cheap(case.lead):
                found_by_check |= search.of_case(case)
        self._reported = {case_key(check): of_check for check, of_check in found_by_check.items()}
        if conflict is not None:
            self._reported[case_key(None)] = conflict
        return reported_remedies(checks, found_by_check, conflict)

    def candidates(self, check: Check) -> Iterator[Change]:
        """What may mend a finding: what its plugin offers, then what is computed."""
        yield from self._offers.get((check.rule, check.subjects), ())
        yield from candidate_changes(check, self.judged, self.alike)

    def _is_cheap(self, check: Check) -> bool:
        return needs_no_plan(check) and (check.rule, check.subjects) not in self._offers

    def _trials(self, progress: Progress | None = None) -> Trials[Judged]:
        return Trials(self.judged, self._evaluates, REPORT, shared=self._shared, progress=progress)

    def _case_of(self, check: Check) -> Case:
        checks = [other for other in self.judged.checks if other.is_violation or other == check]
        return next(case for case in self.alike.cases(checks) if check in case.findings)

    @cached_property
    def alike(self) -> Alike:
        """Which rows of the job are alike."""
        return Alike(self.judged.job)

    @cached_property
    def document(self) -> dict[str, Any]:
        """The job as its document."""
        return job_to_dict(self.judged.job)


class FoundElsewhere(Finder):
    """What had been found before an evaluation came here from another process."""

    def __init__(self, found: Mapping[CaseKey, Found]) -> None:
        self._found = dict(found)

    def __reduce__(self) -> tuple[object, ...]:
        # It may travel on.
        return FoundElsewhere, (self._found,)

    def found(self, check: Check | None) -> Found:
        """What had been found, if it had been asked for."""
        return self._found.get(case_key(check), NOTHING_FOUND)

    def report(self, checks: Iterable[Check], progress: Progress | None = None) -> Reported:
        """What had been found; the rest was not tried."""
        checks = tuple(checks)
        return reported_remedies(
            checks, {check: self.found(check) for check in checks}, self._found.get(case_key(None))
        )


def _turn_of_case(case: Case) -> tuple[Any, ...]:
    """Whose turn it is before others, whatever the order of the document: STOP first,
    then by name.
    """
    return case.lead.level is not Level.STOP, case.lead.rule, by_name(case.lead.subjects)


class Search:
    """The search for remedies, with the trials that it may take."""

    def __init__(self, finder: Finder, trials: Trials[Judged]) -> None:
        self.finder, self.judged, self.trials = finder, finder.judged, trials
        self._until = self._refused = 0
        self._offered: list[tuple[Remedy, After]] = []

    def of_conflict(self) -> Found:
        """Changes with which there is a safe order."""
        untried_before = self._begin_case()
        remedies: dict[Job, Remedy] = {}
        for change in candidates_for_conflict(self.judged, self.finder.alike):
            if len(remedies) == MOST_REMEDIES or not self._may_try():
                break
            led_to = self._to_safe_order(change)
            if led_to is not None and led_to.judged.job not in remedies:
                remedies[led_to.judged.job] = self._offered_remedy(led_to, After(led_to.judged))
        all_tried = self.trials.untried == untried_before
        return Found(tuple(remedies.values()), len(remedies) == MOST_REMEDIES or all_tried)

    def _to_safe_order(self, change: Change) -> _LedTo | None:
        """What a change leads to that gives a safe order; None where it gives none.

        It is tried by itself, at all that is alike, and with what it takes besides.
        """
        to_try = [(change, REPAIRS)]
        wide_change = self.finder.alike.widened(change)
        if wide_change is not change:
            # The least that serves comes first. All that is alike comes before repairs, which
            # would make the same change at one row after the other.
            to_try = [(change, 0), (wide_change, REPAIRS), (change, REPAIRS)]
        for change_to_try, repairs in to_try:
            led_to = self._follow(_Attempt(self.judged.job, change_to_try), (), repairs, set())
            if led_to is not None:
                return led_to
        return None

    def of_case(self, case: Case) -> dict[Check, Found]:
        """The remedies of findings that are alike: changes at all of them at once, or else at one
        after the other.
        """
        untried_before = self._begin_case()
        remedies = {check: self._offered_for(check) for check in case.findings}
        self._add_remedies(case, remedies)
        if case.others:
            # What one bears many may not: where they cannot be changed together, each by itself.
            for check in case.findings:
                if not remedies[check]:
                    self._add_remedies(Case((check,)), remedies)
        all_tried = self.trials.untried == untried_before
        lead = case.lead
        found_by_check = {}
        for check, of_check in remedies.items():
            # What is done to one pass comes before what is done to all of them.
            of_check.sort(key=lambda remedy: remedy.changes_printer)
            is_whole = len(of_check) == MOST_REMEDIES or all_tried
            found_by_check[check] = Found(tuple(of_check), is_whole)
            if check is not lead and of_check == remedies[lead]:
                found_by_check[check] = Found(tuple(of_check), is_whole, lead.subjects[0])
        return found_by_check

    def _offered_for(self, check: Check) -> list[Remedy]:
        """What was found for other findings and mends this one too: the same places once."""
        by_places: dict[frozenset[str], Remedy] = {}
        for remedy, after in self._offered:
            if len(by_places) == MOST_REMEDIES:
                break
            if remedy.places not in by_places and after.meets(check):
                by_places[remedy.places] = remedy
        return list(by_places.values())

    def _add_remedies(self, case: Case, remedies: dict[Check, list[Remedy]]) -> None:
        """Adds remedies to those of the findings of a case that have not enough."""
        # Another way to a job that is offered already would be the same remedy in other words.
        seen = {
            after.judged.job
            for remedy, after in self._offered
            if any(remedy in of_check for of_check in remedies.values())
        }
        for change in self.finder.candidates(case.lead):
            wanting = [check for check in case.findings if len(remedies[check]) < MOST_REMEDIES]
            if not wanting or not self._may_try():
                return
            wide_change = self.finder.alike.widened(change, case)
            attempt = _Attempt(self.judged.job, wide_change)
            led_to = self._follow(attempt, tuple(wanting), REPAIRS, seen)
            if led_to is not None:
                after = After(led_to.judged)
                remedy = self._offered_remedy(led_to, after)
                for check in wanting:
                    if after.meets(check):
                        remedies[check].append(remedy)

    def _begin_case(self) -> int:
        """Sets what a case may take; gives back how many trials have not been made so far."""
        # Rounded up.
        part = -(-self.trials.left // PART_OF_A_CASE)
        self._until = self.trials.spent + part
        self._refused = self.trials.refused
        return self.trials.untried

    def _may_try(self) -> bool:
        """Whether the case has not had its part yet; if it has, this trial counts as not made."""
        may_try = self.trials.spent < self._until and self.trials.refused == self._refused
        if not may_try:
            self.trials.leave_out()
        return may_try

    def _follow(
        self,
        attempt: _Attempt,
        wanted: tuple[Check, ...],
        repairs: int,
        seen: set[Job],
    ) -> _LedTo | None:
        """What a change leads to, by itself or with what mends what it breaks; else None.

        `wanted` are alike findings of which one at least must be met; none where it is about the
        conflict.
        """
        changed = attempt.change.made(attempt.job)
        if changed is None or changed in seen or not self._may_try():
            return None
        # Another change that makes the same job would only be the same remedy again.
        seen.add(changed)
        trial = self._trial(changed, wanted)
        if trial is None:
            return None
        worse = worsened_checks(self.judged, trial)
        if worse is None or not _meets_any(trial, wanted):
            return None
        steps = (*attempt.before, attempt.change)
        if not worse and not self._lacks_order(trial, wanted):
            return _LedTo(steps, trial) if self._holds_to_the_end(attempt, wanted) else None
        # A range is promised of a change by itself.
        if not repairs or attempt.change.far_end is not None:
            return None
        for change in islice(self._further_changes(trial, worse, wanted), WAYS):
            led_to = self._follow(_Attempt(changed, change, steps), wanted, repairs - 1, seen)
            if led_to is not None:
                return led_to
        return None

    def _lacks_order(self, trial: Judged, wanted: tuple[Check, ...]) -> bool:
        """Whether a trial has no safe order where it must have one: for the conflict, and where the
        job itself has one.
        """
        return trial.conflict is not None and (not wanted or self.judged.conflict is None)

    def _further_changes(
        self, trial: Judged, worse: list[Check], wanted: tuple[Check, ...]
    ) -> Iterable[Change]:
        """Changes that may mend what a change broke, or give it the safe order that it lacks."""
        if not self._lacks_order(trial, wanted):
            return self._repairs(worse, trial)
        before, now = self.judged.conflict, trial.conflict
        # The same stands in the way as before: the change has brought nothing.
        if before is not None and now is not None and before.subjects == now.subjects:
            return ()
        return candidates_for_conflict(trial, Alike(trial.job))

    def _trial(self, changed: Job, wanted: tuple[Check, ...]) -> Judged | None:
        """A changed job judged; where it is only about a safe order, any such order will do."""
        trial = self.trials.evaluated(changed)
        # Any safe plan meets a check of level STOP that decides, also one of a planner that gave
        # up.
        if trial is None and all(check.level is Level.STOP for check in wanted):
            trial = self.trials.settle_for_order(changed)
        return trial

    def _holds_to_the_end(self, attempt: _Attempt, wanted: tuple[Check, ...]) -> bool:
        """Whether a change that promises a range helps at the other end of it as well."""
        if attempt.change.far_end is None:
            return True
        changed = attempt.change.far_end.made(attempt.job)
        if changed is None:
            return False
        trial = self.trials.evaluated(changed)
        if trial is None or worsened_checks(self.judged, trial) != []:
            return False
        return not self._lacks_order(trial, wanted) and _meets_any(trial, wanted)

    def _repairs(self, worse: list[Check], trial: Judged) -> Iterator[Change]:
        """Changes that may mend the first, by name, of what a change broke, with all alike."""
        alike = Alike(trial.job)
        case = min(alike.cases(worse), key=_turn_of_case)
        for change in candidate_changes(case.lead, trial, alike):
            yield alike.widened(change, case)

    def _offered_remedy(self, led_to: _LedTo, after: After) -> Remedy:
        """What was found as a remedy; it is kept, for other findings that it mends too."""
        job = self.judged.job
        # From the two documents and not from the steps, so the patch is what was judged.
        patch = patch_between(self.finder.document, job_to_dict(led_to.judged.job))
        words = " ".join(step.words(job) for step in lasting_changes(job, led_to.steps))
        remedy = Remedy(words, tuple(patch), extra_minutes(self.judged, led_to.judged))
        self._offered.append((remedy, after))
        return remedy


def _meets_any(trial: Judged, wanted: tuple[Check, ...]) -> bool:
    """Whether one at least of some findings is met in a trial, or none is asked for."""
    return not wanted or any(map(After(trial).meets, wanted))


@frozen
class _Attempt:
    """A change to be made on a job, and what was changed before."""

    job: Job
    change: Change
    before: tuple[Change, ...] = ()


def extra_minutes(before: Judged, after: Judged) -> float | None:
    """What the plan costs more than before, in minutes of set-up; None where that is not known."""
    if before.found_plan is None or after.found_plan is None:
        return None
    minutes_before, minutes_after = before.found_plan.setup_minutes, after.found_plan.setup_minutes
    if minutes_before is None or minutes_after is None:
        return None
    return minutes_after - minutes_before
