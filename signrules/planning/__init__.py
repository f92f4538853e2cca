"""Gaps and an order for a job, the proof that they are the cheapest, the reason where there is
none, and the audit.
"""
