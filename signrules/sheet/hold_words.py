"""How a sheet is held, in words."""

from __future__ import annotations

from signrules.sheet.language import Language


def hold_words(language: Language, hold: str) -> str:
    """What keeps a sheet in place, one of `HOLDS`."""
    if hold == "none":
        return language.say("not held")
    names = {
        "vacuum": language.say("vacuum"),
        "adhesive": language.say("adhesive"),
        "tape": language.say("tape"),
        "pins": language.say("pins"),
    }
    return language.say("held by {hold}", hold=names[hold])
