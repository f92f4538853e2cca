"""Gaps and an order for a job, the proof that they are the cheapest, conflicts, and the audit."""
