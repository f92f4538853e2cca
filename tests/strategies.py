"""The strategies of the testing kit, under the name by which the tests of this repository import
them.
"""

from signrules.testing.job_strategies import arbitrary_jobs, documents, jobs
from signrules.testing.near_limits import near_limit_jobs
from signrules.testing.sound_strategies import sound_jobs
from signrules.testing.strategies import (
    areas,
    gaps,
    hundredths,
    inks,
    intervals,
    maybe,
    media,
    printers,
    signs,
)

__all__ = [
    "arbitrary_jobs",
    "areas",
    "documents",
    "gaps",
    "hundredths",
    "inks",
    "intervals",
    "jobs",
    "maybe",
    "media",
    "near_limit_jobs",
    "printers",
    "signs",
    "sound_jobs",
]
