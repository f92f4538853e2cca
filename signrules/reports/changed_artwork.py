"""What reports and verdicts say of artwork that is not as it was when a job was read from it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from signrules.evaluation.verdict import CHECKS_PASS, DO_NOT_PRINT
from signrules.reports.colour import painted_text

if TYPE_CHECKING:
    from signrules.artwork.fingerprints import ChangedArtwork

_HEADING = re.compile(rf"(.*: )(?:\x1b\[[\d;]*m)?((?:{CHECKS_PASS}|{DO_NOT_PRINT})[^\x1b]*)")
"""The first line of a report: the name of the job, and its verdict, painted or not."""


def verdict_beside_artwork(verdict: str, changed: Sequence[ChangedArtwork]) -> str:
    """A verdict, and that artwork has changed or cannot be read, where it has or cannot."""
    if any(not each.lost for each in changed):
        words = "artwork has changed since the job was read from it"
        if verdict.startswith(DO_NOT_PRINT):
            return f"{verdict}; {words}"
        # Checks that pass are those of a job that says no longer what would be printed.
        return f"{DO_NOT_PRINT}: {words}"
    if changed:
        return f"{verdict}; artwork that it was read from cannot be read"
    return verdict


def report_beside_artwork(report: str, changed: Sequence[ChangedArtwork], *, colour: bool) -> str:
    """The text of a report whose first line says so too."""
    heading, line_end, rest = report.partition("\n")
    # The report is one text by now: it may come from another process, or from a folder of results.
    found = _HEADING.match(heading)
    if not changed or found is None:
        return report
    verdict = verdict_beside_artwork(found[2], changed)
    style = "bad" if verdict.startswith(DO_NOT_PRINT) else "good"
    return f"{found[1]}{painted_text(verdict, style, on=colour)}{line_end}{rest}"
