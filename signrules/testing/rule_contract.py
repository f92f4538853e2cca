"""One call that holds rules to the laws that every rule must keep."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from types import MappingProxyType
from typing import Any

from attrs import evolve
from hypothesis import strategies as st

from signrules.catalogue.materials import sample_job
from signrules.documents.document_changes import changed
from signrules.documents.reading import job_from_dict
from signrules.documents.writing import job_to_dict
from signrules.errors import JobError, PathError
from signrules.model.job import Job
from signrules.model.wording import shown_value
from signrules.plugins import Plugins, load_plugins
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.declaration import Changes, job_changes_in, settings_in
from signrules.rules.engine import Facts, PlacedRule
from signrules.rules.settings import settings_from
from signrules.testing import other_python
from signrules.testing.altered_documents import Document, larger_table
from signrules.testing.beside_copies import (
    goes_by_no_exact_number,
    judges_each_by_itself,
    minds_no_waivers,
    names_count_nowhere,
    takes_what_is_stated,
)
from signrules.testing.broken import ContractBroken
from signrules.testing.drawn_jobs import WORK, jobs_tried, problems_told
from signrules.testing.job_strategies import arbitrary_jobs
from signrules.testing.lost_checks import makes_no_check_in_vain
from signrules.testing.near_limits import near_limit_jobs
from signrules.testing.rule_laws import BREAKS, NEVER_BREAKS, NEVER_MENDS, law_in_words
from signrules.testing.rule_laws import LAWS as ON_JOBS
from signrules.testing.run_rules import Rules, facts_of, facts_of_document, placed_rules, run_placed
from signrules.testing.setting_laws import settings_amiss
from signrules.testing.trial import REFERENCE, Reference, Trial, World
from signrules.testing.work_bounds import TooMuchWork
from signrules.testing.work_growth import FEW, MANY, chain_of, copies_of, grows_too_fast

CLAIMS = (NEVER_MENDS, NEVER_BREAKS, BREAKS)
TOLERANCES, CLAIMED, REFERRED = "minds tolerances", "keeps its claims", "agrees with the reference"
EXAMPLES, SETTINGS, HASHES = "its examples hold", "its settings count", "answers alike elsewhere"
LOST, ITSELF, STATED = "says what it makes", "judges each by itself", "takes what is stated"
NAMES, WAIVED, EXACT = "goes by no names", "minds no waivers", "goes by no exact number"
LAWS: Mapping[str, str] = MappingProxyType(
    {name: law_in_words(law) for name, law in ON_JOBS.items()}
    | {
        EXAMPLES: (
            "What it says breaks it in the sample job breaks it, and what it says meets it"
            " meets it."
        ),
        SETTINGS: (
            "Each of its settings changes what it says of some job, and a limit that is a setting"
            " is so whatever a shop sets, and in its unit."
        ),
        WORK: (
            "Of ten times as many passes it takes no more than the square of the work, a hundred"
            " times as much, and of any job it comes to an end."
        ),
        ITSELF: law_in_words(judges_each_by_itself),
        STATED: law_in_words(takes_what_is_stated),
        WAIVED: law_in_words(minds_no_waivers),
        EXACT: law_in_words(goes_by_no_exact_number),
        LOST: "Of each line that makes checks one at least is yielded, in some job.",
        HASHES: "It gives the same checks in another Python, where texts hash otherwise.",
    }
)
"""The laws of a contract, by name, with what each says."""


def assert_rule_contract(
    rules: Rules,
    *,
    jobs: st.SearchStrategy[Job] | None = None,
    plugins: Plugins | None = None,
    monotone: Mapping[str, str] | None = None,
    silent_without: tuple[str, ...] = (),
    assumes: tuple[str, ...] = (),
    reference: Reference | None = None,
    but: Mapping[str, str] | None = None,
    max_examples: int = 40,
) -> None:
    """Hold rules to the laws of `LAWS`; raises ContractBroken, an AssertionError, with a small job
    that breaks one.

    `rules` are a rule, a rule set or several of them. `jobs` are those on which they are tried:
    small arbitrary ones and ones near a limit where left out. `plugins` bring the standards,
    materials and translators that the rules need.
    `monotone` maps paths such as "passes.*.layers" or "settings.most" to what is claimed of larger
    numbers there: "up never mends", "up never breaks", or "up breaks" where it never mends and
    breaks in the end. `silent_without` names fields, such as "signs.*.measured.**", without which
    a rule rightly has nothing to say, `assumes` fields without which it rightly judges all the
    same. `reference` is a function from a job and the order of its passes to what should be
    measured, low and high by subject, worked out by another method. `but` are laws that a rule
    need not keep, each with the reason. ValueError for laws and claims that are not known, and
    for a claim or a reference that nothing was held to: no number was found at its path, no
    subject named.
    """
    skipped = dict(but or {})
    for name, reason in skipped.items():
        if name not in LAWS:
            raise ValueError(f"but: found the law {name!r}, expected one of {', '.join(LAWS)}")
        if not reason:
            raise ValueError(f"but: found no reason for {name!r}, expected why it need not hold")
    world = _contract_world(plugins, monotone, silent_without, assumes, reference)
    tried = placed_rules(rules)
    if not tried:
        raise ValueError(
            "there is no rule in what was given, so nothing would be held to the contract"
        )

    def problems(job: Job, pick: int, broken: ContractBroken | None) -> Iterator[ContractBroken]:
        return _on_drawn_jobs(tried, skipped, broken, Trial(job, world, pick))

    if jobs is None:
        jobs = near_limit_jobs() | _small_arbitrary_jobs()
    seen = jobs_tried(jobs, max_examples, problems)
    for name, problem, placed, job in _on_examples(tried, world, skipped, seen):
        raise ContractBroken(name, placed.rule.name, problem, job, LAWS[name])
    _demand_tried(world, skipped)
    if HASHES not in skipped:
        for broken in _broken_elsewhere(tried, seen):
            raise broken


def _broken_elsewhere(tried: Iterable[PlacedRule], seen: list[Job]) -> Iterator[ContractBroken]:
    """The rules that answer otherwise in another Python."""
    # A few of them: each is judged twice again, in another Python.
    drawn = (job_to_dict(job) for job in seen[-8:])
    # Two jobs of the same ids begin the two orders in which these are judged.
    documents = [sample_job(), *drawn, _larger_sample()]
    rules = [placed.rule for placed in tried]
    for rule, problem, document in other_python.hash_differences(rules, documents):
        yield ContractBroken(HASHES, rule, problem, job_from_dict(document), LAWS[HASHES])


def _contract_world(
    plugins: Plugins | None,
    monotone: Mapping[str, str] | None,
    silent_without: tuple[str, ...],
    assumes: tuple[str, ...],
    reference: Reference | None,
) -> World:
    """What a contract is held with.

    Raises ValueError for what would say nothing, or fail in the middle.
    """
    loaded = load_plugins() if plugins is None else plugins
    if not isinstance(loaded, Plugins):
        raise ValueError(
            f"plugins is {shown_value(plugins)}, expected what load_plugins(...) gives"
        )
    for pattern, claim in (monotone or {}).items():
        if claim not in CLAIMS:
            raise ValueError(f"{pattern}: expected one of {', '.join(CLAIMS)}, got {claim!r}")
    for name, patterns in (("silent_without", silent_without), ("assumes", assumes)):
        # A text is a sequence of texts too, and would be taken for a pattern a letter.
        if isinstance(patterns, str):
            raise ValueError(f"{name} is the text {patterns!r}, expected several: ({patterns!r},)")
    return World(loaded, dict(monotone or {}), tuple(silent_without), tuple(assumes), reference)


def _demand_tried(world: World, skipped: Mapping[str, str]) -> None:
    """Raises ValueError for what the author says and nothing was held to: a slip of the pen would
    look like a proof.
    """
    for pattern in world.monotone:
        if pattern not in world.tried and CLAIMED not in skipped:
            expected = (
                "expected the path of a number that some job states, such as passes.*.layers, or"
                " settings.NAME"
            )
            raise ValueError(f"the claim on {pattern} was never tried: {expected}")
    if world.reference is not None and REFERENCE not in world.tried and REFERRED not in skipped:
        raise ValueError(
            "the reference named no subject of any job: expected low and high by paths such as"
            " passes.ID"
        )


def _small_arbitrary_jobs() -> st.SearchStrategy[Job]:
    return arbitrary_jobs(max_passes=2, max_media=2)


def _on_drawn_jobs(
    tried: tuple[PlacedRule, ...],
    skipped: Mapping[str, str],
    broken: ContractBroken | None,
    trial: Trial,
) -> Iterator[ContractBroken]:
    """The laws on one drawn job.

    Once one is broken, only it counts: what shrinks stays an example of the same.
    """
    for placed in tried:
        if broken is not None and placed.rule.name != broken.rule:
            continue
        try:
            for name, law in ON_JOBS.items():
                if name in skipped or (broken is not None and name != broken.law):
                    continue
                for problem in problems_told(law(trial, placed)):
                    yield ContractBroken(name, placed.rule.name, problem, trial.job, LAWS[name])
        except TooMuchWork as stopped:
            if WORK not in skipped:
                yield ContractBroken(WORK, placed.rule.name, str(stopped), trial.job, LAWS[WORK])


_Failure = tuple[str, str, PlacedRule, Job]


def _on_examples(
    tried: tuple[PlacedRule, ...], world: World, skipped: Mapping[str, str], drawn: list[Job]
) -> Iterator[_Failure]:
    """The laws on the sample job and the rules' own examples, where nothing needs to be drawn."""
    _, sample = _changed_sample({})
    trial = Trial(sample, world, every_field=True)
    for placed in tried:
        try:
            yield from _on_examples_of(placed, trial, skipped)
            yield from _on_several_jobs(placed, trial, skipped, drawn)
        except TooMuchWork as stopped:
            if WORK not in skipped:
                yield WORK, str(stopped), placed, sample


def _on_examples_of(
    placed: PlacedRule, trial: Trial, skipped: Mapping[str, str]
) -> Iterator[_Failure]:
    """The laws on the examples of one rule, and on the sample job in `trial`."""
    world = trial.world
    if EXAMPLES not in skipped:
        yield from (
            (EXAMPLES, problem, placed, job) for problem, job in _examples_hold(placed, world)
        )
    own_trials = [Trial(job, world) for job in _example_jobs(placed)]
    for name, law in ON_JOBS.items():
        if name not in skipped:
            # The sample job states so much that tolerances are tried on it alone.
            tried_on = (trial,) if name == TOLERANCES else (*own_trials, trial)
            for tried_trial in tried_on:
                for problem in problems_told(law(tried_trial, placed)):
                    yield name, problem, placed, tried_trial.job


def _on_several_jobs(
    placed: PlacedRule, trial: Trial, skipped: Mapping[str, str], drawn: list[Job]
) -> Iterator[_Failure]:
    """The laws that compare what one rule says of several jobs, made of the sample job in
    `trial`.
    """
    world, sample = trial.world, trial.job
    jobs = [sample, *_example_jobs(placed)]
    some_facts = (facts_of(job, world.plugins) for job in (*jobs, *drawn))
    laws = {
        NAMES: names_count_nowhere(trial, placed),
        ITSELF: judges_each_by_itself(trial, placed),
        STATED: takes_what_is_stated(trial, placed),
        WAIVED: minds_no_waivers(trial, placed),
        EXACT: goes_by_no_exact_number(trial, placed),
        LOST: makes_no_check_in_vain(placed, some_facts),
        SETTINGS: settings_amiss(placed, world, jobs),
        WORK: _excessive_work(placed, world),
    }
    for name, problems in laws.items():
        if name not in skipped:
            # Drawn out one law after the other: they are generators, and have not begun before.
            yield from ((name, problem, placed, sample) for problem in problems_told(problems))


def _larger_sample() -> Document:
    """The sample job with the same ids and other numbers throughout.

    What is kept from one job to the next by too little of it is wrong for the next.
    """
    sample = sample_job()
    for name in ("printer", "media", "inks", "signs"):
        sample = larger_table(sample, name)
    return sample


def _changed_sample(changes: Changes) -> tuple[dict[str, Any], Job]:
    document = changed(sample_job(), job_changes_in(changes))
    return document, job_from_dict(document)


def _example_jobs(placed: PlacedRule) -> Iterator[Job]:
    """The jobs of the examples that fit the sample job; another law tells of those that do not."""
    for changes in (placed.rule.breaks, placed.rule.meets):
        # Told by the law on examples, with the reason.
        with suppress(JobError, PathError):
            if changes and job_changes_in(changes):
                yield _changed_sample(changes)[1]


MOST_COPIED = 8
"""Examples of more passes are not copied: to replay them thirty times over takes minutes."""


def _excessive_work(placed: PlacedRule, world: World) -> Iterator[str]:
    short = (job for job in _example_jobs(placed) if len(job.passes) <= MOST_COPIED)
    makers = [(copies_of, document) for document in (sample_job(), *map(job_to_dict, short))]
    for make, document in (*makers, (chain_of, sample_job())):
        few_facts, many_facts = (_facts_kept(make(document, count), world) for count in (FEW, MANY))
        # So many copies may not fit the bed of a printer that an example changes.
        if few_facts is None or many_facts is None:
            continue
        if grows_too_fast(placed, few_facts, many_facts):
            so = ", each over the two before it," if make is chain_of else ""
            few, many = len(few_facts.job.passes), len(many_facts.job.passes)
            yield (
                f"of {many} passes{so} it takes more than the square of the work that it takes of"
                f" {few}: look at each pass once, or keep what was found in a dict"
            )
            return


def _facts_kept(document: Document, world: World) -> Facts | None:
    key = json.dumps(document, sort_keys=True, default=str)
    if key not in world.copies:
        world.copies[key] = facts_of_document(document, world.plugins)
    facts: Facts | None = world.copies[key]
    return facts


def _is_bad(check: Check) -> bool:
    return check.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)


def _examples_hold(placed: PlacedRule, world: World) -> Iterator[tuple[str, Job]]:
    rule = placed.rule
    _, plain = _changed_sample({})
    for name, changes, wanted in (
        ("breaks", rule.breaks, "broken or doubtful"),
        ("meets", rule.meets, "met"),
    ):
        if changes is None:
            if name == "breaks" and dict(rule.sections)["A job that breaks it"].startswith("none"):
                continue
            yield (
                (
                    f"it has no example: give {name}={{...}}, changes to the sample job after which"
                    f" it is {wanted}"
                ),
                plain,
            )
            continue
        try:
            _, job = _changed_sample(changes)
            facts = facts_of(job, world.plugins, planned=True)
        except (JobError, PathError) as error:
            yield f"{name}={dict(changes)!r} does not fit the sample job: {error}", plain
            continue
        set_so = placed
        if of_settings := settings_in(changes):
            assert rule.settings is not None
            set_so = evolve(placed, settings=settings_from(rule.settings, of_settings))
        checks, faults = run_placed([set_so], facts)
        outcomes = {check.outcome for check in checks}
        is_bad = any(map(_is_bad, checks))
        is_met = not is_bad and Outcome.MET in outcomes
        as_said = is_bad if name == "breaks" else is_met
        only_notes = all(check.level is Level.NOTE for check in checks if _is_bad(check))
        if is_bad and only_notes and rule.level is not Level.NOTE:
            yield (
                f"{name}={dict(changes)!r} breaks nothing but notes, and the rule is of the level"
                f" {rule.level}",
                job,
            )
        if faults or not as_said:
            outcome = ", ".join(sorted(outcomes)) or "no check"
            what_came = "; ".join(fault.error for fault in faults) or outcome
            yield f"{name}={dict(changes)!r} gives {what_came}, expected it to be {wanted}", job
