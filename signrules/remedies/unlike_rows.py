"""What is unlike its likes: of many alike passes or signs the one in which a single figure differs
may be a slip.

Then what the others have is tried first: who repeats one sign many times and finds one of them
wrong wants that one to be as the rest, and not merely within its limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from attrs import evolve

from signrules.model.job import Job
from signrules.model.media import Media
from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.remedies.alike_cases import (
    Alike,
    Leaves,
    Place,
    by_number,
    in_short,
    leaves_of,
    own_content,
    repeating_edit,
)
from signrules.remedies.candidates import Change, Judged, of_item, reworded_change, worded_change
from signrules.remedies.gap_changes import left_to_the_planner, set_gap, set_ink, set_layers
from signrules.remedies.makers import changes_for, changes_for_conflict, needs_no_plan
from signrules.remedies.order_of_likes import order_of_likes
from signrules.remedies.sign_changes import restated_sign
from signrules.rules.checks import Check

FEWEST_LIKES = 2
"""As many at least have the other figure; and more than have that of the one that is changed."""

SECTIONS = ("braille", "raised", "visual", "pictogram", "surface", "mounting")
FACTS = ("cells", "grade", "language", "proper", "acronyms", "viewing_distance")
"""Of the sections of a sign what no remedy takes from another sign."""


def candidate_changes(check: Check, judged: Judged, alike: Alike) -> Iterator[Change]:
    """Candidate changes for a finding: as its likes have it, then those that are computed."""
    tables = ("signs",) if needs_no_plan(check) else ("media", "passes", "signs")
    return chain(
        _changes_as_likes(alike, judged, alike.related([check]), tables), changes_for(check, judged)
    )


def candidates_for_conflict(judged: Judged, alike: Alike) -> Iterator[Change]:
    """Candidate changes where there is no safe order."""
    subjects = () if judged.conflict is None else judged.conflict.subjects
    near_places = alike.near(subjects)
    return chain(
        _changes_as_likes(alike, judged, near_places, ("media", "passes")),
        order_of_likes(
            judged.job, sorted(sheet_id for table, sheet_id in near_places if table == "media")
        ),
        changes_for_conflict(judged),
    )


def _changes_as_likes(
    alike: Alike, judged: Judged, places: Iterable[Place], tables: tuple[str, ...]
) -> Iterator[Change]:
    for place in sorted(places, key=lambda place: (place[0], by_number(place[1]))):
        table, _ = place
        if table not in tables:
            continue
        row = alike.row_at(place)
        content = own_content(row)
        likes = alike.with_content(table, content)
        for other_content in alike.contents(table):
            others = alike.with_content(table, other_content)
            # What fewer have than this one is hardly what this one should have.
            if len(others) < FEWEST_LIKES or len(others) <= len(likes):
                continue
            leaves = dict(leaves_of(content, other_content))
            as_likes = _as_likes(judged.job, row, leaves)
            if as_likes is not None:
                names = sorted((row_id for _, row_id in others), key=by_number)
                change = _named_change(judged.job, as_likes, place, leaves, names)
                yield evolve(change, of_likes=True)


def _named_change(
    job: Job, as_likes: Change, place: Place, leaves: Leaves, likes: list[str]
) -> Change:
    """The change of one row to what its likes have; the words say who has it."""
    named = in_short(likes)
    return reworded_change(
        job,
        lambda job: f"{as_likes.words(job).removesuffix('.')}, as {named} have it.",
        repeating_edit({place: leaves}),
    )


def _as_likes(job: Job, row: Any, leaves: Leaves) -> Change | None:
    """What is changed; None where that is more than one figure, or none that a shop chooses."""
    if isinstance(row, Pass) and {path[0] for path in leaves} == {"gap"}:
        return _gap_of_likes(job, row, leaves)
    if len(leaves) != 1:
        return None
    ((path, (old, new)),) = leaves.items()
    if isinstance(row, Pass) and path == ("layers",):
        return set_layers(job, row, new)
    if isinstance(row, Pass) and path == ("ink",):
        return set_ink(job, row, new)
    if isinstance(row, Media) and path == ("up",):
        return worded_change(f"Load {row.id} {new} up.", of_item("media", row.id, up=new))
    if isinstance(row, Sign) and _is_chosen(path) and old is not None and new is not None:
        return restated_sign(job, row, (path[0], path[1]), new)
    return None


def _gap_of_likes(job: Job, row: Pass, leaves: Leaves) -> Change:
    gap = row.gap
    for path, (_, new) in leaves.items():
        if path == ("gap",):
            gap = new
        elif gap is not None:
            gap = evolve(gap, **{path[1]: new})
    if gap is None:
        return left_to_the_planner(job, row)
    return set_gap(job, row, gap)


def _is_chosen(path: tuple[str, ...]) -> bool:
    """Whether a place in a sign is that of a figure or a word that a shop chooses."""
    return len(path) == 2 and path[0] in SECTIONS and path[1] not in FACTS
