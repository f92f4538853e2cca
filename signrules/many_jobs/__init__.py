"""Many jobs: evaluated in their order, each alone or with what the earlier ones left, and put in
the order that takes the least set-up.
"""

from signrules.many_jobs.any_job import AnyJob
from signrules.many_jobs.carrying import Carried
from signrules.many_jobs.evaluating import evaluate_many
from signrules.many_jobs.job_sequence import JobSequence, PlacedJob, order_of_jobs
from signrules.many_jobs.row_setup import Setup
from signrules.many_jobs.workers import AHEAD, Executor, ManyResult

__all__ = [
    "AHEAD",
    "AnyJob",
    "Carried",
    "Executor",
    "JobSequence",
    "ManyResult",
    "PlacedJob",
    "Setup",
    "evaluate_many",
    "order_of_jobs",
]
