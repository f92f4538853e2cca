"""An independent audit of a plan: replayed step by step, from the job, as an operator would do it.

Each number and each name that a plan carries is computed again and compared. The audit shares
the heights and the physics of landing with the rest of the library, and no code with the search
or with the replay that made the plan. It is linear in the steps of the plan. Each module has one
question.

Begin with the function below: it has `replay` do each step, and then `tallies`, `alignments`,
`price` and `plan_verdict` compare what the plan says of the whole. For a step `replay` asks
`shapes` (does it say what it must), `bed` (what lies there), `head` (its plane), `printings` (what
the pass meets), `registered_passes` and `safety`. `claims` compares, `findings` collects.
"""

from __future__ import annotations

from signrules.given_values import demand_given
from signrules.model.job import Job
from signrules.physics.heights import Heights
from signrules.physics.timeline import Timeline
from signrules.planning.audit.alignments import check_alignments
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.plan_verdict import check_verdict
from signrules.planning.audit.price import check_price
from signrules.planning.audit.replay import Replay
from signrules.planning.audit.tallies import check_tallies
from signrules.planning.plan import Plan

__all__ = ["audit"]


def audit(job: Job, plan: Plan) -> list[str]:
    """What does not hold in a plan, in words; empty is good.

    Every pass and handling once; everything after what it must follow; loads, sides and
    registration; each head plane, clearance, throw, crisp extra and surface; each open gap one
    that the printer can set and reach with; the alignments; order, places, moves and counts; the
    cost. What a plan says twice must be so both times. `best` is audited like any other plan. For
    a judged sequence the numbers are confirmed, and what is unsafe in it is not held against it.

    `least` cannot be worked out without a search. It must be there, be a pair of numbers, not
    exceed the cost of a safe order, equal the cost exactly where `optimal` says so, and in a
    judged plan be that of `best`.

    What must come before what is taken from the job; what plugins add to it, which the job does
    not say, from `plan.timeline.machine.precedence`. Of an alignment only that it serves is held:
    where within its window it lies is a choice, as the order is.

    Nothing that a plan may hold makes this raise: what is no number, no step or not there at all
    is told.
    """
    demand_given("audit", (job, Job))
    try:
        return _findings_of(job, Heights(job), plan)
    except Exception as error:  # Of what is that strange there is no end; it must not pass.
        return [f"the plan cannot be audited: {error!r}"]


def _findings_of(job: Job, heights: Heights, plan: Plan) -> list[str]:
    timeline = getattr(plan, "timeline", None)
    if not isinstance(timeline, Timeline):
        return ["the plan has no timeline"]
    findings = Findings()
    replay = Replay(job, heights, timeline, findings)
    for step in _steps_of(plan, timeline, findings):
        replay.do(step)
    replay.end()
    check_tallies(job, timeline, replay, findings)
    check_alignments(job, replay, findings)
    check_price(job, plan, replay, findings)
    check_verdict(job, plan, replay, findings)
    # Written as "is not True", since a plan may say anything of itself here.
    if plan.judged is not True:
        return findings.false + findings.unsafe
    best = plan.best
    if isinstance(best, Plan) and best.judged is False:
        findings.false += [
            f"the best order: {finding}" for finding in _findings_of(job, heights, best)
        ]
    return findings.false


def _steps_of(plan: Plan, timeline: Timeline, findings: Findings) -> tuple[object, ...]:
    """The steps of a plan; without the alignments where those cannot be made out."""
    try:
        return plan.steps
    except Exception as error:  # Alignments are worked out from numbers that may be anything.
        findings.tell(f"the alignments of the plan cannot be made out: {error!r}")
    if not isinstance(timeline.steps, tuple):
        return ()
    return timeline.steps
