"""What lies on the bed and what is laid on it: media and inks."""

from __future__ import annotations

from attrs import field, frozen

from signrules.model.declaring import (
    any_text,
    expansion_coefficient,
    id_text,
    one_word_of,
    plain_length,
    plain_number,
    plugin_tables,
    quantity_of,
    short_name,
    toleranced_length,
    two_lengths,
)
from signrules.model.limits import SMALLEST_MM, THINNEST_MM
from signrules.model.passes import SIDES
from signrules.model.plugin_data import PluginData
from signrules.model.quantities import Interval

FLAT = Interval.exact(0.0)
ONLY_LOAD = "1"
"""The bed load of media that name none."""

HOLDS = ("vacuum", "adhesive", "tape", "pins", "none")
ROLES = ("colour", "white", "clear")
SHEET_TYPES = ("cast-acrylic", "extruded-acrylic")
"""Kinds of sheet whose thickness tolerance a published standard gives."""

# Usual ranges: common practice, no published source.


@frozen
class Media:
    """One rigid sheet. Lengths in mm; `at` is its lower corner on the bed, x along the carriage.

    What its material's table does not say, or says otherwise: `expansion` in millionths per kelvin,
    `density` in kg/m3, `heat_capacity` in J/(kg K). Hold: `vacuum_pressure` in Pa.
    """

    id: str = field(metadata=id_text("without `.`, `[` and `]`, like all ids"))
    thickness: Interval = field(
        metadata=toleranced_length("of the bare sheet", least=SMALLEST_MM, usual=(0.2, 25.0))
    )
    size: tuple[float, float] = field(
        metadata=two_lengths(
            plain_length("", least=SMALLEST_MM, usual=(15.0, 5000.0)), "along x and y"
        )
    )
    at: tuple[float, float] = field(
        default=(0.0, 0.0), metadata=two_lengths(plain_length(""), "lower corner on the bed")
    )
    material: str | None = field(
        default=None,
        metadata=any_text(
            "one that the catalogue knows (`signrules plugins` lists them), such as `acrylic`, or"
            " any other"
        ),
    )
    bow: Interval = field(
        default=FLAT,
        metadata=toleranced_length(
            "how far the sheet may stand off the bed; its high end counts", usual=(0.0, 6.0)
        ),
    )
    hold: str | None = field(default=None, metadata=one_word_of(HOLDS, "what keeps it in place"))
    load: str = field(
        default=ONLY_LOAD,
        metadata=short_name("the bed load; sheets of one load lie on the bed together"),
    )
    up: str = field(
        default="front",
        metadata=one_word_of(
            SIDES,
            "the side that lies up when the sheet first goes on the bed; each flip turns it. Put on"
            " again after another load, it lies as it lay when it came off",
        ),
    )
    sheet_type: str | None = field(
        default=None,
        metadata=one_word_of(
            SHEET_TYPES,
            "where `thickness` has no tolerance, that of the published standard is taken",
        ),
    )
    located_at: tuple[float, float] | None = field(
        default=None,
        metadata=two_lengths(
            plain_length(""),
            "the point that stays put when the sheet grows, from its lower corner as it is loaded",
            otherwise="the far end of the sheet counts",
        ),
    )
    expansion: Interval | None = field(
        default=None,
        metadata=expansion_coefficient(
            "coefficient of linear expansion", usual=(3.0, 200.0), otherwise="that of `material`"
        ),
    )
    density: float | None = field(
        default=None,
        metadata=quantity_of(
            "density", "of the sheet", usual=(300.0, 9000.0), otherwise="that of `material`"
        ),
    )
    heat_capacity: float | None = field(
        default=None,
        metadata=quantity_of(
            "heat capacity", "of the sheet", usual=(300.0, 2500.0), otherwise="that of `material`"
        ),
    )
    vacuum_pressure: float | None = field(
        default=None,
        metadata=quantity_of("pressure", "below that of the room", usual=(300.0, 95_000.0)),
    )
    vacuum_share: float | None = field(
        default=None,
        metadata=plain_number(
            "a share",
            0,
            1,
            "share of the sheet's area on which the vacuum acts",
            usual=(0.0005, 1.0),
        ),
    )
    friction: float | None = field(
        default=None,
        metadata=plain_number(
            "a coefficient of friction",
            0,
            10,
            "static coefficient between sheet and bed",
            usual=(0.05, 1.5),
        ),
    )
    data: PluginData = field(
        default=(), metadata=plugin_tables("what it says to plugins, a table for each by its name")
    )


@frozen
class Ink:
    """One ink; `layer` is the cured thickness in mm of one layer at full coverage; `role` is one of
    `ROLES`.
    """

    id: str = field(metadata=id_text("what passes name it by"))
    layer: Interval = field(
        metadata=toleranced_length(
            "cured thickness of one layer", least=THINNEST_MM, usual=(0.002, 0.1)
        )
    )
    role: str | None = field(default=None, metadata=one_word_of(ROLES, "what it is for"))
