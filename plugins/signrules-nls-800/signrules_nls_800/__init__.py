"""The dimensions of braille on paper of Specification 800, as a table for signrules."""

__version__ = "0.1.0"
