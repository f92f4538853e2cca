"""Contrast of characters and background: the formulas that standards name, and the rule that applies them.

Each formula takes two light reflectance values (Y of CIE, 0 to 100) in either order. Two blacks have no contrast.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.rules.checks import Draft, Level
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, judge_value, lacking, rows
from signrules.standards.tables import CONTRAST, Standard


def weber(a: float, b: float) -> float:
    """Lighter less darker over lighter, in %. CIE e-ILV 17-22-091, first form; ADA guidelines of 1991, A4.30.5."""
    lighter, darker = max(a, b), min(a, b)
    return 100.0 * (lighter - darker) / lighter if lighter > 0 else 0.0


def michelson(a: float, b: float) -> float:
    """Difference over sum, in %. CIE e-ILV 17-22-091, third form."""
    return 100.0 * abs(a - b) / (a + b) if a + b > 0 else 0.0


def difference(a: float, b: float) -> float:
    """Lighter less darker, in points. BS 8300-2:2018, annex B."""
    return abs(a - b)


def bowman_sapolinski(a: float, b: float) -> float:
    """125 x difference / (sum + 25), in %. AS 1428.1, appendix B."""
    return 125.0 * abs(a - b) / (a + b + 25.0)


CONTRASTS: Mapping[str, Callable[[float, float], float]] = MappingProxyType(
    {"weber": weber, "michelson": michelson, "difference": difference, "bowman-sapolinski": bowman_sapolinski}
)
"""The formulas by the names that a row of a table gives them."""


@rule(
    "contrast.reflectance",
    each="sign",
    source=TABLES,
    level=Level.REVIEW,
    breaks={"signs.room-214.surface.character_lrv": 20},
    meets={},
)
def reflectance(item: Sign, standards: tuple[Standard, ...]) -> Iterator[Draft]:
    """How much characters and background differ in light reflectance, by the formula that the standard names.

    Lighter less darker over the lighter (`weber`) where it names none. Others are `michelson`, `difference` and
    `bowman-sapolinski`; 30 % in one is not 30 % in another.

    Why it matters: people with low vision tell a character from its ground by lightness, not by colour.
    A job that breaks it: reflectance values of 50 and 20, a contrast of 60 % where an advisory asks for 70 %.
    One that meets it: reflectance values of 82 and 8, a contrast of 90 %.
    """
    surface = item.surface
    if surface is None:
        return
    a, b = surface.character_lrv, surface.background_lrv
    for standard, row in rows(standards, CONTRAST):
        formula = row.contrast or "weber"
        what = "the contrast of characters and background" + ("" if formula == "weber" else f" ({formula})")
        for name, value in (("character_lrv", a), ("background_lrv", b)):
            if value is None:
                yield lacking(item, standard, row, f"surface.{name}", what)
        if a is not None and b is not None:
            advice = "Make the lighter one lighter or the darker one darker; measure both on the print."
            yield judge_value(item, standard, row, what, Interval.exact(CONTRASTS[formula](a, b)), advice)


CONTRAST_RULES = RuleSet("contrast", (reflectance,), "Characters against their background.")
