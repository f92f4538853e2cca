"""A finished sign as the standards see it: its dimensions, its surface, where it hangs, what was measured.

Every length is in mm. A field that is None was not stated; a rule that needs it comes out UNASSESSED.
"""

from __future__ import annotations

from attrs import frozen

from signrules.model.quantities import Interval

CASES = ("upper", "lower", "mixed")
STYLES = ("sans-serif", "serif", "italic", "oblique", "script", "decorative", "other")
FINISHES = ("matte", "eggshell", "gloss")
SHAPES = ("domed", "rounded", "flat", "pointed", "other")
CONTRACTED, UNCONTRACTED = GRADES = ("contracted", "uncontracted")


@frozen
class Braille:
    """Braille of a sign. `cells` are Unicode braille patterns; spacings are centre to centre.

    `dot_height` is declared only where no pass of the job builds the dots; `clear_space` is the least distance to
    raised characters, borders and edges. `dome_radius` is that of the sphere of which the dots are a part,
    `below_text` the gap from the last line of raised text down to the braille. `grade` is None for the one that the
    standards ask for; `language` is the tag of the text's language. `proper` are names whose capitals are kept in
    braille, `acronyms` words that are spelled out in capitals.
    """

    cells: str | None = None
    dot_diameter: Interval | None = None
    dot_spacing: Interval | None = None
    cell_spacing: Interval | None = None
    line_spacing: Interval | None = None
    dot_height: Interval | None = None
    clear_space: Interval | None = None
    dome_radius: Interval | None = None
    below_text: Interval | None = None
    shape: str | None = None
    grade: str | None = None
    language: str = "en"
    proper: tuple[str, ...] = ()
    acronyms: tuple[str, ...] = ()


@frozen
class Raised:
    """Raised characters: height and stroke of the capital I, gap between characters, baseline to baseline.

    `depth` (relief above the face) is declared only where no pass of the job builds the characters. `width` is that of
    the capital O, `word_spacing` the gap between words.
    """

    height: Interval | None = None
    stroke: Interval | None = None
    depth: Interval | None = None
    spacing: Interval | None = None
    line_spacing: Interval | None = None
    case: str | None = None
    style: str | None = None
    width: Interval | None = None
    word_spacing: Interval | None = None


@frozen
class Visual:
    """Characters read by eye. `viewing_distance` is horizontal; `above_floor` is the baseline's height.

    `width` is that of the capital O.
    """

    height: Interval | None = None
    stroke: Interval | None = None
    spacing: Interval | None = None
    line_spacing: Interval | None = None
    style: str | None = None
    viewing_distance: Interval | None = None
    above_floor: Interval | None = None
    width: Interval | None = None


@frozen
class Pictogram:
    """A pictogram; the standards measure the field on which it stands, not the figure."""

    field_height: Interval | None = None
    field_width: Interval | None = None


@frozen
class Surface:
    """Finish, light reflectance values (0 to 100) of characters and background, and gloss in gloss units."""

    finish: str | None = None
    character_lrv: float | None = None
    background_lrv: float | None = None
    gloss: float | None = None


@frozen
class Mounting:
    """Heights above the floor: the lowest and the highest baseline of tactile characters, and the sign's centre."""

    lowest_tactile: Interval | None = None
    highest_tactile: Interval | None = None
    centre: Interval | None = None


@frozen
class Measured:
    """What was measured after printing; it takes the place of what is predicted. In mm."""

    dot_height: tuple[float, ...] = ()
    depth: tuple[float, ...] = ()


@frozen
class Sign:
    """One sign on one sheet; `kind` says what it is for (`permanent-room`...), `text` its lines."""

    id: str
    media: str | None = None
    kind: str | None = None
    text: tuple[str, ...] = ()
    braille: Braille | None = None
    raised: Raised | None = None
    visual: Visual | None = None
    pictogram: Pictogram | None = None
    surface: Surface | None = None
    mounting: Mounting | None = None
    measured: Measured | None = None
