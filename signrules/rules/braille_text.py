"""Rules on what the cells of a sign say, and on whether there is room for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest

from attrs import evolve

from signrules.braille.cells import name_of
from signrules.braille.layout import braille_layout, distance
from signrules.braille.spelling import capital_words, expected, joined, numbers_in, numbers_of, reasons, words_of
from signrules.model.job import Job
from signrules.model.passes import Area, Pass
from signrules.model.sign import Braille, Sign
from signrules.physics.heights import Heights
from signrules.rules.checks import Draft, Level, check, geometry, missing, one_of, published, stated_by_the_job
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, join, path_of, rows, source_of
from signrules.rules.engine import Translate
from signrules.rules.relieved import builders
from signrules.standards.tables import Standard

Standards = tuple[Standard, ...]

TRANSLATOR = "a plugin that translates {language!r} to {grade} braille, such as signrules-liblouis for English"
_SPACINGS = ("dot_diameter", "dot_spacing", "cell_spacing")


@rule(
    "braille.text",
    each="sign",
    level=Level.REVIEW,
    source=published("the rules of the braille code, as the translator that is installed applies them"),
    breaks={"signs.room-214.text": ["ROOM 215"]},
    meets={},
)
def text(item: Sign, standards: Standards, translate: Translate) -> Iterator[Draft]:
    """The cells say what the text of the sign says, in the grade that the sign states or its standards ask for.

    The text is taken in lower case, but for the names and acronyms that the sign lists; letters that stand alone and
    the first letter of a sentence may be capitals or not. A translator is no proofreader, hence REVIEW.

    Why it matters: whoever makes the sign seldom reads braille, and whoever reads it cannot ask.
    A job that breaks it: STAIR as ⠎⠞⠁⠊⠗, spelled out where contracted braille is asked for.
    One that meets it: STAIR as ⠌⠁⠊⠗.
    """
    braille = item.braille
    if braille is None:
        return
    stated = (braille.grade,) if braille.grade else ()
    wanted = (word for _, row in rows(standards, "braille.grade") for word in row.words)
    for grade in dict.fromkeys(stated or wanted):
        what = f"the {grade} braille"
        if braille.cells is None or not words_of(item.text):
            yield missing(path_of(item, "braille.cells" if braille.cells is None else "text"), what)
            continue

        def translated(line: str, grade: str = grade, language: str = braille.language) -> str | None:
            return translate(line, grade, language)

        allowed = expected(item.text, translated, proper=braille.proper, acronyms=braille.acronyms)
        if allowed is None:
            absent = TRANSLATOR.format(language=braille.language, grade=grade)
            yield Draft(what, missing=absent, advice=f"there is no {absent.removeprefix('a ')}; install one")
            continue
        found = joined(braille.cells)
        yield one_of(what, found=found, allowed=allowed, advice=_difference(found, allowed[0]))


def _difference(found: str, wanted: str) -> str:
    for number, (one, other) in enumerate(zip_longest(found, wanted), 1):
        if one != other:
            first, second = ("the end" if each is None else name_of(each) for each in (one, other))
            return f"The first difference is at cell {number}: {first}, not {second}. Have a proofreader decide."
    return ""


@rule(
    "braille.capitals",
    each="sign",
    source=TABLES,
    level=Level.REVIEW,
    breaks={"signs.room-214.braille.cells": "⠠⠠⠗⠕⠕⠍⠀⠼⠃⠁⠙"},
    meets={},
)
def capitals(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Capital indicators stand only where the standard allows them: names, acronyms, single letters, sentences.

    It looks at the words of the cells that carry dot 6, or dots 6, 6 or 6, 6, 6, and at the same words of the text.
    The sign lists its names and acronyms, as nobody else can know them, hence REVIEW, or NOTE where the standard's row
    is no more. It needs no translator. Languages other than English are not assessed.

    Why it matters: raised text is in capitals, and a translator that is fed with it marks every word.
    A job that breaks it: EXIT as ⠠⠠⠑⠭⠊⠞.
    One that meets it: EXIT as ⠑⠭⠊⠞, or ROOM 12B as ⠗⠕⠕⠍⠀⠼⠁⠃⠠⠃.
    """
    braille = item.braille
    if braille is None:
        return
    unread = _unread(item, braille, "whether capitals stand only where they are allowed")
    cells = braille.cells or ""
    found, words = capital_words(cells), joined(cells).split("\u2800")
    because = reasons(item.text, proper=braille.proper, acronyms=braille.acronyms)
    for standard, row in rows(standards, "braille.capitals"):
        level = Level.NOTE if row.level == Level.NOTE else Level.REVIEW
        if unread is not None:
            yield evolve(unread, source=source_of(standard, row), level=level)
            continue
        allowed = [bool(why & set(row.words)) for why in because]
        if len(allowed) == len(words):
            wrong = [number for number in found if not allowed[number]]
        else:
            # The words cannot be paired; as many as have a reason are let pass, from the left.
            wrong = found[sum(allowed) :]
        where = ", ".join(f"word {number + 1} ({words[number]})" for number in wrong)
        yield check(
            "the number of words with capitals that nothing in the text gives a reason for",
            measured=len(wrong),
            most=0,
            unit="",
            advice=join(f"See {where}: leave the indicator out, or list the name or acronym with the sign.", row.note),
            source=source_of(standard, row),
            level=level,
        )


@rule(
    "braille.numbers",
    each="sign",
    level=Level.STOP,
    source=published("The Rules of Unified English Braille, second edition 2013, section 6"),
    breaks={"signs.room-214.braille.cells": "⠗⠕⠕⠍⠀⠃⠁⠙"},
    meets={},
)
def numbers(item: Sign) -> Iterator[Draft]:
    """The numbers of the text stand in the cells: a numeric indicator, dots 3456, and the letters a to j as digits.

    It is judged where text or cells have a number. Languages other than English, whose braille may write numbers in
    another way, are not assessed.

    Why it matters: a sign with the number of another room is worse than none.
    A job that breaks it: 101 as ⠁⠚⠁, which says "aja"; or as ⠼⠁⠁⠚, which is 110.
    One that meets it: 101 as ⠼⠁⠚⠁.
    """
    braille = item.braille
    if braille is None:
        return
    wanted, found = numbers_of(item.text), numbers_in(braille.cells or "")
    if wanted or found:
        what, none = "the list of numbers in the cells", "none"
        yield _unread(item, braille, what) or one_of(
            what,
            found=" ".join(found) or none,
            allowed=(" ".join(wanted) or none,),
            advice="Check each digit, and the indicator before the first one.",
        )


def _unread(item: Sign, braille: Braille, what: str) -> Draft | None:
    """Why numbers and capitals cannot be told: cells or text are not stated, or the language has a code of its own."""
    if braille.language.lower().partition("-")[0] != "en":
        why = (
            f"numbers and capitals are known in English braille alone, and the sign's language is {braille.language!r}"
        )
        return evolve(missing(path_of(item, "braille.language"), what), advice=why)
    if braille.cells is None:
        return missing(path_of(item, "braille.cells"), what)
    return None if words_of(item.text) else missing(path_of(item, "text"), what)


@rule(
    "braille.fit",
    each="sign",
    level=Level.REVIEW,
    source=geometry("the cells laid out at the stated spacings; the areas of the passes that build the features"),
    breaks={"passes.dots.areas": [["30 mm", "42 mm", "50 mm", "8 mm"]]},
    meets={},
)
def fit(item: Sign, heights: Heights) -> Iterator[Draft]:
    """The cells go into the areas of the passes that build them, which keep the sign's clear space.

    Areas are rectangles around what is printed, so the clear space between them is the least that there can be. A sign
    whose braille no pass builds is not judged.

    Why it matters: a line that is too long is cut off or crowds what stands beside it, and artwork shows neither.
    A job that breaks it: 9 cells 6.2 mm apart, 53.6 mm with their dots, for an area of 50 mm.
    One that meets it: the same cells for an area of 60 mm, 10 mm from the raised text and from every edge.
    """
    braille = item.braille
    if braille is None:
        return
    for group in builders(heights.job, f"{item.id}.braille"):
        yield from _room(item, braille, heights.job, [heights.job.passes[at] for at in group])


def _room(item: Sign, braille: Braille, job: Job, building: Sequence[Pass]) -> Iterator[Draft]:
    """The room that the passes on one side of a sheet leave for the braille that they build, and around it."""
    areas = [area for each in building for area in job.areas_of(each)]
    yield from _size(item, braille, areas)
    space, what = braille.clear_space, "the room around the braille"
    if space is None:
        yield missing(path_of(item, "braille.clear_space"), what)
        return
    for each in building:
        if each.areas is None:
            yield missing(f"passes.{each.id}.areas", what)
            return
    sheet, side = job.media_of(building[0]), building[0].side
    stated = stated_by_the_job(path_of(item, "braille.clear_space"))
    what = "the distance from the braille to the edge of the sheet"
    to_edges = _to_edges(areas, *sheet.size)
    yield check(what, measured=to_edges, least=space.low, unit="mm", source=stated, advice=_MOVE)
    what = "the distance from the braille to the raised characters"
    for each in job.passes:
        if not (each.builds or "").endswith(".raised") or job.media_of(each).id != sheet.id or each.side != side:
            continue
        if each.areas is None:
            yield missing(f"passes.{each.id}.areas", what)
            continue
        apart = min(distance(one, other) for one in areas for other in each.areas)
        yield check(
            what,
            measured=apart,
            least=space.low,
            unit="mm",
            source=stated,
            advice=_MOVE,
            others=(f"passes.{each.id}",),
        )


_MOVE = "Move the one or the other, or draw the areas closer around what is printed."


def _size(item: Sign, braille: Braille, areas: Iterable[Area]) -> Iterator[Draft]:
    what = "the {} of the cells with their dots"
    if braille.cells is None:
        yield missing(path_of(item, "braille.cells"), what.format("size"))
        return
    needed = _SPACINGS if "\n" not in braille.cells.strip("\n") else (*_SPACINGS, "line_spacing")
    lengths: dict[str, float] = {"line_spacing": 1.0}
    for name in needed:
        value = getattr(braille, name)
        if value is None or value.high <= 0:
            yield missing(path_of(item, f"braille.{name}"), what.format("size"))
            return
        lengths[name] = value.high
    around = braille_layout(braille.cells.strip("\n"), at=(0.0, 0.0), **lengths).extents
    if around is None:
        return
    box = _box(areas)
    advice = "Break the line, or give the pass a larger area."
    for side in ("width", "height"):
        found, room = getattr(around, side), getattr(box, side)
        yield check(what.format(side), measured=found, most=room, unit="mm", advice=advice)


def _box(areas: Iterable[Area]) -> Area:
    some = list(areas)
    x, y = min(each.x for each in some), min(each.y for each in some)
    right, top = max(each.x + each.width for each in some), max(each.y + each.height for each in some)
    return Area(x, y, right - x, top - y)


def _to_edges(areas: Iterable[Area], width: float, height: float) -> float:
    box = _box(areas)
    return min(box.x, box.y, width - box.x - box.width, height - box.y - box.height)


TEXT_RULES = (text, capitals, numbers, fit)
"""The rules of this module, which belong to the set `braille`."""
