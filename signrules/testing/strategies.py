"""Hypothesis strategies for the parts of a job: each draws anything that the model allows, in sizes
as in a shop.

Lengths are drawn as whole hundredths of a millimetre, so that what a failing test shrinks to is
short and easy to read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

import attrs
from hypothesis import strategies as st

from signrules.model.declared import declared_fields
from signrules.model.letter_lines import LetterLine
from signrules.model.media import HOLDS, ROLES, Ink, Media
from signrules.model.passes import BED, Area, ArtworkSource, Gap, HeadAboveBed, HeadSetting
from signrules.model.printer import Dial, Minutes, Printer, Spacers
from signrules.model.quantities import Interval
from signrules.model.sign import (
    TOPS,
    Braille,
    Measured,
    Mounting,
    Pictogram,
    Raised,
    Sign,
    Surface,
    Visual,
)

T = TypeVar("T")

GRID_MM = 5.0
"""Sides of sheets and areas are multiples of this, so that areas overlap and touch often."""

SLOT_MM = 100.0
"""Sheets lie in slots of this width along x, one each, so that they never overlap."""


def hundredths(least: int, most: int) -> st.SearchStrategy[float]:
    """Lengths in mm with two decimals; `least` and `most` in hundredths of a mm."""
    return st.integers(least, most).map(lambda count: count / 100)


@st.composite
def intervals(draw: st.DrawFn, least: int, most: int, spread: int = 20) -> Interval:
    """Exact or toleranced lengths; `least`, `most` and the widest `spread` in
    hundredths of a mm.
    """
    low = draw(st.integers(least, most))
    return Interval.between(low / 100, (low + draw(st.integers(0, spread))) / 100)


def maybe(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    """None, or what the strategy gives."""
    return st.none() | strategy


def seldom(usual: st.SearchStrategy[T], rare: st.SearchStrategy[T]) -> st.SearchStrategy[T]:
    """What is usual, and once in about ten draws what is rare."""
    return st.integers(0, 9).flatmap(lambda roll: rare if roll == 9 else usual)


def stated(names: Sequence[str]) -> st.SearchStrategy[frozenset[str]]:
    """Some of the names.

    One draw for all of them, since a job has very many fields that may be left out.
    """
    return st.integers(0, 2 ** len(names) - 1).map(
        lambda bits: frozenset(name for position, name in enumerate(names) if bits >> position & 1)
    )


def given(
    value: T | st.SearchStrategy[T] | None, otherwise: st.SearchStrategy[T]
) -> st.SearchStrategy[T]:
    """What an argument narrows: a strategy as it is, a value alone, for None the usual strategy."""
    if value is None:
        return otherwise
    return value if isinstance(value, st.SearchStrategy) else st.just(value)


@st.composite
def printers(draw: st.DrawFn) -> Printer:
    """Printers with a bed of 400 x 200 mm, spacers or a dial, and no word on drops, heat and time.

    `arbitrary_jobs` adds that.
    """
    spacers = st.lists(hundredths(10, 300), max_size=4, unique=True).map(
        lambda found: Spacers(tuple(found))
    )
    dials = st.builds(
        Dial,
        max=seldom(hundredths(100, 500), hundredths(500, 20_000)),
        step=st.sampled_from([0.1, 0.25, 0.5, 1.0]),
    )
    return Printer(
        bed=(400.0, 200.0),
        base_gap=draw(intervals(100, 250)),
        min_clearance=draw(hundredths(0, 150)),
        gap=draw(spacers | dials),
        head_length=draw(st.sampled_from([5.0, 20.0, 40.0])),
        carriage_speed=draw(st.sampled_from([400.0, 800.0, 1200.5])),
        drop_speed=draw(st.sampled_from([5000.0, 6000.0, 7500.25])),
        max_throw=draw(maybe(hundredths(200, 800))),
        resolution=draw(maybe(st.sampled_from([300.0, 600.0, 1200.0]))),
        landing_tolerance=draw(maybe(hundredths(2, 30))),
        locating=draw(st.sampled_from([(), (("pins", 0.1),), (("pins", 0.1), ("stops", 0.5))])),
        minutes=draw(
            st.builds(
                Minutes,
                load=maybe(st.integers(0, 20).map(float)),
                gap=maybe(st.integers(0, 20).map(float)),
                alignment=maybe(st.integers(0, 20).map(float)),
            )
        ),
        name=draw(maybe(st.sampled_from(["bench one", "the big bed"]))),
    )


@st.composite
def inks(draw: st.DrawFn, id: str = "ink-0") -> Ink:
    """Inks of 5 to 60 micrometres a layer."""
    thin = draw(st.integers(5, 60))
    # In whole micrometres: hundredths of a mm would be too coarse for ink.
    layer = Interval.between(thin / 1000, (thin + draw(st.integers(0, 6))) / 1000)
    return Ink(id, layer, draw(st.sampled_from([None, *ROLES])))


@st.composite
def media(draw: st.DrawFn, slot: int = 0, loads: int = 1) -> Media:
    """One sheet in its slot of the bed, in one of so many bed loads."""
    return Media(
        id=f"sheet-{slot}",
        thickness=draw(intervals(50, 600)),
        size=(draw(st.integers(4, 20)) * GRID_MM, draw(st.integers(4, 30)) * GRID_MM),
        at=(slot * SLOT_MM, draw(st.integers(0, 10)) * GRID_MM),
        material=draw(maybe(st.sampled_from(["acrylic", "brass", "unheard of"]))),
        bow=draw(st.just(Interval.exact(0.0)) | intervals(0, 40)),
        hold=draw(st.sampled_from([None, *HOLDS])),
        load=str(draw(st.integers(1, loads))),
    )


@st.composite
def areas(draw: st.DrawFn, sheet: Media) -> Area:
    """A rectangle inside a sheet, on a coarse grid, so that areas overlap and touch often."""
    # A sheet narrower than the grid still has one column.
    columns, rows = (max(1, int(side / GRID_MM)) for side in sheet.size)
    step_x, step_y = (min(GRID_MM, side) for side in sheet.size)
    x, y = draw(st.integers(0, columns - 1)), draw(st.integers(0, rows - 1))
    width, height = draw(st.integers(1, columns - x)), draw(st.integers(1, rows - y))
    return Area(x * step_x, y * step_y, width * step_x, height * step_y)


@st.composite
def gaps(
    draw: st.DrawFn, references: tuple[str, ...] = ("media", "build-up", "bed")
) -> HeadSetting:
    """Stated gaps: an extra above a surface, or "bed" for the height of the head plane itself."""
    reference = draw(st.sampled_from(references))
    if reference == BED:
        return HeadAboveBed(draw(intervals(600, 1200, 5)))
    return Gap(draw(intervals(0, 300, 5)), reference)


@st.composite
def signs(draw: st.DrawFn, sheet: Media, id: str = "sign-0") -> Sign:
    """Signs of which anything may be left unsaid; `arbitrary_signs` says more."""

    def length(least: int, most: int) -> Interval | None:
        return draw(maybe(intervals(least, most)))

    return Sign(
        id=id,
        media=sheet.id,
        kind=draw(maybe(st.sampled_from(["permanent-room", "directional"]))),
        text=tuple(
            draw(st.lists(st.sampled_from(["ROOM 9", 'A "B" \\ C', "two\nlines", "Ä"]), max_size=2))
        ),
        braille=draw(
            maybe(
                st.builds(
                    Braille,
                    cells=maybe(st.text(alphabet="\u2800\u2801\u283f\u28ff \n", max_size=6)),
                    dot_diameter=maybe(intervals(140, 170)),
                    dot_spacing=maybe(intervals(230, 260)),
                    clear_space=maybe(intervals(500, 1500)),
                    language=st.sampled_from(["en", "sv"]),
                    proper=st.sampled_from([(), ("Lindgren",)]),
                    acronyms=st.sampled_from([(), ("IT", "A")]),
                )
            )
        ),
        raised=draw(
            st.none()
            | st.just(Raised(height=length(1500, 5000), stroke=length(100, 900), case="upper"))
        ),
        visual=draw(st.none() | st.just(Visual(height=length(1500, 5000), style="sans-serif"))),
        pictogram=draw(st.none() | st.just(Pictogram(length(15000, 16000)))),
        surface=draw(
            st.none() | st.just(Surface("matte", 82.0, draw(maybe(st.integers(0, 100).map(float)))))
        ),
        mounting=draw(
            st.none() | st.just(Mounting(length(120000, 130000), length(130000, 150000)))
        ),
        measured=draw(
            st.none()
            | st.just(Measured(dot_height=tuple(draw(st.lists(hundredths(50, 90), max_size=3)))))
        ),
    )


_SIZES: Mapping[str, tuple[int, int]] = MappingProxyType(
    {
        "braille.dot_diameter": (0, 200),
        "braille.dot_spacing": (0, 300),
        "braille.cell_spacing": (0, 800),
        "braille.line_spacing": (0, 1200),
        "braille.dot_height": (0, 120),
        "braille.dome_radius": (0, 120),
        "raised.depth": (0, 160),
        "raised.stroke": (0, 800),
        "visual.viewing_distance": (0, 2_000_000),
        "visual.above_floor": (0, 400_000),
        "mounting.lowest_tactile": (0, 200_000),
        "mounting.highest_tactile": (0, 200_000),
        "mounting.centre": (0, 200_000),
        "mounting.lowest_part": (0, 200_000),
        "mounting.highest_part": (0, 200_000),
        "mounting.highest_braille": (0, 200_000),
    }
)
_USUAL_SIZE = (0, 6000)
_OTHER: Mapping[str, st.SearchStrategy[Any]] = MappingProxyType(
    {
        "cells": st.text(alphabet="⠁⠃⠉⠼⠠⠀\n ⣿", max_size=6),
        "language": st.just("sv"),
        "lines": st.just((LetterLine(Interval.exact(20.0), Interval.exact(2.5)),)),
        "proper": st.just(("Lindgren",)),
        "acronyms": st.just(("IT", "A")),
        "character_lrv": st.integers(0, 100).map(float),
        "background_lrv": st.integers(0, 100).map(float),
        "gloss": st.integers(0, 2000).map(float),
        "dot_height": st.lists(hundredths(0, 150), max_size=3).map(tuple),
        "depth": st.lists(hundredths(0, 150), max_size=3).map(tuple),
    }
)

SECTIONS: Mapping[str, type] = MappingProxyType(
    {
        "braille": Braille,
        "raised": Raised,
        "visual": Visual,
        "pictogram": Pictogram,
        "surface": Surface,
        "mounting": Mounting,
        "measured": Measured,
    }
)
"""The sections of a sign."""


def _value_of(section: str, field: str) -> st.SearchStrategy[Any]:
    declared = declared_fields(SECTIONS[section])[field]
    if declared.kind == "toleranced length":
        return intervals(*_SIZES.get(f"{section}.{field}", _USUAL_SIZE))
    if declared.words:
        return st.sampled_from(declared.words)
    return _OTHER[field]


_VALUES: Mapping[str, Mapping[str, st.SearchStrategy[Any]]] = MappingProxyType(
    {
        name: {
            field.name: _value_of(name, field.name)
            for field in attrs.fields(cls)
            if field.name != "area"
        }
        for name, cls in SECTIONS.items()
    }
)


@st.composite
def arbitrary_signs(draw: st.DrawFn, sheet: Media, id: str = "sign-0") -> Sign:
    """Signs with any section and any field that the model knows, each of them drawn or left out."""
    sections = {}
    for name in sorted(draw(stated(tuple(SECTIONS)))):
        chosen = draw(stated(tuple(field.name for field in attrs.fields(SECTIONS[name]))))
        values = {key: draw(value) for key, value in _VALUES[name].items() if key in chosen}
        if "area" in chosen:
            values["area"] = draw(areas(sheet))
        for ends in (("lowest_tactile", "highest_tactile"), ("lowest_part", "highest_part")):
            if values.keys() >= set(ends):
                # The model refuses a lowest above its highest.
                low, high = sorted((values[end] for end in ends), key=lambda end: end.nominal)
                values |= dict(zip(ends, (low, high), strict=True))
        sections[name] = SECTIONS[name](**values)
    return Sign(
        id=id,
        media=sheet.id,
        kind=draw(_KINDS),
        text=tuple(draw(_TEXTS)),
        area=draw(maybe(areas(sheet))),
        top=draw(st.sampled_from(TOPS)),
        **sections,
    )


_KINDS = st.sampled_from([None, "permanent-room", "directional", "unheard-of"])
_TEXTS = st.lists(st.sampled_from(["ROOM 9", "a", "", "IT", 'A "B" \\ C', "Ä"]), max_size=2)


def some_of(ids: Iterable[str]) -> st.SearchStrategy[tuple[str, ...]]:
    """None, one or two of the ids."""
    known_ids = list(ids)
    if not known_ids:
        return st.just(())
    return st.lists(st.sampled_from(known_ids), max_size=2, unique=True).map(tuple)


artwork_sources = st.lists(
    st.builds(
        ArtworkSource,
        file=st.sampled_from(["sign.pdf", "folder/sign.svg"]),
        page=st.integers(1, 3),
        layer=st.sampled_from(["dots", "Layer 1"]),
        fingerprint=st.integers(0, 16**64 - 1).map("sha256:{:064x}".format),
    ),
    max_size=2,
).map(tuple)
"""Where a pass may have been read from."""
