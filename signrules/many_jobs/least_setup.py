"""What the set-up of some jobs of one printer is at the least, in whichever order they are printed.

Each job is taken at what it would cost if alignments took nothing. One of two things is added,
whichever is more: the fewest alignments that serve all passes of all jobs, or what alignments cost
that one job to which they cost most, since what all jobs have made together would serve it alone
too. A gap setting is taken off for each job that can begin where another ends.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, repeat

from attrs import evolve

from signrules.evaluation import Evaluation, Judge
from signrules.many_jobs.row_setup import sum_of_costs
from signrules.physics.machine import Machine
from signrules.planning.gaps.plane_reaches import SLACK_MM, Reach, fewest_planes
from signrules.planning.order.bounds import LeastLeft
from signrules.planning.setup_cost import Cost

MOST_ENDS = 200
"""With more kinds that begin and end at other heights, it is not looked at which may follow which.
"""


def least_of_row(alone: Sequence[Evaluation], counts: Sequence[int], judge: Judge) -> Cost:
    """What jobs of one printer cost at the least one after the other.

    `alone` has one of each kind evaluated by itself, `counts` how many jobs of each kind there are.
    """
    machines = [result.timeline.machine for result in alone]
    bounds = [LeastLeft(machine, range(len(machine.items))) for machine in machines]
    costs = bounds[0].costs
    free = [_least_cost(_with_free_alignments(result, judge)) for result in alone]
    spans = {span for each in bounds for span in each.spans.values()}
    # Alignments are shared by all jobs, so only the fewest for all of them together are certain.
    by_alignments = _plus_weight(_repeated(free, counts), costs.weight(0, 0, fewest_planes(spans)))
    # One job must have all alignments that it needs by itself, whoever makes them.
    by_one_job = max(
        sum_of_costs([*_repeated(free, _less_one(counts, kind)), _least_cost(result)])
        for kind, result in enumerate(alone)
    )
    ends = [_Ends(machine, each.reaches) for machine, each in zip(machines, bounds, strict=True)]
    kept = most_gaps_kept(ends, counts)
    # Both are bounds, so the greater is one too; the settings that may be spared come off it.
    return _plus_weight([max(by_alignments, by_one_job)], -costs.weight(0, kept, 0))


def _repeated(costs: Sequence[Cost], counts: Sequence[int]) -> Iterator[Cost]:
    """Each cost as often as its kind is there."""
    return chain.from_iterable(map(repeat, costs, counts))


def _less_one(counts: Sequence[int], kind: int) -> list[int]:
    return [count - (number == kind) for number, count in enumerate(counts)]


def _plus_weight(costs: Iterable[Cost], weight: float) -> Cost:
    return sum_of_costs([*costs, (0, weight)])


def _least_cost(result: Evaluation) -> Cost:
    """What a job costs at the least; nothing where that is not known."""
    plan = result.found_plan
    if plan is None or plan.least is None:
        return 0, 0.0
    return plan.least


def _with_free_alignments(result: Evaluation, judge: Judge) -> Evaluation:
    """The job where no landing error counts: what is left of its set-up are loads and settings."""
    job = result.job
    # Without a tolerance no pass asks for an alignment, in any order.
    free = evolve(job.printer, landing_tolerance=None, resolution=None)
    return judge(evolve(job, printer=free))


class _Ends:
    """Between which heights the head may lie at the first pass of a job, and at its last."""

    def __init__(self, machine: Machine, reaches: dict[int, Reach]) -> None:
        self.first = frozenset(
            reaches[pass_index]
            for pass_index in range(machine.pass_count)
            if not any(map(machine.is_pass, machine.before[pass_index]))
        )
        self.last = frozenset(
            reaches[pass_index]
            for pass_index in range(machine.pass_count)
            if not any(map(machine.is_pass, machine.followers[pass_index]))
        )

    def may_end_where(self, other: _Ends) -> bool:
        """Whether the head may end at a height that another job may set first."""
        return any(_touch(one, two) for one in self.last for two in other.first)


def _touch(one: Reach, other: Reach) -> bool:
    return one[0] <= other[1] + SLACK_MM and other[0] <= one[1] + SLACK_MM


def most_gaps_kept(ends: Sequence[_Ends], counts: Sequence[int]) -> int:
    """How many jobs can begin where the one before ends: at most those of a matching in which each
    job is followed by one other and follows one other.

    Kinds that begin and end alike are one here. Where more than `MOST_ENDS` are left, it is taken
    that all jobs can but the first.
    """
    alike: dict[tuple[frozenset[Reach], frozenset[Reach]], int] = {}
    for each, count in zip(ends, counts, strict=True):
        key = each.first, each.last
        alike[key] = alike.get(key, 0) + count
    by_key = {(each.first, each.last): each for each in ends}
    kinds, totals = [by_key[key] for key in alike], list(alike.values())
    if len(kinds) > MOST_ENDS:
        return sum(counts) - 1
    followers = [
        [
            later
            for later, other in enumerate(kinds)
            # Of one kind there must be two, for one to follow the other.
            if each.may_end_where(other) and (later != earlier or totals[earlier] > 1)
        ]
        for earlier, each in enumerate(kinds)
    ]
    # The first job follows none, and a matching may be a circle.
    return min(matched_pairs(followers, totals), sum(counts) - 1)


def matched_pairs(followers: Sequence[Sequence[int]], totals: Sequence[int]) -> int:
    """The most pairs of an earlier and a later job, each job once as either.

    `followers` has for each kind those that may follow it, `totals` how many jobs of it there are.
    A flow that grows along shortest paths (Edmonds and Karp, 1972), on kinds instead of jobs.
    """
    free_earlier, free_later = list(totals), list(totals)
    flow: Counter[tuple[int, int]] = Counter()
    matched = 0
    while True:
        path = _path_to_free(followers, free_earlier, free_later, flow)
        if path is None:
            return matched
        gained = min(free_earlier[path[0]], free_later[path[-1]])
        # Earlier and later kinds take turns on a path; each step back frees what it had taken.
        backwards = list(zip(path[2::2], path[1::2], strict=False))
        gained = min([gained, *(flow[pair] for pair in backwards)])
        for pair in zip(path[::2], path[1::2], strict=True):
            flow[pair] += gained
        for pair in backwards:
            flow[pair] -= gained
        free_earlier[path[0]] -= gained
        free_later[path[-1]] -= gained
        matched += gained


def _path_to_free(
    followers: Sequence[Sequence[int]],
    free_earlier: Sequence[int],
    free_later: Sequence[int],
    flow: Counter[tuple[int, int]],
) -> list[int] | None:
    """The shortest path from an earlier kind with jobs that nothing follows to a later one that
    follows nothing: earlier, later, earlier, later and so on. None where there is none.
    """
    paths = deque([earlier] for earlier, free in enumerate(free_earlier) if free)
    reached_earlier = {path[0] for path in paths}
    reached_later: set[int] = set()
    while paths:
        path = paths.popleft()
        for later in followers[path[-1]]:
            if later in reached_later:
                continue
            reached_later.add(later)
            if free_later[later]:
                return [*path, later]
            for earlier in range(len(free_earlier)):
                if flow[earlier, later] and earlier not in reached_earlier:
                    reached_earlier.add(earlier)
                    paths.append([*path, later, earlier])
    return None
