"""One call that holds the hooks of a plugin to the laws that every hook must keep."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from attrs import evolve
from hypothesis import strategies as st

from signrules.catalogue.materials import sample_job
from signrules.documents.reading import job_from_dict
from signrules.model.job import Job
from signrules.model.wording import shown_value
from signrules.plugins import Plugins, load_plugins
from signrules.testing.broken import ContractBroken
from signrules.testing.drawn_jobs import WORK, jobs_tried, problems_told
from signrules.testing.hook_laws import (
    LAWS,
    Hooks,
    Law,
    leaves_an_order,
    numbers_are_usual,
    says_something,
    settings_count,
)
from signrules.testing.job_strategies import arbitrary_jobs
from signrules.testing.sample_estimates import sample_estimates
from signrules.testing.sound_strategies import sound_jobs
from signrules.testing.work_bounds import TooMuchWork
from signrules.testing.work_growth import copies_of

UNITS, SETTINGS = "its numbers are in their units", "its settings count"
SAYS = "says something"
HOOK_LAWS: Mapping[str, str] = MappingProxyType(
    {name: " ".join((law.__doc__ or "").split()) for name, law in LAWS.items()}
    | {
        SAYS: "Each hook that is asked for each job has an answer for some job.",
        UNITS: "No number that it brings looks like one in another unit.",
        WORK: "It comes to an end, of any job.",
        SETTINGS: "Each setting of the hooks changes what they say of some job.",
    }
)
"""The laws of hooks, by name, with what each says."""


def assert_hook_contract(
    plugin: object,
    *,
    beside: Sequence[object] = (),
    jobs: st.SearchStrategy[Job] | None = None,
    but: Mapping[str, str] | None = None,
    max_examples: int = 25,
) -> None:
    """Hold the hooks of a plugin to `HOOK_LAWS`; raises ContractBroken, an AssertionError, with a
    small job.

    `plugin` is a module or an object, as `load_plugins` takes one; `beside` are others that it
    needs. `jobs` are those on which it is tried: small sound and arbitrary ones where left out.
    `but` are laws that it need not keep, each with the reason. ValueError for laws that are not
    known, for a plugin that implements no hook, and for one that cannot be loaded, with the reason.
    """
    skipped = dict(but or {})
    for name, reason in skipped.items():
        if name not in HOOK_LAWS or not reason:
            expected = f"one of {', '.join(HOOK_LAWS)} and a reason"
            raise ValueError(f"expected {expected}, got {name!r}: {reason!r}")
    hooks = Hooks(*_loaded_and_others(plugin, beside))
    if hooks.adds_lines:
        sample_estimates()  # Made before anything watches what the hooks do.

    def problems(
        job: Job, pick: int, broken: ContractBroken | None, laws: Mapping[str, Law] = LAWS
    ) -> Iterator[ContractBroken]:
        try:
            for name, law in laws.items():
                if name in skipped or (broken is not None and name != broken.law):
                    continue
                for problem in problems_told(law(hooks, job)):
                    yield ContractBroken(name, hooks.name, problem, job, HOOK_LAWS[name])
        except TooMuchWork as stopped:
            if WORK not in skipped:
                yield ContractBroken(WORK, hooks.name, str(stopped), job, HOOK_LAWS[WORK])

    sample = job_from_dict(sample_job())
    # Before anything is drawn: what is wrong everywhere is told on a job that people know.
    for job in (sample, *_unlike_samples(sample)):
        for broken in problems(job, 0, None):
            raise broken
    # An order of so many takes long to find, and says nothing that that of a few does not.
    quick = {name: law for name, law in LAWS.items() if law is not leaves_an_order}
    for broken in problems(_many_sheets(), 0, None, quick):
        raise broken
    if jobs is None:
        brought, others = hooks.plugins.handling_kinds, hooks.without.handling_kinds
        kinds = [kind for name, kind in brought.items() if name not in others]
        jobs = sound_jobs() | arbitrary_jobs(max_passes=3, max_media=2, kinds=kinds)
    seen = jobs_tried(jobs, max_examples, problems)
    for broken in _broken_on_all(hooks, sample, seen, skipped):
        raise broken


def _broken_on_all(
    hooks: Hooks, sample: Job, seen: Sequence[Job], skipped: Mapping[str, str]
) -> Iterator[ContractBroken]:
    """The laws on all jobs together: of silence and of settings one job alone proves nothing."""
    once = {
        UNITS: numbers_are_usual(hooks),
        SETTINGS: settings_count(hooks, [sample, *seen]),
        SAYS: says_something(hooks, [sample, *_unlike_samples(sample), *seen]),
    }
    for name, found in once.items():
        if name not in skipped:
            for problem in problems_told(found):
                yield ContractBroken(name, hooks.name, problem, sample, HOOK_LAWS[name])


def _many_sheets() -> Job:
    """The sample six times over: more sheets than any bed of it holds."""
    return job_from_dict(copies_of(sample_job(), 6))


def _unlike_samples(sample: Job) -> tuple[Job, ...]:
    """The sample the other way round, on two sheets of other sizes, and without all it may lack."""
    double = job_from_dict(copies_of(sample_job(), 2))
    first, second = double.media
    wider = evolve(second, size=(second.size[0] + 1.0, second.size[1]))
    two_sheets = evolve(double, media=(first, wider))
    turned = evolve(sample, passes=sample.passes[::-1])
    plain = tuple(evolve(item, builds=()) for item in sample.passes)
    bare = evolve(sample, passes=plain, signs=(), standards=(), alignments=(), waivers=())
    return turned, two_sheets, bare


def _loaded_and_others(plugin: object, beside: Sequence[object]) -> tuple[Plugins, Plugins, str]:
    """All plugins, those beside, and the name of the one under test."""
    if isinstance(plugin, Plugins | list | tuple):
        raise ValueError(f"expected one module or object with hooks, got {shown_value(plugin)}")
    # Twice, so that the difference is what this plugin adds.
    loaded, others = load_plugins(objects=[plugin, *beside]), load_plugins(objects=beside)
    if loaded.failed:
        raise ValueError(
            "; ".join(f"{failure.name} is not loaded: {failure.error}" for failure in loaded.failed)
        )
    (own_plugin,) = (plugin for plugin in loaded.loaded if plugin.name not in others.names)
    if not own_plugin.hooks:
        raise ValueError(
            f"{own_plugin.name} implements no hook, so nothing would be held to the contract"
        )
    return loaded, others, own_plugin.name
