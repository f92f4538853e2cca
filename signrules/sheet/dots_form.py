"""Which dots to measure once the signs are printed, and what each must be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve, frozen

from signrules.braille.cells import dots_of
from signrules.evaluation import Evaluation
from signrules.model.sign import Sign
from signrules.rules.checks import Check
from signrules.sheet.language import Language
from signrules.sheet.sheet_words import clean_text, inner_limits, sentence_text

DOTS_TO_MEASURE = 10
"""Dots to measure of each sign, or all if there are fewer. Common practice, no published source."""

MOST_KNOWN = 60


@frozen
class Measuring:
    """What to measure on one sign.

    `number` is that of the sign on the page, `load` the bed load on which it lies. It says how many
    dots, also in words, the range that holds, and what was measured already. `least` and `most` are
    the ends of the range in mm that holds by every standard, None where there is none.
    """

    id: str
    number: int
    load: str
    sign: str
    blanks: int
    dots: str
    allowed: str
    known: str
    least: float | None = None
    most: float | None = None


def signs_to_measure(result: Evaluation, language: Language) -> Iterator[Measuring]:
    """The signs whose dots are to be measured: those with braille that has any, on sheets of a load
    in which something is printed. Others never lie on the bed.
    """
    job = result.job
    printed_loads = {job.media_of(item).load for item in job.passes}
    limits: dict[str, list[Check]] = {}
    for check in result.checks:
        if check.rule == "braille.dot-height":
            limits.setdefault(check.subjects[0], []).append(check)
    for number, sign in enumerate(job.signs, start=1):
        load = job.media_of(sign).load
        if sign.braille is None or load not in printed_loads:
            continue
        total = _count_of_dots(sign.braille.cells)
        if total == 0:
            continue
        own_limits = limits.get(f"signs.{sign.id}", [])
        form = _measuring_form(own_limits, sign, total, language)
        yield evolve(form, number=number, load=load)


def _count_of_dots(cells: str | None) -> int | None:
    """How many dots cells have; None where they are not stated."""
    if cells is None:
        return None
    return sum(len(dots_of(cell)) for cell in cells if cell != "\n")


def _measuring_form(
    limits: list[Check], sign: Sign, total: int | None, language: Language
) -> Measuring:
    blanks = DOTS_TO_MEASURE
    dots = language.say_count("{count} dot", "{count} dots", blanks)
    if total is not None:
        blanks = min(total, DOTS_TO_MEASURE)
        dots = language.say("{count} of {total}", count=blanks, total=total)
    known_heights: Iterable[float] = ()
    if sign.measured is not None:
        known_heights = sign.measured.dot_height[:MOST_KNOWN]
    ranges = [check.limit for check in limits]
    allowed = dict.fromkeys(filter(None, (_range_text(check, language) for check in limits)))
    return Measuring(
        sign.id,
        0,
        "",
        clean_text(sign.id),
        blanks,
        dots,
        "; ".join(allowed),
        ", ".join(map(language.mm, known_heights)),
        max((low for low, _ in ranges if low is not None), default=None),
        min((high for _, high in ranges if high is not None), default=None),
    )


def _range_text(check: Check, language: Language) -> str:
    """The range of a limit with its source; nothing where there is none.

    On paper it is read off a gauge: to a hundredth, and never wider than the limit is.
    """
    least, most = check.limit
    inner = inner_limits(least or 0.0, most or 0.0)
    if least is not None and most is not None and inner[0] > inner[1]:
        inner = (least, most)
    low = None if least is None else language.figure(inner[0])
    high = None if most is None else language.figure(inner[1])
    if low is not None and high is not None:
        text = language.say("{low} to {high}", low=low, high=high)
    elif low is not None:
        text = language.say("at least {low}", low=low)
    elif high is not None:
        text = language.say("at most {high}", high=high)
    else:
        return ""
    source = sentence_text(check.source.text)
    return f"{language.unit(text)} ({source})"
