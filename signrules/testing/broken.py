"""What a contract ends with where a law is broken."""

from __future__ import annotations

from signrules.documents.toml import to_toml
from signrules.documents.writing import job_to_dict
from signrules.model.job import Job


class ContractBroken(AssertionError):
    """A rule or a hook does not keep a law.

    `law` is its name and `says` what it asks for, `rule` the name of the rule or of the hook,
    `problem` what speaks against it, `job` a small job that shows it.
    """

    def __init__(self, law: str, rule: str, problem: str, job: Job, says: str) -> None:
        self.law, self.rule, self.problem, self.job, self.says = law, rule, problem, job, says
        super().__init__(law, rule, problem, job, says)

    def __str__(self) -> str:
        return (
            f"{self.rule} breaks the law {self.law!r}: {self.says}\n{self.problem}\n"
            "A small job that shows it; save it as job.toml and try it again:\n\n"
            f"{to_toml(job_to_dict(self.job))}"
        )

    @property
    def size(self) -> tuple[int, int]:
        """How large the job is: by its passes, then by its text."""
        # People read passes, so one pass less is smaller than any number of letters.
        return len(self.job.passes), len(to_toml(job_to_dict(self.job)))
