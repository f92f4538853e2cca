"""What is to review at a step, in words for whoever stands there."""

from __future__ import annotations

import math

from signrules.rules.checks import Check
from signrules.sheet.blocks import Finding
from signrules.sheet.language import Language
from signrules.sheet.sheet_words import READ_MM, first_sentence, sentence_text


def finding_words(check: Check, language: Language) -> Finding:
    """The finding of a check; what would help stands behind the sheet.

    What rules say is quoted. Of layers that land apart the page tells itself: the rule speaks of
    extras, which no gauge shows.
    """
    limit = check.limit[1]
    if check.rule != "alignment.through" or check.measured is None or limit is None:
        return Finding(first_sentence(sentence_text(check.message)), quoted=True)
    worst = math.ceil(check.measured.high / READ_MM) * READ_MM
    text = language.say(
        "Last layers may land {worst} apart ({limit} allowed).",
        worst=language.gauged(worst),
        limit=language.figure(limit),
    )
    return Finding(text, quoted=False)
