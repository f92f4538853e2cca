"""Rules with one planted mistake each that shows beside a copy, a twin, another order, another
number or another statement of the same. None is meant to be used.
"""

from __future__ import annotations

from attrs import frozen
from planted import ADVICE, planted

from signrules import Level, check, missing, one_of, setting

THICK = {"breaks": {"media.panel.thickness": "15 mm"}, "meets": {}}
MANY = {"breaks": {"passes.dots.layers": 31}, "meets": {}}


def layers_of(item, most=30, **more):
    return check(
        "the layers", measured=item.layers, most=most, unit="layers", advice=ADVICE, **more
    )


@planted("one-forgotten", "media", **THICK)
def makes_two_checks_and_yields_one(item):
    found = check("the thickness", measured=item.thickness, most=12, advice=ADVICE)
    yield check("the width", measured=item.size[0], most=1000, unit="mm", advice=ADVICE)
    assert found is not None


@planted("worst-of-two", "media", **THICK)
def yields_the_worst_of_two(item):
    lengths = {"the width": item.size[0], "the depth": item.size[1]}
    made = [
        check(what, measured=length, most=1000, unit="mm", advice=ADVICE)
        for what, length in lengths.items()
    ]
    yield min(made, key=lambda each: each.margin)


@planted("better-end", "media", **THICK)
def takes_the_better_end(item):
    yield check("the thickness", measured=item.thickness.low, most=12, unit="mm", advice=ADVICE)


@planted("worse-end", "media", **THICK)
def takes_the_worse_end(item):
    yield check("the thickness", measured=item.thickness.high, most=12, unit="mm", advice=ADVICE)


@planted("braces", "pass", **MANY)
def fills_nothing_in(item):
    yield check(
        "the layers", measured=item.layers, most=30, unit="layers", advice="Split {item.id}."
    )


@planted("same-words", "pass", **MANY)
def says_the_same_of_each_area(item):
    for area in ((0, 10), (1, 20)):
        yield check("the width", measured=area[1], most=200, unit="mm", advice=ADVICE)


@planted("without-id", "media", breaks={"media.panel.hold": "tape"}, meets={})
def misses_a_field_of_no_row(item):
    if item.hold is None:
        yield missing("media.hold", "what holds the sheet")
    else:
        yield one_of("what holds it", found=item.hold, allowed=["vacuum"], advice=ADVICE)


@planted("returns", "job", breaks={"media.panel.hold": "tape"}, meets={})
def ends_where_it_should_go_on(item):
    for sheet in item.media:
        if sheet.hold is None:
            yield missing(f"media.{sheet.id}.hold")
            return
        yield one_of(f"what holds {sheet.id}", found=sheet.hold, allowed=["vacuum"], advice=ADVICE)


@planted("goes-on", "job", breaks={"media.panel.hold": "tape"}, meets={})
def goes_on_where_it_should(item):
    for sheet in item.media:
        if sheet.hold is None:
            yield missing(f"media.{sheet.id}.hold")
            continue
        yield one_of(f"what holds {sheet.id}", found=sheet.hold, allowed=["vacuum"], advice=ADVICE)


@planted("down-twice", "pass", **MANY)
def follows_each_of_two_down(item, passes):
    def depth(each):
        return max((depth(passes[name]) + 1 for name in each.over), default=0)

    yield check("the passes below", measured=depth(item), most=40, unit="", advice=ADVICE)


@planted("down-once", "pass", **MANY)
def follows_each_down_once(item, passes):
    below, open_ = set(), list(item.over)
    while open_:
        name = open_.pop()
        if name not in below:
            below.add(name)
            open_ += passes[name].over
    yield check("the passes below", measured=len(below), most=40, unit="", advice=ADVICE)


@planted("acrylic", "media", breaks={"media.panel.size": ["400 mm", "320 mm"]}, meets={})
def takes_one_material_for_all(item, materials):
    growth = materials["acrylic"].expansion.scaled(item.size[0] * 1e-5)
    yield check("the growth over 10 K", measured=growth, most=0.5, advice=ADVICE)


@planted("of-all", "pass", **MANY)
def counts_what_is_of_others_too(item, passes):
    most = max(each.layers for each in passes.values())
    total = sum(each.layers for each in passes.values())
    yield check("layers of all", measured=total + most, most=300, unit="layers", advice=ADVICE)


@planted("waived", "pass", **MANY)
def passes_over_what_is_waived(item, job):
    if not any(waiver.subject == f"passes.{item.id}" for waiver in job.waivers):
        yield layers_of(item)


@planted("equal", "pass", breaks={"passes.dots.gap.extra": "2.1 mm"}, meets={})
def compares_lengths_by_equality(item, printer):
    if item.gap is not None and item.gap.stated.nominal in printer.gap.spacers:
        yield check("the spacer", measured=item.gap.stated, most=2, advice=ADVICE)


@planted("noted", "pass", **MANY)
def weighs_less_where_it_is_broken(item):
    yield layers_of(item, level=Level.NOTE if item.layers > 30 else Level.STOP)


@planted("missed-and-judged", "media", breaks={"media.panel.friction": 0.1}, meets={})
def misses_it_and_judges_too(item):
    if item.friction is None:
        yield missing(f"media.{item.id}.friction")
    friction = 0.2 if item.friction is None else item.friction
    yield check("the friction", measured=friction, least=0.15, unit="", advice=ADVICE)


@planted("extra-of-all", "pass", breaks={"passes.dots.gap.extra": "2.1 mm"}, meets={})
def takes_a_height_for_a_gap(item):
    if item.gap is None:
        yield missing(f"passes.{item.id}.gap")
    else:
        yield check("the extra", measured=item.gap.extra, most=2, advice=ADVICE)


_heights = {}


@planted("kept", "pass", breaks={"passes.dots.layers": 60}, meets={})
def keeps_by_too_little(item, inks):
    if item.layers not in _heights:
        _heights[item.layers] = inks[item.ink].layer.scaled(item.layers)
    yield check("the build-up", measured=_heights[item.layers], most=1.2, advice=ADVICE)


@planted("first-alone", "sign", **MANY)
def looks_at_the_first_alone(item, passes):
    built = [each for each in passes.values() if f"{item.id}.braille" in each.builds]
    if built:
        yield layers_of(built[0])


@planted("all-of-them", "sign", **MANY)
def looks_at_all_of_them(item, passes):
    built = [each.layers for each in passes.values() if f"{item.id}.braille" in each.builds]
    yield check("the layers", measured=sum(built), most=60, unit="layers", advice=ADVICE)


@frozen
class Hours:
    """How long loading may take."""

    most: float = setting(8.0, unit="h", doc="the most hours of loading")


@planted("hours", "job", breaks={"printer.minutes.load": 9}, meets={}, settings=Hours)
def compares_minutes_with_hours(item, settings):
    minutes = item.printer.minutes
    if minutes is None:
        yield missing("printer.minutes")
    else:
        yield check(
            "the loading", measured=minutes.load, most=settings.most, unit="min", advice=ADVICE
        )
