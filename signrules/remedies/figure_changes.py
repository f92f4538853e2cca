"""Changes of unlikely figures to what they may have been meant to be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from math import isclose
from typing import Any

from attrs import evolve

from signrules.documents.fields import fields_by_key
from signrules.documents.paths import path_parts
from signrules.model.declared import Declared
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.remedies.candidates import Change, Edit, Judged, worded_change
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Check
from signrules.rules.likely_slips import Guess
from signrules.rules.stated_figures import Figure, stated_figures, unit_of
from signrules.rules.unusual_figures import guesses_of, named_places

Parts = Sequence[str | int]


def likely_figure(check: Check, judged: Judged) -> Iterator[Change]:
    """The figure as it would be without each slip that it looks like, wherever it is stated.

    What else in the same field looks like the same slip is changed with it: who writes one spacer
    in a wrong unit writes all of them so.
    """
    unlikely = stated_figures(judged.job).unlikely
    paths = list(check.subjects[1:])
    for figure in unlikely:
        if figure.paths != paths or figure.value != check.measured:
            continue
        others = [
            other for other in unlikely if other.where == figure.where and other is not figure
        ]
        for guess in guesses_of(figure):
            yield _meant_figures([(figure, guess), *_same_slip(figure, guess, others)])


Guessed = tuple[Figure, Guess]


def _same_slip(figure: Figure, guess: Guess, others: Iterable[Figure]) -> Iterator[Guessed]:
    """Other figures with the guess that is as many times the figure."""
    times = guess.value.nominal / figure.value.nominal
    for other in others:
        for other_guess in guesses_of(other):
            # As many times as much is the same slip, whatever the numbers are.
            if isclose(other_guess.value.nominal, times * other.value.nominal, rel_tol=1e-6):
                yield other, other_guess


def _meant_figures(guessed: Sequence[Guessed]) -> Change:
    words = " ".join(_words(figure, guess) for figure, guess in guessed)
    edits = [restated_figures(figure.paths, figure.value, guess.value) for figure, guess in guessed]
    return evolve(worded_change(words, *edits), asks=True)


def _words(figure: Figure, guess: Guess) -> str:
    unit = unit_of(figure.declared)
    new_text, old_text = (
        quantity_text(number.nominal, unit) for number in (guess.value, figure.value)
    )
    places = named_places(figure.paths)
    return f"If {guess.text} is meant, state {new_text} for {places} instead of {old_text}."


def restated_figures(paths: Iterable[str], was: Interval, now: Interval) -> Edit:
    """An edit that puts another number in the place of one, at each of some paths into the job."""
    by_table: dict[str, list[Parts]] = defaultdict(list)
    for path in paths:
        table, *inner_path = path_parts(path)
        by_table[str(table)].append(inner_path)

    def edit(job: Job) -> Job:
        changed: dict[str, Any] = {}
        for table, places in by_table.items():
            attribute, declared = fields_by_key(Job)[table]
            changed[attribute] = _restated(getattr(job, attribute), declared, places, was, now)
        # All at once: a job is held to be consistent whenever one is made.
        return evolve(job, **changed)

    return edit


def _restated(
    value: Any, declared: Declared, places: Sequence[Parts], old: Interval, new: Interval
) -> Any:
    """What a field holds, with another number at some places in it."""
    if declared.kind == "rows":
        return _restated_rows(value, places, old, new)
    if declared.kind == "lengths by name":
        names = {place[0] for place in places}
        return tuple((name, new.nominal if name in names else number) for name, number in value)
    if declared.tables:
        return _restated_part(value, places, old, new)
    if isinstance(value, tuple):
        return tuple(new.nominal if number == old.nominal else number for number in value)
    if isinstance(value, Interval):
        return new
    return int(new.nominal) if declared.kind == "whole number" else new.nominal


def _restated_rows(
    rows: tuple[Any, ...], places: Iterable[Parts], old: Interval, new: Interval
) -> tuple[Any, ...]:
    within: dict[str | int, list[Parts]] = defaultdict(list)
    for name, *inner_path in places:
        within[name].append(inner_path)
    names = [getattr(row, "id", number) for number, row in enumerate(rows)]
    return tuple(
        _restated_part(row, within[name], old, new) if name in within else row
        for name, row in zip(names, rows, strict=True)
    )


def _restated_part(part: Any, places: Iterable[Parts], old: Interval, new: Interval) -> Any:
    """A part of the job with another number in some of its fields."""
    within: dict[str, list[Parts]] = defaultdict(list)
    for key, *inner_path in places:
        within[str(key)].append(inner_path)
    cls: type = type(part)
    changed: dict[str, Any] = {}
    for key, inner in within.items():
        attribute, declared = fields_by_key(cls)[key]
        changed[attribute] = _restated(getattr(part, attribute), declared, inner, old, new)
    return evolve(part, **changed)
