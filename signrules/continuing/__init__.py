"""The way on from a sheet that is printed in part: what stands, what is left, what is lost."""

from signrules.continuing.more_layers import DotsAnswer, more_layers
from signrules.continuing.progress import Progress
from signrules.continuing.records import progress_from_dict, read_progress
from signrules.continuing.way_on import NextSteps, next_steps

__all__ = [
    "DotsAnswer",
    "NextSteps",
    "Progress",
    "more_layers",
    "next_steps",
    "progress_from_dict",
    "read_progress",
]
