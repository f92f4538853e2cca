"""The main job: a job is evaluated, and this is what comes of it."""

from signrules.evaluation.live import Live, evaluate, safe_order
from signrules.evaluation.result import FORMAT, Evaluation, Judge, why_not_safe

__all__ = ["FORMAT", "Evaluation", "Judge", "Live", "evaluate", "safe_order", "why_not_safe"]
