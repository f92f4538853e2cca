"""Invented signs that are all alike, for ganged beds: a room's name in raised characters with
braille below.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from signrules.model import Braille, Interval, Mounting, Pass, Raised, Sign, Surface

EXACT = Interval.exact
BUILDS = {"dots": "braille", "letters": "raised"}
"""Which kind of pass builds which feature of a sign."""


def alike_signs(sheets: Sequence[str], count: int) -> list[Sign]:
    """Alike signs, spread over the sheets."""
    return [_sign(number, sheets[number % len(sheets)]) for number in range(count)]


def _sign(number: int, sheet: str) -> Sign:
    """A room's sign; the first of each sheet is built by its passes, the others are declared as
    those come out.
    """
    return Sign(
        id=f"room-{number + 1}",
        media=sheet,
        kind="permanent-room",
        text=("ROOM 9",),
        braille=Braille(
            cells="⠗⠕⠕⠍⠀⠼⠊",
            dot_diameter=EXACT(1.55),
            dot_spacing=EXACT(2.4),
            cell_spacing=EXACT(6.2),
            line_spacing=EXACT(10.1),
            clear_space=EXACT(10.0),
            below_text=EXACT(10.0),
            dot_height=EXACT(0.72),
            shape="domed",
            grade="contracted",
        ),
        raised=Raised(
            height=EXACT(16.0),
            width=EXACT(14.0),
            stroke=EXACT(2.3),
            spacing=EXACT(8.0),
            line_spacing=EXACT(24.0),
            depth=EXACT(0.84),
            case="upper",
            style="sans-serif",
        ),
        surface=Surface(finish="matte", character_lrv=82, background_lrv=8),
        mounting=Mounting(EXACT(1300.0), EXACT(1390.0)),
    )


def building(made: list[Pass], signs: list[Sign]) -> list[Pass]:
    """The passes, those that make dots and letters said to build the first sign of their sheet;
    signs say the rest.
    """
    first: dict[str | None, str] = {}
    for one in signs:
        first.setdefault(one.media, one.id)
    found = []
    for item in made:
        feature = BUILDS.get(item.id.partition("-")[2])
        builds: tuple[str, ...] = ()
        if feature and item.media in first:
            builds = (f"{first[item.media]}.{feature}",)
        found.append(evolve(item, builds=builds))
    built = {feature for item in found for feature in item.builds}
    for at, one in enumerate(signs):
        if f"{one.id}.braille" in built and one.braille is not None:
            one = evolve(one, braille=evolve(one.braille, dot_height=None))
        if f"{one.id}.raised" in built and one.raised is not None:
            one = evolve(one, raised=evolve(one.raised, depth=None))
        signs[at] = one
    return found


def with_wide_dots(sign: Sign) -> Sign:
    """The sign with one mistake: the dots of its cells stand too far apart."""
    assert sign.braille is not None
    return evolve(sign, braille=evolve(sign.braille, dot_spacing=EXACT(3.4)))
