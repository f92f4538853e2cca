"""Readers of artwork for signrules: PDF, SVG, and separated images."""
