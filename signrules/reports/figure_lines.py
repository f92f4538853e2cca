"""Where the figures of a job come from, in lines for people."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.evaluation import Evaluation
from signrules.evaluation.figure_origins import Figure
from signrules.model.origins import ASSUMED, STATED
from signrules.model.quantities import Interval
from signrules.model.wording import counted_things, number_text
from signrules.rules.check_messages import quantity_text

_MOST_HANGING = 3
"""So many verdicts that hang on one figure are named."""


def figure_lines(result: Evaluation, *, everything: bool = False) -> Iterator[str]:
    """A line for each figure that is assumed, that has drifted, or on which a verdict hangs; the
    others counted.

    With `everything` each figure that says where it comes from has a line of its own.
    """
    counted: dict[str, int] = {}
    for figure in result.figures:
        # A job has a hundred figures; a person needs those on which the verdict may turn.
        is_doubted = figure.origin.kind == ASSUMED or bool(figure.origin.drift)
        is_quiet = not is_doubted and not figure.hangs
        if is_quiet and not everything:
            source = _source_of(figure)
            counted[source] = counted.get(source, 0) + 1
        else:
            yield _figure_line(figure)
    for source, count in counted.items():
        yield f"{counted_things(count, 'figure')} {source}"


def _figure_line(figure: Figure) -> str:
    line = f"{figure.path}{_value_text(figure)}: {figure.origin.text}"
    if figure.origin.drift:
        line += f". {figure.origin.drift.rstrip('.')}"
    if not figure.hangs:
        return line
    named = [f"{rule} on {subject}" for rule, subject in figure.hangs[:_MOST_HANGING]]
    unnamed = len(figure.hangs) - len(named)
    # A layer thickness, say, decides on every dot of a sheet.
    further = f" and {unnamed} more" if unnamed else ""
    return (
        f"{line}. Measure it: {', '.join(named)}{further} would come out otherwise at an end of it"
    )


def _value_text(figure: Figure) -> str:
    if isinstance(figure.value, Interval):
        return f" = {quantity_text(figure.value, figure.unit).strip()}"
    if isinstance(figure.value, int | float):
        return f" = {number_text(figure.value)} {figure.unit}".rstrip()
    return ""


def _source_of(figure: Figure) -> str:
    """What figures that nobody doubts are counted by."""
    kind = "" if figure.origin.kind == STATED else f", {figure.origin.kind}"
    return f"from {figure.origin.stated_in or 'the job'}{kind}"
