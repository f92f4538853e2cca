"""Braille: cells as Unicode patterns, places of dots in mm, what signs and translators agree on."""
