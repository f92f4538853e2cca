"""The laws that every hook must keep, each a generator of what speaks against it on one job."""

from __future__ import annotations

import contextlib
import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from graphlib import CycleError, TopologicalSorter
from types import MappingProxyType
from typing import Any

import attrs
from attrs import evolve, frozen

from signrules.catalogue.materials import sample_job
from signrules.documents.reading import job_again, job_from_dict
from signrules.documents.refusal import Refused
from signrules.documents.writing import job_to_dict
from signrules.estimating.pricing import AddedLine
from signrules.evaluation import evaluate
from signrules.model.job import Job
from signrules.plugins import Plugins
from signrules.remedies.plugin_offers import HOOK as REMEDIES
from signrules.remedies.plugin_offers import Offers, offered_changes
from signrules.rules.engine import Fault, run_rules
from signrules.shop import Shop
from signrules.testing.altered_documents import rearranged_document, renamed_document
from signrules.testing.asked_besides import asked_besides
from signrules.testing.other_values import other_values
from signrules.testing.run_rules import facts_of
from signrules.testing.sample_estimates import lines_told
from signrules.testing.work_bounds import call_bounded
from signrules.testing.work_growth import copies_of

LINES = ("room 214", "exit", "Level 2", "a", "and for of the with", "Caf\u00e9", "a-1/2 (b)")
"""Lines that a translator is asked for, invented, beside those of a job."""

CONTRACTED_ALWAYS = "and for of the with"
"""Words that English braille contracts wherever they stand alone: "strong contractions", The Rules
of Unified English Braille, Second Edition 2013, section 10.3.
"""

GRADES = ("contracted", "uncontracted")
NO_LANGUAGE = "zxx"
"""The code of what is in no language at all, ISO 639-2."""

DEAD_LANGUAGES = ("enm", "egy", "frm", "fro", "dum")
"""Middle English, Ancient Egyptian, Middle and Old French, Middle Dutch, ISO 639-2: their codes
begin as those of living languages do, and no braille code is known of them (from memory).
"""

LANGUAGES = ("en", "fr", "de", NO_LANGUAGE)
"""Languages that a translator is asked for."""

COUNTED = MappingProxyType(
    {"bed_loads": 1.0, "gap_settings": 2.0, "new_alignments": 1.0, "setup_minutes": 12.0}
)
"""What a hook is told that is counted already."""

LEAST_COUNTED = MappingProxyType(
    {name: COUNTED[name] for name in COUNTED if name != "setup_minutes"}
)
"""The same of a printer that does not state what its set-up costs."""


@frozen
class Hooks:
    """The hooks under test: all plugins with them, all without, the name of their plugin."""

    plugins: Plugins
    without: Plugins
    name: str

    def pairs(self, job: Job) -> list[tuple[str, str, str]]:
        """What comes before what, and why."""
        # Those of plugins beside it are theirs to answer for.
        return [pair[:3] for pair in self.plugins.precedence(job)[0] if pair.plugin == self.name]

    def counted(self, job: Job) -> dict[str, float]:
        """What is counted of a job in its declared order."""
        return self.plugins.quantities(job, order_of(job), COUNTED)[0]

    def translated(self, job: Job) -> dict[Asked, str | None]:
        """What the lines of a job come to, by line, grade and language."""
        return {asked: self.plugins.translate(*asked)[0] for asked in asked_of(job)}

    def added(self) -> list[tuple[AddedLine, ...]]:
        """The lines that are added to estimates."""
        if not self.adds_lines:
            return []
        told = lines_told(self.plugins)
        return [tuple(line for line in each.added if line.plugin == self.name) for each in told]

    @property
    def adds_lines(self) -> bool:
        """Whether they add lines to estimates at all."""
        return self._has("signrules_price_lines")

    def _has(self, hook: str) -> bool:
        return any(one.name == self.name and hook in one.hooks for one in self.plugins.loaded)

    def offered(self, job: Job) -> list[tuple[str, ...]]:
        """The words of what is offered for each finding."""
        offers, _ = self._offers(job)
        return [tuple(change.summary for change in changes) for changes in offers.values()]

    def _offers(self, job: Job) -> tuple[Offers, list[Fault]]:
        if not self._has(REMEDIES):
            return {}, []
        own = [placed for placed in self.plugins.rules if placed.plugin == self.name]
        checks, *_ = run_rules(own, facts_of(job, self.plugins))
        return offered_changes(self.plugins, job, checks, None)

    def answers(self, job: Job) -> tuple[object, ...]:
        """All that the hooks say of a job."""
        asked: tuple[Callable[[Job], object], ...]
        asked = (self.pairs, self.counted, self.translated, self.offered)
        return call_bounded(lambda: (*(ask(job) for ask in asked), self.added()))

    def faults(self, job: Job) -> Iterator[Fault]:
        """What goes wrong where they are asked."""
        yield from self.plugins.precedence(job)[1]
        for counted in (COUNTED, LEAST_COUNTED):
            # Minutes are missing where a printer states none, and a hook must bear that.
            yield from self.plugins.quantities(job, order_of(job), counted)[1]
        for asked in asked_of(job):
            yield from self.plugins.translate(*asked)[1]
        yield from self._offers(job)[1]
        for told in lines_told(self.plugins) if self.adds_lines else ():
            yield from told.faults


Law = Callable[[Hooks, Job], Iterator[str]]
Asked = tuple[str, str, str]
"""A line of text, a grade and a language."""


def order_of(job: Job) -> tuple[str, ...]:
    """Passes and handling as a job declares them."""
    return tuple(item.id for item in job.items)


def lines_of(job: Job) -> tuple[str, ...]:
    """Lines of text that are worth a translation."""
    own_lines = (
        line for sign in job.signs for line in sign.text if line.strip() and line.isprintable()
    )
    return tuple(dict.fromkeys((*LINES, *own_lines)))


def asked_of(job: Job) -> tuple[Asked, ...]:
    """All that a translator is asked for."""
    return tuple(itertools.product(lines_of(job), GRADES, LANGUAGES))


def answers_in_kind(hooks: Hooks, job: Job) -> Iterator[str]:
    """It fails on no job that the model allows, changes none, and gives back what the
    hook is for.
    """
    yield from (
        f"{fault.rule}: {fault.error}"
        for fault in call_bounded(lambda: list(hooks.faults(job)))
        if fault.plugin == hooks.name
    )


def answers_alike(hooks: Hooks, job: Job) -> Iterator[str]:
    """It answers the same each time it is asked, whatever it was asked before."""
    before = hooks.answers(job)
    if hooks.answers(job) != before:
        yield "asked twice, it answered otherwise"
        return
    # A larger one in between: what a hook keeps for one job and does not clear shows then.
    hooks.answers(_large_job())
    if hooks.answers(job) != before:
        yield "it answered otherwise after it had been asked of another job"


@cache
def _large_job() -> Job:
    """A job that is larger than those that are drawn."""
    return job_from_dict(copies_of(sample_job(), 2))


def asks_nothing_else(hooks: Hooks, job: Job) -> Iterator[str]:
    """It asks nothing but the job and its settings: neither the time nor chance, no file, no
    folder and not the environment.
    """
    asked = asked_besides(lambda: hooks.answers(job))
    if asked:
        yield (
            f"it asked {', '.join(asked)}: take the day and the like from the job or from a"
            " setting, and read a file once when the plugin is loaded"
        )


def goes_by_no_names(hooks: Hooks, job: Job) -> Iterator[str]:
    """Other ids, and tables in another order, change no pair and no quantity."""
    document = job_to_dict(job)
    other, back = renamed_document(document)
    after = job_again(other, job)
    pairs = {
        tuple(back(_path_of_item(after, name)) for name in pair[:2]) for pair in hooks.pairs(after)
    }
    expected = {tuple(_path_of_item(job, name) for name in pair[:2]) for pair in hooks.pairs(job)}
    if pairs != expected:
        yield "with other ids it put other items before each other"
    if hooks.counted(after) != hooks.counted(job):
        yield f"with other ids it counted {hooks.counted(after)} in place of {hooks.counted(job)}"
    turned = job_again(rearranged_document(document), job)
    if sorted(pair[:2] for pair in hooks.pairs(turned)) != sorted(
        pair[:2] for pair in hooks.pairs(job)
    ):
        yield "with the passes listed in another order it put other items before each other"
    if hooks.counted(turned) != hooks.counted(job):
        yield (
            f"with the tables of the document in another order it counted {hooks.counted(turned)}"
            f" in place of {hooks.counted(job)}"
        )


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
    free_job = evolve(job, sequence=None)
    # The job's own sequence would be judged instead of an order being looked for.
    before, after = (
        evaluate(free_job, plugins=hooks.without),
        evaluate(free_job, plugins=hooks.plugins),
    )
    if before.plan is not None and after.conflict is not None:
        yield (
            "without it there is an order, and with it there is none:"
            f" {' '.join(after.conflict.reasons)}"
        )
    place_of = {name: place for place, name in enumerate(after.order)}
    for first, later, _ in pairs:
        if after.plan is not None and place_of[first] > place_of[later]:
            yield f"{first} must come before {later}, and comes after it"


def _circle_in(pairs: Sequence[tuple[str, str, str]]) -> list[str]:
    before: dict[str, set[str]] = {}
    for first, later, _ in pairs:
        before.setdefault(later, set()).add(first)
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
    for (line, grade, _), cells in hooks.translated(job).items():
        if cells is not None and not cells.strip(" \u2800"):
            yield (
                f"{line!r} in {grade} braille came to no cells: give back None for what is not"
                " translated"
            )


def tells_grades_apart(hooks: Hooks, job: Job) -> Iterator[str]:
    """Contracted braille is contracted, uncontracted is not, and what is in no language comes to
    None.
    """
    cells_of_grade = {
        grade: hooks.plugins.translate(CONTRACTED_ALWAYS, grade)[0] for grade in GRADES
    }
    if (
        cells_of_grade["contracted"] is not None
        and cells_of_grade["contracted"] == cells_of_grade["uncontracted"]
    ):
        yield (
            f"{CONTRACTED_ALWAYS!r} came to the same cells in both grades: go by `grade`, and give"
            " back None for the one that is not translated"
        )
    for (line, grade, language), cells in hooks.translated(job).items():
        if language == NO_LANGUAGE and cells is not None:
            yield (
                f"{line!r} in {grade} braille came to cells in the language {language!r}, which is"
                " none: go by `language`, and give back None for those that are not translated"
            )
    for grade, language in itertools.product(GRADES, DEAD_LANGUAGES):
        if hooks.plugins.translate(LINES[1], grade, language)[0] is not None:
            yield (
                f"{LINES[1]!r} in {grade} braille came to cells in the language {language!r}:"
                " compare the whole code, or all of it that stands before the first hyphen"
            )


def tells_lines_apart(hooks: Hooks, job: Job) -> Iterator[str]:
    """A number and the letters that share its cells come to unlike cells.

    A number has the cells of letters, behind a sign that says so: The Rules of Unified English
    Braille, Second Edition 2013, section 6.
    """
    for (line, grade, language), cells in hooks.translated(job).items():
        letters = line.translate(_LETTERS_OF_DIGITS)
        # Only a line with digits has another line that shares its cells.
        if cells is None or letters == line:
            continue
        if cells == hooks.plugins.translate(letters, grade, language)[0]:
            yield (
                f"{line!r} and {letters!r} came to the same cells in {grade} braille: put the sign"
                " for a number before one"
            )


_LETTERS_OF_DIGITS = str.maketrans("1234567890", "abcdefghij")


LAWS: Mapping[str, Law] = MappingProxyType(
    {
        "answers in kind": answers_in_kind,
        "answers alike": answers_alike,
        "asks nothing else": asks_nothing_else,
        "goes by no names": goes_by_no_names,
        "leaves an order": leaves_an_order,
        "counts nothing below zero": counts_nothing_below_zero,
        "translates into something": translates_into_something,
        "tells grades apart": tells_grades_apart,
        "tells lines apart": tells_lines_apart,
    }
)
"""The laws that are tried on each job, by name."""


def numbers_are_usual(hooks: Hooks) -> Iterator[str]:
    """Numbers of its tables, printers and materials that look like those of another unit, and
    texts that are translated already.
    """
    for plugin in hooks.plugins.loaded:
        if plugin.name == hooks.name:
            yield from plugin.unusual


def says_something(hooks: Hooks, jobs: Iterable[Job]) -> Iterator[str]:
    """Each hook that is asked for each job has an answer for some job."""
    (own_plugin,) = (plugin for plugin in hooks.plugins.loaded if plugin.name == hooks.name)
    silent = {hook: answer for hook, answer in _ANSWERS.items() if hook in own_plugin.hooks}
    for job in jobs:
        without = hooks.without.quantities(job, order_of(job), COUNTED)[0]
        if hooks.pairs(job):
            silent.pop("signrules_precedence", None)
        if hooks.counted(job) != without:
            silent.pop("signrules_quantities", None)
        if any(cells is not None for cells in hooks.translated(job).values()):
            silent.pop("signrules_translate_braille", None)
        if "signrules_remedies" in silent and any(hooks.offered(job)):
            silent.pop("signrules_remedies")
    if any(hooks.added()):
        silent.pop("signrules_price_lines", None)
    for hook, answer in silent.items():
        yield f"{hook} {answer} in any job that was tried: look at its conditions"


_ANSWERS = {
    "signrules_precedence": "puts nothing before anything",
    "signrules_quantities": "counts nothing",
    "signrules_translate_braille": "translates nothing",
    "signrules_price_lines": "adds no line",
    "signrules_remedies": "offers nothing",
}


def settings_count(hooks: Hooks, jobs: Iterable[Job]) -> Iterator[str]:
    """Settings that change nothing."""
    cls = hooks.plugins.settings[hooks.name]
    if cls is None:
        return
    plain = cls()
    tried = list(jobs)
    before = [hooks.answers(job) for job in tried]
    for attribute in attrs.fields(cls):
        others = [
            _with_setting(hooks, attribute.name, value)
            for value in other_values(getattr(plain, attribute.name))
        ]
        changes = (
            other.answers(job) != answer
            for other in others
            if other is not None
            for job, answer in zip(tried, before, strict=True)
        )
        if not any(changes):
            where = "in the sample job nor in any that was drawn"
            yield f"setting {attribute.name} changes nothing {where}"


def _with_setting(hooks: Hooks, name: str, value: Any) -> Hooks | None:
    """The hooks with another value of a setting; None where that is refused."""
    shop = Shop(plugin_settings={hooks.name: {name: value}})
    with contextlib.suppress(Refused):
        return evolve(hooks, plugins=hooks.plugins.configured(shop))
    return None
