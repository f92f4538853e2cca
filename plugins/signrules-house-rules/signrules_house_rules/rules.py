"""The rules of the house, one of each kind.

Every number that a shop may want to change is a setting.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import frozen

from signrules import (
    Draft,
    Gap,
    Ink,
    Job,
    Level,
    Media,
    Pass,
    Printing,
    RuleSet,
    Sign,
    Timeline,
    check,
    missing,
    one_of,
    rule,
    setting,
    shop_practice,
)

# --- gaps -----------------------------------------------------------------------------------------


@frozen
class Rack:
    """What hangs on the spacer rack."""

    thinnest: float = setting(0.3, unit="mm", doc="the thinnest spacer that lies flat")
    thickest: float = setting(1.5, unit="mm", doc="the thickest spacer on the rack")


@rule(
    "harbour.spacer",
    each="pass",
    source=shop_practice("the rack of an invented shop holds spacers of 0.3 to 1.5 mm"),
    settings=Rack,
    breaks={"passes.dots.gap": {"extra": "2 mm", "above": "media"}},
    meets={},
)
def spacer(item: Pass, settings: Rack) -> Iterator[Draft]:
    """A stated gap needs a spacer that hangs on our rack. A gap without a spacer needs none.

    Why it matters: whoever has no spacer of that thickness stacks two, and a stack slips.
    A job that breaks it: dots at 2 mm over the sheet.
    One that meets it: dots at 1.3 mm over the sheet.
    """
    if isinstance(item.gap, Gap) and item.gap.extra.nominal > 0:
        yield check(
            "the spacer",
            measured=item.gap.extra,
            least=settings.thinnest,
            most=settings.thickest,
            advice="Take a gap for which there is a spacer, or let the planner choose.",
        )


# --- material -------------------------------------------------------------------------------------


@frozen
class Warmth:
    """How warm an extruded sheet may be."""

    warmest: float = setting(
        35.0, unit="degrees C", doc="the warmest that an extruded sheet may be while it prints"
    )


@rule(
    "harbour.warm-extruded",
    each="pass",
    source=shop_practice("an invented shop's experience with extruded sheets"),
    settings=Warmth,
    breaks={"media.panel.sheet_type": "extruded-acrylic", "passes.dots.sheet_temperature": 41},
    meets={"media.panel.sheet_type": "extruded-acrylic", "passes.dots.sheet_temperature": 31},
)
def warm_extruded(item: Pass, job: Job, settings: Warmth) -> Iterator[Draft]:
    """An extruded acrylic sheet stays below a temperature while it prints.

    Why it matters: extruded sheet carries stress from its making, and crazes where warm ink lies on
    it.
    A job that breaks it: dots on an extruded sheet that is at 41 degrees.
    One that meets it: the same sheet at 31 degrees, or a cast sheet.
    """
    sheet = job.media_of(item)
    if sheet.material != "acrylic":
        return
    if sheet.sheet_type is None:
        yield missing(f"media.{sheet.id}.sheet_type", "whether the sheet is extruded")
    elif sheet.sheet_type == "extruded-acrylic" and item.sheet_temperature is None:
        yield missing(
            f"passes.{item.id}.sheet_temperature", "the temperature of the extruded sheet"
        )
    elif sheet.sheet_type == "extruded-acrylic" and item.sheet_temperature is not None:
        yield check(
            "the temperature of the extruded sheet",
            measured=item.sheet_temperature,
            most=settings.warmest,
            unit="degrees C",
            advice="Let the sheet cool before this pass, or print on cast sheet.",
        )


# --- sheet size -----------------------------------------------------------------------------------


@frozen
class Sizes:
    """What fits between the pins and the stops of our bed."""

    shortest: float = setting(
        120.0, unit="mm", doc="the shortest side that still lies against both pins"
    )
    longest: float = setting(
        520.0, unit="mm", doc="the longest side that still lies inside the stops"
    )


@rule(
    "harbour.sheet-size",
    each="media",
    level=Level.STOP,
    source=shop_practice("the pins of an invented bed stand 120 mm apart, its stops 520 mm"),
    settings=Sizes,
    breaks={"media.panel.size": ["540 mm", "320 mm"]},
    meets={},
)
def sheet_size(item: Media, settings: Sizes) -> Iterator[Draft]:
    """A sheet is large enough for the pins of our bed and small enough for its stops.

    Why it matters: a sheet that touches one pin turns, and no two passes lie on each other.
    A job that breaks it: a sheet of 540 by 320 mm.
    One that meets it: a sheet of 240 by 320 mm.
    """
    short, long = sorted(item.size)
    gang, cut = "Gang it on a larger sheet.", "Cut the sheet first."
    yield check("the shorter side", measured=short, least=settings.shortest, unit="mm", advice=gang)
    yield check("the longer side", measured=long, most=settings.longest, unit="mm", advice=cut)


# --- order ----------------------------------------------------------------------------------------


@frozen
class Cooling:
    """From when on a build-up has to cool."""

    layers: int = setting(28, unit="layers", doc="a build-up of more layers than this has to cool")


@rule(
    "harbour.cool-down",
    each="pass",
    level=Level.STOP,
    source=shop_practice("an invented shop's habit after thick build-ups"),
    settings=Cooling,
    decides=True,
    breaks={"passes.dots.layers": 29},
    meets={
        "passes.dots.layers": 29,
        "handling.look": {"id": "cool", "does": "pause", "after": ["dots"]},
        "passes.dots.after": None,
        "passes.letters.after": None,
        "passes.ink-on-dots.after": ["cool"],
    },
)
def cool_down(
    item: Pass, passes: Mapping[str, Pass], job: Job, timeline: Timeline, settings: Cooling
) -> Iterator[Draft]:
    """Between a thick build-up and the pass that lands on it there is a pause.

    Why it matters: a thick stack is still soft where it is warm, and colour on it cracks when it
    has cooled.
    A job that breaks it: colour right after dots of 29 layers.
    One that meets it: the same with a pause declared after the dots and before the colour.
    """
    order = [job.items[at].id for at in timeline.order]
    pauses = {each.id for each in job.handling if each.does == "pause"}
    for under in item.over:
        if passes[under].layers > settings.layers:
            first, last = sorted((order.index(under), order.index(item.id)))
            yield check(
                "the number of pauses between this pass and the build-up under it",
                measured=sum(name in pauses for name in order[first:last]),
                least=1,
                unit="",
                advice=f"Declare a handling that does 'pause', after {under} and before {item.id}.",
                others=[f"passes.{under}"],
            )


# --- the replay -----------------------------------------------------------------------------------


@frozen
class FarThrow:
    """From when on the two directions are not to be trusted."""

    furthest: float = setting(
        2.1, unit="mm", doc="the largest throw at which colour may print in both directions"
    )


@rule(
    "harbour.one-way-colour",
    each="pass",
    level=Level.NOTE,
    source=shop_practice("an invented shop's taste in sharp edges"),
    settings=FarThrow,
    breaks={"passes.ground.gap": {"extra": "1.5 mm", "above": "media"}},
    meets={
        "passes.ground.gap": {"extra": "1.5 mm", "above": "media"},
        "passes.ground.directions": 1,
    },
)
def one_way_colour(
    item: Pass, inks: Mapping[str, Ink], printing: Printing, settings: FarThrow
) -> Iterator[Draft]:
    """Colour that flies far is printed in one direction.

    Why it matters: at a large throw a small error of the alignment shows as a double edge.
    A job that breaks it: a ground printed both ways at a throw of 2.2 mm.
    One that meets it: the same ground printed one way.
    """
    ink = inks[item.ink]
    if ink.role is None:
        yield missing(f"inks.{ink.id}.role", "whether this is colour")
    elif ink.role == "colour" and printing.throw.to_lowest.high > settings.furthest:
        yield check(
            "the number of directions of colour that flies far",
            measured=item.directions,
            most=1,
            unit="",
            advice="Set directions = 1, or take a smaller gap.",
        )


@frozen
class Loads:
    """How often the bed may be loaded for one job."""

    most: int = setting(2, unit="loads", doc="bed loads that one person does in one go")


@rule(
    "harbour.bed-loads",
    each="job",
    source=shop_practice("one person loads the bed in an invented shop"),
    settings=Loads,
    breaks={
        "handling": [
            {"id": "look", "does": "reload", "locates_by": "pins", "after": ["ground"]},
            {"id": "look-again", "does": "reload", "locates_by": "pins", "after": ["dots"]},
        ],
        "passes.ink-on-dots.after": ["look-again"],
    },
    meets={},
)
def bed_loads(timeline: Timeline, settings: Loads) -> Iterator[Draft]:
    """A job is done in few bed loads.

    Why it matters: each load is one more chance to put a sheet down askew.
    A job that breaks it: a sheet that comes off the bed twice between its passes.
    One that meets it: a sheet that comes off once, to be looked at.
    """
    yield check(
        "the number of bed loads",
        measured=timeline.loads,
        most=settings.most,
        unit="",
        advice="Gang the sheets on one load.",
    )


# --- signs ----------------------------------------------------------------------------------------


@frozen
class Readers:
    """Who reads proofs for us."""

    languages: tuple[str, ...] = setting(
        ("en", "en-GB", "cy"), doc="languages of braille that our proofreader reads"
    )


@rule(
    "harbour.proofreader",
    each="sign",
    source=shop_practice("the languages that an invented proofreader reads"),
    settings=Readers,
    breaks={"signs.room-214.braille.language": "fr"},
    meets={},
)
def proofreader(item: Sign, settings: Readers) -> Iterator[Draft]:
    """Braille is in a language that our proofreader reads.

    Why it matters: nobody here would see a wrong word.
    A job that breaks it: a sign in French.
    One that meets it: a sign in English.
    """
    if item.braille is not None:
        yield one_of(
            "the language of the braille",
            found=item.braille.language,
            allowed=settings.languages,
            advice="Find a proofreader before this is printed.",
        )


HARBOUR = RuleSet(
    "harbour",
    [spacer, warm_extruded, sheet_size, cool_down, one_way_colour, bed_loads, proofreader],
    "What an invented shop has learned.",
)
