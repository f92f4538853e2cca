"""Jobs in a row as text: what is carried from one to the next, and the set-up that is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from signrules.evaluation import Evaluation
from signrules.many_jobs.carrying import Carried
from signrules.many_jobs.job_sequence import JobSequence, PlacedJob, why_left_out
from signrules.many_jobs.row_setup import Setup, total_setup
from signrules.many_jobs.workers import ManyResult
from signrules.model.wording import counted_things, joined_names, number_text
from signrules.reports.text_report import MOST_OF_A_NAME, one_line, plain_text

HOLDS_IF = (
    "What is carried holds if the jobs before are printed first, in this order, and nobody works on"
    " the heads in between."
)


def setup_text(setup: Setup) -> str:
    """Set-up in words: minutes where they are known, and what is done in them."""
    done = [
        counted_things(setup.loads, "bed load"),
        counted_things(setup.gap_settings, "gap setting"),
        counted_things(setup.alignments, "new alignment"),
    ]
    if setup.minutes is None:
        return f"set-up of {joined_names(done)}"
    minutes = counted_things(number_text(setup.minutes), "minute")
    return f"{minutes} of set-up ({', '.join(done)})"


def carried_text(carried: Carried) -> str:
    """What a job needs in its place, and what earlier ones left for it."""
    needs = "no safe order, so not printed"
    if carried.setup is not None:
        needs = setup_text(carried.setup)
    return "; ".join([needs, *_what_is_carried(carried)])


def _what_is_carried(carried: Carried) -> Iterator[str]:
    if carried.alignments:
        extras = joined_names([f"{number_text(one.extra)} mm" for one in carried.alignments])
        yield f"aligned before at an extra of {extras}"
    if carried.gap_is_kept and carried.head_above_bed is not None:
        yield f"the gap stands, head at {number_text(carried.head_above_bed)} mm above the bed"


def row_total_text(carried: Sequence[Carried]) -> str:
    """The set-up of jobs in the order in which they were given."""
    setups = [each.setup for each in carried if each.setup is not None]
    unprinted = len(carried) - len(setups)
    text = f"{counted_things(len(setups), 'job')} in a row: {setup_text(total_setup(setups))}"
    if unprinted:
        text += f"; {counted_things(unprinted, 'job')} without a safe order not counted"
    return f"{text}\n{HOLDS_IF}"


def job_sequence_text(sequence: JobSequence) -> str:
    """A sequence of jobs, with the set-up of each and of all, and what was left out."""
    return plain_text("\n".join(_sequence_lines(sequence)) + "\n")


def _sequence_lines(sequence: JobSequence) -> Iterator[str]:
    if sequence.jobs:
        yield f"{_kind_of_order(sequence)}: {setup_text(sequence.setup)}"
        yield f"Each job alone: {setup_text(sequence.alone)}"
    several = len(sequence.by_printer) > 1
    # Nothing is carried from one printer to another, so each has a row of its own.
    for number, placed in enumerate(sequence.by_printer, start=1):
        if several:
            setup = total_setup(each.setup for each in placed)
            yield f"\n{_printer_name(placed[0], number)}: {setup_text(setup)}"
        for place, each in enumerate(placed, start=1):
            yield from _job_lines(place, each)
    if sequence.jobs:
        yield HOLDS_IF
    if sequence.left_out:
        yield "\nLeft out:"
        yield from map(_left_out_line, sequence.left_out)


def _kind_of_order(sequence: JobSequence) -> str:
    if sequence.optimal:
        return "Jobs in a row, no order takes less"
    loads, minutes = sequence.bound
    at_least = counted_things(loads, "bed load")
    if minutes is not None:
        at_least = counted_things(number_text(minutes), "minute")
    return f"Jobs in a row, the best order found (any takes at least {at_least})"


def _printer_name(placed: PlacedJob, number: int) -> str:
    name = placed.result.job.printer.name
    return f"Printer {number}" if name is None else one_line(name, MOST_OF_A_NAME)


def _job_lines(place: int, placed: PlacedJob) -> Iterator[str]:
    yield f"{place:>2}. {one_line(placed.origin)}: {carried_text(placed.carried)}"
    if not placed.result.ok:
        yield f"    {one_line(placed.result.verdict)}"


def _left_out_line(item: ManyResult[Evaluation]) -> str:
    """A job without a place; an error names its file itself, and its faults are told elsewhere."""
    if item.error is not None:
        # All faults of a document would bury the row.
        return f"  {one_line(str(item.error).splitlines()[0])}"
    return f"  {one_line(item.origin)}: {one_line(why_left_out(item))}"
