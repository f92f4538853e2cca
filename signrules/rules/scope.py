"""Which signs need tactile text at all: by what they are for, as the standards of the job say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import evolve

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.rules.binding_rows import exempt_rows, kind_rows
from signrules.rules.checks import Draft, Level, common_practice, missing, one_of
from signrules.rules.declaration import RuleSet, rule
from signrules.rules.dimensions import TABLES, joined_sentences, path_of, source_of
from signrules.rules.judged_relief import has_feature, is_built
from signrules.rules.known_words import known_word, unknown_word
from signrules.standards.dimension_tables import (
    REPEATED,
    SCOPE,
    Row,
    Standard,
    builtin_standards,
)

Passes = Mapping[str, Pass]
Standards = tuple[Standard, ...]

RAISED_TEXT, BRAILLE_CELLS = "raised text", "braille cells"
_REQUIRED = {RAISED_TEXT: "raised text is required", BRAILLE_CELLS: "braille cells are required"}
NONE, NOT_NEEDED = "missing", "not needed"


@rule(
    "scope.tactile",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.braille.cells": None},
    meets={},
)
def scope_tactile(item: Sign, passes: Passes, standards: Standards) -> Iterator[Draft]:
    """Whether a sign that must be read by touch has raised text, and whether it has braille.

    The `kind` of the sign decides. A sign that names a permanent room needs both; directional and
    informational signs, directories, temporary signs and names of occupants need neither. Raised
    text means a text, and either the section `raised` or a pass that builds it. Braille means
    cells; sizes of dots do not count. It is not assessed without a kind, nor if no table of the job
    says what kinds need, unless the sign has both.

    Why it matters: people who cannot see the sign find the room by its text under their fingers.
    A job that breaks it: a sign of kind `permanent-room` that states sizes of dots and no cells.
    One that meets it: a sign of kind `permanent-room` with raised characters, text and cells.
    """
    for standard in standards:
        scope = standard.rows_for(SCOPE)
        needed = next((row for row in scope if item.kind in row.words), None)
        exempt = next((row for row in exempt_rows(standard) if item.kind in row.words), None)
        if needed is not None:
            yield _raised_text(item, passes, standard, needed)
            yield _braille_cells(item, standard, needed)
            yield from _unsaid_sizes(item, passes, standard, needed)
        elif exempt is not None:
            what = f"the tactile text of a sign of kind {item.kind}"
            yield _word_check(what, NOT_NEEDED, NOT_NEEDED, standard, exempt)
        # Only a table that speaks of kinds can leave one of them open.
        elif scope:
            yield _undecided_kind(item, standard, scope[0])
    if standards and not any(kind_rows(standard) for standard in standards):
        yield from _no_table_speaks(item, passes, standards)


def _no_table_speaks(sign: Sign, passes: Passes, standards: Standards) -> Iterator[Draft]:
    """No table of the job says which kinds need what: moot for a sign that has all there is."""
    if has_feature(sign, passes, "raised") and says_something(sign) and has_cells(sign):
        return
    names = " and ".join(standard.id for standard in standards)
    say = "says" if len(standards) == 1 else "say"
    advice = f"{names} {say} nothing of kinds of sign"
    draft = missing(path_of(sign, "kind"), "whether the sign needs raised text and braille")
    yield evolve(draft, advice=f"{advice}: look it up in the text, or name a standard that does")


def _raised_text(sign: Sign, passes: Passes, standard: Standard, row: Row) -> Draft:
    characters = has_feature(sign, passes, "raised")
    advice = "Add raised characters: the section raised, or a pass that builds them."
    if characters:
        advice = f"State what they say, in {path_of(sign, 'text')}."
    raised_text = RAISED_TEXT if says_something(sign) and characters else NONE
    what = f"the raised text of a sign of kind {sign.kind}"
    return _word_check(what, raised_text, RAISED_TEXT, standard, row, advice)


def _braille_cells(sign: Sign, standard: Standard, row: Row) -> Draft:
    advice = f"State its cells, in {path_of(sign, 'braille.cells')}; sizes alone are no braille."
    what = f"the braille of a sign of kind {sign.kind}"
    braille_cells = BRAILLE_CELLS if has_cells(sign) else NONE
    return _word_check(what, braille_cells, BRAILLE_CELLS, standard, row, advice)


def _unsaid_sizes(sign: Sign, passes: Passes, standard: Standard, row: Row) -> Iterator[Draft]:
    """Characters that a pass builds and the sign says nothing of: no other rule looks at them."""
    if sign.raised is None and is_built(sign, passes, "raised"):
        source, level = source_of(standard, row), Level(row.level)
        what = "the form and size of the raised characters that a pass builds"
        yield missing(path_of(sign, "raised"), what, source=source, level=level)


def _undecided_kind(sign: Sign, standard: Standard, row: Row) -> Draft:
    """A kind that is not stated, or of which the table does not speak."""
    what = "whether the sign needs raised text and braille"
    source, level = source_of(standard, row), Level(row.level)
    draft = missing(path_of(sign, "kind"), what, source=source, level=level)
    if sign.kind is None:
        return draft
    words = [word for kind_row in kind_rows(standard) for word in kind_row.words]
    return evolve(draft, told=f"{standard.id} {unknown_word('kind of sign', sign.kind, words)}")


def _word_check(
    what: str,
    found_word: str,
    allowed: str,
    standard: Standard,
    row: Row,
    advice: str = "",
) -> Draft:
    draft = one_of(
        what,
        found=found_word,
        allowed=(allowed,),
        advice=joined_sentences(advice, row.note),
        source=source_of(standard, row),
        level=Level(row.level),
    )
    return evolve(draft, limit_text=_REQUIRED.get(allowed))


@rule(
    "scope.kind",
    each="sign",
    source=common_practice("what a sign is for is looked up by the word that its table has for it"),
    level=Level.REVIEW,
    breaks={"signs.room-214.kind": "permenent-room"},
    meets={},
)
def scope_kind(item: Sign, standards: Standards) -> Iterator[Draft]:
    """Whether a table of the job knows the kind of the sign, by that very word.

    Where none of them says what signs are for, those that come with signrules are asked.

    Why it matters: a slip in the word would leave a sign without its braille, and nobody told.
    A job that breaks it: a sign of kind `permenent-room`, `Permanent-room` or `restroom`.
    One that meets it: a sign of kind `permanent-room`.
    """
    if item.kind is None or not standards:
        return
    known_kinds, unknown = _known_kinds(standards), "which no table of the job knows"
    if not known_kinds:
        known_kinds, unknown = _known_kinds(builtin_standards()), "which no table knows"
    yield known_word("the kind of the sign", item.kind, known_kinds, unknown=unknown)


def _known_kinds(standards: Standards) -> list[str]:
    """The kinds of sign of which some tables speak."""
    known_kinds: list[str] = []
    for standard in standards:
        for row in kind_rows(standard):
            known_kinds += row.words
    return known_kinds


@rule(
    "scope.repeated",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    breaks={"signs.room-214.kind": "directional", "signs.room-214.braille.cells": None},
    meets={},
)
def scope_repeated(item: Sign, passes: Passes, standards: Standards) -> Iterator[Draft]:
    """Whether raised characters are repeated in braille, also on signs that need no tactile text.

    The tables say for which kinds. A sign that lacks braille and whose kind needs it hears so from
    `scope.tactile` alone; so does one without a kind.

    Why it matters: raised letters draw the hand of a reader who may read nothing but braille.
    A job that breaks it: a sign of kind `directional` with raised characters and no cells.
    One that meets it: a sign with raised characters and cells.
    """
    if not has_feature(item, passes, "raised"):
        return
    for standard in standards:
        needed = any(item.kind in row.words for row in standard.rows_for(SCOPE))
        for row in standard.rows_for(REPEATED):
            # Without cells, a kind that needs braille is told by `scope.tactile`, and once is
            # enough.
            if item.kind in row.words and (has_cells(item) or not needed):
                yield _repetition_check(item, standard, row)


def _repetition_check(sign: Sign, standard: Standard, row: Row) -> Draft:
    path = path_of(sign, "braille.cells")
    return one_of(
        "what repeats the raised characters",
        found=BRAILLE_CELLS if has_cells(sign) else NONE,
        allowed=(BRAILLE_CELLS,),
        advice=joined_sentences(
            f"State the cells, in {path}, or print the characters flat.", row.note
        ),
        source=source_of(standard, row),
        level=Level(row.level),
    )


@rule(
    "scope.unread",
    each="sign",
    source=common_practice("what dots say is known by their cells alone"),
    level=Level.STOP,
    meets={},
)
def scope_unread(item: Sign, passes: Passes) -> Iterator[Draft]:
    """Whether a sign whose braille a pass builds states the cells that the dots make.

    Why it matters: dots left over from another sign print like any other, and say something else.
    A job that breaks it: none can; dots whose cells are not stated are not assessed.
    One that meets it: a sign that states its cells.
    """
    if not is_built(item, passes, "braille"):
        return
    what = "what tells what the dots say that a pass builds"
    if has_cells(item):
        yield one_of(what, found=BRAILLE_CELLS, allowed=(BRAILLE_CELLS,))
    else:
        draft = missing(path_of(item, "braille.cells"), what)
        stated = item.braille is not None and item.braille.cells is not None
        yield evolve(draft, told="the cells that are stated have no dots") if stated else draft


def says_something(sign: Sign) -> bool:
    """Whether the text of a sign is more than blanks."""
    return any(line.strip() for line in sign.text)


def has_cells(sign: Sign) -> bool:
    """Whether a sign states braille cells with at least one dot."""
    cells = "" if sign.braille is None else sign.braille.cells or ""
    return any("\u2801" <= cell <= "\u28ff" for cell in cells)


SCOPE_RULES = RuleSet(
    "scope",
    (scope_tactile, scope_kind, scope_repeated, scope_unread),
    "Which signs need raised characters and braille.",
)
