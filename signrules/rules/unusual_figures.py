"""Figures that are unlikely by themselves: outside of what is usual of their field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from signrules.model.declared import Declared
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.rules.check_messages import quantity_text
from signrules.rules.checks import Draft, Level, check, common_practice
from signrules.rules.declaration import rule
from signrules.rules.likely_slips import Guess, slips_of
from signrules.rules.stated_figures import Figure, stated_figures, unit_of, usual_range

MOST_GUESSES = 2
"""As many guesses as are named."""

LOOK_AGAIN = "Look at the figure and its unit once more."
LOOK_AT_TOLERANCE = "Look at its tolerance once more."


@rule(
    "figures.unusual",
    each="job",
    level=Level.REVIEW,
    source=common_practice("what the figures of a printer, a sheet, an ink or a sign usually are"),
    breaks={"media.panel.thickness": "30 mm"},
    meets={},
)
def figures_unusual(job: Job) -> Iterator[Draft]:
    """Whether each figure that the job states lies in the range that is usual of its field.

    The usual ranges stand in the tables of the job document. What is outside is named once, with
    what would bring it inside: a digit less or more, another unit. Defaults are not judged, and
    the same figure in many places is one check. A figure that is right is waived by its path.

    Why it matters: a digit or a unit that slipped passes every other check and spoils the sheet.
    A job that breaks it: a sheet of 30 mm where one of 3 mm was meant, drops of 6 mm/s.
    One that meets it: a sheet of 3 mm, drops of 6 m/s.
    """
    figures = stated_figures(job)
    unlikely: dict[str, list[Figure]] = {}
    for figure in figures.unlikely:
        unlikely.setdefault(figure.where, []).append(figure)
    for where in figures.fields:
        if where in figures.usual:
            yield _check_of_usual(where, *figures.usual[where])
        for figure in unlikely.get(where, ()):
            yield _check_of_figure(figure, named_places(figure.paths), _advice(figure))


@lru_cache(maxsize=4096)
def _check_of_usual(where: str, declared: Declared, low: float, high: float) -> Draft:
    """Most figures are the same from one evaluation of a job to the next."""
    lowest, highest = usual_range(declared) or (low, high)
    return _check_of_figure(
        Figure(where, declared, Interval.between(low, high), lowest, highest), where, ""
    )


def _check_of_figure(figure: Figure, what: str, advice: str) -> Draft:
    unit = unit_of(figure.declared)
    usual = quantity_text(Interval.between(figure.least, figure.most), unit)
    return check(
        what,
        measured=figure.value,
        least=figure.least,
        most=figure.most,
        unit=unit,
        limit_text=f"usually {usual}",
        advice=advice,
        others=figure.paths,
        source=common_practice(f"what {figure.where} usually is"),
    )


def named_places(paths: Sequence[str]) -> str:
    """The first of some paths, and how many more there are."""
    return paths[0] if len(paths) == 1 else f"{paths[0]} and {len(paths) - 1} more like it"


def _advice(figure: Figure) -> str:
    if figure.least <= figure.value.nominal <= figure.most:
        return LOOK_AT_TOLERANCE
    texts = [guess.text for guess in guesses_of(figure)]
    return f"Is {' or '.join(texts)} meant?" if texts else LOOK_AGAIN


def guesses_of(figure: Figure) -> list[Guess]:
    """What an unlikely figure may have been meant to be, each number once; those with the fewest
    digits, which people type most.
    """
    guesses: dict[Interval, Guess] = {}
    for slip in slips_of(figure.declared):
        guess = slip.guess(figure)
        if guess is not None:
            known_guess = guesses.get(guess.value, guess)
            guesses[guess.value] = min(known_guess, guess, key=lambda one: one.oddity)
    return sorted(guesses.values(), key=lambda guess: guess.digits)[:MOST_GUESSES]
