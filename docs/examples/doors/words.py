"""A plugin that translates by a list of words, in place of a translator of braille."""

from signrules import hookimpl

WORDS = {
    "boiler": "⠃⠕⠊⠇⠻",
    "room": "⠗⠕⠕⠍",
    "store": "⠌⠕⠗⠑",
}


@hookimpl
def signrules_translate_braille(text, grade, language):
    """The words of a line, one by one; nothing where one of them is not in the list."""
    words = [WORDS.get(word) for word in text.split()]
    if None in words or (grade, language) != ("contracted", "en"):
        return None
    return "\u2800".join(words)
