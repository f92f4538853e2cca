"""The translator of a job, as the rules on braille ask it."""

from __future__ import annotations

from collections.abc import Callable

from signrules.braille.escapes import is_translation
from signrules.model.sign import Braille

Translate = Callable[[str, str, str], str | None]
"""From a line of text, a grade and a language to braille cells; None where nobody translates."""


def no_translation(text: str, grade: str, language: str) -> str | None:
    """What there is without a translator."""
    return None


def translated_line(translate: Translate, braille: Braille, grade: str, line: str) -> str | None:
    """A line in the language of a sign and a grade; None where nobody translates all of it."""
    translated = translate(line, grade, braille.language)
    return translated if translated is not None and is_translation(translated, line) else None
