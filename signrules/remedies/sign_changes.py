"""Changes of what a sign is to be: its dimensions, words and reflectance, where it hangs, the
layers of its relief.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import attrs

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import Mounting, Sign
from signrules.model.wording import number_text
from signrules.physics.flight import GRAVITY
from signrules.remedies.candidates import (
    Change,
    Edit,
    Judged,
    as_in,
    of_item,
    of_section,
    passes_named,
    reworded_change,
    subject_id,
)
from signrules.remedies.gap_changes import set_layers
from signrules.rules.checks import Check
from signrules.rules.contrast import CONTRASTS
from signrules.rules.judged_relief import layers_over

FURTHER_LAYERS = 2
"""How many more layers than computed are tried: where ink covers in part, relief is not simply
their sum.
"""

ROUNDING = 0.02
"""A dimension may move on beyond its limit by this share to come out round."""

_FIELD_OF_RULE = {
    "braille.text-clearance": ("braille", "below_text"),
    "mounting.lowest": ("mounting", "lowest_tactile"),
    "mounting.highest": ("mounting", "highest_tactile"),
    "finish.glare": ("surface", "finish"),
    "finish.gloss": ("surface", "gloss"),
}
"""Where the field of a rule on dimensions is not named as the rule is."""


def moved_dimension(check: Check, judged: Judged) -> Iterator[Change]:
    """The dimension moved to the nearest round value with which it is met, its tolerance kept."""
    for target, sign, value in _target_values(check, judged):
        section, name = _field_of_check(check)
        aim: float | Interval = target
        if isinstance(_stated_value(sign, section, name), Interval):
            aim = value.moved_to(target)
        yield restated_sign(judged.job, sign, (section, name), aim)


def restated_sign(job: Job, sign: Sign, field: tuple[str, str], value: Any) -> Change:
    """Another figure or word for a field of a sign."""
    section, name = field
    done = f"Make the {field_in_words(section, name)} of {sign.id} {in_unit(value, section)}"

    def words_for(job: Job) -> str:
        old_text = in_unit(_stated_value(as_in(job, "signs", sign), section, name), section)
        return f"{done} instead of {old_text}."

    return reworded_change(job, words_for, of_section(sign.id, section, **{name: value}))


def _stated_value(sign: Sign, section: str, name: str) -> Any:
    return getattr(getattr(sign, section), name, None)


def in_unit(value: Any, section: str) -> str:
    """A figure of a section of a sign with its unit, or a word."""
    if isinstance(value, Interval):
        value = value.nominal
    if not isinstance(value, int | float):
        return str(value)
    return number_text(value) if section == "surface" else f"{number_text(value)} mm"


def hung_elsewhere(check: Check, judged: Judged) -> Iterator[Change]:
    """The whole sign hung higher or lower, with all that is stated of its height over the floor."""
    for target, sign, value in _target_values(check, judged):
        yield _hung_at(judged.job, sign, _field_of_check(check), value, target)


def _hung_at(
    job: Job, sign: Sign, field: tuple[str, str], value: Interval, target: float
) -> Change:
    """A sign hung so that one of its fields comes to lie at a target, in mm above the floor."""
    shift = target - value.nominal
    edits: list[Edit] = []
    for section, names in (
        ("mounting", tuple(attribute.name for attribute in attrs.fields(Mounting))),
        ("visual", ("above_floor",)),
    ):
        heights = {name: _stated_value(sign, section, name) for name in names}
        known_heights = {name: height for name, height in heights.items() if height is not None}
        higher = {
            name: height.moved_to(height.nominal + shift) for name, height in known_heights.items()
        }
        if higher:
            edits.append(of_section(sign.id, section, **higher))

    def words_for(job: Job) -> str:
        height_before = _stated_value(as_in(job, "signs", sign), *field)
        difference = target - height_before.nominal
        direction = "higher" if difference > 0 else "lower"
        new_text, old_text = number_text(target), in_unit(height_before, field[0])
        place_words = f"{field_in_words(*field)} at {new_text} mm instead of {old_text}"
        return f"Hang {sign.id} {number_text(abs(difference))} mm {direction}: {place_words}."

    return reworded_change(job, words_for, *edits)


def other_word(check: Check, judged: Judged) -> Iterator[Change]:
    """A word that the standard allows."""
    sign = sign_of(check, judged)
    section, name = _field_of_check(check)
    if sign is None or getattr(sign, section) is None or check.found is None:
        return
    for word in check.allowed:
        yield restated_sign(judged.job, sign, (section, name), word)


def other_grade(check: Check, judged: Judged) -> Iterator[Change]:
    """The grade of braille that is asked for, where no cells are stated that must be made anew."""
    sign = sign_of(check, judged)
    if sign is not None and sign.braille is not None and sign.braille.cells is None:
        yield from other_word(check, judged)


def other_layers(check: Check, judged: Judged) -> Iterator[Change]:
    """As many layers of a pass as bring the relief that it builds into the range.

    Each pass that builds the feature is tried, the last one first.
    """
    measured, (least_height, most_height) = check.measured, check.limit
    if measured is None or check.unit != "mm":
        return
    for pass_index in reversed(list(passes_named(check.subjects[1:], judged))):
        item = judged.job.passes[pass_index]
        layer = judged.job.ink_of(item).layer
        if least_height is not None and measured.low < least_height - GUARD_MM:
            count, step = layers_over(least_height - GUARD_MM - measured.low, layer.low), 1
        elif most_height is not None and measured.high > most_height + GUARD_MM:
            count, step = -layers_over(measured.high - most_height - GUARD_MM, layer.high), -1
        else:
            return
        for further in range(FURTHER_LAYERS + 1):
            if item.layers + count + step * further >= 1:
                yield set_layers(judged.job, item, item.layers + count + step * further)


def plain_dome(check: Check, judged: Judged) -> Iterator[Change]:
    """Dots that a plain dome can have: fewer layers, or a base as wide as twice their height."""
    sign = sign_of(check, judged)
    if sign is None or sign.braille is None or check.measured is None or check.limit[1] is None:
        return
    excess = check.measured.high - check.limit[1]
    for item in judged.job.passes:
        layer = judged.job.ink_of(item).layer
        if f"{sign.id}.braille" in item.builds:
            count = item.layers - layers_over(excess, layer.high)
            if count >= 1:
                yield set_layers(judged.job, item, count)
    base = sign.braille.dot_diameter
    if base is not None:
        wider = round_inside(2 * check.measured.high, math.inf) - base.low
        yield _drawn_with_diameter(judged.job, sign, base.moved_to(base.nominal + wider))


def _drawn_with_diameter(job: Job, sign: Sign, diameter: Interval) -> Change:
    def words_for(job: Job) -> str:
        stated = _stated_value(as_in(job, "signs", sign), "braille", "dot_diameter")
        size_words = (
            f"{number_text(diameter.nominal)} mm wide instead of {in_unit(stated, 'braille')}"
        )
        return f"Draw the dots of {sign.id} {size_words}."

    return reworded_change(job, words_for, of_section(sign.id, "braille", dot_diameter=diameter))


def more_contrast(check: Check, judged: Judged) -> Iterator[Change]:
    """The darker of the two surfaces darker, or the lighter one lighter, as little as it takes.

    No surface reflects all light or none: 0 and 100 are not offered.
    """
    sign = sign_of(check, judged)
    if sign is None or sign.surface is None:
        return
    characters, background = sign.surface.character_lrv, sign.surface.background_lrv
    least_contrast = check.limit[0]
    if characters is None or background is None or check.measured is None or least_contrast is None:
        return
    formula = _contrast_formula(characters, background, check.measured.nominal)
    if formula is None:
        return
    of_lighter, of_darker = "character_lrv", "background_lrv"
    if characters < background:
        of_lighter, of_darker = of_darker, of_lighter
    lighter, darker = max(characters, background), min(characters, background)
    for value in range(math.floor(darker), 0, -1):
        if formula(lighter, float(value)) >= least_contrast:
            yield _other_reflectance(judged.job, sign, of_darker, value, "at most")
            break
    for value in range(math.ceil(lighter), 100):
        if formula(float(value), darker) >= least_contrast:
            yield _other_reflectance(judged.job, sign, of_lighter, value, "at least")
            break


def _contrast_formula(
    characters: float, background: float, contrast: float
) -> Callable[[float, float], float] | None:
    """The formula by which a standard comes to the contrast that was found: a check names none."""
    for formula in CONTRASTS.values():
        if abs(formula(characters, background) - contrast) <= 1e-9:
            return formula
    return None


def _other_reflectance(job: Job, sign: Sign, name: str, value: int, limit: str) -> Change:
    part_name = name.removesuffix("_lrv")
    reflectance = f"a light reflectance value of {limit} {value}"
    text = f"Choose a {part_name} colour for {sign.id} with {reflectance}"

    def words_for(job: Job) -> str:
        stated = _stated_value(as_in(job, "signs", sign), "surface", name)
        return f"{text} (now {in_unit(stated, 'surface')})."

    return reworded_change(job, words_for, of_section(sign.id, "surface", **{name: float(value)}))


def more_vacuum(check: Check, judged: Judged) -> Iterator[Change]:
    """Vacuum on as much more of the sheet as it takes to hold it."""
    named = subject_id(check)
    sheet: Media | None = next((media for media in judged.job.media if media.id == named), None)
    if sheet is None or check.measured is None or check.limit[0] is None or sheet.friction is None:
        return
    share, weight = sheet.vacuum_share or 0.0, sheet.friction * GRAVITY
    pulled = check.measured.low - weight
    if share > 0 and pulled > 0:
        # 101 stands for more than all of it: no share would do.
        needed = min(100 * share * (check.limit[0] - weight) / pulled, 101)
        percent = math.ceil(needed - 1e-9)
        if percent <= 100:
            yield _pulled_coverage(judged.job, sheet, percent)


def _pulled_coverage(job: Job, sheet: Media, percent: int) -> Change:
    def words_for(job: Job) -> str:
        old_text = number_text(100 * (as_in(job, "media", sheet).vacuum_share or 0.0))
        return f"Let the vacuum act on {percent} % of {sheet.id} instead of {old_text} %."

    return reworded_change(job, words_for, of_item("media", sheet.id, vacuum_share=percent / 100))


def round_inside(least: float, most: float, toward: float = -math.inf) -> float:
    """The value from `least` to `most` that lies nearest to `toward` and is round: as few decimals
    as may be.

    Rounding moves it by at most a fiftieth, and never out of the range.
    """
    if least <= toward <= most:
        return toward
    from_below = toward < least
    end = least if from_below else most
    for decimals in range(7):
        scale = 10.0**decimals
        if from_below:
            value = math.ceil(end * scale - 1e-6) / scale
        else:
            value = math.floor(end * scale + 1e-6) / scale
        if least - GUARD_MM <= value <= most + GUARD_MM and abs(value - end) <= ROUNDING * abs(end):
            return value
    return end


def _target_values(check: Check, judged: Judged) -> Iterator[tuple[float, Sign, Interval]]:
    """Nominal values with which the check is met, that first which serves all standards at once."""
    sign = sign_of(check, judged)
    if sign is None:
        return
    stated = _stated_value(sign, *_field_of_check(check))
    if isinstance(stated, float | int):
        stated = Interval.exact(stated)
    if not isinstance(stated, Interval):
        return
    alike = [
        other
        for other in judged.checks
        if (other.rule, other.subjects[0]) == (check.rule, check.subjects[0])
    ]
    seen_targets = []
    for checks in (alike, [check]):
        lower_bound, upper_bound = _common_bounds(checks, stated)
        # The ends must keep within the bounds, and the tolerance moves along with the nominal.
        least = lower_bound + stated.nominal - stated.low
        most = upper_bound - (stated.high - stated.nominal)
        if least <= most + GUARD_MM:
            target = round_inside(least, most, stated.nominal)
            if target not in seen_targets:
                seen_targets.append(target)
                yield target, sign, stated


def _common_bounds(checks: Iterable[Check], value: Interval) -> tuple[float, float]:
    """The least low end and the greatest high end of a value with which checks on it, or on its
    share, are met.
    """
    lower_bound, upper_bound = -math.inf, math.inf
    for check in checks:
        if check.measured is None:
            continue
        least, most = check.limit
        if least is not None:
            least_value = _limit_on_value(check, least, value.low, check.measured.low)
            lower_bound = max(lower_bound, least_value)
        if most is not None:
            most_value = _limit_on_value(check, most, value.high, check.measured.high)
            upper_bound = min(upper_bound, most_value)
    return lower_bound, upper_bound


def _limit_on_value(check: Check, limit: float, stated: float, measured: float) -> float:
    """The limit on a stated value that follows from one on what is measured of it.

    A length is carried over by its difference, a share by its factor.
    """
    if check.unit == "mm" or measured == 0:
        return limit + stated - measured
    return limit * stated / measured


def _field_of_check(check: Check) -> tuple[str, str]:
    section, _, name = check.rule.partition(".")
    return _FIELD_OF_RULE.get(check.rule, (section, name.replace("-", "_")))


def sign_of(check: Check, judged: Judged) -> Sign | None:
    """The sign that a check looked at."""
    sign_id = check.subjects[0].removeprefix("signs.")
    return next((sign for sign in judged.job.signs if sign.id == sign_id), None)


def field_in_words(section: str, name: str) -> str:
    """A field of a sign in words."""
    return f"{section} {name.replace('_lrv', ' light reflectance value').replace('_', ' ')}"
