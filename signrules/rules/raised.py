"""Rules on raised characters: their relief, size, strokes, gaps and form."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, one_of, stated_by_the_job
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import (
    TABLES,
    judge_length,
    judge_value,
    lacking_check,
    path_of,
)
from signrules.rules.exempt_characters import are_raised
from signrules.rules.forgotten_builders import forgotten_builders
from signrules.rules.judged_relief import judge_relief
from signrules.rules.line_spacing import judge_line_spacing
from signrules.rules.measured_sample import raised_measured_spread
from signrules.rules.unread_letters import raised_text
from signrules.standards.dimension_tables import Row, Standard

Standards = tuple[Standard, ...]

LIGHTER = "Take a lighter weight of the typeface."
HEAVIER = "Take a heavier weight of the typeface."


@rule(
    "raised.depth",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"passes.letters.layers": 20},
    meets={},
)
def raised_depth(item: Sign, standards: Standards, heights: Heights) -> Iterator[Draft]:
    """How far raised characters stand above the face beside them.

    The measured height counts; without one, the height that the passes build; without that, the
    declared height. Where the declared height differs from the built one by more than their
    tolerances, that is REVIEW. The declared height does not count where a pass that builds nothing
    prints relief in which the characters could lie, or passes build those of other signs on the
    sheet.

    Why it matters: a finger traces the edge of a letter, and a low edge is lost.
    A job that breaks it: 20 layers of 30 um, 0.6 mm, where 1/32 in (0.79375 mm) is asked for.
    One that meets it: 28 layers of 30 um, 0.84 mm.
    """
    forgotten = list(forgotten_builders(item, standards, heights, "raised"))
    yield from forgotten
    if forgotten:
        return
    measured = () if item.measured is None else item.measured.depth
    yield from judge_relief(
        item, standards, heights, "raised.depth", measured, "relief of the raised characters"
    )


@rule(
    "raised.height",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.height": "15 mm"},
    meets={},
)
def raised_height(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How tall raised characters are, on the capital I.

    Why it matters: a letter must fit under a fingertip that moves, neither too small to trace nor
    too large to grasp.
    A job that breaks it: characters of 15 mm, where at least 5/8 in (15.875 mm) is asked for.
    One that meets it: characters of 25 mm.
    """
    advice = "Set the characters in a size within the range."
    yield from judge_length(
        item, standards, "raised.height", "the height of the raised characters", advice
    )


@rule(
    "raised.width",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.width": "12 mm"},
    meets={},
)
def raised_width(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the capital O of raised characters is, as a share of their height.

    Why it matters: squeezed letters have no room for a fingertip to tell their strokes, and
    stretched ones fall apart.
    A job that breaks it: an O of 12 mm in characters of 25 mm, 48 % where 55 % is the least.
    One that meets it: an O of 20 mm in characters of 25 mm, 80 %.
    """
    advice = "Take a wider or narrower cut of the typeface."
    yield from judge_length(
        item, standards, "raised.width", "the width of the raised characters", advice
    )


@rule(
    "raised.stroke",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.stroke": "4 mm"},
    meets={},
)
def raised_stroke(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How thick the stroke of raised characters is, as a share of their height.

    Why it matters: thick strokes close up the counters, and the letter feels like a lump.
    A job that breaks it: strokes of 4 mm on characters of 25 mm, 16 % where 15 % is the most.
    One that meets it: strokes of 3 mm on characters of 25 mm, 12 %.
    """
    what = "the stroke of the raised characters"
    yield from judge_length(item, standards, "raised.stroke", what, LIGHTER, too_little=HEAVIER)


@rule(
    "raised.spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.spacing": "3 mm"},
    meets={},
)
def raised_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the gap between neighbouring raised characters is, in itself and against their
    stroke.

    A text whose lines have one letter each need not state it.

    Why it matters: without a gap two letters feel like one; with too wide a gap a word falls apart.
    A job that breaks it: gaps of 3 mm, where at least 1/8 in (3.175 mm) is asked for.
    One that meets it: gaps of 4 mm between strokes of 3 mm.
    """
    if item.raised is None or (item.raised.spacing is None and _is_one_letter_a_line(item)):
        return
    advice = "Change the tracking of the line."
    yield from judge_length(
        item, standards, "raised.spacing", "the gap between raised characters", advice
    )


@rule(
    "raised.word-spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"standards": ["au-ncc-s15"], "signs.room-214.raised.word_spacing": "8 mm"},
    meets={"standards": ["au-ncc-s15"]},
)
def raised_word_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How wide the gap between words of raised characters is.

    A text whose lines have one word each need not state it.

    Why it matters: a finger tells words apart by a gap that is plainly wider than that between
    letters.
    A job that breaks it: words 8 mm apart, where at least 10 mm is required.
    One that meets it: words 12 mm apart.
    """
    if item.raised is None or (item.raised.word_spacing is None and _is_one_word_a_line(item)):
        return
    advice = "Set wider word spaces."
    yield from judge_length(
        item, standards, "raised.word_spacing", "the gap between raised words", advice
    )


def _is_one_letter_a_line(sign: Sign) -> bool:
    """Whether a sign has a text, and no two letters of it stand in one line."""
    counts = [len("".join(line.split())) for line in sign.text]
    return max(counts, default=0) == 1


def _is_one_word_a_line(sign: Sign) -> bool:
    """Whether a sign has a text, and no two words of it stand in one line."""
    counts = [len(line.split()) for line in sign.text]
    return max(counts, default=0) == 1


@rule(
    "raised.line-spacing",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={
        "signs.room-214.text": ["ROOM", "214"],
        "signs.room-214.raised.line_spacing": "30 mm",
    },
    meets={},
)
def raised_line_spacing(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How far apart the baselines of raised lines are, as a share of the height of the characters.

    A text of one line need not state it.

    Why it matters: lines too close touch under the finger, and lines too far apart are not found.
    A job that breaks it: lines 30 mm apart in characters of 25 mm, 120 % where 135 % is the least.
    One that meets it: lines 37.5 mm apart in characters of 25 mm, 150 %.
    """
    advice = "Change the leading."
    what = "the line spacing of the raised characters"
    yield from judge_line_spacing(item, standards, "raised", what, advice)


@rule(
    "raised.clear-space",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.clear_space": "9.5 mm"},
    meets={},
)
def raised_clear_space(item: Sign, standards: Standards) -> Iterator[Draft]:
    """How much clear face lies around raised characters, to raised borders and decoration.

    A sign on which nothing else is raised states the distance to its edge.

    Why it matters: a border close by feels like one more stroke of the letter.
    A job that breaks it: a raised border 9.5 mm from the characters, where 3/8 in (9.525 mm) is
    asked for.
    One that meets it: 10 mm on every side.
    """
    advice = "Move the characters, or the border."
    yield from judge_length(
        item,
        standards,
        "raised.clear_space",
        "the clear space around the raised characters",
        advice,
    )


@rule(
    "raised.case",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.case": "mixed"},
    meets={},
)
def raised_case(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether raised characters are in the case that the standard asks for.

    It is the case of the text, which is written as it is raised, and the one that the sign states.
    Of a sign with other characters, read by eye, nobody knows which lines are raised, so one line
    in the right case is enough there. A text of digits alone has no case, and nothing is judged
    unless the sign states one. Where text and statement differ and no standard decides, that is
    REVIEW.

    Why it matters: capitals have simpler outlines of one height, which are easier to trace.
    A job that breaks it: raised characters in mixed case, where upper case is required.
    One that meets it: raised characters in upper case.
    """
    if item.raised is None:
        return
    stated, written = item.raised.case, _case_as_written(item)
    # Of "214" nobody can say that it is in capitals.
    if stated is None and _has_no_case(item):
        return
    advice = "Set the words anew, in capitals in the text as in the artwork."
    decided = False
    for standard, row in rows_binding(item, standards, "raised.case"):
        if written is not None and (stated is None or written not in row.words):
            decided = decided or written not in row.words
            what = "the case of the raised characters, as the text is written,"
            yield judge_value(item, standard, row, what, written, advice)
        else:
            yield _stated_case(item, standard, row, stated, advice)
    # A standard that stops the sign for its text has said as much already.
    if stated in ("upper", "lower") and written not in (stated, None) and not decided:
        yield one_of(
            "the case of the text as it is stated",
            found=written or "",
            allowed=(stated,),
            advice=f"Write {path_of(item, 'text')} as it is raised, or correct "
            f"{path_of(item, 'raised.case')}.",
            source=stated_by_the_job(path_of(item, "raised.case")),
            level=Level.REVIEW,
        )


def _stated_case(
    item: Sign, standard: Standard, row: Row, stated: str | None, advice: str
) -> Draft:
    what = "the case of the raised characters"
    if stated is None:
        return lacking_check(item, standard, row, "raised.case", what)
    return judge_value(item, standard, row, what, stated, advice)


def _case_as_written(sign: Sign) -> str | None:
    """The case of the raised text as it is written; None where no letter has a case, or where it
    may be that of lines which are not raised.
    """
    cases = {case for case in map(_case_of, sign.text) if case is not None}
    if len(cases) > 1:
        separate = sign.visual is not None and not are_raised(sign)
        return None if separate else "mixed"
    return next(iter(cases), None)


def _has_no_case(sign: Sign) -> bool:
    """Whether a sign has a text, and none of its characters is a capital or a small letter."""
    written = "".join(sign.text)
    return bool(written) and written.upper() == written.lower()


def _case_of(line: str) -> str | None:
    """`upper`, `lower` or `mixed`; None where no letter has a case.

    A letter whose capital is two, such as the German sharp s, counts as either.
    """
    upper = any(letter.isupper() for letter in line)
    lower = any(letter.islower() and len(letter.upper()) == 1 for letter in line)
    if upper and lower:
        return "mixed"
    if upper:
        return "upper"
    return "lower" if lower else None


@rule(
    "raised.style",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.raised.style": "serif"},
    meets={},
)
def raised_style(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether raised characters are in a style of typeface that the standard allows.

    Why it matters: serifs and slanted or ornate strokes blur what a finger traces.
    A job that breaks it: raised characters with serifs.
    One that meets it: raised characters without serifs, upright.
    """
    yield from judge_length(
        item,
        standards,
        "raised.style",
        "the style of the raised characters",
        "Take another typeface.",
    )


RAISED = RuleSet(
    "raised",
    (
        raised_depth,
        raised_height,
        raised_width,
        raised_stroke,
        raised_spacing,
        raised_word_spacing,
        raised_line_spacing,
        raised_clear_space,
        raised_case,
        raised_style,
        raised_text,
        raised_measured_spread,
    ),
    "Relief, size and form of raised characters.",
)
