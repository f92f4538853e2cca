"""Is a plan what it says it is: judged or found, the cheapest or not, and what is known of the cheapest?"""

from __future__ import annotations

from signrules.model.job import Job
from signrules.planning.audit.findings import Findings
from signrules.planning.audit.price import GUARD_MINUTES, Cost, is_cost
from signrules.planning.audit.replay import Replay
from signrules.planning.plan import Plan


def check_standing(job: Job, plan: Plan, replay: Replay, findings: Findings) -> None:
    """Tell what cannot be so of `judged`, `best`, `least` and `optimal`."""
    least: object = plan.least
    if least is not None and not is_cost(least):
        findings.tell(f"the least cost is said to be {least}, which is none")
    if plan.judged is True:
        _check_judged(job, plan, replay, findings)
    else:
        _check_found(plan, findings)
    safe = plan.judged is not True or not findings.unsafe
    if safe and is_cost(least) and is_cost(plan.cost) and _exceeds(least, plan.cost):
        findings.tell(f"the least cost of {least} exceeds the cost of {plan.cost}")


def _check_judged(job: Job, plan: Plan, replay: Replay, findings: Findings) -> None:
    """A sequence that is judged is the job's own; what is known of the least cost comes with the best plan."""
    if job.sequence != tuple(replay.order):
        findings.tell("what is judged is not the sequence of the job")
    if plan.optimal is not False:
        findings.tell("a judged sequence is called optimal")
    best: object = plan.best
    if best is not None and not (isinstance(best, Plan) and best.judged is False):
        findings.tell("the best order is no plan that was found")
    known = best.least if isinstance(best, Plan) else None
    if plan.least != known:
        findings.tell(f"the least cost is {known}, not {plan.least}")


def _check_found(plan: Plan, findings: Findings) -> None:
    """A plan that was found stands alone; it is the cheapest exactly where it costs what any order costs at least."""
    if plan.judged is not False:
        findings.tell(f"whether the plan is judged is said to be {plan.judged}")
    if plan.best is not None:
        findings.tell("an order that was found has a best order beside it")
    if plan.least is None:
        findings.tell("the plan does not say what any order costs at the least")
    if plan.optimal is not (plan.least == plan.cost):
        findings.tell("the plan is called optimal where its cost is not the least, or the other way round")


def _exceeds(least: Cost, cost: Cost) -> bool:
    return least[0] > cost[0] or (least[0] == cost[0] and least[1] > cost[1] + GUARD_MINUTES)
