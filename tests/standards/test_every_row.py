"""Every row of every shipped table: it says where it is from, and it holds at both ends, just in
and just out.
"""

from __future__ import annotations

import pytest
from attrs import evolve
from standards.signs import PARTS, RULES, job_of, judged

from signrules.model.quantities import Interval
from signrules.model.sign import Measured, Sign, Surface, Visual
from signrules.standards.dimension_tables import (
    CONTRAST,
    EXEMPT,
    LIGHTER,
    POLARITY,
    REPEATED,
    SCOPE,
    SPREAD,
    STANDINGS,
    UNBOUND,
    Row,
    Standard,
    builtin_standards,
)

OF_WHOLE_SIGNS = (SCOPE, EXEMPT, UNBOUND, REPEATED, "braille.capitals")
"""What no single field states."""

ROWS = [(standard, row) for standard in builtin_standards() for row in standard.rows]
ENDS = [
    (standard, row, end)
    for standard, row in ROWS
    for end in ("least", "most")
    if getattr(row, end) is not None
]
CHOICES = [
    (standard, row) for standard, row in ROWS if row.words and row.quantity not in OF_WHOLE_SIGNS
]
BANDS = [(standard, row, band) for standard, row in ROWS for band in row.bands]
NAMES = {
    "mounting.lowest_tactile": "mounting.lowest",
    "mounting.highest_tactile": "mounting.highest",
    "surface.finish": "finish.glare",
    "surface.gloss": "finish.gloss",
    CONTRAST: "contrast.reflectance",
    LIGHTER: "contrast.lighter",
    POLARITY: "contrast.polarity",
}
NOT_ALLOWED = {
    "raised.case": "lower",
    "raised.style": "script",
    "visual.style": "script",
    "surface.finish": "gloss",
    "braille.shape": "flat",
    "braille.position": "above",
    POLARITY: "the same",
}


def label(value: object) -> str | None:
    if isinstance(value, Standard):
        return value.id
    return f"{value.quantity}-{value.unit}" if isinstance(value, Row) else None


def sign_stating(
    quantity: str, value: object, of: str | None = None, reference: float = 0.0
) -> Sign:
    if quantity == POLARITY:
        characters, background = {"light on dark": (80, 10), "dark on light": (10, 80)}.get(
            str(value), (50, 50)
        )
        return Sign("door", surface=Surface(character_lrv=characters, background_lrv=background))
    section, field = quantity.split(".")
    fields = {field: value}
    if of is not None:
        fields[of.split(".")[1]] = Interval.exact(reference)
    return Sign("door", **{section: PARTS[section](**fields)})


def sign_at(row: Row, value: float) -> Sign:
    """A sign on which the quantity of a row is so large, in the row's unit."""
    if row.quantity == CONTRAST:
        assert row.formula == "weber"
        return Sign(
            "door", surface=Surface(character_lrv=80.0, background_lrv=80.0 * (1 - value / 100))
        )
    if row.quantity == LIGHTER:
        return Sign("door", surface=Surface(character_lrv=5.0, background_lrv=value))
    if row.quantity == SPREAD:
        return Sign("door", measured=Measured(dot_height=(1 - value / 200, 1 + value / 200)))
    if row.quantity == "surface.gloss":
        return sign_stating(row.quantity, value)
    if row.of is None:
        return sign_stating(row.quantity, Interval.exact(value))
    scale = 100.0 if row.unit == "%" else 1.0
    return sign_stating(row.quantity, Interval.exact(value / scale * 20.0), row.of, 20.0)


def bound_by(row: Row, sign: Sign) -> Sign:
    """The sign as one that the row binds, and no row that binds other kinds alone."""
    if "separate-visual" in row.only_for:
        return evolve(sign, kind="permanent-room", visual=Visual(repeats="raised"))
    return evolve(sign, kind=row.only_for[0] if row.only_for else "permanent-room")


def outcome(standard: Standard, row: Row, sign: Sign) -> str:
    """What comes of one row; its check names the publication and the clause."""
    rule = NAMES.get(row.quantity, row.quantity.replace("_", "-"))
    assert rule in RULES
    checks = judged(job_of(bound_by(row, sign)), standard, rule=rule)
    unit = "deviations" if row.words else row.unit
    own = [check for check in checks if f", {row.clause}" in check.source.text]
    (found,) = [check for check in own if check.missing is None and check.unit == unit]
    assert found.source.text.startswith(f"{row.title or standard.title}, {row.clause}")
    assert (f"({row.standing}: " in found.source.text) is (row.standing != "read")
    assert found.level.value == row.level
    return found.outcome.value


@pytest.mark.parametrize(("standard", "row", "end"), ENDS, ids=label)
def test_a_range_holds_at_its_end_and_just_in_and_not_just_out(standard, row, end):
    outward = -1 if end == "least" else 1
    bound = getattr(row, end).number
    other = row.most if end == "least" else row.least
    by = 0.001 * max(1.0, bound)
    assert outcome(standard, row, sign_at(row, bound)) == "MET"
    assert outcome(standard, row, sign_at(row, bound + outward * by)) == "BROKEN"
    inside = outcome(standard, row, sign_at(row, bound - outward * by))
    single = other is not None and other.number == bound
    assert inside == ("BROKEN" if single else "MET")


@pytest.mark.parametrize(("standard", "row"), CHOICES, ids=label)
def test_a_choice_takes_its_words_and_no_other(standard, row):
    for word in row.words:
        assert outcome(standard, row, sign_stating(row.quantity, word)) == "MET"
    other = {"contracted": "uncontracted", "uncontracted": "contracted"}.get(row.words[0])
    wrong = other or NOT_ALLOWED[row.quantity]
    assert outcome(standard, row, sign_stating(row.quantity, wrong)) == "BROKEN"


@pytest.mark.parametrize(("standard", "row", "band"), BANDS, ids=label)
def test_a_band_holds_at_its_base_and_not_just_under(standard, row, band):
    ends = [one.up_to.number for one in row.bands if one.up_to is not None]
    floor = band.up_to.number if band.up_to is not None else max(ends) + 1

    def at(height: float) -> Sign:
        exact = Interval.exact
        distance = exact(band.distance.number)
        return Sign(
            "door",
            visual=Visual(
                height=exact(height), above_floor=exact(floor), viewing_distance=distance
            ),
        )

    assert outcome(standard, row, at(band.base.number)) == "MET"
    assert outcome(standard, row, at(band.base.number + 0.01)) == "MET"
    assert outcome(standard, row, at(band.base.number - 0.01)) == "BROKEN"


@pytest.mark.parametrize(("standard", "row"), ROWS, ids=label)
def test_a_row_says_where_it_is_from_and_how_it_is_measured(standard, row):
    assert row.clause
    assert row.source
    assert row.measured
    assert "://" not in row.source + row.note
    assert row.standing in STANDINGS


def test_every_row_is_reached_by_one_of_these_tests():
    scope = sum(row.quantity in OF_WHOLE_SIGNS for _, row in ROWS)
    ranged = len({(standard.id, id(row)) for standard, row, _ in ENDS})
    banded = len({(standard.id, id(row)) for standard, row, _ in BANDS})
    assert ranged + banded + len(CHOICES) + scope == len(ROWS) > 100
