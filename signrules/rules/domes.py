"""Braille dots as domes: how high a plain one can stand on its base."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.physics.ink import cap_limit
from signrules.rules.checks import Draft, Level, check, geometry, missing
from signrules.rules.declaration import rule
from signrules.rules.judged_relief import dot_heights, untold_height


@rule(
    "braille.dome",
    each="sign",
    level=Level.REVIEW,
    source=geometry(
        "a dome that is part of a sphere and does not overhang is at most half as high as its base"
        " is wide"
    ),
    breaks={"passes.dots.layers": 27},
    meets={},
)
def braille_dome(item: Sign, heights: Heights) -> Iterator[Draft]:
    """A dot that is predicted or measured higher than half its base cannot be a plain dome.

    It is a cylinder with a dome on top, or it overhangs. A measured or declared height is a fact
    and gets a NOTE. A height predicted from the passes is REVIEW if it is certainly too high,
    because the dots may not come out that way. If only the height or only the base is known, the
    check asks for the other; if neither is, there is no check. A base whose tolerance reaches 0 is
    not judged.

    Why it matters: a wet drop spreads to a cap; steep sides need layers that are pinned as they go
    on, and overhanging ones catch the finger.
    A job that breaks it: dots of 0.9 mm on a base of 1.6 mm.
    One that meets it: dots of 0.73 mm on a base of 1.55 mm.
    """
    base = None if item.braille is None else item.braille.dot_diameter
    dots_measured = list(dot_heights(item, heights))
    if base is None:
        if dots_measured:
            yield missing(
                f"signs.{item.id}.braille.dot_diameter", "whether the dots can be plain domes"
            )
        return
    if not dots_measured:
        what = "whether the dots can be plain domes"
        untold = untold_height(item, heights, "braille", what)
        yield untold or missing(f"signs.{item.id}.braille.dot_height", what)
    if base.low <= 0:
        return
    for how, height in dots_measured:
        # The lowest dot on the widest base is still too steep.
        certain = height.low > cap_limit(base.high) + GUARD_MM
        yield check(
            f"the {how} dot height{_less_than_dome(base)} to that of a plain dome on a base of"
            f" {base.low:g} mm",
            measured=_on_the_narrowest(height, base),
            most=cap_limit(base.low),
            advice=(
                "Such a dot is no plain dome: pin the layers as they go on, or draw the base wider."
            ),
            level=Level.REVIEW if how == "predicted" and certain else Level.NOTE,
        )


def _less_than_dome(base: Interval) -> str:
    return (
        "" if base.is_exact else f", less half of what the base may be wider than {base.low:g} mm,"
    )


def _on_the_narrowest(height: Interval, base: Interval) -> Interval:
    """The height less what a plain dome gains where the base is wider than its low end: both
    tolerances in one.
    """
    narrow_gain, most_gain = (
        cap_limit(width) - cap_limit(base.low) for width in (base.nominal, base.high)
    )
    return Interval(height.low - most_gain, height.nominal - narrow_gain, height.high)
