"""What is wrong with one part of a job by itself, whatever the others are."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.errors import DocumentFault
from signrules.model.declared import field_faults
from signrules.model.limits import MOST_DIAL_STEPS
from signrules.model.printer import Dial, Printer
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import Mounting, Sign
from signrules.model.wording import shown_value


def own_faults(path: str, part: object, cls: type) -> Iterator[DocumentFault]:
    """Every field that is out of its range, and fields that do not fit each other."""
    if not isinstance(part, cls):
        yield DocumentFault(path, shown_value(part), f"a {cls.__name__}")
        return
    yield from field_faults(path, part)
    if isinstance(part, Printer) and isinstance(part.gap, Dial):
        dial = part.gap
        # The range of a dial says nothing while one of its ends is no length.
        if any(field_faults("", dial)):
            return
        # Half a step of room, for a max that is a whole number of steps on paper and not as a
        # float.
        if dial.max > (MOST_DIAL_STEPS + 0.5) * dial.step:
            expected = f"a dial of at most {MOST_DIAL_STEPS} steps from 0 to {dial.max:g} mm"
            yield DocumentFault(f"{path}.gap.step", shown_value(dial.step), expected)
        elif dial.step > dial.max + GUARD_MM:
            yield DocumentFault(
                f"{path}.gap.step",
                shown_value(dial.step),
                f"a step of at most {dial.max:g} mm, the max",
            )
    if isinstance(part, Sign) and isinstance(part.mounting, Mounting):
        yield from _upside_down(f"{path}.mounting", part.mounting)


def _upside_down(path: str, mounting: Mounting) -> Iterator[DocumentFault]:
    """What is stated as the highest and lies below what is stated as the lowest."""
    for what, names in (
        ("baseline", ("lowest_tactile", "highest_tactile")),
        ("edge", ("lowest_part", "highest_part")),
    ):
        lowest, highest = (getattr(mounting, name) for name in names)
        if not isinstance(lowest, Interval) or not isinstance(highest, Interval):
            continue
        # Tolerances that overlap may be right; only what no pair of true values can meet is a
        # fault.
        if lowest.low > highest.high + GUARD_MM:
            found = f"{highest.nominal:g} mm, below the lowest"
            expected = f"the highest {what}, from {lowest.nominal:g} mm, the lowest"
            yield DocumentFault(f"{path}.{names[1]}", found, expected)
