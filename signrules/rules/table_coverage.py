"""What the tables of a job leave out: what they are silent on, and laws that they loosen."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from types import MappingProxyType

from attrs import evolve

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.physics.heights import Heights
from signrules.rules.checks import (
    Draft,
    Level,
    check,
    common_practice,
    missing,
    shop_practice,
)
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES
from signrules.rules.judged_relief import has_feature, is_built
from signrules.rules.loosened_law import failing_the_law
from signrules.rules.sections import tables_section
from signrules.standards.dimension_tables import (
    CONTRAST,
    EXEMPT,
    LIGHTER,
    POLARITY,
    QUANTITIES,
    REPEATED,
    SCOPE,
    SPREAD,
    UNBOUND,
    Standard,
    builtin_standards,
)
from signrules.standards.looser_tables import looser_sentences

MOST_NAMED = 3
"""As many signs that would fail a law as are named."""

_CLAUSE = re.compile(r"\([A-Z0-9]{0,3}[A-Z-]{0,2}\d[\w.-]*\d[\w.()-]*\)")
"""A clause in brackets, as in "(407.2.3.1)", "(11B-703.3.2)" and "(S15C2(b))"."""

Passes = Mapping[str, Pass]
Signs = Mapping[str, Sign]
Standards = tuple[Standard, ...]


@rule(
    "tables.silent",
    each="job",
    source=TABLES,
    level=Level.NOTE,
    meets={
        "signs.room-214.braille.dome_radius": None,
        "signs.room-214.raised.word_spacing": None,
        "signs.room-214.pictogram.field_width": None,
        "signs.room-214.surface.gloss": None,
        "signs.room-214.mounting.centre": None,
        "signs.room-214.mounting.lowest_part": None,
        "signs.room-214.mounting.highest_part": None,
        "signs.room-214.mounting.highest_braille": None,
    },
)
def tables_silent(signs: Signs, passes: Passes, standards: Standards) -> Iterator[Draft]:
    """What the signs state and another table limits, but a table of the job does not. One check for
    each table lists all of it: none of it was judged under that table.

    Why it matters: a table holds only what could be read; what it lacks would look as if it were
    met.
    A job that breaks it: none can; what is not judged is for the reader to look up.
    One that meets it: signs that state only what the table limits.
    """
    limited = _limited_quantities(standards)
    for standard in standards:
        judged = set(_judged_under(standard))
        unsaid = [name for name in QUANTITIES if name in limited and name not in judged]
        unsaid_limited = [name for name in unsaid if _is_stated_by_any(signs, name, passes)]
        if unsaid_limited:
            names = ", ".join(unsaid_limited)
            yield Draft(
                f"what {standard.id} has no row on",
                missing=f"rows on {names}: not judged under {standard.id}",
                advice=f"not judged under {standard.id}: {names}; look it up in the text",
            )
        else:
            what = f"the number of quantities that are not judged under {standard.id}"
            yield check(what, measured=0, most=0, unit="")


def _limited_quantities(standards: Iterable[Standard]) -> set[str]:
    """The quantities that a built-in table or one of these limits."""
    return {row.quantity for table in (*builtin_standards(), *standards) for row in table.rows}


def _judged_under(standard: Standard) -> Iterator[str]:
    """The quantities judged under a table: those of its rows, and what follows from them."""
    limited = {row.quantity for row in standard.rows}
    yield from limited
    if limited & {SCOPE, EXEMPT, UNBOUND}:
        yield from (SCOPE, EXEMPT, UNBOUND)
    if any(row.contrast == "weber" for row in standard.rows_for(CONTRAST)):
        yield LIGHTER
    if "braille.clear_space" in limited:
        yield "braille.below_text"


def _is_stated_by_any(signs: Signs, quantity: str, passes: Passes) -> bool:
    return any(_is_stated(sign, quantity, passes) for sign in signs.values())


def _is_stated(sign: Sign, quantity: str, passes: Passes) -> bool:
    """Whether there is something of a sign to judge: stated, measured, or built by a pass."""
    special = _STATED.get(quantity)
    if special is not None:
        return special(sign, passes)
    section, name = quantity.split(".")
    return getattr(getattr(sign, section), name, None) is not None


def _has_kind(sign: Sign, passes: Passes) -> bool:
    return sign.kind is not None


def _is_free(sign: Sign, passes: Passes) -> bool:
    """What needs no tactile text is said together with what needs it."""
    return False


def _has_raised(sign: Sign, passes: Passes) -> bool:
    return has_feature(sign, passes, "raised")


def _has_reflectances(sign: Sign, passes: Passes) -> bool:
    surface = sign.surface
    return surface is not None and None not in (surface.character_lrv, surface.background_lrv)


def _has_cells(sign: Sign, passes: Passes) -> bool:
    return sign.braille is not None and sign.braille.cells is not None


def _has_dot_heights(sign: Sign, passes: Passes) -> bool:
    return sign.measured is not None and bool(sign.measured.dot_height)


def _has_several_heights(sign: Sign, passes: Passes) -> bool:
    return sign.measured is not None and len(sign.measured.dot_height) > 1


def _has_dots(sign: Sign, passes: Passes) -> bool:
    stated = sign.braille is not None and sign.braille.dot_height is not None
    return stated or _has_dot_heights(sign, passes) or is_built(sign, passes, "braille")


def _has_relief(sign: Sign, passes: Passes) -> bool:
    stated = sign.raised is not None and sign.raised.depth is not None
    measured = sign.measured is not None and bool(sign.measured.depth)
    return stated or measured or is_built(sign, passes, "raised")


_STATED: Mapping[str, Callable[[Sign, Passes], bool]] = MappingProxyType(
    {
        SCOPE: _has_kind,
        EXEMPT: _is_free,
        UNBOUND: _is_free,
        REPEATED: _has_raised,
        CONTRAST: _has_reflectances,
        LIGHTER: _has_reflectances,
        POLARITY: _has_reflectances,
        SPREAD: _has_several_heights,
        "braille.capitals": _has_cells,
        "braille.dot_height": _has_dots,
        "raised.depth": _has_relief,
    }
)
"""How a sign states a quantity that is no field of it, or not only that."""


@rule(
    "tables.looser",
    each="job",
    source=shop_practice("a table of a shop's own may ask for more than a law and not for less"),
    level=Level.REVIEW,
    meets={"standards": ["us-ca-cbc-11b"]},
)
def tables_looser(signs: Signs, standards: Standards, heights: Heights) -> Iterator[Draft]:
    """Whether a table of the job asks for less than the law that it amends, or a built-in table.

    A table that amends another is compared with the one at the end of that chain, in everything. A
    plugin's table that stands alone is compared with each built-in table, on what both limit. Signs
    that state what the law would not let pass are named.

    Why it matters: a sign that meets only such a table may fail where it is sold.
    A job that breaks it: none under a built-in table; a plugin's that asks for 3 mm around braille,
    where us-ada-2010 asks for 3/8 in, breaks it.
    One that meets it: a job under us-ca-cbc-11b, which amends us-ada-2010 and only adds to it.
    """
    for standard in standards:
        if standard.looser is not None:
            draft = check(
                f"the number of limits in which {standard.id} asks for less",
                measured=len(standard.looser),
                most=0,
                unit="",
                advice=_first_few(failing_the_law(standard, signs, heights)),
            )
            sentence = "".join(looser_sentences([standard])).removesuffix(".")
            yield evolve(draft, told=sentence)


def _first_few(sentences: Iterable[str]) -> str:
    """Sentences, of many the first."""
    different = list(dict.fromkeys(sentences))
    # Each sign of a large job may fail; a few are enough to see what the law asks.
    further = (
        f" So would {len(different) - MOST_NAMED} more." if len(different) > MOST_NAMED else ""
    )
    return " ".join(different[:MOST_NAMED]) + further


@rule(
    "tables.notes",
    each="job",
    source=TABLES,
    level=Level.NOTE,
    breaks={"standards": ["au-ncc-s15"]},
    meets={"standards": ["au-aba"]},
)
def tables_notes(signs: Signs, standards: Standards) -> Iterator[Draft]:
    """What a table of the job names, with its clause, and no rule judges.

    One check for each table names all of it, from the notes of the table. Some clauses bind signs
    of a few kinds alone; whether they bind those of the job is for the reader to know.

    Why it matters: a report that says nothing of a clause looks as if it were met.
    A job that breaks it: one under `au-ncc-s15`, of which the place of single-line signs is not
    judged (S15C2(b)).
    One that meets it: one under `au-aba`, whose clauses are all judged.
    """
    for standard in standards if signs else ():
        unjudged = unjudged_notes(standard)
        draft = check(
            f"the number of clauses that {standard.id} names and no rule judges",
            measured=len(unjudged),
            most=0,
            unit="",
        )
        sentence = " ".join((f"{standard.id}:", *unjudged)).removesuffix(".")
        yield evolve(draft, told=sentence)


def unjudged_notes(standard: Standard) -> tuple[str, ...]:
    """The notes of a table that name a clause, each of which no rule judges."""
    return tuple(note for note in standard.notes if _CLAUSE.search(note))


@rule(
    "tables.none",
    each="job",
    source=common_practice("a sign is made to the standards that it is sold under"),
    level=Level.STOP,
    meets={},
)
def tables_none(signs: Signs, standards: Standards) -> Iterator[Draft]:
    """Whether a job with signs names the standards that they are sold under.

    Without any, only what the signs say and how they are drawn can be judged.

    Why it matters: signs that nobody judged would look as if they were in order.
    A job that breaks it: none can; without a standard the check is not assessed.
    One that meets it: a job with signs that names `us-ada-2010`.
    """
    if not signs:
        return
    what = "the number of standards that the signs are sold under"
    if standards:
        yield check(what, measured=len(standards), least=1, unit="")
    else:
        yield missing("standards", "whether the signs meet the standards that they are sold under")


TABLE_RULES = RuleSet(
    "tables",
    (tables_silent, tables_looser, tables_notes, tables_none, tables_section),
    "What the tables of a job leave out.",
)
