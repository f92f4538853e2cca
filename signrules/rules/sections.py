"""Sections that a sign leaves out, though a table of the job limits what stands in them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.rules.binding_rows import exempt_rows, limited_quantities
from signrules.rules.checks import Draft, Level, missing, one_of
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, path_of
from signrules.rules.judged_relief import has_feature
from signrules.rules.scope import says_something
from signrules.standards.dimension_tables import SCOPE, Standard

Passes = Mapping[str, Pass]
Standards = tuple[Standard, ...]

OF_EVERY_SIGN = ("mounting", "surface")
"""Every sign hangs somewhere and has a face, whether it says so or not."""

OF_THE_WHOLE = ("mounting.centre",)
"""Heights above the floor of the sign itself; the others are those of its tactile parts."""

STATED = "stated"


@rule(
    "tables.section",
    each="sign",
    source=TABLES,
    level=Level.STOP,
    meets={},
)
def tables_section(item: Sign, passes: Passes, standards: Standards) -> Iterator[Draft]:
    """Whether a sign has the sections that every sign of its kind has and a table of the job
    limits.

    Every sign has a surface and a mounting height, so these sections are required if a table limits
    them. Baselines of tactile characters are required if the sign has such characters or its kind
    needs them. A sign without raised characters whose kind needs no tactile text must have visual
    characters, unless it has a pictogram and no text. `scope.tactile` asks for raised characters
    and braille; no sign needs a pictogram. A sign whose kind no dimension of a table binds, such as
    `temporary`, needs none of them.

    Why it matters: what is left out would look as if it met the standard.
    A job that breaks it: none can; a section that is left out is not assessed.
    One that meets it: a sign that states its surface and how it hangs.
    """
    for name in (*OF_EVERY_SIGN, "visual"):
        asking = [
            standard.id for standard in standards if _asks_for_section(standard, name, item, passes)
        ]
        if not asking:
            continue
        what = f"the section {name}, which {' and '.join(asking)} {_limits(asking)},"
        if getattr(item, name) is None:
            yield missing(path_of(item, name), what)
        else:
            yield one_of(what, found=STATED, allowed=(STATED,))


def _limits(asking: list[str]) -> str:
    return "limits" if len(asking) == 1 else "limit"


def _asks_for_section(standard: Standard, name: str, sign: Sign, passes: Passes) -> bool:
    """Whether rows of level STOP limit a section that a sign of this kind has."""
    found = limited_quantities(sign, standard, Level.STOP)
    limited = [quantity for quantity in found if quantity.partition(".")[0] == name]
    if name == "visual":
        return bool(limited) and _is_read_by_eye_alone(sign, passes, standard)
    if name == "mounting" and not is_tactile(sign, passes, standard):
        # The other heights are those of tactile parts, and this sign has none.
        limited = [quantity for quantity in limited if quantity in OF_THE_WHOLE]
    return bool(limited)


def _is_read_by_eye_alone(sign: Sign, passes: Passes, standard: Standard) -> bool:
    """A sign of a pictogram alone, such as the symbol of access, has no characters."""
    if sign.visual is None and sign.pictogram is not None and not says_something(sign):
        return False
    is_exempt = any(sign.kind in row.words for row in exempt_rows(standard))
    return is_exempt and not has_feature(sign, passes, "raised")


def is_tactile(sign: Sign, passes: Passes, standard: Standard) -> bool:
    """Whether a sign has raised characters or braille, or its kind needs them."""
    if any(sign.kind in row.words for row in standard.rows_for(SCOPE)):
        return True
    return any(has_feature(sign, passes, feature) for feature in ("raised", "braille"))
