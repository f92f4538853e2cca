"""What a job takes, and what that costs by a rate table of the caller's."""

from signrules.estimating.amounts import Amount
from signrules.estimating.job_estimate import Estimate, estimate
from signrules.estimating.pricing import EstimateLine
from signrules.estimating.rates import Fixed, Rates, rates_from_dict, read_rates

__all__ = [
    "Amount",
    "Estimate",
    "EstimateLine",
    "Fixed",
    "Rates",
    "estimate",
    "rates_from_dict",
    "read_rates",
]
