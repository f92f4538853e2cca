"""Plugins with one mistake each, as their authors might write them. None is meant to be used.

Each has the stage at which it is told: `load` when it is loaded, `judge` when a job is judged,
`kit` by the testing kit and which of its laws, `silent` where nothing tells it; docs/testing-kit.md
says why.
"""

from __future__ import annotations

import textwrap

START = """
from datetime import date
import random
from attrs import define, frozen
from signrules import (
    Interval, Level, Material, RuleSet, check, hookimpl, missing, one_of, rule, setting,
    shop_practice,
)

HOUSE = shop_practice("an invented house rule")
ADVICE = "Do something about it."
"""

DOC = '''"""A thing is as our shop wants it.

    Why it matters: it is a trial.
    A job that breaks it: one in the examples.
    One that meets it: another.
    """'''

SETS = """
@hookimpl
def signrules_rule_sets():
    return [RuleSet("own", [one])]
"""


def a_rule(body, *, parameters="item", each="pass", more="", name="own.one", function="one"):
    """A rule with the examples that most of these share."""
    examples = more or 'breaks={"passes.dots.layers": 40}, meets={}'
    return f"""
@rule({name!r}, each={each!r}, source=HOUSE, {examples})
def {function}({parameters}):
    {DOC}
{body}
"""


LAYERS = (
    '    yield check("the layers", measured=item.layers, most=30, unit="layers", advice=ADVICE)\n'
)
GOOD = a_rule(LAYERS)
PRECEDENCE = "@hookimpl\ndef signrules_precedence(job):\n"
QUANTITIES = "@hookimpl\ndef signrules_quantities(job):\n"
TRANSLATE = "@hookimpl\ndef signrules_translate_braille(text, grade, language):\n"
THICK = 'breaks={"media.panel.thickness": "13 mm"}, meets={}'
HELD = 'breaks={"media.panel.hold": "tape"}, meets={}'
SETTINGS = """
@frozen
class Limits:
    most: int = setting(30, unit="layers", doc="the most layers")
"""

METHOD = SETS.replace("sets()", "sets(self)")
OF_CLEAR = "    if inks[item.ink].role {}:\n    " + LAYERS
PRINTER = """
@hookimpl
def signrules_printers():
    return {
        "own": {
            "bed": ["600 mm", "450 mm"],
            "base_gap": "0.75 mm",
            "min_clearance": "0.5 mm",
            "gap": {"control": "spacers", "spacers": ["0.4 mm", "1 mm"]},
            "head_length": "40 mm",
            "carriage_speed": "800 mm/s",
            "drop_speed": "6 m/s",
        }
    }
"""


def indented(text):
    return textwrap.indent(text, "    ")


WRONG: dict[str, tuple[str, str]] = {
    # Told when it is loaded.
    "forgets hookimpl": ("load", GOOD + SETS.replace("@hookimpl", "")),
    "misspells a hook": (
        "load",
        GOOD + SETS.replace("@hookimpl", "").replace("rule_sets", "rulesets"),
    ),
    "defines a hook twice": ("load", GOOD + SETS + SETS.replace("[one]", "[]")),
    "leaves a rule out of its set": (
        "load",
        GOOD + a_rule(LAYERS, name="own.two", function="two") + SETS,
    ),
    "calls two rules alike": ("load", a_rule(LAYERS, name="own.two") + GOOD + SETS),
    "misspells settings": ("load", SETTINGS + "signrules_setings = Limits\n" + GOOD + SETS),
    "misspells the version": ("load", 'signrule_api = "1.0"\n' + GOOD + SETS),
    "is written for another version": ("load", 'signrules_api = "2.0"\n' + GOOD + SETS),
    "decides without stopping": (
        "load",
        a_rule(LAYERS, more='level=Level.REVIEW, decides=True, breaks={"passes.dots.layers": 40}')
        + SETS,
    ),
    "adds to a set of signrules": (
        "load",
        a_rule(LAYERS, name="braille.one") + SETS.replace('"own"', '"braille"'),
    ),
    "has settings that change": (
        "load",
        SETTINGS.replace("@frozen", "@define") + "signrules_settings = Limits\n" + GOOD + SETS,
    ),
    "forgets to return its sets": ("load", GOOD + SETS.replace("return [", "[")),
    "returns sets from a generator": (
        "load",
        GOOD + SETS.replace("    return", "    if not one:\n        yield\n    return"),
    ),
    "ends the process at import": ("load", "import sys\nsys.exit()\n"),
    "has an example of a setting that is none": (
        "load",
        SETTINGS
        + a_rule(
            LAYERS.replace("30", "settings.most"),
            parameters="item, settings",
            more='settings=Limits, breaks={"settings.least": 2}',
        )
        + SETS,
    ),
    "brings a material without sources": (
        "load",
        (
            '@hookimpl\ndef signrules_materials():\n    return [Material("felt", "felt",'
            " density=200)]\n"
        ),
    ),
    "brings a printer that nobody can use": (
        "load",
        '@hookimpl\ndef signrules_printers():\n    return {"own": {"bed": ["600 mm", "wide"]}}\n',
    ),
    "makes a check and does not yield it": (
        "load",
        a_rule(LAYERS + LAYERS.replace("yield ", "").replace("layers", "coverage")) + SETS,
    ),
    "brings a printer whose head never clears": (
        "load",
        PRINTER.replace('"min_clearance": "0.5 mm"', '"min_clearance": "5 mm"'),
    ),
    "says nothing of why it matters": ("load", GOOD.replace("it is a trial.", "") + SETS),
    "has a source without a word": ("load", GOOD.replace("HOUSE", 'shop_practice(" ")') + SETS),
    "hides its hook in a class": ("load", GOOD + "class Ours:" + indented(METHOD)),
    "has a hook only as a program": (
        "load",
        GOOD + 'if __name__ == "__main__":' + indented(SETS),
    ),
    "has a list for a hook": (
        "load",
        GOOD + 'signrules_rule_sets = [RuleSet("own", [one])]\n',
    ),
    "is written for whatever is installed": (
        "load",
        "import signrules\nsignrules_api = signrules.API_VERSION\n" + GOOD + SETS,
    ),
    # Told when a job is judged.
    "forgets to yield its pairs": ("judge", PRECEDENCE + '    ("ground", "dots", "low first")\n'),
    "puts sheets before each other": (
        "judge",
        PRECEDENCE + '    return [("panel", job.passes[0].id, "the sheet first")]\n',
    ),
    "forgets to return its quantities": ("judge", QUANTITIES + '    {"film_m2": 1.0}\n'),
    "counts in words": ("judge", QUANTITIES + '    return {"film_m2": "1 m2"}\n'),
    "returns what is missing": (
        "judge",
        a_rule("    if item.layers > 1:\n        return missing('passes.dots.layers')\n" + LAYERS)
        + SETS,
    ),
    "misses what is no field": (
        "judge",
        a_rule('    yield missing(f"passes.{item.id}.temperature", "the temperature")\n') + SETS,
    ),
    "forgets a unit": ("judge", a_rule(LAYERS.replace('unit="layers", ', "")) + SETS),
    "changes the job": (
        "judge",
        a_rule(LAYERS + "    object.__setattr__(item, 'layers', 1)\n") + SETS,
    ),
    "does not end": ("judge", a_rule("    while True: pass\n    yield\n") + SETS),
    "swallows the end of its time": (
        "judge",
        a_rule(
            "    while True:\n        try:\n            while True: pass\n        except Exception:"
            " pass\n    yield\n"
        )
        + SETS,
    ),
    "says too much": ("judge", a_rule("    for _ in range(60_000):\n    " + LAYERS) + SETS),
    "names another pass that is none": (
        "judge",
        a_rule(LAYERS.replace("advice", "others=[f'inks.{item.id}'], advice")) + SETS,
    ),
    "translates into letters": ("judge", TRANSLATE + "    return text.upper()\n"),
    "misses what is stated": ("judge", a_rule('    yield missing("inks.clear.layer")\n') + SETS),
    "interrupts itself": ("judge", a_rule("    raise KeyboardInterrupt\n    yield\n") + SETS),
    "leaves": ("judge", a_rule("    raise SystemExit\n    yield\n") + SETS),
    "gives no reason": (
        "judge",
        PRECEDENCE + '    return [(job.passes[0].id, job.passes[1].id, " ")]\n',
    ),
    "measures a text": (
        "judge",
        a_rule(LAYERS.replace("measured=item.layers", "measured=str(item.layers)")) + SETS,
    ),
    # Told by the testing kit.
    "takes what is not said for vacuum": (
        "kit: assumes nothing",
        a_rule(
            '    hold = item.hold or "vacuum"\n'
            '    yield one_of("the hold", found=hold, allowed=["vacuum"], advice=ADVICE)\n',
            each="media",
            more=HELD,
        )
        + SETS,
    ),
    "takes a throw that is not said for large": (
        "kit: assumes nothing",
        a_rule(
            '    most = printer.max_throw or 100.0\n    yield check("the throw",'
            " measured=printing.throw.to_lowest, most=most - 1, advice=ADVICE)\n",
            parameters="printing, printer",
            more='breaks={"printer.max_throw": "2 mm"}, meets={"printer.max_throw": "6 mm"}',
        )
        + SETS,
    ),
    "compares each three passes": (
        "kit: its work stays in bounds",
        a_rule(
            "    every = list(item.passes)\n    found = sum(a.layers > b.layers > c.layers > 35 for"
            ' a in every for b in every for c in every)\n    yield check("the stairs",'
            ' measured=found, most=0, unit="", advice=ADVICE)\n'
            + LAYERS.replace("item.layers", "max(one.layers for one in item.passes)"),
            each="job",
        )
        + SETS,
    ),
    "forgets the tolerance": (
        "kit: minds tolerances",
        a_rule(
            '    yield check("the thickness", measured=item.thickness.nominal, most=12, unit="mm",'
            " advice=ADVICE)\n",
            each="media",
            more=THICK,
        )
        + SETS,
    ),
    "is silent where a field is left out": (
        "kit: is never silent",
        a_rule(
            "    if item.hold is not None:\n"
            '        yield one_of("the hold", found=item.hold, allowed=["vacuum"],'
            " advice=ADVICE)\n",
            each="media",
            more=HELD,
        )
        + SETS,
    ),
    "fails where a field is left out": (
        "kit: raises nothing",
        a_rule(
            '    yield check("the reach", measured=printer.max_throw - 1, least=1, unit="mm",'
            " advice=ADVICE)\n",
            parameters="item, printer",
            more='breaks={"printer.max_throw": "1.5 mm"}, meets={}',
        )
        + SETS,
    ),
    "goes by the first name": (
        "kit: goes by no names",
        a_rule(
            LAYERS.replace("most=30", "most=30 if item.id == min(passes) else 39"),
            parameters="item, passes",
        )
        + SETS,
    ),
    "asks what day it is": (
        "kit: asks nothing else",
        a_rule(LAYERS.replace("most=30", "most=30 + 0 * date.today().day")) + SETS,
    ),
    "remembers": (
        "kit: answers alike",
        "SEEN = []\n"
        + a_rule("    SEEN.append(item.layers)\n" + LAYERS.replace("item.layers", "max(SEEN)"))
        + SETS,
    ),
    "turns its limit round": (
        "kit: its examples hold",
        a_rule(LAYERS.replace("most=30", "least=30")) + SETS,
    ),
    "ignores its setting": (
        "kit: its settings count",
        SETTINGS
        + a_rule(
            LAYERS.replace("most=30", "most=30 + 0 * settings.most"),
            parameters="item, settings",
            more='settings=Limits, breaks={"passes.dots.layers": 40}, meets={}',
        )
        + SETS,
    ),
    "has a setting that its example does not reach": (
        "kit: its examples hold",
        SETTINGS
        + a_rule(
            LAYERS.replace("most=30", "most=settings.most"),
            parameters="item, settings",
            more='settings=Limits, breaks={"settings.most": 28}, meets={}',
        )
        + SETS,
    ),
    "puts passes in a circle": (
        "kit: leaves an order",
        PRECEDENCE
        + "    ids = [item.id for item in job.passes]\n"
        + '    return [(a, b, "in turn") for a in ids for b in ids if a != b]\n',
    ),
    "goes against what the job says": (
        "kit: leaves an order",
        PRECEDENCE + '    return [(item.id, name, "backwards") for item in job.passes for name in'
        " item.over]\n",
    ),
    "shuffles": (
        "kit: answers alike",
        PRECEDENCE
        + "    ids = [item.id for item in job.passes]\n"
        + '    return [(ids[0], other, "the die says so") for other in ids[1:] if random.random() <'
        " 0.5]\n",
    ),
    "counts below nought": (
        "kit: counts nothing below zero",
        QUANTITIES
        + '    return {"rest_m2": 0.05 - sum(w * h for w, h in (s.size for s in job.media)) /'
        " 1e6}\n",
    ),
    "fails where there is no sign": (
        "kit: answers in kind",
        QUANTITIES + '    return {"plates": float(len(job.signs[0].text))}\n',
    ),
    "translates what it does not know into nothing": (
        "kit: translates into something",
        TRANSLATE + '    return {"exit": "⠑⠭⠊⠞"}.get(text, "")\n',
    ),
    "ignores the setting of its hooks": (
        "kit: its settings count",
        SETTINGS
        + "signrules_settings = Limits\n\n\n@hookimpl\ndef signrules_quantities(job, settings):\n"
        + '    return {"film_m2": 1.0}\n',
    ),
    "goes by a role and is silent without": (
        "kit: is never silent",
        a_rule(OF_CLEAR.format('== "clear"'), parameters="item, inks") + SETS,
    ),
    "takes every ink for clear": (
        "kit: assumes nothing",
        a_rule(OF_CLEAR.format('in ("clear", None)'), parameters="item, inks") + SETS,
    ),
    "fails where there are many layers": (
        "kit: raises nothing",
        a_rule("    if item.layers >= 119:\n        raise KeyboardInterrupt\n" + LAYERS) + SETS,
    ),
    "does not end where there are many layers": (
        "kit: its work stays in bounds",
        a_rule("    while item.layers >= 119: pass\n" + LAYERS) + SETS,
    ),
    "tries every order": (
        "kit: its work stays in bounds",
        a_rule(
            "    from itertools import permutations\n"
            "    most = max(order[0].layers for order in permutations(item.passes))\n"
            + LAYERS.replace("item.layers", "most"),
            each="job",
        )
        + SETS,
    ),
    "reads a file for each job": (
        "kit: asks nothing else",
        a_rule("    open(__import__('os').devnull).close()\n" + LAYERS) + SETS,
    ),
    "asks the environment": (
        "kit: asks nothing else",
        a_rule("    __import__('os').environ.get('LAYERS')\n" + LAYERS) + SETS,
    ),
    "yields a check twice": ("kit: says what it means", a_rule(LAYERS * 2) + SETS),
    "lets no shop raise its limit": (
        "kit: its settings count",
        SETTINGS
        + a_rule(
            LAYERS.replace("most=30", "most=min(settings.most, 30)"),
            parameters="item, settings",
            more='settings=Limits, breaks={"passes.dots.layers": 40}, meets={}',
        )
        + SETS,
    ),
    "has a setting in another unit": (
        "kit: its settings count",
        SETTINGS
        + a_rule(
            LAYERS.replace("most=30", "most=settings.most").replace('"layers"', '"mm"'),
            parameters="item, settings",
            more='settings=Limits, breaks={"passes.dots.layers": 40}, meets={}',
        )
        + SETS,
    ),
    "does not end where it is asked of pairs": (
        "kit: its work stays in bounds",
        PRECEDENCE + "    while len(job.passes) == 1: pass\n    return []\n",
    ),
    "goes by the place in the document": (
        "kit: goes by no names",
        PRECEDENCE
        + "    ids = [item.id for item in job.passes]\n"
        + '    return [(a, b, "as written") for a, b in zip(ids, ids[1:])]\n',
    ),
    "spells in letters without contractions": (
        "judge",
        TRANSLATE + '    return text.upper() if grade == "uncontracted" else None\n',
    ),
    "fails at an accent": (
        "judge",
        TRANSLATE
        + "    if language != 'en' or grade != 'uncontracted':\n        return None\n"
        + "    return ''.join({' ': chr(0x2800)} | {c: chr(0x2801) for c in map(chr, range(128))}"
        + "[letter] for letter in text)\n",
    ),
    "speaks every language": (
        "kit: tells grades apart",
        TRANSLATE + "    return chr(0x2801) if grade == 'uncontracted' else None\n",
    ),
    "has one grade for both": (
        "kit: tells grades apart",
        TRANSLATE + "    return chr(0x2801) if language == 'en' else None\n",
    ),
    "brings a density in another unit": (
        "kit: its numbers are in their units",
        "@hookimpl\ndef signrules_materials():\n"
        '    return [Material("own", density=1.65, sources={"density": "invented"})]\n',
    ),
    "brings a gap in another unit": (
        "kit: its numbers are in their units",
        PRINTER.replace('"base_gap": "0.75 mm"', '"base_gap": "7.5 cm"'),
    ),
    "measures one end against both limits": (
        "kit: minds tolerances",
        a_rule(
            "    low, high = item.thickness.low, item.thickness.high\n"
            '    yield check("the thickness", measured=high, least=2, most=12, unit="mm",'
            " advice=ADVICE)\n",
            each="media",
            more=THICK,
        )
        + SETS,
    ),
    # Told by nobody.
    "measures the right thing against a wrong limit": (
        "silent",
        a_rule(LAYERS.replace("30", "39")) + SETS,
    ),
    "counts in another unit than its name says": (
        "silent",
        QUANTITIES + '    return {"film_m2": sum(w * h for w, h in (s.size for s in job.media))}\n',
    ),
}
