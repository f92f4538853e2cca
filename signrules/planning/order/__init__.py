"""Which order the items stand in: constructive orders, their improvement, the exact searches and
their bounds.
"""
