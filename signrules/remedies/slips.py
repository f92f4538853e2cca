"""What is unlike its likes: of many alike passes or signs the one in which a single figure differs may be a slip.

Then what the others have is tried first: who repeats one sign many times and finds one of them wrong wants that one to
be as the rest, and not merely within its limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from attrs import evolve

from signrules.model.passes import Pass
from signrules.model.quantities import Interval
from signrules.model.sign import Sign
from signrules.remedies.alike import Alike, Leaves, Place, by_number, in_short, leaves_of, own_content, repeating
from signrules.remedies.changes import Change, Judged
from signrules.remedies.fields import in_words
from signrules.remedies.gaps import gap_in_words, set_layers
from signrules.remedies.makers import changes_for, changes_for_conflict, needs_no_plan
from signrules.rules.checks import Check
from signrules.rules.wording import number

FEWEST_LIKES = 2
"""As many at least have the other figure; and more than have that of the one that is changed."""

SECTIONS = ("braille", "raised", "visual", "pictogram", "surface", "mounting")
FACTS = ("cells", "grade", "language", "proper", "acronyms", "viewing_distance")
"""Of the sections of a sign what no remedy takes from another sign."""


def candidates(check: Check, judged: Judged, alike: Alike) -> Iterator[Change]:
    """Candidate changes for a finding: as its likes have it, then those that are computed."""
    tables = ("signs",) if needs_no_plan(check) else ("passes", "signs")
    return chain(_slips(alike, judged, alike.related([check]), tables), changes_for(check, judged))


def candidates_for_conflict(judged: Judged, alike: Alike) -> Iterator[Change]:
    """The same where there is no safe order."""
    subjects = () if judged.conflict is None else judged.conflict.subjects
    return chain(_slips(alike, judged, alike.near(subjects), ("passes",)), changes_for_conflict(judged))


def _slips(alike: Alike, judged: Judged, places: Iterable[Place], tables: tuple[str, ...]) -> Iterator[Change]:
    for place in sorted(places, key=lambda place: (place[0], by_number(place[1]))):
        if place[0] not in tables:
            continue
        row = alike.row_at(place)
        likes = alike.with_content(place[0], own_content(row))
        for other in alike.contents(place[0]):
            rest = alike.with_content(place[0], other)
            if len(rest) >= FEWEST_LIKES and len(rest) > len(likes):
                leaves = dict(leaves_of(own_content(row), other))
                words = _in_words(judged, row, leaves)
                if words is not None:
                    named = in_short(sorted((id for _, id in rest), key=by_number))
                    yield Change(f"{words}, as {named} have it.", (repeating({place: leaves}),))


def _in_words(judged: Judged, row: Any, leaves: Leaves) -> str | None:
    """What is changed; None where that is more than one figure, or none that a shop chooses."""
    if isinstance(row, Pass) and {path[0] for path in leaves} == {"gap"}:
        return _gap_in_words(judged, row, leaves)
    if len(leaves) != 1:
        return None
    ((path, (old, new)),) = leaves.items()
    if isinstance(row, Pass) and path == ("layers",):
        return set_layers(row, new).summary.removesuffix(".")
    if isinstance(row, Sign) and _is_chosen(path) and old is not None and new is not None:
        return f"Make the {in_words(*path)} of {row.id} {_shown(new)} instead of {_shown(old)}"
    return None


def _gap_in_words(judged: Judged, row: Pass, leaves: Leaves) -> str | None:
    gap = row.gap
    for path, (_, new) in leaves.items():
        if path == ("gap",):
            gap = new
        elif gap is not None:
            gap = evolve(gap, **{path[1]: new})
    sheet = judged.job.media_of(row).id
    if gap is None:
        return f"Let the planner choose the gap of {row.id} instead of {gap_in_words(row.gap, sheet)}"
    return f"Set the gap of {row.id} to {gap_in_words(gap, sheet)} instead of {gap_in_words(row.gap, sheet)}"


def _is_chosen(path: tuple[str, ...]) -> bool:
    """Whether a place in a sign is that of a figure or a word that a shop chooses."""
    return len(path) == 2 and path[0] in SECTIONS and path[1] not in FACTS


def _shown(value: Any) -> str:
    if isinstance(value, Interval):
        return f"{number(value.nominal)} mm"
    return number(value) if isinstance(value, int | float) else str(value)
