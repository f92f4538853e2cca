"""What a job or a work order takes, and what that costs by a rate table of the caller's."""

from signrules.estimating.amounts import Amount
from signrules.estimating.job_estimate import Estimate, estimate
from signrules.estimating.order_estimate import WorkOrderEstimate
from signrules.estimating.order_pricing import estimate_jobs, estimate_work_order
from signrules.estimating.pricing import EstimateLine
from signrules.estimating.rates import Fixed, Rates, rates_from_dict, read_rates

__all__ = [
    "Amount",
    "Estimate",
    "EstimateLine",
    "Fixed",
    "Rates",
    "WorkOrderEstimate",
    "estimate",
    "estimate_jobs",
    "estimate_work_order",
    "rates_from_dict",
    "read_rates",
]
