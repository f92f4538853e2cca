"""The rules of our shop, as a plugin of signrules."""

__version__ = "0.1.0"
