"""The answer in words, for the person at the machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from signrules.evaluation.verdict import DO_NOT_PRINT
from signrules.model.wording import counted_things, joined_names, number_text
from signrules.reports.text_report import caution_text, one_line, step_text
from signrules.rules.check_messages import quantity_text

if TYPE_CHECKING:
    from signrules.continuing.next_steps import NextSteps
    from signrules.continuing.remaining import Remaining

GO_ON, DONE, SCRAP = "GO ON", "NOTHING REMAINS", "SCRAP"


def next_text(found: NextSteps) -> str:
    """What stands, what is to be done about mishaps, the steps that remain, cautions."""
    lines = [one_line(line) for line in _lines(found)]
    return "\n".join(lines) + "\n" + caution_text()


def next_verdict(found: NextSteps) -> str:
    """The one line that says whether and how the job goes on."""
    scrap = f"{SCRAP}: {joined_names(found.scrapped)}. " if found.scrapped else ""
    if found.remaining is None:
        return f"{scrap}{DO_NOT_PRINT}: what remains has no safe order"
    left = found.remaining.order
    if not left:
        return f"{scrap}{DONE}"
    minutes = found.remaining.setup_minutes
    takes = ""
    if minutes is not None:
        takes = f", {counted_things(number_text(minutes), 'minute')} of set-up"
    return f"{scrap}{GO_ON} with {left[0]}, {counted_things(len(left), 'item')} left{takes}"


def _lines(found: NextSteps) -> Iterator[str]:
    name = found.job.name or "job"
    yield f"{name}: {next_verdict(found)}"
    yield f"Done: {', '.join(found.done) or 'nothing'}."
    yield from _standing(found)
    for title, lines in _mishaps(found):
        yield from ("", f"{title}:", *(f"  {line}" for line in lines))
    if found.lost is not None:
        yield ""
        yield _lost_title(found)
        yield from (f"  {reason}" for reason in found.lost.reasons)
        if not found.lost.proven:
            yield "  Not proven: the search ended before every order was tried."
        yield from _rest(found)
    elif found.remaining is not None and found.remaining.order:
        yield ""
        yield _order_title(found)
        yield from (f"  {line}" for line in _steps(found, found.remaining))


def _standing(found: NextSteps) -> Iterator[str]:
    for face in found.standing:
        if face.height.high > 0:
            height = quantity_text(face.height, "mm")
            yield f"On {face.media}, {face.side}: ink up to {height} high."


def _mishaps(found: NextSteps) -> Iterator[tuple[str, list[str]]]:
    if found.strike is not None:
        yield "Head strike", list(found.strike.lines())
    if found.moved is not None:
        yield "Moved", [str(found.moved)]
    dots: list[str] = []
    for answer in found.dots:
        dots += [str(answer), *(f"  {way}" for way in answer.ways())]
    if dots:
        yield "Measured dots", dots
    figures = [str(answer.line).replace("\n", " ") for answer in found.dots if answer.line]
    if figures:
        yield "For the shop file, so that the next job is right", figures


def _lost_title(found: NextSteps) -> str:
    assert found.lost is not None
    after = f" after {joined_names(found.done)}" if found.done else ""
    whole = "the whole plan had them all" if found.whole.order_is_safe else "nor had the whole job"
    if not found.lost.names:
        return f"No order of what remains is safe{after} ({whole}):"
    names = joined_names(found.lost.names)
    return f"These orders are lost: {names} cannot be done safely any more{after} ({whole}):"


def _rest(found: NextSteps) -> Iterator[str]:
    rest = found.rest
    if rest is None:
        return
    order = ", ".join(rest.order) or "nothing"
    yield f"  Without {joined_names(rest.left_out)} there is a safe order of the rest: {order}."


def _order_title(found: NextSteps) -> str:
    if found.as_whole_plan:
        return "What remains, as planned:"
    if not found.whole.order:
        return "What remains:"
    return f"What remains, otherwise than planned ({', '.join(found.whole.order)}):"


def _steps(found: NextSteps, remaining: Remaining) -> Iterator[str]:
    lines = [step_text(step, found.result) for step in remaining.steps]
    height = remaining.head_above_bed
    if height is not None and (remaining.gap_stays or remaining.gap_anew):
        # No step of the plan sets the gap before the next print, so this line says how it stands.
        next_print = next(
            number for number, step in enumerate(remaining.steps) if step.kind == "print"
        )
        stands = f"the head at {number_text(height)} mm above the bed"
        advice = f"leave the gap, {stands}, and check it"
        if remaining.gap_anew:
            advice = f"set the gap as it was, {stands}"
        lines.insert(next_print, advice)
    for number, line in enumerate(lines, start=1):
        yield f"{number:>2}. {line}"
