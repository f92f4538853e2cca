"""What the set-up of some jobs of one printer is at the least, in whichever order they are printed.

Each job costs what it would if alignments took nothing. To that come the fewest alignments that
serve all passes of all jobs, or what the job that gains most by free alignments would cost more
alone: what all jobs have made together serves it alone too. From it goes a gap setting for each job
that can begin where another ends.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from signrules.evaluation import Evaluation
from signrules.many_jobs.carrying import Judge
from signrules.many_jobs.row_setup import sum_of_costs
from signrules.physics.machine import Machine
from signrules.planning.gaps.plane_reaches import SLACK_MM, Reach, fewest_planes
from signrules.planning.order.bounds import LeastLeft
from signrules.planning.setup_cost import Cost


def least_of_row(alone: Sequence[Evaluation], judge: Judge) -> Cost:
    """What jobs of one printer cost at the least one after the other.

    `alone` has each of them evaluated by itself.
    """
    machines = [result.timeline.machine for result in alone]
    bounds = [LeastLeft(machine, range(len(machine.items))) for machine in machines]
    costs = bounds[0].costs
    free = [_least_cost(_with_free_alignments(result, judge)) for result in alone]
    spans = {span for each in bounds for span in each.spans.values()}
    by_alignments = _plus_weight(free, costs.weight(0, 0, fewest_planes(spans)))
    # One job must have all alignments that it needs by itself, whoever makes them.
    by_one_job = max(
        sum_of_costs([*free[:at], _least_cost(result), *free[at + 1 :]])
        for at, result in enumerate(alone)
    )
    ends = [_Ends(machine, each.reaches) for machine, each in zip(machines, bounds, strict=True)]
    kept = _most_gaps_kept(ends)
    return _plus_weight([max(by_alignments, by_one_job)], -costs.weight(0, kept, 0))


def _plus_weight(costs: Sequence[Cost], weight: float) -> Cost:
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
        passes = range(machine.pass_count)
        held_back = {at for at in passes if any(map(machine.is_pass, machine.before[at]))}
        followed = {at for at in passes if any(map(machine.is_pass, machine.followers[at]))}
        self.first = [reaches[at] for at in passes if at not in held_back]
        self.last = [reaches[at] for at in passes if at not in followed]

    def may_end_where(self, other: _Ends) -> bool:
        """Whether the head may lie at the last pass where another job sets it first."""
        return any(_touch(one, two) for one in self.last for two in other.first)


def _touch(one: Reach, other: Reach) -> bool:
    return one[0] <= other[1] + SLACK_MM and other[0] <= one[1] + SLACK_MM


def _most_gaps_kept(ends: Sequence[_Ends]) -> int:
    """How many jobs can begin where the one before ends: at most those of a matching in which each
    job is followed by one other and follows one other.
    """
    followed_by: dict[int, int] = {}

    def finds_partner(earlier: int, tried: set[int]) -> bool:
        for later in range(len(ends)):
            if later == earlier or later in tried or not ends[earlier].may_end_where(ends[later]):
                continue
            tried.add(later)
            if later not in followed_by or finds_partner(followed_by[later], tried):
                followed_by[later] = earlier
                return True
        return False

    matched = sum(finds_partner(at, set()) for at in range(len(ends)))
    # The first job follows none, and a matching may be a circle.
    return min(matched, len(ends) - 1)
