"""What the author of a plugin tests with: jobs by hypothesis, the contract that every rule must
keep, a reference.

Install it with the extra `testing`. Nothing of it is loaded unless it is imported.
"""

from signrules.testing.broken import ContractBroken
from signrules.testing.brute_force import BruteForce
from signrules.testing.hook_contract import HOOK_LAWS, assert_hook_contract
from signrules.testing.job_strategies import arbitrary_jobs, documents, jobs
from signrules.testing.near_limits import near_limit_jobs
from signrules.testing.reference import Raster
from signrules.testing.rule_contract import LAWS, assert_rule_contract
from signrules.testing.run_rules import checks_of
from signrules.testing.sound_strategies import sound_jobs
from signrules.testing.strategies import (
    arbitrary_signs,
    areas,
    gaps,
    hundredths,
    inks,
    intervals,
    media,
    printers,
)
from signrules.testing.table_checks import assert_no_looser_table

__all__ = [
    "HOOK_LAWS",
    "LAWS",
    "BruteForce",
    "ContractBroken",
    "Raster",
    "arbitrary_jobs",
    "arbitrary_signs",
    "areas",
    "assert_hook_contract",
    "assert_no_looser_table",
    "assert_rule_contract",
    "checks_of",
    "documents",
    "gaps",
    "hundredths",
    "inks",
    "intervals",
    "jobs",
    "media",
    "near_limit_jobs",
    "printers",
    "sound_jobs",
]
