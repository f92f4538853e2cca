"""Many ids in few words: those that follow each other as a run."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

SHORTEST_RUN = 3

_LAST_NUMBER = re.compile(r"(?P<words>.*?)(?P<number>[0-9]{1,9})", re.DOTALL)


def runs_of_ids(ids: Iterable[str], order: Sequence[str]) -> str:
    """Ids in the order of a list of all, such as "K-01 to K-08, K-11"; unknown ones come last.

    Three or more that follow each other in the list are a run. One that skips a number ends there:
    what it skips may stand elsewhere, and would seem to be meant.
    """
    place = {id: at for at, id in enumerate(order)}
    wanted = sorted(dict.fromkeys(ids), key=lambda id: place.get(id, len(place)))
    runs: list[list[str]] = []
    for id in wanted:
        # By the order of the work and not by digits in an id: K-9 and K-10 may be other doors.
        if runs and id in place and _follows(runs[-1][-1], id, place):
            runs[-1].append(id)
        else:
            runs.append([id])
    return ", ".join(map(_run_words, runs))


def _follows(last: str, id: str, place: Mapping[str, int]) -> bool:
    if place.get(last, len(place)) != place[id] - 1:
        return False
    before, after = _LAST_NUMBER.fullmatch(last), _LAST_NUMBER.fullmatch(id)
    if before is None or after is None or before["words"] != after["words"]:
        return True
    return int(after["number"]) == int(before["number"]) + 1


def _run_words(run: Sequence[str]) -> str:
    if len(run) < SHORTEST_RUN:
        return ", ".join(run)
    return f"{run[0]} to {run[-1]}"
