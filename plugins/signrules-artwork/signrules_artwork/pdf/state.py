"""The graphics state of a walk through a page (ISO 32000-1, 8.4 and 9.3, from memory)."""

from __future__ import annotations

import copy
from typing import Any

from attrs import define, field

from signrules_artwork.affine import Matrix
from signrules_artwork.clipping import Clip
from signrules_artwork.painted import Ink
from signrules_artwork.pdf.colours import GRAY, ColourSpace
from signrules_artwork.strokes import Pen


@define
class Side:
    """What is painted with: a colour space and an ink, None for no mark at all. One side is for
    fills, one for strokes.
    """

    space: ColourSpace = GRAY
    ink: Ink | None = field(factory=lambda: GRAY.ink([0.0]))
    alpha: float = 1.0
    overprint: bool = False
    is_pattern: bool = False


@define
class Lettering:
    """The text state: font, its size and what is between letters."""

    font: Any = None
    size: float = 0.0
    letter_space: float = 0.0
    word_space: float = 0.0
    width_scale: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    mode: int = 0


@define
class GraphicsState:
    """All that `q` keeps and `Q` brings back. `matrix` leads to mm on the page."""

    matrix: Matrix
    clip: Clip
    fill: Side = field(factory=Side)
    stroke: Side = field(factory=Side)
    pen: Pen = field(factory=Pen)
    lettering: Lettering = field(factory=Lettering)
    alpha: float = 1.0
    plain_blend: bool = True
    fixed_colour: bool = False
    soft_mask: bool = False

    def kept(self) -> GraphicsState:
        """A copy that later changes leave alone."""
        same = copy.copy(self)
        same.fill, same.stroke = copy.copy(self.fill), copy.copy(self.stroke)
        same.lettering = copy.copy(self.lettering)
        return same


def first_state(matrix: Matrix, clip: Clip) -> GraphicsState:
    """The state in which a page starts."""
    return GraphicsState(matrix, clip)
