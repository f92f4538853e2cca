"""Laws on jobs that hold the same several times over, and on what a job states of its own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from attrs import evolve

from signrules.catalogue.materials import Material, usual_numbers
from signrules.documents.reading import job_again
from signrules.model.declared import declared_fields
from signrules.model.media import Media
from signrules.model.quantities import Interval
from signrules.rules.checks import Check
from signrules.rules.engine import Facts, PlacedRule
from signrules.testing.altered_documents import (
    Document,
    Where,
    larger_value,
    leaves_of,
    path_at,
    twinned_document,
    value_at,
    without_value,
)
from signrules.testing.check_meaning import mean_alike, meaning_of
from signrules.testing.left_out import fields_missed
from signrules.testing.rule_laws import goes_by_no_names
from signrules.testing.run_rules import facts_of, facts_of_document, run_placed
from signrules.testing.trial import Trial
from signrules.testing.work_growth import copies_of

FIRST = "-0"
"""How the ids of the first copy end."""

NUDGES = (1.0001, 0.9999)
"""By what a number is multiplied that is hardly another."""

MOST_FIELDS = 8
"""So many fields are left out of the first of two copies, for each rule."""


def judges_each_by_itself(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Beside a copy of all that is in the job, on another bed load, it says the same of each pass,
    sheet and sign as without; what looks at all of them is for each="job".
    """
    # Of the whole job a rule may well say something else where there is twice as much.
    if placed.rule.each == "job":
        return
    alone, beside = (_facts_of_copies(trial, count) for count in (1, 2))
    if alone is None or beside is None:
        return
    before = meaning_of(placed, run_placed([placed], alone)[0])
    own_checks = [check for check in run_placed([placed], beside)[0] if _is_of_first(check)]
    if not mean_alike(meaning_of(placed, own_checks), before):
        yield (
            "beside a copy of the whole job it judges otherwise: look only at what belongs to the"
            ' item (its sheet, its sign), or judge the job as a whole with each="job"'
        )


def _is_of_first(check: Check) -> bool:
    """Whether a check is of the first copy, and of no other."""
    return all(path.split(".")[1].endswith(FIRST) for path in check.subjects if "." in path)


def _facts_of_copies(trial: Trial, count: int) -> Facts | None:
    key = f"{count} copies"
    if key not in trial.cache:
        copied = copies_of(trial.document, count)
        trial.cache[key] = facts_of_document(copied, trial.world.plugins)
    facts: Facts | None = trial.cache[key]
    return facts


def names_count_nowhere(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Where there is all of it twice, where each pass has a twin, and where the first of two has a
    field less than the second, other ids and tables in another order change nothing either.
    """
    if _facts_of_copies(trial, 2) is None:
        return
    twins = twinned_document(trial.document)
    # What stops at the first of its kind shows only where there are two that differ.
    yield from goes_by_no_names(_trial_of(trial, "twins", twins), placed)
    twice = copies_of(trial.document, 2)
    yield from goes_by_no_names(_trial_of(trial, "twice", twice), placed)
    for place in _unlike_fields(trial, placed):
        smaller = without_value(twice, place)
        name = f"twice without {place}"
        for problem in goes_by_no_names(_trial_of(trial, name, smaller), placed):
            field = ".".join(part for part in place if isinstance(part, str))
            yield (
                f"where one of two lacks {field}, {problem}: write `continue` and not `return`"
                " where the next can still be judged"
            )


def _unlike_fields(trial: Trial, placed: PlacedRule) -> list[Where]:
    """Fields of rows without which the rule says that something is missing, one of each kind."""
    kinds: dict[tuple[str, ...], Where] = {}
    for missed in fields_missed(trial, placed):
        place = missed.where
        if len(place) > 2 and place[0] in ("media", "passes", "handling", "signs", "inks"):
            # Without the position: the layers of one pass stand for those of all.
            kinds.setdefault(tuple(part for part in place if isinstance(part, str)), place)
    return list(kinds.values())[:MOST_FIELDS]


def _trial_of(trial: Trial, name: str, document: Document) -> Trial:
    if name not in trial.cache:
        trial.cache[name] = Trial(job_again(document, trial.job), trial.world)
    trial_of_kind: Trial = trial.cache[name]
    return trial_of_kind


def takes_what_is_stated(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Where each sheet states what a table of materials says too, the table changes nothing."""
    if "materials" not in placed.rule.reads:
        return
    plugins = trial.world.plugins
    sheets = tuple(_stating_all(sheet, plugins.materials) for sheet in trial.job.media)
    stated = evolve(trial.job, media=sheets)
    others = {name: _other_material(material) for name, material in plugins.materials.items()}
    before = run_placed([placed], facts_of(stated, plugins))[0]
    after = run_placed([placed], facts_of(stated, evolve(plugins, materials=others)))[0]
    if not mean_alike(meaning_of(placed, after), meaning_of(placed, before)):
        yield (
            "it goes by the number of a table of materials where the sheet states its own: take"
            " what the sheet states, and what is said of the sheet's own material where it does not"
        )


def minds_no_waivers(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """What somebody answers for it judges all the same: a waiver is put to its findings later."""
    facts = trial.facts("first")
    # Every subject of the rule, so that whichever of them it finds something on is waived.
    waivers = [
        {"rule": placed.rule.name, "subject": path, "reason": "it is tried", "by": "nobody"}
        for path, _ in facts.subjects(placed.rule.each)
    ]
    after = trial.checks(placed, {**trial.document, "waivers": waivers})
    before = trial.found(placed)[0]
    if after is not None and not mean_alike(meaning_of(placed, after), meaning_of(placed, before)):
        yield "where a finding of it is waived it judges otherwise: leave that to signrules"


def goes_by_no_exact_number(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """What it judges at a number it does not pass over at the next larger and the next smaller."""
    judged = {check.subjects[0] for check in trial.found(placed)[0]}
    for place in leaves_of(trial.document):
        # A subject counts only where both nudges silence it: one of them may cross a limit of its
        # own.
        silent = judged
        for factor in NUDGES:
            said_then = _told_with(trial, placed, place, factor) if silent else judged
            silent = silent - said_then
        for subject in sorted(silent):
            path = path_at(trial.document, place)
            yield (
                f"{subject}: with a little more and with a little less at {path} it says nothing:"
                " compare computed lengths within a nanometre, not by =="
            )


def _told_with(trial: Trial, placed: PlacedRule, where: Where, factor: float) -> set[str]:
    """What it says something of with another number there; of all where there can be no other."""
    plain = value_at(trial.document, where)
    # A whole number has nothing between it and the next.
    value = None if isinstance(plain, int) else larger_value(plain, factor)
    facts = None if value in (None, plain) else trial.facts_with(where, value)
    checks = trial.found(placed)[0] if facts is None else run_placed([placed], facts)[0]
    return {check.subjects[0] for check in checks}


def _own_numbers() -> tuple[str, ...]:
    """What both a sheet and a material may state."""
    return tuple(name for name in usual_numbers() if name in declared_fields(Media))


def _stating_all(sheet: Media, materials: Any) -> Media:
    """The sheet, stating whatever a material may say of it."""
    material = materials.get(sheet.material) or next(iter(materials.values()))
    lacking = [name for name in _own_numbers() if getattr(sheet, name) is None]
    stated = {name: getattr(material, name) for name in lacking}
    return evolve(sheet, **{name: value for name, value in stated.items() if value is not None})


def _other_material(material: Material) -> Material:
    """The material with larger numbers wherever a sheet may state them."""
    larger: dict[str, Any] = {}
    for name in _own_numbers():
        value = getattr(material, name)
        if value is not None:
            larger[name] = _larger(value)
    return evolve(material, **larger)


def _larger(value: float | Interval) -> float | Interval:
    return value.scaled(1.25) if isinstance(value, Interval) else value * 1.25
