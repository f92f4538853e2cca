"""A sheet that was moved in the middle of a job, and a head that struck something."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from attrs import evolve, frozen

from signrules.continuing.added_layers import wrong_registers
from signrules.continuing.fixed_order import done_first
from signrules.errors import DocumentFault, RecordError
from signrules.evaluation import Judge
from signrules.model.job import Job, free_id
from signrules.model.passes import Handling, Pass
from signrules.model.wording import expected_name, joined_names, number_text
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine

FIRM_HOLDS = ("adhesive", "pins")
"""What keeps a sheet in place though a head strikes it: common practice, no published source. A
vacuum and a tape hold against the bed's own movements; nobody knows how much more.
"""


def demand_sheets(job: Job, moved: Mapping[str, str | None]) -> None:
    """Raises RecordError where a sheet that was moved is none of the job, or the printer does not
    state the method that puts it back.
    """
    sheets = tuple(sheet.id for sheet in job.media)
    faults = []
    methods = tuple(dict(job.printer.locating))
    for name, method in moved.items():
        if method is not None and method not in methods:
            known = expected_name(method, methods, f"one of {', '.join(methods) or 'none'}")
            expected = f"a method of printer.locating: {known}"
            faults.append(DocumentFault(f"moved.{name}", repr(method), expected))
        if name not in sheets:
            known = expected_name(name, sheets, f"one of {', '.join(sheets)}")
            fault = DocumentFault(f"moved.{name}", repr(name), f"a sheet of the job: {known}")
            faults.append(fault)
    if faults:
        raise RecordError(faults)


def load_now(job: Job, done: Sequence[str]) -> str | None:
    """The bed load that is on after what is done; None where nothing is."""
    machine = Machine(Heights(job))
    for name in reversed(done):
        load = machine.load_of[machine.index[name]]
        if load is not None:
            return load
    return None


def loose_sheets(job: Job, done: Sequence[str]) -> tuple[str, ...]:
    """The sheets on the bed that a strike may have shifted: those that nothing holds firmly."""
    load = load_now(job, done)
    sheets = (sheet for sheet in job.media if sheet.load == load)
    return tuple(sheet.id for sheet in sheets if sheet.hold not in FIRM_HOLDS)


@frozen(eq=False)
class MovedAnswer:
    """What is to be done about sheets that were moved, or may have been, after something was
    printed on them.

    `sheets` are those on the bed, `off_bed` the others. `affected` are passes that remain and must
    register with what is printed there. `located_by` is the method that puts the sheets back well
    enough, `error` how far off that may be in mm, and `handling` the id of the handling that does
    it. They are None where no method does: `tried` says why, and `lost` are the affected passes
    with all that comes over them.
    """

    sheets: tuple[str, ...]
    off_bed: tuple[str, ...] = ()
    affected: tuple[str, ...] = ()
    located_by: str | None = None
    error: float | None = None
    handling: str | None = None
    tried: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()

    @property
    def is_scrap(self) -> bool:
        """Whether nothing brings back the register that passes still need."""
        return bool(self.affected) and self.located_by is None

    def __str__(self) -> str:
        if not self.sheets:
            return f"{joined_names(self.off_bed)}: not on the bed, and put on anew in any case."
        sheets = joined_names(self.sheets)
        if not self.affected:
            return f"{sheets}: nothing that remains must register with what is printed. Go on."
        register = f"the register of {joined_names(self.affected)} with what is printed"
        if self.error is not None:
            return (
                f"{sheets}: put back against {self.located_by} (within"
                f" {number_text(self.error)} mm): that keeps {register}, if it lay against"
                " them when it was printed."
            )
        why = "the printer states no printer.locating by which it could be put back"
        if self.tried:
            why = f"no method in printer.locating brings it back ({'; '.join(self.tried)})"
        return f"{sheets}: scrap. {register.capitalize()} is lost, and {why}."

    def to_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return {
            "sheets": list(self.sheets),
            "off_bed": list(self.off_bed),
            "affected": list(self.affected),
            "located_by": self.located_by,
            "error_mm": self.error,
            "scrap": self.is_scrap,
            "lost": list(self.lost),
            "text": str(self),
        }


def moved_answer(
    job: Job, done: Sequence[str], moved: Mapping[str, str | None], judge: Judge
) -> tuple[Job, MovedAnswer]:
    """The job as it goes on after sheets were moved, and what is to be done about them.

    `job` is the job as it stands; the one that comes back has what is done first. All sheets on the
    bed are put back by one method, so its error counts for each of them.
    """
    load = load_now(job, done)
    on_bed = tuple(sheet.id for sheet in job.media if sheet.id in moved and sheet.load == load)
    off_bed = tuple(sheet.id for sheet in job.media if sheet.id in moved and sheet.load != load)
    answer = MovedAnswer(on_bed, off_bed, tuple(_affected(job, done, on_bed)))
    if not answer.affected:
        return done_first(job, done), answer
    stated_methods = {moved[sheet] for sheet in on_bed} - {None}
    tried = []
    for method, error in sorted(job.printer.locating, key=lambda pair: pair[1]):
        if stated_methods and method not in stated_methods:
            continue
        name = free_id(f"put back {on_bed[0]}", (item.id for item in job.items))
        trial = put_back(job, done, Handling(name, "reload", on_bed[0], method))
        result = judge(trial)
        wrong = wrong_registers(result, answer.affected)
        if result.order_is_safe and not wrong:
            return trial, evolve(answer, located_by=method, error=error, handling=name)
        tried.append(f"{method}: {number_text(error)} mm off is too much")
    lost = tuple(with_dependents(job, answer.affected))
    rest = done_first(without_items(job, lost), done)
    return rest, evolve(answer, tried=tuple(tried), lost=lost)


def _affected(job: Job, done: Sequence[str], sheets: Collection[str]) -> Iterator[str]:
    """The passes that remain and register with something printed on a sheet that was moved."""
    machine = Machine(Heights(job))
    names = frozenset(done)
    for pass_index, item in enumerate(job.passes):
        if item.id in names:
            continue
        for partner in machine.partners(pass_index):
            both = {job.media_of(item).id, machine.heights.media[partner].id}
            if job.passes[partner].id in names and both.intersection(sheets):
                yield item.id
                break


def put_back(job: Job, done: Sequence[str], item: Handling) -> Job:
    """The job with what is done first, and then the handling that puts a load back."""
    handled = evolve(job, handling=(*job.handling, item), sequence=None)
    return done_first(handled, (*done, item.id))


def with_dependents(job: Job, names: Iterable[str]) -> Iterator[str]:
    """Some passes and all that lands on their ink, as declared."""
    lost = set(names)
    grown = True
    while grown:
        further = {item.id for item in job.passes if lost.intersection(item.over)} - lost
        lost |= further
        grown = bool(further)
    return (item.id for item in job.passes if item.id in lost)


def without_items(job: Job, names: Collection[str]) -> Job:
    """The job without some passes; what came after them no longer waits for them."""
    gone = frozenset(names)
    passes = tuple(_without_names(item, gone) for item in job.passes if item.id not in gone)
    handling = tuple(evolve(item, after=_names_left(item.after, gone)) for item in job.handling)
    return evolve(job, passes=passes, handling=handling, sequence=None)


def _without_names(item: Pass, gone: frozenset[str]) -> Pass:
    registers_to = item.registers_to
    if registers_to is not None:
        registers_to = _names_left(registers_to, gone)
    return evolve(
        item,
        over=_names_left(item.over, gone),
        after=_names_left(item.after, gone),
        registers_to=registers_to,
    )


def _names_left(names: Iterable[str], gone: frozenset[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in gone)
