"""Applying remedies, and any other patch, to a job."""

from __future__ import annotations

from signrules.documents.json_patch import Patch, apply_patch
from signrules.documents.reading import job_again
from signrules.documents.writing import job_to_dict
from signrules.given_values import demand_given
from signrules.model.job import Job
from signrules.rules.remedy import Remedy


def apply_remedy(job: Job, remedy: Remedy) -> Job:
    """The job with a remedy applied.

    Raises PatchError where the remedy is for another job, so that it does not fit; JobError where
    what comes of it is no consistent job.
    """
    demand_given("apply_remedy", (job, Job), (remedy, Remedy))
    return patched_job(job, remedy.patch)


def patched_job(job: Job, patch: Patch) -> Job:
    """The job whose document is that of a job with a JSON Patch applied.

    Raises PatchError and JobError.
    """
    return job_again(apply_patch(job_to_dict(job), patch), job)
