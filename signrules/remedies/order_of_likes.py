"""What must come before what on one sheet, as on the sheets like it.

One sheet of many on which `after` is stated the other way round is a slip of the pen: the order
that its likes have is tried before gaps are changed to make the slip printable.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping

from attrs import evolve

from signrules.model.job import Job
from signrules.model.passes import Handling, Pass
from signrules.remedies.alike_cases import own_content
from signrules.remedies.candidates import Change, Edit, worded_change

FEWEST_LIKES = 2
"""As many passes at least have the other order; and more than have that of the one in question."""

Before = frozenset[Hashable]
"""What must come before a pass, each by what it is."""


def order_of_likes(job: Job, sheets: Iterable[str]) -> Iterator[Change]:
    """For each of some sheets the `after` that its likes have, where it has another."""
    before = {item.id: _before(job, item) for item in job.passes}
    alike: dict[Hashable, Counter[Before]] = {}
    for item in job.passes:
        stated_before = before[item.id]
        if stated_before is not None:
            alike.setdefault(own_content(item), Counter())[stated_before] += 1
    for sheet in sheets:
        changed = dict(_changed_on(job, sheet, before, alike))
        if changed:
            yield evolve(worded_change(_in_words(changed), _restated_after(changed)), of_likes=True)


def _before(job: Job, item: Pass) -> Before | None:
    """What must come before a pass on its own sheet; None where it names one on another."""
    own_sheet, contents = job.media_of(item).id, set()
    rows: dict[str, Pass | Handling] = {row.id: row for row in job.items}
    for name in item.after:
        row = rows[name]
        if isinstance(row, Handling) or job.media_of(row).id != own_sheet:
            return None
        contents.add(own_content(row))
    return frozenset(contents)


def _changed_on(
    job: Job,
    sheet: str,
    before: Mapping[str, Before | None],
    alike: Mapping[Hashable, Counter[Before]],
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The passes on a sheet that state another order than their likes, with what those have."""
    on_sheet = [item for item in job.passes if job.media_of(item).id == sheet]
    by_content = {own_content(item): item.id for item in on_sheet}
    if len(by_content) < len(on_sheet):
        return  # Two that are alike on one sheet: it is not told which of them is meant.
    for item in on_sheet:
        stated_before = before[item.id]
        if stated_before is None:
            continue
        counts = alike[own_content(item)]
        usual, count = counts.most_common(1)[0]
        if usual == stated_before or count < FEWEST_LIKES or count <= counts[stated_before]:
            continue
        # Where the sheet lacks one of what its likes name, their order cannot be stated on it.
        if usual <= by_content.keys():
            yield item.id, tuple(sorted(by_content[content] for content in usual))


def _restated_after(after: Mapping[str, tuple[str, ...]]) -> Edit:
    """An edit that gives passes what they must come after."""

    def edit(job: Job) -> Job:
        passes = (evolve(item, after=after.get(item.id, item.after)) for item in job.passes)
        return evolve(job, passes=tuple(passes))

    return edit


def _in_words(changed: Mapping[str, tuple[str, ...]]) -> str:
    clauses = []
    for item_id, after in changed.items():
        clause = f"state no `after` for {item_id}"
        if after:
            clause = f"let {item_id} come after {', '.join(after)}"
        clauses.append(clause)
    words = f"{'; '.join(clauses)}, as on the other sheets."
    return words[0].upper() + words[1:]
