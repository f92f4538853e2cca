"""The law that each check of a rule says what it means."""

from __future__ import annotations

import re
from collections.abc import Iterator

from attrs import evolve

from signrules.documents.fields import why_no_field
from signrules.documents.toml import to_toml
from signrules.documents.writing import job_to_dict
from signrules.model.job import Job
from signrules.model.wording import shown_value
from signrules.rules.checks import Draft, Level, Outcome, Source
from signrules.rules.engine import PlacedRule
from signrules.testing.altered_documents import path_at
from signrules.testing.check_meaning import outcome_of
from signrules.testing.left_out import fields_missed
from signrules.testing.run_rules import drafts_of
from signrules.testing.trial import Trial

_LONGEST = 2000
_NOT_FILLED_IN = re.compile(r"\{[A-Za-z_][^{}]*\}|%\([a-z_]+\)|%[sdr]\b")
"""What stands in a text where an f was forgotten before it, or what should be filled in."""


def says_what_it_means(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Each check says what it is about, once and in one unit, on subjects and fields that the job
    has; more than a note has a limit, and advice where it is broken."""
    copied = placed if placed.settings is None else evolve(placed, settings=evolve(placed.settings))
    meanings: list[tuple[str, Draft]] = []
    words: dict[tuple[object, ...], Draft] = {}
    for subject, draft in drafts_of(copied, trial.facts("first")):
        if not isinstance(draft, Draft):
            yield (
                f"{subject}: it yields {shown_value(draft)}, expected check(...), one_of(...) or"
                " missing(...)"
            )
            continue
        about = f"{subject}: the check of {shown_value(draft.what)}"
        # A field may be missing for two rows of a table; and of pairs several have one path.
        once = draft.missing is None and placed.rule.each != "pair"
        if once and (subject, draft) in meanings:
            yield f"{about}: is yielded twice"
        meanings.append((subject, draft))
        alike = words.setdefault(_words_of(subject, draft), draft)
        if once and alike != draft:
            yield f"{about}: another one has the same words: say which of them each is about"
        if not (isinstance(draft.what, str) and draft.what.strip()):
            yield f"{subject}: a check does not say what it is about"
            continue
        yield from (f"{about}: {problem}" for problem in _odd_words(trial.job, placed, draft))
        yield from (f"{about}: {problem}" for problem in _odd_paths(trial, draft))
        yield from (f"{about}: {problem}" for problem in _odd_limits(placed, draft))
        yield from (f"{about}: {problem}" for problem in _other_unit(trial, placed, draft))
    for missed in fields_missed(trial, placed):
        if missed.instead is not None:
            left_out = path_at(trial.document, missed.where)
            yield f"without {left_out} it {_misses(missed.missing, missed.instead)}"


def _words_of(subject: str, draft: Draft) -> tuple[object, ...]:
    """All by which the reader of a report tells a check from another of the same subject."""
    limit = (draft.least, draft.most, draft.strictly, draft.unit, draft.allowed)
    return subject, draft.what, draft.others, draft.source, draft.limit_text, draft.missing, limit


def _misses(path: str, instead: str) -> str:
    return f"misses {shown_value(path)}, which is no field of a job document: {instead}"


def _odd_words(job: Job, placed: PlacedRule, draft: Draft) -> Iterator[str]:
    for name, text in (("what", draft.what), ("unit", draft.unit), ("advice", draft.advice)):
        sound = isinstance(text, str) and len(text) <= _LONGEST and text.isprintable()
        if not sound:
            yield (
                f"{name} is {shown_value(text)}, expected one line of at most {_LONGEST} characters"
            )
    for text in (draft.what, draft.advice, draft.told, draft.limit_text or ""):
        match = _NOT_FILLED_IN.search(str(text))
        # A sign may have such a text on it.
        if match is not None and match[0] not in to_toml(job_to_dict(job)):
            yield f"says {shown_value(match[0])}: write f before a text with names to fill in"
    level, source = draft.level or Level.STOP, draft.source or placed.rule.source
    if not (isinstance(level, Level) and isinstance(source, Source)):
        yield "expected a Level and a Source"


def _odd_paths(trial: Trial, draft: Draft) -> Iterator[str]:
    for other in draft.others:
        if not (isinstance(other, str) and _is_subject(trial.job, other)):
            yield (
                f"names {shown_value(other)}, which is nothing in the job: expected a path such as"
                " passes.ID"
            )
    data = trial.world.plugins.data
    if draft.missing is not None and (instead := why_no_field(trial.job, draft.missing, data)):
        yield _misses(draft.missing, instead)


def _is_subject(job: Job, path: str) -> bool:
    return path in ("job", "plan") or why_no_field(job, path) is None


def _odd_limits(placed: PlacedRule, draft: Draft) -> Iterator[str]:
    counts = (draft.level or placed.rule.level) is not Level.NOTE
    if counts and draft.measured is not None and draft.least is None and draft.most is None:
        yield (
            "has no limit, so it is met whatever is measured: yield missing(...) where a limit is"
            " None"
        )
    is_bad = draft.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)
    if counts and is_bad and not draft.advice.strip():
        yield f"is {draft.outcome} and gives no advice"
    if draft.outcome is not outcome_of(draft.measured, (draft.least, draft.most), draft.strictly):
        yield "its outcome does not follow from what was measured and the limit"


def _other_unit(trial: Trial, placed: PlacedRule, draft: Draft) -> Iterator[str]:
    """Another unit than that of the same check elsewhere, whatever ids and numbers it names."""
    if draft.measured is None or draft.found is not None:
        return
    job = trial.job
    ids = [row.id for row in (*job.items, *job.media, *job.inks, *job.signs)]
    longest_first = sorted(ids, key=len, reverse=True)
    names = re.compile("|".join([*map(re.escape, longest_first), r"[0-9.]+"]))
    unit = trial.world.units.setdefault((placed.rule.name, names.sub("_", draft.what)), draft.unit)
    if unit != draft.unit:
        yield f"is in {shown_value(draft.unit)} here and in {shown_value(unit)} elsewhere"
