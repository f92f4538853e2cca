"""One call that holds rules to the laws that every rule must keep."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

import attrs
from attrs import evolve
from hypothesis import HealthCheck, Phase, Verbosity, given, settings
from hypothesis import strategies as st

from signrules.catalogue.tables import sample_job
from signrules.documents.changes import changed
from signrules.documents.reading import job_from_dict
from signrules.documents.toml import to_toml
from signrules.documents.writing import job_to_dict
from signrules.errors import JobError, PathError
from signrules.model.job import Job
from signrules.plugins import Plugins, load_plugins
from signrules.rules.checks import Outcome
from signrules.rules.declaration import Changes
from signrules.rules.engine import PlacedRule
from signrules.testing import elsewhere
from signrules.testing.altering import larger
from signrules.testing.jobs import arbitrary_jobs
from signrules.testing.laws import BREAKS, NEVER_BREAKS, NEVER_MENDS
from signrules.testing.laws import LAWS as ON_JOBS
from signrules.testing.near import near_limit_jobs
from signrules.testing.running import Rules, facts_of, placed, run
from signrules.testing.trial import REFERENCE, Reference, Trial, World

CLAIMS = (NEVER_MENDS, NEVER_BREAKS, BREAKS)
TOLERANCES, CLAIMED, REFERRED = "minds tolerances", "keeps its claims", "agrees with the reference"
EXAMPLES, SETTINGS, HASHES = "its examples hold", "its settings count", "answers alike elsewhere"
LAWS: Mapping[str, str] = MappingProxyType(
    {name: " ".join((law.__doc__ or "").split()) for name, law in ON_JOBS.items()}
    | {
        EXAMPLES: "What it says breaks it in the sample job breaks it, and what it says meets it meets it.",
        SETTINGS: "Each of its settings changes what it says of some job.",
        HASHES: "It gives the same checks in another Python, where texts hash otherwise.",
    }
)
"""The laws of a contract, by name, with what each says."""


class ContractBroken(AssertionError):
    """A rule does not keep a law.

    `law` is its name, `rule` that of the rule, `problem` what speaks against it, `job` a small job that shows it.
    """

    def __init__(self, law: str, rule: str, problem: str, job: Job) -> None:
        self.law, self.rule, self.problem, self.job = law, rule, problem, job
        super().__init__(law, rule, problem, job)

    def __str__(self) -> str:
        return (
            f"rule {self.rule} breaks the law {self.law!r}: {LAWS[self.law]}\n{self.problem}\n"
            "A small job that shows it; save it as job.toml and run the rule on it again:\n\n"
            f"{to_toml(job_to_dict(self.job))}"
        )


def assert_rule_contract(
    rules: Rules,
    *,
    jobs: st.SearchStrategy[Job] | None = None,
    plugins: Plugins | None = None,
    monotone: Mapping[str, str] | None = None,
    silent_without: tuple[str, ...] = (),
    reference: Reference | None = None,
    but: Mapping[str, str] | None = None,
    max_examples: int = 40,
) -> None:
    """Hold rules to the laws of `LAWS`; raises ContractBroken, an AssertionError, with a small job that breaks one.

    `rules` are a rule, a rule set or several of them. `jobs` are those on which they are tried: small arbitrary ones
    and ones near a limit where left out. `plugins` bring the standards, materials and translators that the rules need.
    `monotone` maps paths such as "passes.*.layers" or "settings.most" to what is claimed of larger numbers there: "up
    never mends", "up never breaks", or "up breaks" where it never mends and breaks in the end. `silent_without` names
    fields, such as "signs.*.measured.**", without which a rule rightly has nothing to say. `reference` is a function
    from a job and the order of its passes to what should be measured, low and high by subject, worked out by another
    method. `but` are laws that a rule need not keep, each with the reason. ValueError for laws and claims that are not
    known, and for a claim or a reference that nothing was held to: no number was found at its path, no subject named.
    """
    skipped = dict(but or {})
    for name, reason in skipped.items():
        if name not in LAWS or not reason:
            raise ValueError(f"expected one of {', '.join(LAWS)} and a reason, got {name!r}: {reason!r}")
    for pattern, claim in (monotone or {}).items():
        if claim not in CLAIMS:
            raise ValueError(f"{pattern}: expected one of {', '.join(CLAIMS)}, got {claim!r}")
    loaded = load_plugins() if plugins is None else plugins
    world = World(loaded, dict(monotone or {}), tuple(silent_without), reference)
    tried = placed(rules)
    seen = _on_drawn_jobs(
        tried, world, skipped, near_limit_jobs() | _arbitrary() if jobs is None else jobs, max_examples
    )
    for name, problem, one, job in _on_examples(tried, world, skipped):
        raise ContractBroken(name, one.rule.name, problem, job)
    _demand_tried(world, skipped)
    if HASHES not in skipped:
        documents = [_sample({})[0], *(job_to_dict(job) for job in seen[-8:])]
        for rule, problem, document in elsewhere.differences([one.rule for one in tried], documents):
            raise ContractBroken(HASHES, rule, problem, job_from_dict(document))


def _demand_tried(world: World, skipped: Mapping[str, str]) -> None:
    """Raises ValueError for what the author says and nothing was held to: a slip of the pen would look like a proof."""
    for pattern in world.monotone:
        if pattern not in world.tried and CLAIMED not in skipped:
            expected = "expected the path of a number that some job states, such as passes.*.layers, or settings.NAME"
            raise ValueError(f"the claim on {pattern} was never tried: {expected}")
    if world.reference is not None and REFERENCE not in world.tried and REFERRED not in skipped:
        raise ValueError("the reference named no subject of any job: expected low and high by paths such as passes.ID")


def _arbitrary() -> st.SearchStrategy[Job]:
    return arbitrary_jobs(max_passes=2, max_media=2)


def _on_drawn_jobs(
    tried: tuple[PlacedRule, ...],
    world: World,
    skipped: Mapping[str, str],
    jobs: st.SearchStrategy[Job],
    max_examples: int,
) -> list[Job]:
    """Try the laws on drawn jobs; returns these. Raises ContractBroken with what the first failure shrinks to."""
    seen: list[Job] = []
    broken: list[ContractBroken] = []

    @settings(
        max_examples=max_examples,
        deadline=None,
        database=None,
        derandomize=True,
        report_multiple_bugs=False,
        print_blob=False,
        verbosity=Verbosity.quiet,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    @given(jobs, st.integers(0, 10_000))
    def trials(job: Job, pick: int) -> None:
        trial = Trial(job, world, pick)
        for one in tried:
            # Once a law is broken, only it counts: what shrinks stays an example of the same.
            if broken and one.rule.name != broken[-1].rule:
                continue
            for name, law in ON_JOBS.items():
                if name in skipped or (broken and name != broken[-1].law):
                    continue
                for problem in law(trial, one):
                    broken.append(ContractBroken(name, one.rule.name, problem, job))
                    raise broken[-1]
        seen.append(job)

    try:
        trials()
    except BaseException:
        # A rule that answers otherwise each time does not fail each time: hypothesis then complains of that.
        if not broken:
            raise
    if broken:
        raise min(broken, key=_size) from None
    return seen


def _size(one: ContractBroken) -> tuple[int, int]:
    return len(one.job.passes), len(to_toml(job_to_dict(one.job)))


_Failure = tuple[str, str, PlacedRule, Job]


def _on_examples(tried: tuple[PlacedRule, ...], world: World, skipped: Mapping[str, str]) -> Iterator[_Failure]:
    """The laws on the sample job and on the rules' own examples, where nothing needs to be drawn."""
    _, sample = _sample({})
    trial = Trial(sample, world, every_field=True)
    for one in tried:
        if EXAMPLES not in skipped:
            yield from ((EXAMPLES, problem, one, job) for problem, job in _examples(one, world))
        own = [Trial(job, world) for some in (one.rule.breaks, one.rule.meets) if some and (job := _sample(some)[1])]
        for name, law in ON_JOBS.items():
            if name not in skipped:
                # The sample job states so much that tolerances are tried on it alone.
                tried_on = (trial,) if name == TOLERANCES else (*own, trial)
                yield from ((name, problem, one, some.job) for some in tried_on for problem in law(some, one))
        if SETTINGS not in skipped and one.rule.settings is not None:
            jobs = [sample, *(some.job for some in own)]
            yield from ((SETTINGS, problem, one, sample) for problem in _idle_settings(one, world, jobs))


def _sample(changes: Changes) -> tuple[dict[str, Any], Job]:
    document = changed(sample_job(), changes)
    return document, job_from_dict(document)


def _examples(one: PlacedRule, world: World) -> Iterator[tuple[str, Job]]:
    rule = one.rule
    _, plain = _sample({})
    for name, changes, wanted in (("breaks", rule.breaks, "broken or doubtful"), ("meets", rule.meets, "met")):
        if changes is None:
            if name == "breaks" and dict(rule.sections)["A job that breaks it"].startswith("none"):
                continue
            yield f"it has no example: give {name}={{...}}, changes to the sample job after which it is {wanted}", plain
            continue
        try:
            _, job = _sample(changes)
        except (JobError, PathError) as error:
            yield f"{name}={dict(changes)!r} does not fit the sample job: {error}", plain
            continue
        checks, faults = run([one], facts_of(job, world.plugins, planned=True))
        outcomes = {check.outcome for check in checks}
        bad = outcomes & {Outcome.BROKEN, Outcome.DOUBTFUL}
        if faults or (not bad if name == "breaks" else bool(bad) or Outcome.MET not in outcomes):
            told = ", ".join(sorted(outcomes)) or "no check"
            said = "; ".join(fault.error for fault in faults) or told
            yield f"{name}={dict(changes)!r} gives {said}, expected it to be {wanted}", job


def _idle_settings(one: PlacedRule, world: World, jobs: list[Job]) -> Iterator[str]:
    assert one.rule.settings is not None
    plain = one.rule.settings()
    for each in attrs.fields(one.rule.settings):
        others = list(_other_settings(plain, each.name))
        facts = [facts_of(job, world.plugins) for job in jobs]
        if not any(run([evolve(one, settings=other)], some) != run([one], some) for some in facts for other in others):
            yield (
                f"setting {each.name} changes nothing in the sample job nor in its examples: "
                "use it, or give an example where it counts"
            )


def _other_settings(plain: Any, name: str) -> Iterator[Any]:
    value = getattr(plain, name)
    if isinstance(value, bool):
        options: list[Any] = [not value]
    elif isinstance(value, int | float):
        grown = [larger(value, factor) for factor in (0.01, 0.5, 1.25, 4.0, 100.0)]
        options = [type(value)(number) for number in grown if number is not None]
    elif isinstance(value, str):
        options = ["", "another"]
    else:
        options = [(), (*value, "another"), *((each,) for each in value), *_words()]
    for option in options:
        try:
            yield evolve(plain, **{name: option})
        except (ValueError, TypeError):
            continue


def _words() -> Iterator[tuple[str, ...]]:
    """Lists of words that mean something in the sample job: its ids and what they are made of."""
    _, job = _sample({})
    words = [*(row.id for row in (*job.items, *job.media, *job.inks, *job.signs)), "acrylic", "clear", "colour"]
    yield from ((word,) for word in words)
