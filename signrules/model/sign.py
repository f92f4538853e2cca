"""A finished sign as the standards see it: its dimensions, its surface, where it hangs, what was
measured.

Every length is in mm. A field that is None was not stated; a rule that needs it comes out
UNASSESSED.
"""

from __future__ import annotations

from attrs import field, frozen

from signrules.model.declared import Metadata, Usual
from signrules.model.declaring import (
    any_text,
    braille_cells,
    id_of,
    id_text,
    list_of,
    one_word_of,
    plain_length,
    plain_number,
    plugin_tables,
    short_name,
    table_of,
    toleranced_length,
)
from signrules.model.letter_lines import LetterLine, lines_of_sizes
from signrules.model.passes import Area, area_of
from signrules.model.plugin_data import PluginData
from signrules.model.quantities import Interval

CASES = ("upper", "lower", "mixed")
STYLES = ("sans-serif", "serif", "italic", "oblique", "script", "decorative", "other")
FINISHES = ("matte", "eggshell", "gloss")
SHAPES = ("domed", "rounded", "flat", "pointed", "other")
POSITIONS = ("below", "above", "beside")
AS_TEXT, OUTLINES, UNLIKE_TEXT = DRAWN = ("text", "outlines", "unlike-text")
TOPS = ("far", "near", "left", "right")
CONTRACTED, UNCONTRACTED = GRADES = ("contracted", "uncontracted")

# Usual ranges: common practice, no published source.


def _lengths(meaning: str, usual: Usual) -> Metadata:
    return list_of(plain_length("", usual=usual), "a list of lengths", meaning)


def _texts(meaning: str, expected: str) -> Metadata:
    return list_of(short_name(""), expected, meaning)


def _reflectance() -> Metadata:
    return plain_number(
        "a light reflectance value",
        0,
        100,
        "light reflectance value",
        usual=(2.0, 98.0),
        unit="LRV",
    )


@frozen
class Braille:
    """Braille of a sign. `cells` are Unicode braille patterns; spacings are centre to centre."""

    cells: str | None = field(
        default=None, metadata=braille_cells("spaces and line ends may stand between")
    )
    dot_diameter: Interval | None = field(
        default=None, metadata=toleranced_length("at the base", usual=(1.0, 2.2))
    )
    dot_spacing: Interval | None = field(
        default=None, metadata=toleranced_length("centre to centre within a cell", usual=(2.0, 3.2))
    )
    cell_spacing: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "centre to centre of the same dot in the next cell", usual=(5.0, 9.0)
        ),
    )
    line_spacing: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "centre to centre of the same dot in the next line", usual=(9.0, 30.0)
        ),
    )
    dot_height: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "where no pass builds the dots; where one does, what it builds is judged",
            usual=(0.1, 1.5),
        ),
    )
    clear_space: Interval | None = field(
        default=None,
        metadata=toleranced_length("to raised characters and raised borders", usual=(3.0, 300.0)),
    )
    dome_radius: Interval | None = field(
        default=None,
        metadata=toleranced_length("of the sphere of which the dots are a part", usual=(0.5, 5.0)),
    )
    below_text: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "from the last line of raised text down to the braille", usual=(3.0, 100.0)
        ),
    )
    shape: str | None = field(default=None, metadata=one_word_of(SHAPES, "of the dots"))
    grade: str | None = field(
        default=None,
        metadata=one_word_of(GRADES, "what the cells are", otherwise="what the standards ask for"),
    )
    language: str = field(
        default="en", metadata=short_name("language tag of the text, for a translator")
    )
    proper: tuple[str, ...] = field(
        default=(),
        metadata=_texts(
            'names in the text that keep their capitals in braille: `["Lindgren"]`',
            "a list of names",
        ),
    )
    acronyms: tuple[str, ...] = field(
        default=(),
        metadata=_texts(
            'words of the text that are spelled out in capitals: `["IT"]`', "a list of acronyms"
        ),
    )
    position: str | None = field(
        default=None,
        metadata=one_word_of(
            POSITIONS, "where it lies, seen from the whole of the text that it repeats"
        ),
    )
    area: Area | None = field(
        default=None,
        metadata=area_of("where it lies on its sheet, for a pass that builds more of the sign"),
    )


@frozen
class Raised:
    """Raised characters: height and stroke of the capital I, gap between characters, baseline to
    baseline.
    """

    height: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital I", usual=(6.0, 120.0))
    )
    stroke: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital I", usual=(0.8, 25.0))
    )
    depth: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "relief, where no pass builds the characters; where one does, what it builds is judged",
            usual=(0.2, 10.0),
            former_key="relief",
        ),
    )
    spacing: Interval | None = field(
        default=None,
        metadata=toleranced_length("gap between neighbouring characters", usual=(0.5, 60.0)),
    )
    line_spacing: Interval | None = field(
        default=None, metadata=toleranced_length("baseline to baseline", usual=(10.0, 250.0))
    )
    case: str | None = field(default=None, metadata=one_word_of(CASES, "of the characters"))
    style: str | None = field(default=None, metadata=one_word_of(STYLES, "of the typeface"))
    width: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital O", usual=(4.0, 150.0))
    )
    word_spacing: Interval | None = field(
        default=None, metadata=toleranced_length("gap between words", usual=(2.0, 120.0))
    )
    clear_space: Interval | None = field(
        default=None,
        metadata=toleranced_length("to raised borders and decoration", usual=(3.0, 300.0)),
    )
    drawn: str | None = field(
        default=None,
        metadata=one_word_of(
            DRAWN,
            "how artwork has them: `outlines`, which nobody has read, or `unlike-text`, where their"
            " shapes do not fit the text; `text` once somebody has read them",
            otherwise="they are taken to say the text",
        ),
    )
    area: Area | None = field(
        default=None,
        metadata=area_of("where it lies on its sheet, for a pass that builds more of the sign"),
    )
    lines: tuple[LetterLine, ...] = field(default=(), metadata=lines_of_sizes())


@frozen
class Visual:
    """Characters read by eye."""

    height: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital I", usual=(3.0, 600.0))
    )
    stroke: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital I", usual=(0.3, 150.0))
    )
    spacing: Interval | None = field(
        default=None,
        metadata=toleranced_length("gap between neighbouring characters", usual=(0.2, 200.0)),
    )
    line_spacing: Interval | None = field(
        default=None, metadata=toleranced_length("baseline to baseline", usual=(4.0, 1200.0))
    )
    style: str | None = field(default=None, metadata=one_word_of(STYLES, "of the typeface"))
    viewing_distance: Interval | None = field(
        default=None, metadata=toleranced_length("level", usual=(200.0, 60_000.0))
    )
    above_floor: Interval | None = field(
        default=None, metadata=toleranced_length("of the baseline", usual=(500.0, 8000.0))
    )
    width: Interval | None = field(
        default=None, metadata=toleranced_length("of the capital O", usual=(2.0, 700.0))
    )
    repeats: str | None = field(
        default=None,
        metadata=one_word_of(
            ("raised",),
            "`raised` where these characters say once more, apart from the raised ones, what those"
            " say",
        ),
    )
    area: Area | None = field(
        default=None,
        metadata=area_of("where it lies on its sheet, for a pass that builds more of the sign"),
    )
    lines: tuple[LetterLine, ...] = field(default=(), metadata=lines_of_sizes())


@frozen
class Pictogram:
    """A pictogram; the standards measure the field on which it stands, not the figure."""

    field_height: Interval | None = field(
        default=None, metadata=toleranced_length("the field, not the figure", usual=(40.0, 900.0))
    )
    field_width: Interval | None = field(
        default=None, metadata=toleranced_length("the field, not the figure", usual=(40.0, 900.0))
    )


@frozen
class Surface:
    """Finish, light reflectance values (0 to 100) of characters and background, and gloss in gloss
    units.
    """

    finish: str | None = field(
        default=None, metadata=one_word_of(FINISHES, "of characters and background")
    )
    character_lrv: float | None = field(default=None, metadata=_reflectance())
    background_lrv: float | None = field(default=None, metadata=_reflectance())
    gloss: float | None = field(
        default=None,
        metadata=plain_number(
            "gloss units",
            0,
            2000,
            "gloss units, as a gloss meter reads them",
            usual=(0.0, 150.0),
            unit="GU",
        ),
    )


@frozen
class Mounting:
    """Heights above the floor: the lowest and the highest baseline of tactile characters, and the
    sign's centre.
    """

    lowest_tactile: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "lowest baseline of tactile characters above the floor, braille included",
            usual=(600.0, 2200.0),
        ),
    )
    highest_tactile: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "highest baseline of tactile characters above the floor, not below the lowest",
            usual=(600.0, 2200.0),
        ),
    )
    centre: Interval | None = field(
        default=None,
        metadata=toleranced_length("centre of the sign above the floor", usual=(600.0, 4000.0)),
    )
    lowest_part: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "lower edge of all raised characters and braille together, above the floor",
            usual=(600.0, 2200.0),
        ),
    )
    highest_part: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "upper edge of all raised characters and braille together, above the floor",
            usual=(600.0, 2200.0),
        ),
    )
    highest_braille: Interval | None = field(
        default=None,
        metadata=toleranced_length(
            "upper edge of the braille above the floor", usual=(600.0, 2200.0)
        ),
    )


@frozen
class Measured:
    """What was measured after printing; it takes the place of what is predicted. In mm."""

    dot_height: tuple[float, ...] = field(
        default=(), metadata=_lengths("one for each dot that was measured", (0.02, 2.0))
    )
    depth: tuple[float, ...] = field(
        default=(), metadata=_lengths("one for each character that was measured", (0.02, 10.0))
    )


@frozen
class Sign:
    """One sign on one sheet; `kind` says what it is for (`permanent-room`...), `text` its lines."""

    id: str = field(metadata=id_text("what passes name it by"))
    media: str | None = field(
        default=None,
        metadata=id_of("media", "the sheet that carries it", otherwise="the only sheet"),
    )
    kind: str | None = field(
        default=None,
        metadata=any_text(
            "what it is for; under `us-ada-2010` a `permanent-room`, an `exit-door` or a"
            " `car-control` needs tactile text, and `directional`, `informational`, `directory`,"
            " `menu`, `seat`, `occupant-name`, `address`, `company-name` and `temporary` do not"
        ),
    )
    text: tuple[str, ...] = field(
        default=(),
        metadata=list_of(any_text(""), "a list of texts", "its lines, written as they are made"),
    )
    braille: Braille | None = field(
        default=None, metadata=table_of(Braille, "braille", "see below")
    )
    raised: Raised | None = field(
        default=None, metadata=table_of(Raised, "raised characters", "see below")
    )
    visual: Visual | None = field(
        default=None, metadata=table_of(Visual, "visual characters", "see below")
    )
    pictogram: Pictogram | None = field(
        default=None, metadata=table_of(Pictogram, "a pictogram", "see below")
    )
    surface: Surface | None = field(
        default=None, metadata=table_of(Surface, "a surface", "see below")
    )
    mounting: Mounting | None = field(
        default=None, metadata=table_of(Mounting, "mounting heights", "see below")
    )
    measured: Measured | None = field(
        default=None,
        metadata=table_of(
            Measured, "measured values", "see below; they count in place of all others"
        ),
    )
    area: Area | None = field(default=None, metadata=area_of("where it lies on its sheet"))
    top: str = field(
        default="far", metadata=one_word_of(TOPS, "to which side of the bed its top points")
    )
    data: PluginData = field(
        default=(), metadata=plugin_tables("what it says to plugins, a table for each by its name")
    )
