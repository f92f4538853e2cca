"""The layers of a page of a PDF: those of the file, or one a colorant where it has none."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from signrules.artwork.drawing import ArtworkLayer
from signrules_artwork.layering import OUTSIDE_LAYERS, layer_of
from signrules_artwork.painted import Ink, Painted, Writing
from signrules_artwork.pdf.colours import EVERY_COLORANT, PATTERN, PROCESS, RGB_COLORANT
from signrules_artwork.pdf.layer_groups import Chain
from signrules_artwork.pdf.walk import Walk

NO_SPOTS = frozenset({*PROCESS, RGB_COLORANT, PATTERN.name, EVERY_COLORANT})

Numbered = list[tuple[int, Writing]]


def layers_by_group(walk: Walk) -> dict[Chain, ArtworkLayer]:
    """The layers of a page of a file that has layers, lowest first."""
    painted: dict[Chain, list[Painted]] = {}
    written: dict[Chain, Numbered] = {}
    for mark in walk.painted:
        painted.setdefault(mark.layer, []).append(mark)
    for number, writing in enumerate(walk.writings):
        if writing.ink is not None and writing.text.strip():
            for chain in writing.layers:
                written.setdefault(chain, []).append((number, writing))
                painted.setdefault(chain, [])
    return {
        chain: _group_layer(walk, chain, marks, written.get(chain, []))
        for chain, marks in painted.items()
    }


def _group_layer(
    walk: Walk, chain: Chain, marks: Sequence[Painted], written: Numbered
) -> ArtworkLayer:
    name = walk.groups.name_of(chain) if chain else OUTSIDE_LAYERS
    layer = layer_of(name, marks, written, walk.reading)
    step, step_type = walk.groups.step_of(chain)
    return evolve(
        layer,
        step=step,
        step_type=step_type,
        colorants=_spots_of(marks),
        hidden=walk.groups.is_hidden(chain),
    )


def layers_by_colorant(walk: Walk) -> dict[Chain, ArtworkLayer]:
    """The layers of a page of a file without layers: one a colorant. White lies on all of them,
    and so does the colorant All.
    """
    names = dict.fromkeys(name for mark in walk.painted for name in mark.ink.tints)
    inks = [writing.ink for writing in walk.writings if writing.ink is not None]
    names |= dict.fromkeys(name for ink in inks for name in ink.tints)
    if len(names) > 1:
        names.pop(EVERY_COLORANT, None)
    if len(names) > 1:
        walk.reading.note(
            "the file has no layers: each colorant is one, and takes nothing away from the others"
        )
    layers: dict[Chain, ArtworkLayer] = {}
    for name in names:
        marks = [mark for each in walk.painted for mark in _in_colorant(each, name)]
        written = [
            (number, writing)
            for number, writing in enumerate(walk.writings)
            if writing.ink is not None and _tint_in(writing.ink, name) > 0
        ]
        layer = layer_of(name, marks, written, walk.reading)
        layers[("colorant", name)] = evolve(layer, colorants=_spots_of(marks))
    return layers


def _in_colorant(mark: Painted, name: str) -> list[Painted]:
    """What a mark leaves in one colorant; white stays white."""
    if not mark.ink.tints:
        return [mark]
    tint = _tint_in(mark.ink, name)
    return [evolve(mark, ink=Ink({name: tint}))] if tint > 0 else []


def _tint_in(ink: Ink, name: str) -> float:
    return ink.tints.get(name, ink.tints.get(EVERY_COLORANT, 0.0))


def _spots_of(marks: Sequence[Painted]) -> tuple[str, ...]:
    """Names of the spot colours among what was painted."""
    names = dict.fromkeys(name for mark in marks for name in mark.ink.tints)
    return tuple(name for name in names if name not in NO_SPOTS)
