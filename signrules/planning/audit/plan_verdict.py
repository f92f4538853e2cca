"""Is a plan what it says it is: judged or found, the cheapest or not?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.price import GUARD_MINUTES, is_cost
from signrules.planning.audit.replay import Replay
from signrules.planning.plan import Plan


def check_verdict(job: Job, plan: Plan, replay: Replay, findings: Findings) -> None:
    """Tell what cannot be so of `judged`, `best`, `least` and `optimal`."""
    # What it says is the verdict of the job's checks, which no plan knows.
    if not isinstance(plan.refusal, str):
        findings.tell("the refusal is no text")
    if plan.judged is True:
        _check_judged(job, plan, replay, findings)
        safe = not findings.unsafe
    else:
        _check_found(plan, findings)
        safe = True
    if plan.least is not None and not is_cost(plan.least):
        findings.tell(f"the least cost is said to be {plan.least}, which is none")
    elif safe and _exceeds_cost(plan.least, plan.cost):
        findings.tell(f"the least cost of {plan.least} exceeds the cost of {plan.cost}")


def _check_judged(job: Job, plan: Plan, replay: Replay, findings: Findings) -> None:
    """What is judged is the job's own sequence; the least cost is that of the best plan."""
    if job.sequence != tuple(replay.order):
        findings.tell("what is judged is not the sequence of the job")
    if plan.optimal is not False:
        findings.tell("a judged sequence is called optimal")
    best = plan.best
    if best is not None and not (isinstance(best, Plan) and best.judged is False):
        findings.tell("the best order is no plan that was found")
    known = best.least if isinstance(best, Plan) else None
    if plan.least is not known and not _is_same(plan.least, known):
        findings.tell(f"the least cost is {known}, not {plan.least}")


def _check_found(plan: Plan, findings: Findings) -> None:
    """A plan that was found stands alone, and is optimal exactly where its cost is the least."""
    if plan.judged is not False:
        findings.tell(f"whether the plan is judged is said to be {plan.judged}")
    if plan.best is not None:
        findings.tell("an order that was found has a best order beside it")
    if plan.least is None:
        findings.tell("the plan does not say what any order costs at the least")
    # A plan proves itself by its own bound, which only a search could confirm. That the two agree
    # with what it says of itself is all that can be held.
    cheapest = _is_same(plan.least, plan.cost)
    if plan.optimal is not cheapest:
        findings.tell(f"whether the plan is optimal is {cheapest}, not {plan.optimal}")


def _is_same(one: object, other: object) -> bool:
    return is_cost(one) and is_cost(other) and one == other


def _exceeds_cost(least: object, cost: object) -> bool:
    if not is_cost(least) or not is_cost(cost):
        return False
    more = least[1] > cost[1] + GUARD_MINUTES
    return least[0] > cost[0] or (least[0] == cost[0] and more)
