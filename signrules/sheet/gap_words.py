"""What to set on the machine for a gap or an alignment: a spacer, a dial, a raised scrap."""

from __future__ import annotations

from attrs import frozen

from signrules.model.printer import Dial, Spacers, nearest_extra
from signrules.model.quantities import GUARD_MM
from signrules.sheet.language import Language

GapControl = Spacers | Dial


@frozen
class Setting:
    """What is set: `noun` names the tool, `big` its number, `notes` say the rest."""

    noun: str
    big: str
    notes: tuple[str, ...] = ()


def gap_setting(control: GapControl, extra: float, language: Language) -> Setting:
    """What gives an extra in mm over the base gap, or that nothing does."""
    if abs(extra - nearest_extra(control, extra)) > GUARD_MM:
        note = language.say("no spacer of this printer gives it")
        if isinstance(control, Dial):
            note = language.say("the dial of this printer does not give it")
        return Setting(language.say("extra"), language.mm(extra), (note,))
    if isinstance(control, Dial):
        return Setting(language.say("dial"), language.mm(extra))
    if extra <= GUARD_MM:
        return Setting("", language.say("no spacer"))
    return Setting(language.say("spacer"), language.mm(extra))


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
        return Setting(language.say("extra"), language.mm(extra), notes)
    setting = gap_setting(control, above[0], language)
    # The gauge says what else would do: a range for both would be two for one thing.
    raised = language.mm(above[0] - extra)
    return Setting(
        setting.noun, setting.big, (language.say("raise the scrap by {best}", best=raised),)
    )


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
