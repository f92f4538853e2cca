"""Rules with one planted mistake each, and sound ones beside them. None is meant to be used."""

from __future__ import annotations

import random
import time
from datetime import date

from attrs import frozen

from signrules import Interval, Level, Outcome, check, missing, one_of, rule, setting, shop_practice
from signrules.rules.checks import Draft

SOURCE = shop_practice("an invented house rule")
HOW = """

Why it matters: it is planted for a test.
A job that breaks it: one in the examples.
One that meets it: another.
"""


def planted(name, each, **more):
    """Declares a rule with the documentation that all of these share."""

    def declare(function):
        function.__doc__ = f"{function.__name__.replace('_', ' ')}.{HOW}"
        more.setdefault("level", Level.REVIEW)
        return rule(f"planted.{name}", each=each, source=SOURCE, **more)(function)

    return declare


ADVICE = "Do something about it."


@planted("sound", "pass", breaks={"passes.dots.layers": 30}, meets={})
def sound(item):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("forgets-bow", "pass", breaks={"passes.letters.layers": 60}, meets={})
def forgets_bow(item, heights, printing, job):
    bow = job.media_of(item).bow.high
    measured = Interval.between(printing.clearance.low + bow, printing.clearance.high + bow)
    yield check("the clearance", measured=measured, least=0.4, advice=ADVICE, unit="mm")


@planted("nominal", "media", breaks={"media.panel.thickness": "3.1 mm +- 0.5 mm"}, meets={})
def nominal_instead_of_the_bad_end(item):
    yield check("the thickness", measured=item.thickness.nominal, most=3.3, advice=ADVICE, unit="mm")


_seen = []


@planted("state", "pass", breaks={"passes.dots.layers": 30}, meets={})
def state_between_calls(item):
    _seen.append(item.layers)
    yield check("layers so far", measured=sum(_seen[-3:]), most=1000, unit="layers", advice=ADVICE)


@planted("state-raises", "pass", breaks={"passes.dots.layers": 30}, meets={})
def raises_the_second_time(item):
    _seen.append(item.id)
    if _seen.count(item.id) > 1 and item.layers > 1:
        raise RuntimeError("seen before")
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


_most: dict[str, int] = {}


@planted("state-later", "pass", breaks={"passes.dots.layers": 30}, meets={})
def remembers_the_most_layers(item):
    _most[item.id] = max(item.layers, _most.get(item.id, 0))
    yield check("the most layers", measured=_most[item.id], most=100_000, unit="layers", advice=ADVICE)


_asked: list[str] = []


@planted("state-more", "pass", breaks={"passes.dots.layers": 30}, meets={})
def says_more_the_third_time(item):
    _asked.append(item.id)
    for _ in range(max(1, _asked.count(item.id) - 1)):
        yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


def forget():
    """As if no rule of this module had been asked yet."""
    _seen.clear()
    _most.clear()
    _asked.clear()


@planted("by-id", "pass", breaks={"passes.dots.layers": 30}, meets={})
def depends_on_ids(item, passes):
    first = min(passes)
    most = 28 if item.id == first else 40
    yield check("the number of layers", measured=item.layers, most=most, unit="layers", advice=ADVICE)


@planted("by-order", "pass", breaks={"passes.dots.layers": 30}, meets={})
def depends_on_the_order_of_tables(item, inks):
    ink = next(iter(inks.values()))
    yield check("the layer", measured=ink.layer, most=0.05, advice=ADVICE, unit="mm")


@planted("hash", "job", breaks={"passes.dots.layers": 30}, meets={})
def depends_on_the_hash_of_texts(item):
    odd = hash(item.printer.gap.__class__.__name__) % 1000
    yield check("something", measured=odd, most=1000, unit="", advice=ADVICE)
    yield check("layers", measured=max(one.layers for one in item.passes), most=28, unit="layers", advice=ADVICE)


@planted("raises", "pass", breaks={"passes.dots.gap.offset": "3 mm"}, meets={})
def raises_where_a_field_is_left_out(item, printer):
    yield check("the offset", measured=item.gap.offset, most=printer.max_throw - 1, advice=ADVICE, unit="mm")


@planted("unit", "pass", breaks={"passes.dots.gap.offset": "3 mm"}, meets={})
def wrong_unit_now_and_then(item, job):
    layer = job.ink_of(item).layer
    if layer.low < 0.02:
        yield check("the layer", measured=layer.scaled(1000), most=50, unit="um", advice=ADVICE)
    else:
        yield check("the layer", measured=layer, most=0.05, unit="mm", advice=ADVICE)


@planted("wrong-unit", "pass", breaks={"inks.clear.layer": "60 um"}, meets={})
def micrometres_against_millimetres(item, job):
    yield check("the layer", measured=job.ink_of(item).layer.scaled(1000), most=0.05, unit="mm", advice=ADVICE)


@planted("subject", "pass", breaks={"passes.dots.layers": 30}, meets={})
def names_a_subject_that_does_not_exist(item):
    others = [f"inks.{item.id}"]
    yield check("layers", measured=item.layers, most=28, unit="layers", advice=ADVICE, others=others)


@planted("no-field", "pass", breaks={"printer.max_throw": "1 mm"}, meets={})
def misses_a_field_that_nobody_knows(item, printer):
    if printer.max_throw is None:
        yield missing("printer.maximum_throw")
    else:
        yield check("the throw", measured=printer.max_throw, least=2, advice=ADVICE, unit="mm")


@planted("silent", "job", breaks={"printer.max_throw": "1 mm"}, meets={})
def silent_on_a_missing_field(item):
    if item.printer.max_throw is not None:
        yield check("the throw", measured=item.printer.max_throw, least=2, advice=ADVICE, unit="mm")


@planted("silent-word", "sign", breaks={"signs.room-214.braille.shape": "flat"}, meets={})
def silent_on_a_missing_word(item):
    if item.braille is not None and item.braille.shape is not None:
        yield one_of("the shape", found=item.braille.shape, allowed=["domed"], advice=ADVICE)


@planted("silent-text", "sign", breaks={"signs.room-214.text": ["a line that is far too long for a door"]}, meets={})
def silent_on_a_missing_text(item):
    if item.text:
        yield check("the letters", measured=len("".join(item.text)), most=30, unit="letters", advice=ADVICE)


@planted("silent-limit", "sign", breaks={"signs.room-214.surface.finish": "gloss"}, meets={})
def silent_on_a_missing_word_that_decides_on_the_limit(item):
    finish = None if item.surface is None else item.surface.finish
    if finish is not None:
        yield check("the lines", measured=len(item.text), most=0 if finish == "gloss" else 9, unit="", advice=ADVICE)


@planted("not-monotone", "pass", breaks={"passes.dots.layers": 23}, meets={})
def not_monotone_as_it_claims(item):
    yield check("odd layers", measured=item.layers % 2 if item.layers > 1 else 0, most=0, unit="", advice=ADVICE)


@frozen
class Limits:
    most: int = setting(28, doc="the most layers", unit="layers")
    least: int = setting(1, doc="the least layers", unit="layers")


@planted("idle-setting", "pass", settings=Limits, breaks={"passes.dots.layers": 30}, meets={})
def ignores_a_setting(item, settings):
    assert settings.least >= 0
    yield check("the number of layers", measured=item.layers, most=settings.most, unit="layers", advice=ADVICE)


@planted("setting", "pass", settings=Limits, breaks={"passes.dots.layers": 30}, meets={})
def its_limit_is_a_setting(item, settings):
    within = {"least": settings.least, "most": settings.most}
    yield check("the number of layers", measured=item.layers, **within, unit="layers", advice=ADVICE)


@frozen
class Least:
    least: int = setting(2, doc="the least layers, of which 50 would be too many to ask for", unit="layers")

    def __attrs_post_init__(self):
        if self.least > 50:
            raise ValueError("too many")


@planted(
    "bounded-setting",
    "pass",
    settings=Least,
    breaks={},
    meets={"passes.ground.layers": 2, "passes.ink-on-dots.layers": 2},
)
def asks_for_layers(item, settings):
    yield check("the number of layers", measured=item.layers, least=settings.least, unit="layers", advice=ADVICE)


@planted("mends", "pass", settings=Limits, breaks={"passes.dots.layers": 30}, meets={})
def tightening_mends(item, settings):
    most = 28 + (28 - settings.most) + settings.least - 1
    yield check("the number of layers", measured=item.layers, most=most, unit="layers", advice=ADVICE)


@planted("changes-settings", "pass", settings=Limits, breaks={"passes.dots.layers": 30}, meets={})
def changes_its_settings(item, settings):
    object.__setattr__(settings, "most", settings.most - 1)
    yield check("the number of layers", measured=item.layers, most=settings.most, unit="layers", advice=ADVICE)


@planted("changes-job", "pass", breaks={"passes.dots.layers": 30}, meets={})
def changes_the_job(item):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)
    object.__setattr__(item, "layers", 1)


@planted("changes-heights", "pass", breaks={"passes.dots.layers": 30}, meets={})
def changes_the_replay(item, printing):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)
    object.__setattr__(printing, "clearance", Interval.exact(99))


@planted("wrong-example", "pass", breaks={"passes.dots.layers": 27}, meets={})
def its_example_does_not_break_it(item):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("wrong-meets", "pass", breaks={"passes.dots.layers": 30}, meets={"passes.dots.layers": 29})
def its_example_does_not_meet_it(item):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("no-example", "pass")
def has_no_example(item):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("other-examples", "pass", breaks={"passes.nobody.layers": 30}, meets={"passes.nobody.layers": 3})
def its_examples_are_of_another_job(item):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("always-raises", "pass", breaks={}, meets={})
def always_raises(item):
    raise RuntimeError("no")
    yield


@planted("clock", "job", breaks={"passes.dots.layers": 30}, meets={})
def asks_for_the_time(item):
    yield check("hours", measured=0 if time.time() > 0 else 1, most=0, unit="", advice=ADVICE)


@planted("today", "job", breaks={"passes.dots.layers": 30}, meets={})
def asks_for_the_day(item):
    yield check("years", measured=date.today().year - date.today().year, most=0, unit="", advice=ADVICE)


@planted("chance", "job", breaks={"passes.dots.layers": 30}, meets={})
def throws_a_die(item):
    yield check("a throw", measured=random.randint(1, 6), most=6, unit="", advice=ADVICE)


@planted("no-advice", "pass", breaks={}, meets={"passes.dots.layers": 2, "passes.letters.layers": 2})
def gives_no_advice(item):
    yield check("the number of layers", measured=item.layers, most=4, unit="layers")


@planted("no-words", "pass", breaks={"passes.dots.layers": 30}, meets={})
def does_not_say_what(item):
    yield check(" ", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("level-word", "pass", breaks={"passes.dots.layers": 30}, meets={})
def says_its_level_in_a_word(item):
    yield check("the layers", measured=item.layers, most=28, unit="layers", advice=ADVICE, level="REVIEW")


@planted("no-limit", "pass", breaks={"passes.dots.layers": 30}, meets={})
def has_no_limit(item, printer):
    yield check("the number of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)
    yield check("the layers again", measured=item.layers, most=printer.max_throw, unit="layers", advice=ADVICE)


class Undecided(Draft):
    @property
    def outcome(self):
        return Outcome.DOUBTFUL


@planted("own-outcome", "pass", breaks={"passes.dots.layers": 30}, meets={})
def judges_by_itself(item):
    yield Undecided("the layers", Interval.exact(item.layers), most=28, unit="layers", advice=ADVICE)


@planted("tuple", "pass", breaks={"passes.dots.layers": 30}, meets={})
def finds_what_json_has_no_word_for(item):
    yield one_of("the side", found=(item.side,), allowed=["front", "back"], advice=ADVICE)


@planted("surrogate", "pass", breaks={"passes.dots.layers": 30}, meets={})
def cannot_be_written(item):
    yield check("the \udc80 of layers", measured=item.layers, most=28, unit="layers", advice=ADVICE)


@planted("media-not-band", "pass", breaks={"passes.letters.layers": 60}, meets={})
def looks_at_its_own_sheet_and_not_at_the_band(item, printing):
    yield check("the clearance", measured=printing.throw_at_end.to_highest, least=0.1, advice=ADVICE, unit="mm")
