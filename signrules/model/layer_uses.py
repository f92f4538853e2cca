"""What a shop makes of the layers of artwork: which ink prints them, or why none does."""

from __future__ import annotations

from attrs import field, frozen

from signrules.model.declared import declared_as
from signrules.model.declaring import (
    id_of,
    ids_of,
    one_or_more,
    one_word_of,
    said_text,
    short_name,
)
from signrules.model.passes import FEATURES, HeadSetting, Pass

EDGE, PICTOGRAM = "edge", "pictogram"
MARKS = (EDGE, PICTOGRAM)
"""What a layer that nothing prints may show: where the sign ends, the field of its pictogram."""

BRAILLE_DOTS = "braille"
"""The feature that may share a layer with letters: its shapes tell it from them."""

MATCHED_BY = ("step", "name", "colorant")
USES = ("ink", "marks", "leave_out")


@frozen
class LayerUse:
    """One row of `[[layers]]` of a shop file: which layers it is for, and what becomes of them.

    A layer fits a row if it has each of `step`, `step_type`, `name` and `colorant` that the row
    states. Names are patterns in which `*` stands for any characters, capitals or not.
    """

    step: str | None = field(
        default=None,
        metadata=short_name("the processing step that the file marks the layer with: `Braille`"),
    )
    step_type: str | None = field(
        default=None, metadata=short_name("the type of that step: `Cutting`")
    )
    name: str | None = field(
        default=None, metadata=short_name("the name of the layer, a pattern: `raised*`")
    )
    colorant: str | None = field(
        default=None, metadata=short_name("a spot colour that is used on the layer, a pattern")
    )
    ink: str | None = field(
        default=None, metadata=id_of("inks", "the ink of the shop that prints it")
    )
    layers: int = field(default=1, metadata=declared_as(Pass, "layers"))
    builds: tuple[str, ...] = field(
        default=(),
        metadata=one_or_more(
            one_word_of(FEATURES, ""),
            f"one of {', '.join(FEATURES)}, or a list of them",
            "the feature of its sign that the pass builds; several, where dots and letters share"
            " the layer",
        ),
    )
    id: str | None = field(
        default=None,
        metadata=short_name("the id of the pass that it makes", otherwise="the name of the layer"),
    )
    gap: HeadSetting | None = field(
        default=None, metadata=declared_as(Pass, "gap", "as that of a pass")
    )
    side: str = field(default="front", metadata=declared_as(Pass, "side"))
    directions: int = field(default=2, metadata=declared_as(Pass, "directions"))
    crisp_on: str = field(
        default="lowest", metadata=declared_as(Pass, "crisp_on", "as `crisp_on` of a pass")
    )
    after: tuple[str, ...] = field(
        default=(), metadata=ids_of("layers", "ids of rows whose passes come before")
    )
    over: tuple[str, ...] = field(
        default=(), metadata=ids_of("layers", "ids of rows on whose ink the pass lands")
    )
    marks: str | None = field(
        default=None,
        metadata=one_word_of(
            MARKS,
            "what the layer shows and nothing prints: the edge of the sign, or the field of its"
            " pictogram",
        ),
    )
    leave_out: str | None = field(
        default=None, metadata=said_text("the reason why the layer is not printed")
    )
