"""More plugins with one mistake each, which shows beside a copy, in another order, in another
statement of the same, or in what is yielded. None is meant to be used.
"""

from __future__ import annotations

from wrong_plugins import HELD, LAYERS, SETS, THICK, TRANSLATE, a_rule
from wrong_plugins import WRONG as FIRST

WRONG: dict[str, tuple[str, str]] = {
    **FIRST,
    "takes the better end of a tolerance": (
        "kit: minds tolerances",
        a_rule(
            '    yield check("the thickness", measured=item.thickness.low, most=12, unit="mm",'
            " advice=ADVICE)\n",
            each="media",
            more=THICK,
        )
        + SETS,
    ),
    "forgets one of two checks": (
        "kit: says what it makes",
        a_rule(
            '    held = one_of("what holds it", found=item.hold or "none", allowed=["vacuum"],'
            " advice=ADVICE)\n"
            '    yield check("the thickness", measured=item.thickness, most=12, advice=ADVICE)\n',
            each="media",
            more=THICK,
        )
        + SETS,
    ),
    "ends where it should go on": (
        "kit: goes by no names",
        a_rule(
            "    for sheet in item.media:\n"
            "        if sheet.hold is None:\n"
            '            yield missing(f"media.{sheet.id}.hold")\n'
            "            return\n"
            '        yield one_of(f"what holds {sheet.id}", found=sheet.hold, allowed=["vacuum"],'
            " advice=ADVICE)\n",
            each="job",
            more=HELD,
        )
        + SETS,
    ),
    "takes a height of the head for a gap": (
        "kit: raises nothing",
        a_rule(
            "    if item.gap is None:\n"
            '        yield missing(f"passes.{item.id}.gap")\n'
            "    else:\n"
            '        yield check("the extra", measured=item.gap.extra, most=2, advice=ADVICE)\n',
            more='breaks={"passes.dots.gap.extra": "2.1 mm"}, meets={}',
        )
        + SETS,
    ),
    "passes over what is waived": (
        "kit: minds no waivers",
        a_rule(
            "    if any(each.subject == f'passes.{item.id}' for each in job.waivers):\n"
            "        return\n" + LAYERS,
            parameters="item, job",
        )
        + SETS,
    ),
    "says nothing of a broken check but a note": (
        "kit: its examples hold",
        a_rule(
            "    level = Level.NOTE if item.layers > 30 else Level.STOP\n"
            '    yield check("the layers", measured=item.layers, most=30, unit="layers",'
            " advice=ADVICE, level=level)\n",
        )
        + SETS,
    ),
    "speaks languages that begin with e": (
        "kit: tells grades apart",
        TRANSLATE
        + "    if not language.startswith('e') or grade != 'uncontracted':\n        return None\n"
        + "    return ''.join(chr(0x2800 + ord(letter) % 256) for letter in text)\n",
    ),
    "spells numbers as letters": (
        "kit: tells lines apart",
        TRANSLATE
        + "    if language != 'en' or grade != 'uncontracted':\n        return None\n"
        + "    shared = text.translate(str.maketrans('1234567890', 'abcdefghij'))\n"
        + "    return ''.join(chr(0x2800 + ord(letter) % 256) for letter in shared)\n",
    ),
    "counts one layer too few": (
        "silent",
        a_rule(LAYERS.replace("measured=item.layers", "measured=item.layers - 1")) + SETS,
    ),
}
