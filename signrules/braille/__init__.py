"""Braille: cells as Unicode patterns, where their dots lie in mm, and what signs and translators
agree on.
"""
