"""Where a gap as measured is written down, and within which limits it must lie."""

from __future__ import annotations

import math

from signrules.sheet.blocks import Blank
from signrules.sheet.language import Language
from signrules.sheet.sheet_words import READ_MM, inner_limits


def gauge_blank(key: str, aim: float, low: float, high: float, language: Language) -> Blank:
    """The blank of a gauge with its aim and its limits in mm.

    They are written to a hundredth, the limits towards the safe side.
    """
    label, nominal = language.say("Gauge"), language.gauged(aim)
    if math.isinf(high):
        least, _ = inner_limits(max(low, 0.0), 0.0)
        limits = language.say("at least {low}", low=language.rounded(least, 2))
        return Blank(key, label, nominal, limits, least)
    least, most = inner_limits(max(low, 0.0), high)
    if most < least:
        # Finer than a gauge reads: the nominal value alone will do.
        return Blank(key, label, nominal, language.say("no more and no less"), low, high)
    first, last = language.rounded(least, 2), language.rounded(most, 2)
    limits = language.say("{low} to {high}", low=first, high=last)
    return Blank(key, label, nominal, limits, least, most)


def aim_at_limit(blank: Blank, aim: float, language: Language) -> tuple[str, ...]:
    """What is told where the aim of a gauge in mm is one of its limits."""
    if blank.least is None or blank.most is None or blank.least == blank.most:
        return ()
    if aim > blank.most - READ_MM / 2:
        return (language.say("never above {gauge}", gauge=language.gauged(aim)),)
    if aim < blank.least + READ_MM / 2:
        return (language.say("never below {gauge}", gauge=language.gauged(aim)),)
    return ()
