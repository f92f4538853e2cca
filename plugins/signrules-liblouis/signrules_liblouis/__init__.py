"""Translates text to braille with liblouis, as a plugin of signrules.

Nothing is loaded at import.
"""

__version__ = "0.1.0"
