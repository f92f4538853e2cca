"""What is done at the machine: passes with their gaps and areas, and handling."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from attrs import field, frozen

from signrules.model.declared import Metadata
from signrules.model.declaring import (
    any_text,
    id_of,
    id_text,
    ids_of,
    list_of,
    one_number_of,
    one_or_more,
    one_word_of,
    open_word,
    own_kind,
    plain_number,
    plugin_tables,
    said_text,
    share_above_none,
    short_name,
    table_by_key,
    table_of,
    toleranced_length,
    whole_number,
)
from signrules.model.handling_kinds import BUILTIN_KINDS
from signrules.model.limits import CELSIUS, MOST_LAYERS, SMALLEST_MM, is_length
from signrules.model.plugin_data import PluginData
from signrules.model.quantities import Interval

SURFACES_BELOW = ("media", "build-up")
"""What a gap may be set above."""

BED = "bed"
"""What the head plane is above where a pass states the plane itself."""

SIDES = ("front", "back")
OTHER_SIDE = {"front": "back", "back": "front"}
SURFACES = ("lowest", "highest")
FEATURES = ("braille", "raised", "visual")
MOST_PAGES = 1_000_000


@frozen
class Area:
    """A rectangle in mm from the lower corner of the media, as it lies with that side up: x, y,
    width, height.
    """

    x: float
    y: float
    width: float
    height: float


def _check_area(value: Any) -> Iterator[tuple[str, object, str]]:
    if not _is_area(value):
        yield "", value, f"[x, y, width, height], width and height of at least {SMALLEST_MM:g} mm"


def _is_area(value: object) -> bool:
    if not isinstance(value, Area) or not (is_length(value.x) and is_length(value.y)):
        return False
    sides = (value.width, value.height)
    return all(is_length(side) and side >= SMALLEST_MM for side in sides)


def sign_of_feature(feature: str) -> str:
    """The id of the sign of a feature such as "room-214.braille"."""
    return feature.rpartition(".")[0]


def area_of(meaning: str) -> Metadata:
    """A field that holds one area."""
    return own_kind("area", "four lengths [x, y, width, height]", _check_area, meaning)


AREA = area_of("")


@frozen
class Gap:
    """How the head is set for a pass: `extra` over the base gap, in mm, above one of
    `SURFACES_BELOW`.
    """

    extra: Interval = field(
        metadata=toleranced_length(
            "over the base gap: the spacer or the step of the dial",
            usual=(0.0, 10.0),
        )
    )
    above: str = field(
        default="media",
        metadata=one_word_of(
            SURFACES_BELOW, "above the bare sheet or above the highest ink on it", former_key="from"
        ),
    )

    @property
    def stated(self) -> Interval:
        """The length that is stated, above the surface that is named; in mm."""
        return self.extra


@frozen
class HeadAboveBed:
    """The head plane itself is stated: its height above the bed in mm, without any base gap.

    It is no `Gap` and has no `extra`: what holds a gap to a limit must not take a height for one.
    """

    head_above_bed: Interval = field(
        metadata=toleranced_length(
            "height of the head plane above the bed, without the base gap", usual=(0.3, 60.0)
        )
    )
    above: str = field(default=BED, init=False)

    @property
    def stated(self) -> Interval:
        """The length that is stated, above the bed; in mm."""
        return self.head_above_bed


HeadSetting = Gap | HeadAboveBed
"""How the head is set for a pass: both have `above` and `stated`."""


@frozen
class ArtworkSource:
    """The layer of a file of drawings from which a pass was read, and the file's SHA-256 then."""

    file: str = field(metadata=said_text("name of the file, from the folder of the job"))
    page: int = field(
        metadata=whole_number("the number of a page", 1, MOST_PAGES, "counted from 1")
    )
    layer: str = field(metadata=any_text("the layer, or the colorant of a file without layers"))
    fingerprint: str = field(
        metadata=said_text(
            "SHA-256 of the file when it was read, as `sha256:` and 64 hexadecimal digits"
        )
    )


@frozen
class Pass:
    """One print sent to the machine.

    `media` may be None where the job has one sheet, `areas` None for the whole sheet, `gap` None to
    let the planner choose, `registers_to` None for every pass on the same media and side.
    """

    id: str = field(metadata=id_text("shared with handling: no two of either alike"))
    ink: str = field(metadata=id_of("inks", "the ink that is printed"))
    media: str | None = field(
        default=None,
        metadata=id_of("media", "required where there are several", otherwise="the only sheet"),
    )
    areas: tuple[Area, ...] | None = field(
        default=None,
        metadata=list_of(
            AREA,
            "at least one area [x, y, width, height]",
            "what the pass prints on",
            least=1,
            otherwise="the whole sheet",
        ),
    )
    layers: int = field(
        default=1,
        metadata=whole_number(
            "a whole number of layers",
            1,
            MOST_LAYERS,
            "ink thicknesses, one on the other",
            usual=(1, 120),
        ),
    )
    coverage: float = field(
        default=1.0,
        metadata=share_above_none("share of the areas that gets ink", usual=(0.02, 1.0)),
    )
    gap: HeadSetting | None = field(
        default=None,
        metadata=table_by_key(
            {"extra": Gap, "head_above_bed": HeadAboveBed},
            "a gap: an extra above a surface, or the height of the head above the bed",
            'see below; `"auto"` lets the planner choose',
        ),
    )
    side: str = field(default="front", metadata=one_word_of(SIDES, "the side that is printed"))
    directions: int = field(default=2, metadata=one_number_of((1, 2), "1: prints one-way"))
    crisp_on: str = field(
        default="lowest",
        metadata=one_word_of(
            SURFACES, "the surface where the landing error must be within tolerance"
        ),
    )
    sheet_temperature: float | None = field(
        default=None,
        metadata=plain_number(
            CELSIUS,
            -50,
            300,
            "of the sheet while it prints",
            usual=(10.0, 80.0),
            unit=CELSIUS,
            otherwise="the job's `temperature`, or what `absorbed_dose` lets expect",
        ),
    )
    over: tuple[str, ...] = field(
        default=(),
        metadata=ids_of(
            "passes", "passes on whose ink it lands: after them, and registered to them"
        ),
    )
    after: tuple[str, ...] = field(
        default=(), metadata=ids_of("passes or handling", "passes and handling that come before it")
    )
    registers_to: tuple[str, ...] | None = field(
        default=None,
        metadata=ids_of("passes", "passes that it must register with", otherwise="see below"),
    )
    builds: tuple[str, ...] = field(
        default=(),
        metadata=one_or_more(
            any_text(""),
            "a feature of a sign, or a list of them",
            'the features that it builds: `"room-214.braille"`, `"room-214.raised"` or '
            '`"room-214.visual"`, of signs on the sheet of the pass',
        ),
    )
    artwork: tuple[ArtworkSource, ...] = field(
        default=(),
        metadata=one_or_more(
            table_of(ArtworkSource, "a table with file, page, layer and fingerprint"),
            "a table with file, page, layer and fingerprint, or a list of them",
            "where it was read from",
        ),
    )
    data: PluginData = field(
        default=(), metadata=plugin_tables("what it says to plugins, a table for each by its name")
    )

    @property
    def built_signs(self) -> tuple[str, ...]:
        """The ids of the signs of which it builds something."""
        return tuple(dict.fromkeys(sign_of_feature(feature) for feature in self.builds))

    def builds_any(self, kind: str) -> bool:
        """Whether it builds a feature of one kind, of whatever sign: one of `FEATURES`."""
        return any(feature.endswith(f".{kind}") for feature in self.builds)


@frozen
class Handling:
    """Anything else that is done at the machine once.

    `does` names its kind: a built-in one, or one that a plugin brings. `locates_by` names the
    method that puts the sheet back where it lay; None where nothing does.
    """

    id: str = field(metadata=id_text("shared with passes: no two of either alike"))
    does: str = field(metadata=open_word(tuple(BUILTIN_KINDS), "what is done"))
    media: str | None = field(
        default=None,
        metadata=id_of(
            "media",
            "what it is done to; a pause is done to none, and needs no load on the bed",
            otherwise="the only sheet",
        ),
    )
    locates_by: str | None = field(
        default=None,
        metadata=short_name(
            "the method of `printer.locating` by which every sheet of the load is put back"
        ),
    )
    after: tuple[str, ...] = field(
        default=(), metadata=ids_of("passes or handling", "passes and handling that come before it")
    )
