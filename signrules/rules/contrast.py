"""Contrast of characters and background: the formulas that standards name, and the rule that
applies them.

Each formula takes two light reflectance values (Y of CIE, 0 to 100) in either order. Two blacks
have no contrast.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import islice
from types import MappingProxyType

from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.rules.binding_rows import is_bound, rows_binding
from signrules.rules.checks import Draft, Level
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, judge_value, lacking_check
from signrules.standards.dimension_tables import (
    CONTRAST,
    LIGHTER,
    POLARITY,
    Row,
    Standard,
    builtin_standards,
)


def weber_contrast(a: float, b: float) -> float:
    """Lighter less darker over lighter, in %. CIE e-ILV 17-22-091, first form; ADA guidelines of
    1991, A4.30.5.
    """
    lighter, darker = max(a, b), min(a, b)
    return 100.0 * (lighter - darker) / lighter if lighter > 0 else 0.0


def michelson_contrast(a: float, b: float) -> float:
    """Difference over sum, in %. CIE e-ILV 17-22-091, third form."""
    return 100.0 * abs(a - b) / (a + b) if a + b > 0 else 0.0


def point_difference(a: float, b: float) -> float:
    """Lighter less darker, in points. BS 8300-2:2018, annex B."""
    return abs(a - b)


def bowman_sapolinski(a: float, b: float) -> float:
    """125 x difference / (sum + 25), in %. AS 1428.1, appendix B."""
    return 125.0 * abs(a - b) / (a + b + 25.0)


CONTRASTS: Mapping[str, Callable[[float, float], float]] = MappingProxyType(
    {
        "weber": weber_contrast,
        "michelson": michelson_contrast,
        "difference": point_difference,
        "bowman-sapolinski": bowman_sapolinski,
    }
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
def contrast_reflectance(item: Sign, standards: tuple[Standard, ...]) -> Iterator[Draft]:
    """How much characters and background differ in light reflectance, by the formula that the
    standard names.

    Without a name it is `weber`: the lighter minus the darker, over the lighter. Others are
    `michelson`, `difference` and `bowman-sapolinski`; 30 % in one is not 30 % in another.

    Why it matters: people with low vision tell a character from its ground by lightness, not by
    colour.
    A job that breaks it: reflectance values of 50 and 20, a contrast of 60 % where an advisory asks
    for 70 %.
    One that meets it: reflectance values of 82 and 8, a contrast of 90 %.
    """
    for standard, row in rows_binding(item, standards, CONTRAST):
        formula = row.contrast or "weber"
        what = "the contrast of characters and background"
        if formula != "weber":
            what += f" ({formula})"

        # As a default, since the loop goes on before the function is called.
        def contrast(characters: float, background: float, formula: str = formula) -> Interval:
            return Interval.exact(CONTRASTS[formula](characters, background))

        advice = f"{DIFFER}; measure both on the print."
        yield from _compared_reflectances(item, standard, row, what, contrast, advice)


DIFFER = "Make the lighter one lighter or the darker one darker"


def _compared_reflectances(
    sign: Sign,
    standard: Standard,
    row: Row,
    what: str,
    value: Callable[[float, float], Interval | str],
    advice: str,
) -> Iterator[Draft]:
    """A check of what follows from both reflectances; one for each that a surface does
    not state.
    """
    surface = sign.surface
    if surface is None:
        return
    characters, background = surface.character_lrv, surface.background_lrv
    for name, reflectance in (("character_lrv", characters), ("background_lrv", background)):
        if reflectance is None:
            yield lacking_check(sign, standard, row, f"surface.{name}", what)
    if characters is not None and background is not None:
        yield judge_value(sign, standard, row, what, value(characters, background), advice)


@rule(
    "contrast.polarity",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.surface.character_lrv": 8},
    meets={},
)
def contrast_polarity(item: Sign, standards: tuple[Standard, ...]) -> Iterator[Draft]:
    """Whether characters are light on dark or dark on light, and not as light as their background.

    Some standards ask for no more than that, and give no number.

    Why it matters: characters as light as their background can be told from it by colour alone, or
    not at all.
    A job that breaks it: characters and background of the same reflectance, 50 on 50.
    One that meets it: characters of 82 on a background of 8, light on dark.
    """
    what = "the lightness of characters and background"
    for standard, row in rows_binding(item, standards, POLARITY):
        yield from _compared_reflectances(item, standard, row, what, _polarity_of, f"{DIFFER}.")


def _polarity_of(characters: float, background: float) -> str:
    if characters == background:
        return "the same"
    return "light on dark" if characters > background else "dark on light"


@rule(
    "contrast.lighter",
    each="sign",
    source=TABLES,
    level=Level.REVIEW,
    breaks={"signs.room-214.surface.character_lrv": 30, "signs.room-214.surface.background_lrv": 3},
    meets={},
)
def contrast_lighter(item: Sign, standards: tuple[Standard, ...]) -> Iterator[Draft]:
    """How light the lighter of characters and background is.

    A `weber` contrast is a share of the lighter one: 5 on 1 gives 80 %, although both are black. A
    table that limits such a contrast without a least lightness of its own gets that of the built-in
    tables.

    Why it matters: two dark surfaces look alike, however large the share by which they differ.
    A job that breaks it: reflectance values of 30 and 3, where 45 is required of the lighter one.
    One that meets it: reflectance values of 82 and 8.
    """
    what = "the reflectance of the lighter of characters and background"
    advice = "Make the lighter one lighter."
    for standard in standards:
        if not is_bound(item, standard):
            continue
        own_rows = standard.rows_for(LIGHTER)
        by_share = any(row.contrast == "weber" for row in standard.rows_for(CONTRAST))
        # A share says nothing of two blacks, so a table without a floor of its own borrows one.
        for row in own_rows or (_lighter_floors() if by_share else ()):
            yield from _compared_reflectances(item, standard, row, what, _lighter_of, advice)


def _lighter_of(characters: float, background: float) -> Interval:
    return Interval.exact(max(characters, background))


def _lighter_floors() -> tuple[Row, ...]:
    """The first row of the built-in tables that says how light the lighter surface must be."""
    rows = (row for standard in builtin_standards() for row in standard.rows_for(LIGHTER))
    return tuple(islice(rows, 1))


CONTRAST_RULES = RuleSet(
    "contrast",
    (contrast_reflectance, contrast_polarity, contrast_lighter),
    "Characters against their background.",
)
