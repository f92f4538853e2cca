"""The way on from a half-printed sheet, as text."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.continuing import NextSteps
from signrules.model.wording import number_text
from signrules.reports.text_report import one_line, step_text


def next_text(found: NextSteps) -> str:
    """The verdict, what measured dots mean, what is lost, and the steps that are left."""
    return "\n".join(one_line(line) for line in _lines(found)) + "\n"


def _lines(found: NextSteps) -> Iterator[str]:
    name = found.evaluation.job.name or "job"
    done = ", ".join(found.progress.done) or "nothing"
    yield f"{name}: {_verdict(found)}. Done: {done}."
    for answer in found.answers:
        yield str(answer)
        if line := answer.shop_line():
            yield f"  For the shop file: {line}"
    if found.lost:
        yield "Lost:"
        yield from (f"  {reason}" for reason in found.lost)
    if found.steps and found.ok:
        minutes = "" if found.minutes is None else f" ({number_text(found.minutes)} minutes)"
        yield f"Left to do{minutes}:"
        for number, step in enumerate(found.steps, start=1):
            yield f"  {number:2}. {step_text(step, found.evaluation)}"
    yield from (f"Note: {note}" for note in found.notes)


def _verdict(found: NextSteps) -> str:
    if not found.ok and found.evaluation.ok:
        return "SCRAP: measured dots are out of range, and no further layer helps"
    return found.evaluation.verdict
