"""Laws on what a rule says where a job does not state a field: neither silence nor a verdict."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from attrs import evolve, frozen

from signrules.documents.fields import is_unknown, why_no_field
from signrules.rules.checks import Check, Outcome
from signrules.rules.engine import Facts, PlacedRule
from signrules.testing.altered_documents import (
    Where,
    larger_value,
    leaves_of,
    matches_pattern,
    other_words,
    path_at,
    value_at,
    without_value,
)
from signrules.testing.check_meaning import mean_alike, meaning_of
from signrules.testing.run_rules import drafts_of, facts_of_document, run_placed
from signrules.testing.trial import Trial

MOST_LEAVES = 12
"""So many fields are left out of a job in one trial; of larger jobs some, others in each trial."""

SAY_SOMETHING = ("builds", "head_work", "locates_by", "name")
"""Keys that say something where they are left out: that there is no sign, no such work, no such
method.
"""


@frozen
class LeftOut:
    """What became of one subject where a field that a rule depends on was left out.

    `unknown` says that nothing holds in the place of the field, no default either; `outcomes` are
    those of the checks that are left.
    """

    path: str
    subject: str
    unknown: bool
    outcomes: frozenset[Outcome]


@frozen
class Missed:
    """What a rule says is missing where a field was left out, and what to write instead where the
    job could never state that.
    """

    where: Where
    missing: str
    instead: str | None


def is_never_silent(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Where a field that it depends on is left out it says so by `missing(...)`, and does not
    just say nothing.
    """
    for left_out in _left_out(trial, placed):
        if not left_out.outcomes and not _fits_any(left_out.path, trial.world.silent_without):
            yield (
                f"{left_out.subject}: without {left_out.path} it says nothing at all; "
                f"yield missing({left_out.path!r}), or name the field in silent_without"
            )


def assumes_nothing(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Where a field that it depends on is left out and has no default, it does not judge all the
    same.
    """
    for left_out in _left_out(trial, placed):
        judged = left_out.outcomes and Outcome.UNASSESSED not in left_out.outcomes
        if judged and left_out.unknown and not _fits_any(left_out.path, trial.world.assumes):
            yield (
                f"{left_out.subject}: without {left_out.path} it judges all the same; "
                f"yield missing({left_out.path!r}) in its place, or name the field in assumes"
            )


def _fits_any(path: str, patterns: tuple[str, ...]) -> bool:
    return any(matches_pattern(path, pattern) for pattern in patterns)


def _left_out(trial: Trial, placed: PlacedRule) -> list[LeftOut]:
    """What comes of leaving out each field that counts, worked out once for both laws."""
    key = (placed.rule.name, "left out")
    if key not in trial.cache:
        trial.cache[key] = list(_leaving_out(trial, placed))
    all_left_out: list[LeftOut] = trial.cache[key]
    return all_left_out


def fields_missed(trial: Trial, placed: PlacedRule) -> list[Missed]:
    """What a rule says is missing where one field or another was left out, and not before."""
    _left_out(trial, placed)
    missed: list[Missed] = trial.cache[placed.rule.name, "missed"]
    return missed


def _newly_missed(
    trial: Trial, placed: PlacedRule, where: Where, checks_without: list[Check]
) -> list[Missed]:
    known_missing = {check.missing for check in trial.found(placed)[0]}
    fresh = dict.fromkeys(check.missing for check in checks_without if check.missing is not None)
    return [
        Missed(where, path, why_no_field(trial.job, path, trial.world.plugins.data))
        for path in fresh
        if path not in known_missing
    ]


def _leaving_out(trial: Trial, placed: PlacedRule) -> Iterator[LeftOut]:
    checks = trial.found(placed)[0]
    before = {
        check.subjects[0]: check for check in checks if check.outcome is not Outcome.UNASSESSED
    }
    # What is said of them without the field was not said with it.
    silent_before = _subjects(trial, placed) - {check.subjects[0] for check in checks}
    missed: list[Missed] = []
    trial.cache[placed.rule.name, "missed"] = missed
    if not before and not silent_before:
        return
    # Without an id or a version there is no document, and so no rule to ask.
    places = [leaf for leaf in leaves_of(trial.document) if leaf[-1] not in ("id", "signrules")]
    for place in _some_places(trial, places):
        path = path_at(trial.document, place)
        facts = _facts_without(trial, place, path)
        # A field that the model requires: without it there is no job to judge.
        if facts is None:
            continue
        without = run_placed([placed], facts)[0]
        missed += _newly_missed(trial, placed, place, without)
        trimmed = _Trimmed(place, path, facts, without)
        if trimmed.is_unknown(trial):
            yield from _no_longer_silent(trimmed, silent_before)
        yield from _judged_without(trial, placed, trimmed, before)


@frozen(eq=False)
class _Trimmed:
    """A job without one field: where that stood, and what the rule says then."""

    where: Where
    path: str
    facts: Facts
    checks: list[Check]

    @cached_property
    def outcomes(self) -> dict[str, frozenset[Outcome]]:
        """The outcomes of the checks of each subject."""
        told: dict[str, set[Outcome]] = {}
        for check in self.checks:
            told.setdefault(check.subjects[0], set()).add(check.outcome)
        return {subject: frozenset(outcomes) for subject, outcomes in told.items()}

    def is_unknown(self, trial: Trial) -> bool:
        """Whether nothing holds in the place of the field, no default either."""
        if self.where[-1] in SAY_SOMETHING:
            return False
        return is_unknown(self.facts.job, self.where, trial.world.plugins.data)


def _no_longer_silent(trimmed: _Trimmed, silent_before: set[str]) -> Iterator[LeftOut]:
    """Subjects that are judged only where the field is gone."""
    # Where nothing was said of a subject that states it, nothing is known without it.
    for subject in silent_before:
        outcomes = trimmed.outcomes.get(subject, frozenset())
        if outcomes and Outcome.UNASSESSED not in outcomes:
            yield LeftOut(trimmed.path, subject, True, outcomes)


def _judged_without(
    trial: Trial, placed: PlacedRule, trimmed: _Trimmed, before: Mapping[str, Check]
) -> Iterator[LeftOut]:
    """Subjects that depend on the field and are judged, or fall silent, all the same."""
    where, path, unknown = trimmed.where, trimmed.path, trimmed.is_unknown(trial)
    value = value_at(trial.document, where)
    says_so = {check.subjects[0] for check in trimmed.checks if check.missing == path}
    for subject, check in before.items():
        outcomes = trimmed.outcomes.get(subject, frozenset())
        if (
            subject in says_so
            and unknown
            and _judges_the_same(trial, placed, trimmed.facts, subject)
        ):
            yield LeftOut(path, subject, unknown, outcomes - {Outcome.UNASSESSED})
        # Where it says that something is missing there is nothing more to ask.
        open_ = Outcome.UNASSESSED in outcomes or (outcomes and not unknown)
        # A word that is still found where the field is gone was that of another field.
        found = check.found is not None and not outcomes and check.found == value
        # Where nothing is known in its place, what falls silent without a field goes by it.
        is_gone = unknown and not outcomes
        if not open_ and (
            found or is_gone or _reckons_with(trial, placed, where, subject, unknown)
        ):
            yield LeftOut(path, subject, unknown, outcomes)


def _judges_the_same(trial: Trial, placed: PlacedRule, facts: Facts, subject: str) -> bool:
    """Whether all that it judges of a subject it judges in other facts too, where it says that
    something is missing: that is one verdict too many.
    """
    before, after = (
        _words_judged(placed, facts_asked, subject) for facts_asked in (trial.facts("first"), facts)
    )
    return bool(before) and before == after


def _words_judged(placed: PlacedRule, facts: Facts, subject: str) -> list[str]:
    """What the judged checks of a subject are about, one after the other."""
    # A rule that changes its settings breaks another law, and must not spoil this one.
    copied = placed if placed.settings is None else evolve(placed, settings=evolve(placed.settings))
    drafts = drafts_of(copied, facts)
    return [draft.what for path, draft in drafts if path == subject and draft.measured is not None]


def _facts_without(trial: Trial, where: Where, path: str) -> Facts | None:
    key = f"without {path}"
    if key not in trial.cache:
        trial.cache[key] = facts_of_document(
            without_value(trial.document, where), trial.world.plugins
        )
    facts: Facts | None = trial.cache[key]
    return facts


def _some_places(trial: Trial, places: list[Where]) -> list[Where]:
    if trial.every_field or len(places) <= MOST_LEAVES:
        return places
    # Data of plugins stand in examples alone, since no job that is drawn has any.
    data_places = [place for place in places if "data" in place]
    others = [place for place in places if "data" not in place]
    # Round and round, so that many jobs together leave out every field.
    start = trial.pick % max(1, len(others))
    return [*data_places, *[*others[start:], *others[:start]][:MOST_LEAVES]]


def _subjects(trial: Trial, placed: PlacedRule) -> set[str]:
    """What the rule looks at one by one; of pairs nothing, since several have one path."""
    if placed.rule.each == "pair":
        return set()
    return {path for path, _ in trial.facts("first").subjects(placed.rule.each)}


def _reckons_with(
    trial: Trial, placed: PlacedRule, where: Where, subject: str, may_vanish: bool
) -> bool:
    """Whether what a rule measures, its limit or its outcome depends on the value there: a number,
    or a word.

    With `may_vanish` it does too where the rule says nothing with another value.
    """
    value = value_at(trial.document, where)
    own_checks = [check for check in trial.found(placed)[0] if check.subjects[0] == subject]
    # Smaller where larger is none: a share above 1, or a sheet beyond the bed.
    for factor in (1.25, 0.8):
        other = larger_value(value, factor)
        facts = None if other is None else trial.facts_with(where, other)
        if facts is not None:
            return _judges_otherwise(placed, facts, subject, own_checks, may_vanish)
    words = other_words(trial.document, where, trial.world.plugins.data)
    facts_with_words = (trial.facts_with(where, word) for word in words)
    return any(
        facts is not None and _judges_otherwise(placed, facts, subject, own_checks, may_vanish)
        for facts in facts_with_words
    )


def _judges_otherwise(
    placed: PlacedRule, facts: Facts, subject: str, own_checks: list[Check], may_vanish: bool
) -> bool:
    checks = [check for check in run_placed([placed], facts)[0] if check.subjects[0] == subject]
    if not checks:
        return may_vanish
    return not mean_alike(meaning_of(placed, checks), meaning_of(placed, own_checks))
