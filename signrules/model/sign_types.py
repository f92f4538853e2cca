"""What a shop states of signs that it makes again and again, and of lists of doors.

A sign type is a sign with the passes that make it, laid out from its own lower left corner. Its
texts may hold placeholders, such as `{room}`, for the words of one row of a door schedule.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from attrs import field, frozen

from signrules.model.declared import Metadata, Usual, declared_as
from signrules.model.declaring import (
    any_text,
    id_of,
    ids_of,
    list_of,
    one_or_more,
    one_word_of,
    plain_length,
    plugin_tables,
    said_text,
    short_name,
    table_of,
    texts_by_name,
    two_lengths,
)
from signrules.model.job import Job
from signrules.model.limits import SMALLEST_MM
from signrules.model.media import Media
from signrules.model.passes import FEATURES, Area, HeadSetting, Pass
from signrules.model.plugin_data import PluginData
from signrules.model.sign import Braille, Mounting, Pictogram, Raised, Sign, Surface, Visual

# One table, so that letters and dots that are aligned alike cannot come to lie apart.
SHARE_BEFORE: Mapping[str, float] = MappingProxyType({"left": 0.0, "centre": 0.5, "right": 1.0})
"""The share of a line that lies before its place, by how it is aligned."""

ALIGNMENTS = tuple(SHARE_BEFORE)
DATA = "data"
"""The key of what a sign, or a pass, says to plugins."""

SECTIONS = ("braille", "raised", "visual", "pictogram", "surface", "mounting", DATA)
"""The tables of a sign type that its signs have too."""

PRINTED_ON = ("sheets", "blanks")
TURNING = ("allowed", "never")

AXES = ("x", "y")
DECIMAL_MARKS = ("comma", "point")


@frozen
class TypePass:
    """One pass of a sign type, in the place where a sign lies.

    `areas` None are the places of what it builds, else those of the passes that it is `over`, else
    the whole sign. `coverage` None is the share that dots, or letters set from a font, take of
    their areas, where it prints on nothing else, and 1 elsewhere.
    """

    id: str = field(metadata=declared_as(Pass, "id", "what other passes of the type name it by"))
    ink: str = field(metadata=id_of("inks", "the ink of the shop that is printed"))
    areas: tuple[Area, ...] | None = field(
        default=None,
        metadata=declared_as(
            Pass,
            "areas",
            "what it prints on, from the corner of the sign",
            "where what it builds lies; else where the passes print that it is `over`; else the"
            " whole sign",
        ),
    )
    layers: int = field(default=1, metadata=declared_as(Pass, "layers"))
    coverage: float | None = field(
        default=None,
        metadata=declared_as(
            Pass,
            "coverage",
            otherwise="the share of dots and set letters whose places it takes; else 1",
        ),
    )
    gap: HeadSetting | None = field(
        default=None, metadata=declared_as(Pass, "gap", "as that of a pass")
    )
    side: str = field(default="front", metadata=declared_as(Pass, "side"))
    directions: int = field(default=2, metadata=declared_as(Pass, "directions"))
    crisp_on: str = field(
        default="lowest", metadata=declared_as(Pass, "crisp_on", "as `crisp_on` of a pass")
    )
    over: tuple[str, ...] = field(
        default=(), metadata=ids_of("passes", "passes of the type on whose ink it lands")
    )
    after: tuple[str, ...] = field(
        default=(), metadata=ids_of("passes", "passes of the type that come before it")
    )
    builds: tuple[str, ...] = field(
        default=(),
        metadata=one_or_more(
            one_word_of(FEATURES, ""),
            f"one of {', '.join(FEATURES)}, or a list of them",
            "what it builds of the sign",
        ),
    )
    data: PluginData = field(
        default=(), metadata=plugin_tables("what the pass says to plugins, as `data` of a pass")
    )


@frozen
class DotPlace:
    """Where the dots of a sign begin; lengths in mm from the corner of the sign."""

    at: tuple[float, float] = field(
        metadata=two_lengths(
            plain_length(""),
            "the left end, the middle or the right end of the first line of cells, at the centres"
            " of its upper dots",
        )
    )
    align: str = field(
        default="left",
        metadata=one_word_of(ALIGNMENTS, "which part of each line of cells lies at that x"),
    )


@frozen
class LetterPlace:
    """Where letters are set on a sign, and in which font; lengths in mm from its corner.

    What lies at `at` is the ink of the first line: its left end, its middle or its right end.
    """

    font: str = field(
        metadata=said_text("a font, TrueType or OpenType: the file, from where the shop file lies")
    )
    at: tuple[float, float] = field(
        metadata=two_lengths(
            plain_length(""),
            "the left end, the middle or the right end of the ink of the first line, on its"
            " baseline",
        )
    )
    align: str = field(
        default="left", metadata=one_word_of(ALIGNMENTS, "which part of each line lies at that x")
    )
    em: float | None = field(
        default=None,
        metadata=plain_length(
            "the size of the font",
            least=SMALLEST_MM,
            usual=(3.0, 900.0),
            otherwise="the one at which the capital I is as high as `height` of the letters says",
        ),
    )
    extra_spacing: float = field(
        default=0.0,
        metadata=plain_length("added between neighbouring characters", usual=(0.0, 20.0)),
    )


@frozen
class Lettering:
    """Which letters of a sign are set from a font."""

    raised: LetterPlace | None = field(
        default=None,
        metadata=table_of(LetterPlace, "a table with font and at", "those of `raised`"),
    )
    visual: LetterPlace | None = field(
        default=None,
        metadata=table_of(LetterPlace, "a table with font and at", "those of `visual`"),
    )


LETTERED = ("raised", "visual")
"""The features whose letters may be set from a font."""


def _section(name: str) -> Metadata:
    """A table that a sign of the type has too."""
    return declared_as(Sign, name, "as that of a sign")


@frozen
class SignType:
    """A sign that is made again and again, filled with the words of one row of a schedule."""

    sheet: tuple[str, ...] = field(
        metadata=one_or_more(
            id_of("sheets"),
            "an id, or a list of ids",
            "the stock sheet that it is made of, or those that it may be made of",
            least=1,
        )
    )
    artwork: str | None = field(
        default=None,
        metadata=said_text(
            "the file that shows what is printed, from where the shop file lies; in place of"
            " `passes`, and of the places of what they build"
        ),
    )
    passes: tuple[TypePass, ...] = field(
        default=(),
        metadata=list_of(
            table_of(TypePass, "a pass"),
            "a list of passes",
            "the prints that make it",
            least=1,
            otherwise="required, or `artwork`",
        ),
    )
    size: tuple[float, float] | None = field(
        default=None,
        metadata=declared_as(
            Media, "size", "along x and y", "that of `artwork`, else that of the sheet"
        ),
    )
    grain: str = field(
        default="x",
        metadata=one_word_of(
            AXES, "along which of its sides the grain of a sheet runs that has one"
        ),
    )
    kind: str | None = field(default=None, metadata=declared_as(Sign, "kind", "as that of a sign"))
    standards: tuple[str, ...] = field(
        default=(),
        metadata=declared_as(Job, "standards", "the dimension tables that it is sold under"),
    )
    text: tuple[str, ...] = field(default=(), metadata=declared_as(Sign, "text"))
    cells: tuple[str, ...] = field(
        default=(),
        metadata=list_of(
            any_text(""),
            "a list of texts",
            "its lines of braille, filled from columns",
            otherwise="`braille.cells`, else what a translator makes of the text",
        ),
    )
    dots: DotPlace | None = field(
        default=None,
        metadata=table_of(
            DotPlace, "a table with at", "where the dots begin", otherwise="`braille.area`"
        ),
    )
    lettering: Lettering | None = field(
        default=None,
        metadata=table_of(
            Lettering,
            "a table with raised or visual",
            "where its letters are set, and in which font",
            otherwise="`area` of the letters",
        ),
    )
    braille: Braille | None = field(default=None, metadata=_section("braille"))
    raised: Raised | None = field(default=None, metadata=_section("raised"))
    visual: Visual | None = field(default=None, metadata=_section("visual"))
    pictogram: Pictogram | None = field(default=None, metadata=_section("pictogram"))
    surface: Surface | None = field(default=None, metadata=_section("surface"))
    mounting: Mounting | None = field(default=None, metadata=_section("mounting"))
    data: PluginData = field(
        default=(), metadata=plugin_tables("what the sign says to plugins, as `data` of a sign")
    )

    def letters_of(self, feature: str) -> LetterPlace | None:
        """Where the letters of a feature are set from a font; None where they are not."""
        place: LetterPlace | None = getattr(self.lettering, feature, None)
        return place


def _distance(meaning: str, usual: Usual) -> Metadata:
    """A length that may be zero."""
    return plain_length(meaning, least=0.0, usual=usual)


@frozen
class TypeRule:
    """Which rows of a schedule are of a sign type: those whose columns are like the patterns."""

    type: str = field(metadata=id_of("sign_types", "the sign type"))
    where: tuple[tuple[str, str], ...] = field(
        default=(),
        metadata=texts_by_name(
            'patterns that the columns fit, by their names: `{ use = "office*" }`; none fits all'
        ),
    )


@frozen
class ScheduleUse:
    """How a shop reads door schedules: what their columns are called, and what they say."""

    columns: tuple[tuple[str, str], ...] = field(
        default=(),
        metadata=texts_by_name(
            "the heading of each column, by the name that placeholders call it:"
            ' `{ room = "Room No." }`; a column is also found by its name itself'
        ),
    )
    id: str = field(default="{room}", metadata=any_text("the id of the sign of a row"))
    type: str = field(default="{type?}", metadata=any_text("its sign type"))
    quantity: str = field(
        default="{quantity?}", metadata=any_text("how many are made; 1 where it is empty")
    )
    types: tuple[TypeRule, ...] = field(
        default=(),
        metadata=list_of(
            table_of(TypeRule, "a rule"),
            "a list of tables: [[schedule.types]] in TOML",
            "rules in place of `type`; the first that fits counts",
            otherwise="the type that `type` names, or the only one",
        ),
    )
    decimal: str | None = field(
        default=None,
        metadata=one_word_of(
            DECIMAL_MARKS, "the decimal mark of its numbers", otherwise="recognised and said"
        ),
    )
    worksheet: str | None = field(
        default=None,
        metadata=short_name("which sheet of a workbook is read", otherwise="its first, and said"),
    )
    printer: str | None = field(
        default=None,
        metadata=id_of("printers", "the printer of the shop", otherwise="its only one"),
    )
    registration_tolerance: float | None = field(
        default=None, metadata=declared_as(Job, "registration_tolerance")
    )


@frozen
class CompositionUse:
    """How a shop places signs on its sheets, and sheets on the bed. Lengths in mm."""

    print_on: str = field(
        default="sheets",
        metadata=one_word_of(
            PRINTED_ON,
            "`sheets`: whole sheets, or panels of them that the bed holds, which are cut up after"
            " printing. `blanks`: each sign on a blank that was cut before",
        ),
    )
    margin: float = field(
        default=0.0, metadata=_distance("kept free along the edges of a stock sheet", (0.0, 50.0))
    )
    gutter: float = field(
        default=0.0, metadata=_distance("kept free between signs, for the cut", (0.0, 30.0))
    )
    bed_margin: float = field(
        default=0.0, metadata=_distance("kept free along the edges of the bed", (0.0, 200.0))
    )
    bed_gutter: float = field(
        default=0.0, metadata=_distance("kept free between what lies on the bed", (0.0, 200.0))
    )
    turning: str = field(
        default="allowed",
        metadata=one_word_of(
            TURNING, "`allowed`: signs may lie turned by a quarter, unless a grain forbids it"
        ),
    )
    grain: tuple[tuple[str, str], ...] = field(
        default=(),
        metadata=texts_by_name(
            'along which side the grain of stock sheets runs: `{ brushed-2 = "x" }`'
        ),
    )


# What holds in a shop that says nothing of schedules: one object, as all of it is frozen.
USUAL_SCHEDULE = ScheduleUse()
USUAL_COMPOSITION = CompositionUse()
