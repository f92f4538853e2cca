"""How a row of a dimension table is judged on a sign: the part that every rule on dimensions
shares.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve

from signrules.model.quantities import GUARD_MM, Interval, clamped_interval
from signrules.model.sign import Sign
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, Source, check, missing, one_of, standard_source
from signrules.standards.dimension_tables import Row, Standard
from signrules.standards.written_numbers import Written, exact_text, range_words

TABLES = standard_source(
    "the standards that the job names", "the row of their tables for this dimension"
)
"""The source of a rule on dimensions as such; each of its checks names its own standard and clause.
"""


def judge_length(
    sign: Sign,
    standards: Iterable[Standard],
    quantity: str,
    what: str,
    advice: str = "",
    *,
    too_little: str = "",
) -> Iterator[Draft]:
    """A check of one stated quantity of a sign for each row that limits it; none where the sign has
    no such section.

    `what` is the dimension in words, `advice` says what to do where a check is not met, and
    `too_little` what to do instead where there is less than the least.
    """
    section, name = quantity.split(".")
    part = getattr(sign, section)
    if part is None:
        return
    value = getattr(part, name)
    for standard, row in rows_binding(sign, standards, quantity):
        if value is None:
            yield lacking_check(sign, standard, row, quantity, what)
        else:
            length = Interval.exact(value) if isinstance(value, int | float) else value
            draft = judge_value(sign, standard, row, what, length, advice)
            # Judged again with other words, because the engine composes the message from the
            # advice.
            if too_little and _is_too_little(draft):
                draft = judge_value(sign, standard, row, what, length, too_little)
            yield draft


def _is_too_little(draft: Draft) -> bool:
    if draft.measured is None or draft.least is None:
        return False
    return draft.measured.low < draft.least - GUARD_MM


def rows_limiting(standards: Iterable[Standard], quantity: str) -> Iterator[tuple[Standard, Row]]:
    """The rows that limit a quantity, of whichever sign, each with its standard."""
    for standard in standards:
        for row in standard.rows_for(quantity):
            yield standard, row


def judge_value(
    sign: Sign,
    standard: Standard,
    row: Row,
    what: str,
    value: Interval | str,
    advice: str = "",
    others: tuple[str, ...] = (),
) -> Draft:
    """A check of a value (a length in mm, a share in %, or a word) against a row that is not one of
    bands.
    """
    source, level = source_of(standard, row), Level(row.level)
    if isinstance(value, str):
        return one_of(
            what,
            found=value,
            allowed=row.words,
            advice=joined_sentences(advice, row.note),
            source=source,
            level=level,
            others=others,
        )
    measured, hint = value, ""
    if row.of is not None:
        reference = stated_length(sign, row.of)
        lacking = f"{what} against {in_words(row.of)}"
        if reference is None:
            return lacking_check(sign, standard, row, row.of, lacking)
        # A share of a length that may be 0 is a share of nothing.
        if reference.low <= GUARD_MM:
            draft = lacking_check(sign, standard, row, row.of, lacking)
            return evolve(draft, advice=f"{in_words(row.of)} that is stated may be 0")
        measured = _ratio_by_line(sign, row) or ratio_of_lengths(value, reference, row)
        part = "a share" if row.unit == "%" else "a multiple"
        what = f"{what}, as {part} of {in_words(row.of)},"
        hint = _in_mm(row, reference)
    return check(
        what,
        measured=measured,
        least=None if row.least is None else row.least.number,
        most=None if row.most is None else row.most.number,
        unit=row.unit,
        advice=joined_sentences(hint, rounding_note(measured, row, standard), advice, row.note),
        others=others,
        source=source,
        level=level,
        limit_text=limit_text(row),
    )


def lacking_check(sign: Sign, standard: Standard, row: Row, quantity: str, what: str) -> Draft:
    """A row that cannot be judged because the sign does not state a quantity."""
    return missing(
        path_of(sign, quantity), what, source=source_of(standard, row), level=Level(row.level)
    )


def path_of(sign: Sign, quantity: str) -> str:
    """The path of one quantity of a sign in the job."""
    return f"signs.{sign.id}.{quantity}"


def stated_length(sign: Sign, quantity: str) -> Interval | None:
    """A length that the sign states, in mm; None where it does not."""
    section, name = quantity.split(".")
    value: Interval | None = getattr(getattr(sign, section), name, None)
    return value


def source_of(standard: Standard, row: Row) -> Source:
    """Title and clause; says so where the text itself was not read."""
    note = "" if row.standing == "read" else f" ({row.standing}: {row.source})"
    return standard_source(row.title or standard.title, f"{row.clause}{note}")


def ratio_of_lengths(value: Interval, reference: Interval, row: Row) -> Interval:
    """A length over another, in the row's unit; on the limit where it is so within a nanometre."""
    scale = 100.0 if row.unit == "%" else 1.0
    limits = [bound.number / scale for bound in (row.least, row.most) if bound is not None]

    def over(length: float, other: float) -> float:
        # The guard is one of lengths. In a share it would be another for each reference.
        on_limit = (limit for limit in limits if abs(length - limit * other) <= GUARD_MM)
        return scale * next(on_limit, length / other)

    # The least share is that of the least length in the largest reference, and the other way round.
    low, high = over(value.low, reference.high), over(value.high, reference.low)
    low, high = min(low, high), max(low, high)
    return clamped_interval(low, over(value.nominal, reference.nominal), high)


def _ratio_by_line(sign: Sign, row: Row) -> Interval | None:
    """The least and the most that a length of each line is of another of the same line.

    None where the sign states no lines, or where they are not those of what it states beside them,
    which somebody has changed since.
    """
    assert row.of is not None
    lengths = _lengths_by_line(sign, row.quantity)
    others = _lengths_by_line(sign, row.of)
    pairs = [(lengths[at], others[at]) for at in lengths if at in others]
    if not pairs or min(other.low for _, other in pairs) <= GUARD_MM:
        return None
    ratios = [ratio_of_lengths(value, reference, row) for value, reference in pairs]
    return _around(ratios)


def _lengths_by_line(sign: Sign, quantity: str) -> dict[int, Interval]:
    """A length of each line that states it, by the number of the line; none where the sign states
    other ones for all of them.
    """
    section, name = quantity.split(".")
    stated = stated_length(sign, quantity)
    lines = getattr(getattr(sign, section), "lines", ())
    found = {at: value for at, line in enumerate(lines) if (value := getattr(line, name, None))}
    if not found or stated is None:
        return {}
    around = _around(found.values())
    ends = (around.low - stated.low, around.high - stated.high)
    return found if max(map(abs, ends)) <= ROUNDED_MM else {}


def _around(values: Iterable[Interval]) -> Interval:
    """From the least to the most of some values."""
    known = list(values)
    low, high = min(each.low for each in known), max(each.high for each in known)
    return Interval.between(low, high)


ROUNDED_MM = 1e-3
"""What is stated of lines and of all of them may be rounded by so much."""


def limit_text(row: Row) -> str:
    """The limit as the standard writes it, with the exact millimetres where it is written in
    another unit.
    """
    written = f"must be {row.limit}"
    if row.of is not None:
        return f"{written} of {in_words(row.of)}" if row.unit == "%" else written
    bounds = [
        bound
        for bound in (row.least, row.most)
        if bound is not None and bound.written_unit != bound.unit
    ]
    exactly = dict.fromkeys(exact_text(bound.value) for bound in bounds)
    return f"{written} ({' to '.join(exactly)} mm)" if bounds else written


def rounding_note(value: Interval, row: Row, standard: Standard) -> str:
    """Says so where a value breaks the governing limit and yet lies within the millimetres printed
    beside it.
    """
    unit = {"in": "inch", "mm": "millimetre"}[standard.unit]
    if row.least is not None and _only_printed(value.low, row.least, 1):
        return _rounding(row.least, unit)
    if row.most is not None and _only_printed(value.high, row.most, -1):
        return _rounding(row.most, unit)
    return ""


def _only_printed(end: float, bound: Written, sign: int) -> bool:
    if bound.printed is None:
        return False
    return (
        sign * (end - bound.number) < -GUARD_MM and sign * (end - float(bound.printed)) >= -GUARD_MM
    )


def _rounding(bound: Written, unit: str) -> str:
    assert bound.printed is not None
    return f"The printed {exact_text(bound.printed)} mm is rounded; the {unit} value governs."


def _in_mm(row: Row, reference: Interval) -> str:
    scale = 100.0 if row.unit == "%" else 1.0
    least_text = most_text = None
    if row.least is not None:
        least_text = f"{exact_text(row.least.number / scale * reference.high)} mm"
    if row.most is not None:
        most_text = f"{exact_text(row.most.number / scale * reference.low)} mm"
    words = in_words(row.of or "")
    size = exact_text(reference.low)
    if not reference.is_exact:
        size += f" to {exact_text(reference.high)}"
    return f"With {words} at {size} mm, that is {range_words(least_text, most_text)}."


def in_words(quantity: str) -> str:
    """A quantity as a reader says it: `raised.line_spacing` is "the raised line spacing"."""
    return f"the {quantity.replace('.', ' ').replace('_', ' ')}"


def joined_sentences(*sentences: str) -> str:
    """Sentences, the empty ones left out."""
    return " ".join(sentence for sentence in sentences if sentence)
