"""The laws that every rule must keep, each a generator of what speaks against it in one trial."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from attrs import evolve

from signrules.builtin import signrules_rule_sets
from signrules.documents.reading import job_again
from signrules.model.quantities import GUARD_MM
from signrules.model.wording import shown_value
from signrules.plain import check_to_dict
from signrules.rules.checks import Check, Outcome
from signrules.rules.engine import PlacedRule
from signrules.testing.altered_documents import (
    Document,
    Where,
    larger_value,
    leaves_of,
    matches_pattern,
    path_at,
    rearranged_document,
    renamed_document,
    stated_otherwise,
    value_at,
    wider_length,
)
from signrules.testing.asked_besides import asked_besides
from signrules.testing.check_meaning import (
    RANK,
    is_close,
    mean_alike,
    meaning_of,
    measures_other,
    worst_by_subject,
)
from signrules.testing.left_out import assumes_nothing, is_never_silent
from signrules.testing.run_rules import drafts_of, facts_of, placed_rules, run_placed
from signrules.testing.trial import REFERENCE, Trial
from signrules.testing.what_is_meant import says_what_it_means

NEVER_MENDS, NEVER_BREAKS, BREAKS = "up never mends", "up never breaks", "up breaks"
"""What an author may claim of a number: that a larger one makes no check better; or no check worse;
or no check better and, large enough, breaks one."""

LARGE = 10_000.0
"""By how much a number is multiplied that is claimed to break a check in the end."""

EXTREMES = (5.0, 40.0, 0.02, 0.0)
"""By what each number of the sample job is multiplied, to see whether the rule bears it."""

_PROBES = ("clearance", "order", "throw", "registration")
Law = Callable[[Trial, PlacedRule], Iterator[str]]


def law_in_words(law: Callable[..., object]) -> str:
    """What a law asks for, as its docstring says it, on one line."""
    return " ".join((law.__doc__ or "").split())


def raises_nothing(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """It fails on no job that the model allows: whatever may be left out may be missing."""
    yield from (f"{fault.subject}: {fault.error}" for fault in trial.found(placed)[1])
    if not trial.every_field:
        return
    for place, value in (*_extreme_values(trial.document), *stated_otherwise(trial.document)):
        facts = trial.facts_with(place, value)
        if facts is None:
            continue
        path = path_at(trial.document, place)
        _, faults = run_placed([placed], facts)
        for fault in faults:
            yield f"{fault.subject}: with {path} = {shown_value(value)}: {fault.error}"


def _extreme_values(document: Document) -> Iterator[tuple[Where, Any]]:
    """Each number of a document, far larger and far smaller."""
    for place in leaves_of(document):
        for factor in EXTREMES:
            value = larger_value(value_at(document, place), factor)
            if value is not None:
                yield place, value


def changes_nothing(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """It leaves the job, the replay and its settings as they were."""
    if trial.found(placed)[1]:
        return  # It raises, which another law says.
    # A copy of its own: what a rule does to it must not reach the other laws.
    own_facts = facts_of(trial.job, trial.world.plugins)
    given = None if placed.settings is None else evolve(placed.settings)
    for _ in drafts_of(evolve(placed, settings=given), own_facts):
        pass
    if own_facts.job != trial.job:
        yield "it changed the job"
    elif given != placed.settings:
        yield f"it changed its settings from {placed.settings!r} to {given!r}"
    else:
        # Built-in rules that read heights and replay: were these changed, some answer would be too.
        probes = [
            probe for probe in _builtin_placed() if probe.rule.name.partition(".")[0] in _PROBES
        ]
        if "probes" not in trial.cache:
            trial.cache["probes"] = run_placed(probes, facts_of(trial.job, trial.world.plugins))
        if run_placed(probes, own_facts) != trial.cache["probes"]:
            yield "it changed the heights or the replay that other rules are judged on"


def answers_alike(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """It gives the same checks of the same job each time, whatever it was asked before."""
    before = trial.found(placed)
    again = run_placed([placed], trial.facts("again"))
    if again[0] != before[0]:
        yield f"asked twice, it answered {_first_difference(before[0], again[0])}"
    other = trial.checks(placed, _other_job(trial.document))
    if other is not None and run_placed([placed], trial.facts("again"))[0] != before[0]:
        yield "it answered otherwise after it had judged another job"


def asks_nothing_else(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """It asks nothing but the job and its settings: neither the time nor chance, no file, no
    folder and not the environment.
    """
    facts = trial.facts("again")
    asked = asked_besides(lambda: run_placed([placed], facts))
    if asked:
        yield (
            f"it asked {', '.join(asked)}: take the day and the like from the job or from a"
            " setting, and read a file once when the plugin is loaded"
        )


def goes_by_no_names(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Other ids, and tables and keys in another order, change no number and no outcome."""
    document = {key: value for key, value in trial.document.items() if key != "waivers"}
    # With other names the planner may break a tie otherwise, which is no fault of the rule.
    if "sequence" not in document:
        facts = trial.facts("first")
        document["sequence"] = [
            facts.machine.items[item_index].id for item_index in facts.timeline.order
        ]
    key = "pinned"
    if key not in trial.cache:
        other, back = renamed_document(document)
        trial.cache[key] = back
        trial.facts("stated", job_again(document, trial.job))
        trial.facts("renamed", job_again(other, trial.job))
        rearranged = rearranged_document(document)
        trial.facts("rearranged", job_again(rearranged, trial.job))
    expected = meaning_of(placed, trial.found(placed, "stated")[0])
    if not mean_alike(
        meaning_of(placed, trial.found(placed, "renamed")[0], trial.cache[key]), expected
    ):
        yield "with other ids it judged otherwise"
    elif not mean_alike(meaning_of(placed, trial.found(placed, "rearranged")[0]), expected):
        yield "with the tables of the document in another order it judged otherwise"


def can_be_written_down(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Its checks go into a report and come back the same."""
    for check in trial.found(placed)[0]:
        data = check_to_dict(check)
        try:
            text = json.dumps(data, ensure_ascii=False, allow_nan=False).encode()
        except (TypeError, ValueError) as error:
            yield f"{check.subjects[0]}: {error}"
            continue
        # A tuple, or a key that is no text, comes back as something else.
        if json.loads(text) != data:
            yield f"{check.subjects[0]}: a check does not come back from JSON as it was"


def minds_tolerances(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """Of a length with a tolerance that it depends on, the ends count: a wider tolerance changes
    what it measures, and makes nothing better.
    """
    expected = meaning_of(placed, trial.found(placed)[0])
    if not any(check.measured is not None for check in trial.found(placed)[0]):
        return
    for place in leaves_of(trial.document):
        wider = wider_length(value_at(trial.document, place))
        facts = None if wider is None else trial.facts_with(place, wider)
        if facts is None:
            continue
        after = run_placed([placed], facts)[0]
        if not mean_alike(meaning_of(placed, after), expected):
            if _gains_by_doubt(trial.found(placed)[0], after):
                path = path_at(trial.document, place)
                yield (
                    f"with {path} = {wider!r} it is further from its limit than before: of a length"
                    " with a tolerance take the end that is nearer to the limit"
                )
            if _takes_one_end(trial.found(placed)[0], after):
                path = path_at(trial.document, place)
                yield (
                    f"with {path} = {wider!r} it measures one end of it alone against a least and a"
                    " most: measure the whole Interval"
                )
            continue
        # By less than it was widened: what only a larger number would reach (another sheet's top,
        # say) proves nothing.
        facts_with_more = trial.facts_with(
            place, larger_value(value_at(trial.document, place), 1.05)
        )
        if facts_with_more is not None and measures_other(
            run_placed([placed], facts_with_more)[0], trial.found(placed)[0]
        ):
            path = path_at(trial.document, place)
            yield (
                f"it depends on {path}, and with {path} = {wider!r} nothing changes: use .low and"
                " .high"
            )


def _gains_by_doubt(before: list[Check], after: list[Check]) -> bool:
    """Whether one number is better where less is known of the job, by the same limit."""
    return len(before) == len(after) and any(
        check.limit == earlier.limit
        and check.measured is not None
        and check.measured.is_exact
        and check.margin is not None
        and earlier.margin is not None
        and check.margin > earlier.margin + GUARD_MM
        for earlier, check in zip(before, after, strict=True)
    )


def _takes_one_end(before: list[Check], after: list[Check]) -> bool:
    """Whether a wider length moves a measure, and leaves it without a width between two limits."""
    return len(before) == len(after) and any(
        None not in check.limit
        and check.measured is not None
        and check.measured != earlier.measured
        and check.measured.is_exact
        and check.unit == "mm"
        for earlier, check in zip(before, after, strict=True)
    )


def agrees_with_the_reference(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """What it measures is what the reference says."""
    if trial.world.reference is None:
        return
    facts = trial.facts("first")
    order = tuple(facts.machine.items[item_index].id for item_index in facts.timeline.order)
    expected = trial.world.reference(trial.job, order)
    if expected:
        # A reference that names nothing proves nothing: the contract refuses one.
        trial.world.tried.add(REFERENCE)
    for subject, (low, high) in expected.items():
        measured = [
            check.measured
            for check in trial.found(placed)[0]
            if check.subjects[0] == subject and check.measured is not None
        ]
        if not any(
            is_close(interval.low, low) and is_close(interval.high, high) for interval in measured
        ):
            measured_text = (
                ", ".join(f"{interval.low:g} to {interval.high:g}" for interval in measured)
                or "nothing"
            )
            yield f"{subject}: it measured {measured_text}, and the reference {low:g} to {high:g}"


def keeps_its_claims(trial: Trial, placed: PlacedRule) -> Iterator[str]:
    """What the author says of larger numbers is so."""
    before = worst_by_subject(trial.found(placed)[0])
    for pattern, claim in trial.world.monotone.items():
        claimed = f"the claim is {pattern!r}: {claim!r}"
        for change_words, after in _with_larger(trial, placed, pattern):
            for subject in before.keys() & after.keys():
                worse = after[subject] - before[subject]
                if (worse < 0 and claim != NEVER_BREAKS) or (worse > 0 and claim == NEVER_BREAKS):
                    done = "mended" if worse < 0 else "broke"
                    yield f"{subject}: {change_words} {done} it, and {claimed}"
        # A claim that something breaks in the end must be seen to break.
        if claim == BREAKS and before:
            for change_words, after in _with_larger(trial, placed, pattern, (LARGE,)):
                if after and max(after.values()) < RANK[Outcome.BROKEN]:
                    yield f"with {change_words} nothing is broken, and {claimed}"


LAWS: Mapping[str, Law] = MappingProxyType(
    {
        "raises nothing": raises_nothing,
        "changes nothing": changes_nothing,
        "answers alike": answers_alike,
        "asks nothing else": asks_nothing_else,
        "goes by no names": goes_by_no_names,
        "says what it means": says_what_it_means,
        "can be written down": can_be_written_down,
        "is never silent": is_never_silent,
        "assumes nothing": assumes_nothing,
        "minds tolerances": minds_tolerances,
        "agrees with the reference": agrees_with_the_reference,
        "keeps its claims": keeps_its_claims,
    }
)
"""The laws that are tried on drawn jobs, by name."""


def _builtin_placed() -> tuple[PlacedRule, ...]:
    return placed_rules(signrules_rule_sets())


def _first_difference(one: list[Check], other: list[Check]) -> str:
    for part, other_part in zip(one, other, strict=False):
        if part != other_part:
            return f"{part.message!r} and then {other_part.message!r}"
    return f"with {len(one)} checks and then with {len(other)}"


def _other_job(document: Document) -> Document:
    """The document with thicker layers, as something else to judge in between."""
    altered = json.loads(json.dumps(document, default=str))
    for row in altered["passes"]:
        row["layers"] = row.get("layers", 1) + 1
    return dict(altered)


def _with_larger(
    trial: Trial, placed: PlacedRule, pattern: str, factors: tuple[float, ...] = ()
) -> Iterator[tuple[str, dict[str, int]]]:
    """What comes of making each number that fits a pattern larger: which one, and how bad each
    subject is then.
    """
    for factor in factors or (1.0 + (trial.pick % 7 + 1) / 100, 1.0 + (trial.pick % 5 + 1) / 4):
        if pattern.startswith("settings."):
            name = pattern.removeprefix("settings.")
            value = larger_value(getattr(placed.settings, name, None), factor)
            if value is None:
                continue
            try:
                changed = evolve(placed, settings=evolve(placed.settings, **{name: value}))
            except (ValueError, TypeError):
                continue
            trial.world.tried.add(pattern)
            yield (
                f"{pattern} = {shown_value(value)}",
                worst_by_subject(run_placed([changed], trial.facts("first"))[0]),
            )
            continue
        for place in leaves_of(trial.document):
            path = path_at(trial.document, place)
            value = larger_value(value_at(trial.document, place), factor)
            if value is None or not matches_pattern(path, pattern):
                continue
            facts = trial.facts_with(place, value)
            if facts is not None:
                trial.world.tried.add(pattern)
                yield (
                    f"{path} = {shown_value(value)}",
                    worst_by_subject(run_placed([placed], facts)[0]),
                )
