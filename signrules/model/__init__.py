"""What a job is: frozen classes that hold and check values, and compute nothing."""

from signrules.model.handling_kinds import HandlingKind
from signrules.model.job import Alignment, Job, Waiver
from signrules.model.layer_uses import LayerUse
from signrules.model.letter_lines import LetterLine
from signrules.model.media import Ink, Media
from signrules.model.passes import (
    Area,
    ArtworkSource,
    Gap,
    Handling,
    HeadAboveBed,
    HeadSetting,
    Pass,
)
from signrules.model.printer import Dial, Minutes, MovingBed, Printer, Spacers
from signrules.model.quantities import GUARD_MM, Interval
from signrules.model.sign import (
    Braille,
    Measured,
    Mounting,
    Pictogram,
    Raised,
    Sign,
    Surface,
    Visual,
)

__all__ = [
    "GUARD_MM",
    "Alignment",
    "Area",
    "ArtworkSource",
    "Braille",
    "Dial",
    "Gap",
    "Handling",
    "HandlingKind",
    "HeadAboveBed",
    "HeadSetting",
    "Ink",
    "Interval",
    "Job",
    "LayerUse",
    "LetterLine",
    "Measured",
    "Media",
    "Minutes",
    "Mounting",
    "MovingBed",
    "Pass",
    "Pictogram",
    "Printer",
    "Raised",
    "Sign",
    "Spacers",
    "Surface",
    "Visual",
    "Waiver",
]
