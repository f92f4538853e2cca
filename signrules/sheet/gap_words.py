"""What to set on the machine for a gap or an alignment: a spacer, a dial, a raised scrap."""

from __future__ import annotations

from attrs import frozen

from signrules.model.printer import Dial, Spacers, nearest_extra
from signrules.model.quantities import GUARD_MM
from signrules.sheet.language import Language

GapControl = Spacers | Dial


@frozen
class Setting:
    """What is set: `noun` names the tool, `big` its number, `notes` say the rest.

    `extra` is what it gives over the base gap, in mm.
    """

    noun: str
    big: str
    extra: float
    notes: tuple[str, ...] = ()


def gap_setting(control: GapControl, extra: float, language: Language) -> Setting:
    """What gives an extra in mm over the base gap, or that nothing does."""
    if abs(extra - nearest_extra(control, extra)) > GUARD_MM:
        note = language.say("no spacer of this printer gives it")
        if isinstance(control, Dial):
            note = language.say("the dial of this printer does not give it")
        return Setting(language.say("extra"), language.mm(extra), extra, (note,))
    if isinstance(control, Dial):
        return Setting(language.say("dial"), language.mm(extra), extra)
    if extra <= GUARD_MM:
        return Setting("", language.say("no spacer"), extra)
    return Setting(language.say("spacer"), language.mm(extra), extra)


def over_flat_scrap(
    control: GapControl, extra: float, low: float, high: float, language: Language
) -> Setting:
    """What to set so that the head runs an extra over flat scrap, from `low` to `high` in mm."""
    settable = control.extras()
    within = [setting for setting in settable if low - GUARD_MM <= setting <= high + GUARD_MM]
    if within:
        nearest = min(within, key=lambda setting: (abs(setting - extra), setting))
        return gap_setting(control, nearest, language)
    above = [setting for setting in settable if setting > extra]
    instead = _spacer_to_buy(control, low, high, language)
    if not above:
        ask = language.say("ask whoever stated this job")
        notes = (language.say("the gap control does not reach that far"), instead or ask)
        return Setting(language.say("extra"), language.mm(extra), extra, notes)
    setting = gap_setting(control, above[0], language)
    raised = _raised(above[0], low, high)
    note = language.say("then lay shims of {raised} under the scrap", raised=language.mm(raised))
    return Setting(setting.noun, setting.big, above[0] - raised, (note,))


def _raised(setting: float, low: float, high: float) -> float:
    """By how much in mm to raise the scrap: to the middle of what serves, in shims of a
    hundredth.
    """
    raised = setting - (low + high) / 2
    in_shims = round(raised, 2)
    if low <= setting - in_shims <= high:
        return in_shims
    return raised


def spacer_to_buy(
    control: GapControl, extra: float, low: float, high: float, language: Language
) -> str:
    """Which spacer would serve without raised scrap, where none of the shop's does; else nothing.

    It is advice for the shop, not a step for the operator.
    """
    settable = control.extras()
    serves = any(low - GUARD_MM <= setting <= high + GUARD_MM for setting in settable)
    if serves or not any(setting > extra for setting in settable):
        return ""
    return _spacer_to_buy(control, low, high, language)


def _spacer_to_buy(control: GapControl, low: float, high: float, language: Language) -> str:
    can_be_bought = high - low > GUARD_MM and low > 0
    if not isinstance(control, Spacers) or not can_be_bought:
        return ""
    return language.say("a spacer of {span} would do without", span=language.span(low, high))
