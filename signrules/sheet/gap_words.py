"""What to set on the machine for a gap or an alignment: a spacer, a dial, a raised scrap."""

from __future__ import annotations

from signrules.model.printer import Dial, Spacers, nearest_extra
from signrules.model.quantities import GUARD_MM
from signrules.sheet.sheet_words import mm_text, span_text

GapControl = Spacers | Dial


def gap_setting(control: GapControl, extra: float) -> str:
    """What gives an extra in mm over the base gap, or that nothing does."""
    if abs(extra - nearest_extra(control, extra)) > GUARD_MM:
        tools = "spacers do" if isinstance(control, Spacers) else "dial does"
        return f"{mm_text(extra)}, which this printer's {tools} not give"
    if isinstance(control, Dial):
        return f"dial at {mm_text(extra)}"
    return f"spacer of {mm_text(extra)}" if extra > GUARD_MM else "no spacer"


def over_flat_scrap(control: GapControl, extra: float, low: float, high: float) -> str:
    """What to set so that the head runs an extra over flat scrap, from `low` to `high` in mm."""
    settable = control.extras()
    within = [setting for setting in settable if low - GUARD_MM <= setting <= high + GUARD_MM]
    if within:
        return gap_setting(
            control, min(within, key=lambda setting: (abs(setting - extra), setting))
        )
    above = [setting for setting in settable if setting > extra]
    thickness = _spacer_to_buy(control, low, high)
    if not above:
        instead = f"{thickness} would do" if thickness else "ask whoever stated this job"
        return f"the gap control does not reach that far: {instead}"
    setting, best = gap_setting(control, above[0]), mm_text(above[0] - extra)
    least_throw, most_throw = above[0] - high, above[0] - low
    if most_throw - least_throw <= GUARD_MM:
        return f"{setting}, the scrap raised by {best}"
    instead = f"; or {thickness}" if thickness else ""
    raised = span_text(max(least_throw, 0.0), most_throw)
    return f"{setting}, the scrap raised by {raised}, best by {best}{instead}"


def _spacer_to_buy(control: GapControl, low: float, high: float) -> str:
    """Which spacer would serve without any scrap, where none of the shop's does; else nothing."""
    can_be_bought = high - low > GUARD_MM and low > 0
    if not isinstance(control, Spacers) or not can_be_bought:
        return ""
    return f"a spacer of {span_text(low, high)}"
