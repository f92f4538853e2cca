"""House rules of an invented sign shop, as a plugin of signrules.

The shop, its printer, its board and every number here are made up: copy the form, not the figures.
"""

__version__ = "0.1.0"
