"""The laws that every hook must keep, each a generator of what speaks against it on one job."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from graphlib import CycleError, TopologicalSorter
from types import MappingProxyType
from typing import Any

import attrs
from attrs import evolve, frozen

from signrules.catalogue.materials import sample_job
from signrules.documents.reading import job_from_dict
from signrules.documents.refusal import Refused
from signrules.documents.table_reader import read_table
from signrules.documents.writing import job_to_dict
from signrules.evaluation import evaluate
from signrules.model.job import Job
from signrules.model.printer import Printer
from signrules.plugins import Plugins
from signrules.rules.engine import Fault
from signrules.shop import Shop
from signrules.testing.altered_documents import renamed_document
from signrules.testing.other_values import other_values
from signrules.testing.rule_laws import clocks_asked
from signrules.testing.work_growth import copies_of

LINES = ("room 214", "exit", "Level 2", "a")
"""Lines that a translator is asked for, invented, beside those of a job."""

COUNTED = MappingProxyType(
    {"bed_loads": 1.0, "gap_settings": 2.0, "new_alignments": 1.0, "setup_minutes": 12.0}
)
"""What a hook is told that is counted already."""


@frozen
class Hooks:
    """The hooks under test: all plugins with them, those beside without, and the name of their
    plugin.
    """

    plugins: Plugins
    without: Plugins
    name: str

    def pairs(self, job: Job) -> list[tuple[str, str, str]]:
        """What comes before what, and why."""
        return [pair[:3] for pair in self.plugins.precedence(job)[0] if pair[3] == self.name]

    def counted(self, job: Job) -> dict[str, float]:
        """What is counted of a job in its declared order."""
        return self.plugins.quantities(job, order_of(job), COUNTED)[0]

    def translated(self, job: Job) -> dict[tuple[str, str], str | None]:
        """What the lines of a job come to, by line and grade."""
        grades = ("contracted", "uncontracted")
        return {
            (line, grade): self.plugins.translate(line, grade)[0]
            for line in lines_of(job)
            for grade in grades
        }

    def answers(self, job: Job) -> tuple[object, ...]:
        """All that the hooks say of a job."""
        return self.pairs(job), self.counted(job), self.translated(job)

    def faults(self, job: Job) -> Iterator[Fault]:
        """What goes wrong where they are asked."""
        yield from self.plugins.precedence(job)[1]
        yield from self.plugins.quantities(job, order_of(job), COUNTED)[1]
        for line in lines_of(job):
            yield from self.plugins.translate(line)[1]


Law = Callable[[Hooks, Job], Iterator[str]]


def order_of(job: Job) -> tuple[str, ...]:
    """Passes and handling as a job declares them."""
    return tuple(item.id for item in job.items)


def lines_of(job: Job) -> tuple[str, ...]:
    """Lines of text that are worth a translation."""
    own = (line for sign in job.signs for line in sign.text if line.strip() and line.isprintable())
    return tuple(dict.fromkeys((*LINES, *own)))


def answers_in_kind(hooks: Hooks, job: Job) -> Iterator[str]:
    """It fails on no job that the model allows, changes none, and gives back what the
    hook is for.
    """
    yield from (
        f"{fault.rule}: {fault.error}" for fault in hooks.faults(job) if fault.plugin == hooks.name
    )


def answers_alike(hooks: Hooks, job: Job) -> Iterator[str]:
    """It answers the same each time it is asked, whatever it was asked before."""
    before = hooks.answers(job)
    if hooks.answers(job) != before:
        yield "asked twice, it answered otherwise"
        return
    hooks.answers(_large_job())
    if hooks.answers(job) != before:
        yield "it answered otherwise after it had been asked of another job"


@cache
def _large_job() -> Job:
    """A job that is larger than those that are drawn."""
    return job_from_dict(copies_of(sample_job(), 2))


def asks_no_clock(hooks: Hooks, job: Job) -> Iterator[str]:
    """It asks neither the time nor the date nor chance."""
    asked = clocks_asked(lambda: hooks.answers(job))
    if asked:
        yield (
            f"it asked {', '.join(asked)}: take the day and the like from the job or from a setting"
        )


def goes_by_no_names(hooks: Hooks, job: Job) -> Iterator[str]:
    """Other ids change no pair and no quantity."""
    document = job_to_dict(job)
    other, back = renamed_document(document)
    after = job_from_dict(other)
    pairs = {
        tuple(back(_path_of_item(after, name)) for name in pair[:2]) for pair in hooks.pairs(after)
    }
    expected = {tuple(_path_of_item(job, name) for name in pair[:2]) for pair in hooks.pairs(job)}
    if pairs != expected:
        yield "with other ids it put other items before each other"
    if hooks.counted(after) != hooks.counted(job):
        yield f"with other ids it counted {hooks.counted(after)} in place of {hooks.counted(job)}"


def _path_of_item(job: Job, name: str) -> str:
    return f"passes.{name}" if any(item.id == name for item in job.passes) else f"handling.{name}"


def leaves_an_order(hooks: Hooks, job: Job) -> Iterator[str]:
    """What it puts before each other holds in the order that comes of it, and where there was an
    order there is one.
    """
    pairs = hooks.pairs(job)
    if not pairs:
        return
    circle = _circle_in(pairs)
    if circle:
        yield f"its pairs run in a circle: {' before '.join(circle)}"
        return
    free = evolve(job, sequence=None)
    before, after = evaluate(free, plugins=hooks.without), evaluate(free, plugins=hooks.plugins)
    if before.plan is not None and after.conflict is not None:
        yield (
            "without it there is an order, and with it there is none:"
            f" {' '.join(after.conflict.reasons)}"
        )
    at = {name: place for place, name in enumerate(after.order)}
    for first, then, _ in pairs:
        if after.plan is not None and at[first] > at[then]:
            yield f"{first} must come before {then}, and comes after it"


def _circle_in(pairs: Sequence[tuple[str, str, str]]) -> list[str]:
    before: dict[str, set[str]] = {}
    for first, then, _ in pairs:
        before.setdefault(then, set()).add(first)
    try:
        TopologicalSorter(before).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def counts_nothing_below_zero(hooks: Hooks, job: Job) -> Iterator[str]:
    """No quantity is negative."""
    for name, value in hooks.counted(job).items():
        if value < 0:
            yield f"{name} is {value:g}"


def translates_into_something(hooks: Hooks, job: Job) -> Iterator[str]:
    """A line of text comes to cells, or to None where it cannot be translated, and never to blank
    cells alone.
    """
    for (line, grade), cells in hooks.translated(job).items():
        if cells is not None and not cells.strip(" \u2800"):
            yield (
                f"{line!r} in {grade} braille came to no cells: give back None for what is not"
                " translated"
            )


LAWS: Mapping[str, Law] = MappingProxyType(
    {
        "answers in kind": answers_in_kind,
        "answers alike": answers_alike,
        "asks no clock": asks_no_clock,
        "goes by no names": goes_by_no_names,
        "leaves an order": leaves_an_order,
        "counts nothing below zero": counts_nothing_below_zero,
        "translates into something": translates_into_something,
    }
)
"""The laws that are tried on each job, by name."""


def printers_are_sound(hooks: Hooks) -> Iterator[str]:
    """Why printers cannot be used."""
    for name, table in hooks.plugins.printers.items():
        if name in hooks.without.printers:
            continue
        try:
            read_table(table, Printer)
        except Refused as refused:
            yield from (f"printer {name}: {fault}" for fault in refused.faults)


def settings_count(hooks: Hooks, jobs: Iterable[Job]) -> Iterator[str]:
    """Settings that change nothing."""
    cls = hooks.plugins.settings[hooks.name]
    if cls is None:
        return
    plain = cls()
    tried = list(jobs)
    before = [hooks.answers(job) for job in tried]
    for each in attrs.fields(cls):
        others = [
            _with_setting(hooks, each.name, value)
            for value in other_values(getattr(plain, each.name))
        ]
        changes = (
            other.answers(job) != answer
            for other in others
            if other is not None
            for job, answer in zip(tried, before, strict=True)
        )
        if not any(changes):
            yield f"setting {each.name} changes nothing in the sample job nor in any that was drawn"


def _with_setting(hooks: Hooks, name: str, value: Any) -> Hooks | None:
    """The hooks with another value of a setting; None where that is refused."""
    shop = Shop(plugin_settings={hooks.name: {name: value}})
    with contextlib.suppress(Refused):
        return evolve(hooks, plugins=hooks.plugins.configured(shop))
    return None
