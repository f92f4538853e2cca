"""A small catalogue: materials with where each of their numbers comes from, and invented printers
to start from.
"""
