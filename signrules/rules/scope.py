"""Which signs need tactile text at all: by what they are for, as the standards that the job names say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import evolve

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.rules.checks import Draft, Level, missing, one_of
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, join, path_of, source_of
from signrules.standards.tables import EXEMPT, SCOPE, Row, Standard

_TACTILE = ("raised", "braille")
BOTH = "raised characters and braille"


@rule(
    "scope.tactile",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={
        "signs.room-214.raised": None,
        "signs.room-214.braille": None,
        "passes.letters.builds": None,
        "passes.dots.builds": None,
    },
    meets={},
)
def tactile(item: Sign, passes: Mapping[str, Pass], standards: tuple[Standard, ...]) -> Iterator[Draft]:
    """Whether a sign that must be read by touch has raised characters and braille.

    What a sign is for, its `kind`, decides: one that names a permanent room needs both, one that shows the way or
    informs, and a directory, a temporary sign or the name of an occupant, needs neither. A sign with neither section,
    and no pass that builds either, breaks it; one with a single section leaves the other open. A kind that is not
    stated, or that the standard does not speak of, is not assessed.

    Why it matters: people who cannot see the sign find the room by its text under their fingers.
    A job that breaks it: a sign of kind `permanent-room` with visual characters only.
    One that meets it: a sign of kind `permanent-room` with raised characters and braille.
    """
    there = [part for part in _TACTILE if _has(item, passes, part)]
    kind = item.kind
    for standard in standards:
        scope = standard.rows_for(SCOPE)
        needed = next((row for row in scope if kind in row.words), None)
        exempt = next((row for row in standard.rows_for(EXEMPT) if kind in row.words), None)
        if needed is not None:
            yield from _needed(item, standard, needed, there)
        elif exempt is not None:
            yield _word(item, "not needed", "not needed", standard, exempt)
        elif scope:
            what = "whether the sign needs raised characters and braille"
            source, level = source_of(standard, scope[0]), Level(scope[0].level)
            draft = missing(path_of(item, "kind"), what, source=source, level=level)
            yield draft if kind is None else evolve(draft, advice=f"the table does not speak of signs of kind {kind}")


def _has(sign: Sign, passes: Mapping[str, Pass], part: str) -> bool:
    return getattr(sign, part) is not None or any(item.builds == f"{sign.id}.{part}" for item in passes.values())


def _needed(sign: Sign, standard: Standard, row: Row, there: list[str]) -> Iterator[Draft]:
    if len(there) != 1:
        yield _word(sign, BOTH if there else "none", BOTH, standard, row)
        return
    for part in _TACTILE:
        if part not in there:
            words = {"raised": "raised characters", "braille": "braille"}[part]
            what = f"whether the sign has {words}, which a sign of kind {sign.kind} needs"
            yield missing(path_of(sign, part), what, source=source_of(standard, row), level=Level(row.level))


def _word(sign: Sign, found: str, allowed: str, standard: Standard, row: Row) -> Draft:
    return one_of(
        f"the tactile text of a sign of kind {sign.kind}",
        found=found,
        allowed=(allowed,),
        advice=join("Add raised characters, and braille below them.", row.note),
        source=source_of(standard, row),
        level=Level(row.level),
    )


SCOPE_RULES = RuleSet("scope", (tactile,), "Which signs need raised characters and braille.")
