"""The search for remedies: candidates are computed by the makers, and only what a real evaluation bears out is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from typing import Any

from attrs import field, frozen

from signrules.documents.patching import difference
from signrules.documents.writing import job_to_dict
from signrules.model.job import Job
from signrules.remedies.changes import Change, Judged
from signrules.remedies.comparing import met_again, worsened
from signrules.remedies.makers import changes_for, changes_for_conflict
from signrules.rules.checks import Check
from signrules.rules.remedy import Remedy

MOST_REMEDIES = 3
"""As many remedies of one finding as are looked for."""

MOST_TRIALS = 24
"""As many evaluations as the search for the remedies of one finding may take; no more than a report may."""

REPORT_TRIALS = 200
"""As many as all remedies of a report may take, in jobs of up to `SMALL` passes and handling; see `trials_for`."""

SMALL = 20
HARD_TRIALS = 8
FEWEST_TRIALS = 4

REPAIRS = 2
"""How many further changes may mend what a change breaks elsewhere."""

WAYS = 3
"""As many ways of each such repair as are tried."""


@frozen
class Found:
    """The remedies of one finding, and how many trials their search took."""

    remedies: tuple[Remedy, ...]
    trials: int


NOTHING_FOUND = Found((), 0)

_Key = tuple[str, ...]
"""A finding in words: checks hold their finder, so they can be no keys of what travels with it."""


@frozen
class Reported:
    """The remedies that a report shows; `left_out` is the number of findings for which none were looked for."""

    of_checks: Mapping[Check, tuple[Remedy, ...]] = field(factory=dict)
    of_conflict: tuple[Remedy, ...] = ()
    left_out: int = 0


def trials_for(judged: Judged) -> int:
    """How many trials a report may take: fewer the larger the job, or where the planner used its budget up.

    Never fewer than `FEWEST_TRIALS`. At most `HARD_TRIALS` where it could not prove a plan for more than `SMALL`.
    """
    plan = judged.found_plan
    best = plan.best if plan is not None and plan.judged else plan
    gave_up = (best is not None and not best.optimal) or (judged.conflict is not None and not judged.conflict.proven)
    size = len(judged.job.items)
    return max(FEWEST_TRIALS, min(HARD_TRIALS if gave_up and size > SMALL else REPORT_TRIALS, _scaled(size)))


def _scaled(size: int) -> int:
    """An evaluation takes about as the square of the size, so trials fall with it."""
    return REPORT_TRIALS * SMALL**2 // max(size, SMALL) ** 2


class Finder:
    """Finds remedies for the findings of one evaluation, each when it is first asked for."""

    def __init__(self, judged: Judged, again: Callable[[Job], Judged]) -> None:
        self.judged = judged
        self._again = again
        self._found: dict[_Key, Found] = {}
        self._trials: dict[Job, Judged] = {}

    def __reduce__(self) -> tuple[object, ...]:
        # Rules and plugins cannot travel to another process; what has been found can.
        return Carried, (self._found,)

    def remedies(self, check: Check) -> tuple[Remedy, ...]:
        """The remedies of a check that is broken or doubtful, at most `MOST_REMEDIES`."""
        return self.found(check).remedies

    def found(self, check: Check | None) -> Found:
        """The remedies of a check, or of the conflict where it is None, and what their search took."""
        key = _key(check)
        if key not in self._found:
            search = _Search(self)
            self._found[key] = Found(tuple(search.remedies(check)), search.tried)
        return self._found[key]

    def report(self, checks: Iterable[Check]) -> Reported:
        """The remedies of the conflict, if there is one, and of the checks, one by one, until the trials are used up.

        The count is that of a search from scratch, so what was asked for before makes no difference.
        """
        limit, left_out = trials_for(self.judged), 0
        conflict = None if self.judged.conflict is None else self.found(None)
        spent = 0 if conflict is None else conflict.trials
        remedies: dict[Check, tuple[Remedy, ...]] = {}
        for check in checks:
            if spent >= limit:
                left_out += 1
                continue
            found = self.found(check)
            spent += found.trials
            remedies[check] = found.remedies
        return Reported(remedies, () if conflict is None else conflict.remedies, left_out)

    def evaluated(self, job: Job) -> Judged:
        """A changed job, evaluated; each only once."""
        if job not in self._trials:
            self._trials[job] = self._again(job)
        return self._trials[job]

    @cached_property
    def document(self) -> dict[str, Any]:
        """The job as its document."""
        return job_to_dict(self.judged.job)


class Carried(Finder):
    """What had been found before an evaluation went to another process."""

    def __init__(self, found: Mapping[_Key, Found]) -> None:
        self._found = dict(found)

    def found(self, check: Check | None) -> Found:
        """What had been found, if it had been asked for."""
        return self._found.get(_key(check), NOTHING_FOUND)

    def report(self, checks: Iterable[Check]) -> Reported:
        """What had been found; the rest is left out."""
        checks = tuple(checks)
        known = {check: self.found(check).remedies for check in checks if _key(check) in self._found}
        return Reported(known, self.found(None).remedies, len(checks) - len(known))


def _key(check: Check | None) -> _Key:
    return () if check is None else (check.rule, *check.subjects, str(check.source), check.message)


class _Search:
    """The search for the remedies of one finding, with its count of trials."""

    def __init__(self, finder: Finder) -> None:
        self.finder = finder
        self.tried = 0
        self.most = min(MOST_TRIALS, trials_for(finder.judged))

    def remedies(self, check: Check | None) -> Iterator[Remedy]:
        judged = self.finder.judged
        count = 0
        seen: set[Job] = set()
        for change in changes_for_conflict(judged) if check is None else changes_for(check, judged):
            if count == MOST_REMEDIES or self.tried >= self.most:
                return
            remedy = self._follow(judged.job, (), change, check, REPAIRS, seen)
            if remedy is not None:
                count += 1
                yield remedy

    def _follow(
        self, job: Job, before: tuple[str, ...], change: Change, check: Check | None, repairs: int, seen: set[Job]
    ) -> Remedy | None:
        """The remedy that a change is, by itself or with what it takes to mend what it breaks."""
        changed = change.made(job)
        if changed is None or changed in seen or self.tried >= self.most:
            return None
        seen.add(changed)
        self.tried += 1
        judged, trial = self.finder.judged, self.finder.evaluated(changed)
        summaries = (*before, change.summary)
        worse = worsened(judged, trial)
        if worse is None or (check is not None and not met_again(check, trial)):
            return None
        further: Iterable[Change] = ()
        if trial.conflict is not None and (check is None or judged.conflict is None):
            # There is no safe order; or still none, but something else stands in the way than before.
            if judged.conflict is None or trial.conflict.subjects != judged.conflict.subjects:
                further = changes_for_conflict(trial)
        elif worse:
            further = changes_for(worse[0], trial)
        else:
            return self._remedy(summaries, changed, trial)
        return self._any(changed, summaries, further, check, repairs, seen) if repairs else None

    def _any(
        self,
        job: Job,
        before: tuple[str, ...],
        changes: Iterable[Change],
        check: Check | None,
        repairs: int,
        seen: set[Job],
    ) -> Remedy | None:
        """The first remedy that one of some further changes completes."""
        for _, change in zip(range(WAYS), changes, strict=False):
            remedy = self._follow(job, before, change, check, repairs - 1, seen)
            if remedy is not None:
                return remedy
        return None

    def _remedy(self, summaries: tuple[str, ...], changed: Job, trial: Judged) -> Remedy:
        patch = difference(self.finder.document, job_to_dict(changed))
        return Remedy(" ".join(summaries), tuple(patch), extra_minutes(self.finder.judged, trial))


def extra_minutes(before: Judged, after: Judged) -> float | None:
    """What the plan costs more than before, in minutes of set-up; None where that is not known."""
    was, now = (None if one.found_plan is None else one.found_plan.setup_minutes for one in (before, after))
    return None if was is None or now is None else now - was
