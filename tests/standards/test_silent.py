"""Under each table each quantity is judged, or it is said that it is not: no quiet "does not
apply".
"""

from __future__ import annotations

import pytest
from standards.signs import job_of, judged

import signrules
from signrules.model.passes import Area, Pass
from signrules.model.quantities import Interval
from signrules.model.sign import (
    Braille,
    Measured,
    Mounting,
    Pictogram,
    Raised,
    Sign,
    Surface,
    Visual,
)
from signrules.reports.text_report import evaluation_text
from signrules.rules.accessibility import ACCESSIBILITY
from signrules.standards.dimension_tables import (
    LENGTHS,
    amended_tables,
    builtin_standards,
    read_standard,
)
from signrules.standards.dimension_tables import QUANTITIES as MAY_BE_LIMITED

TABLES = amended_tables(builtin_standards())
QUANTITIES = sorted({row.quantity for table in TABLES.values() for row in table.rows})
RULES = {rule.name for rules in ACCESSIBILITY for rule in rules.rules}
# The rule of a quantity, where it is not called alike.
NAMES = {
    "mounting.lowest_tactile": "mounting.lowest",
    "mounting.highest_tactile": "mounting.highest",
    "surface.finish": "finish.glare",
    "surface.gloss": "finish.gloss",
    "surface.contrast": "contrast.reflectance",
    "surface.lighter_lrv": "contrast.lighter",
    "surface.polarity": "contrast.polarity",
    "scope.exempt": "scope.tactile",
    "scope.unbound": "scope.tactile",
}
# The rule of a quantity that a table without a row on it limits by another of its rows.
ALSO = {"braille.below_text": "braille.text-clearance"}
SOME = Interval.exact(20.0)
ALL_STATED = Sign(
    "door",
    kind="permanent-room",
    text=("EXIT",),
    braille=Braille(
        "⠑⠭⠊⠞",
        SOME,
        SOME,
        SOME,
        SOME,
        SOME,
        SOME,
        SOME,
        SOME,
        "domed",
        "contracted",
        position="below",
    ),
    raised=Raised(SOME, SOME, SOME, SOME, SOME, "upper", "sans-serif", SOME, SOME, SOME),
    visual=Visual(SOME, SOME, SOME, SOME, "serif", SOME, SOME, SOME),
    pictogram=Pictogram(SOME, SOME),
    surface=Surface("matte", 82.0, 8.0, 20.0),
    mounting=Mounting(SOME, SOME, SOME, SOME, SOME, SOME),
    measured=Measured(dot_height=(0.7, 0.7)),
)


def rule_of(quantity: str) -> str:
    return NAMES.get(quantity, quantity.replace("_", "-"))


def checks_under(*names: str, sign: Sign = ALL_STATED, passes: tuple[Pass, ...] = ()):
    job = job_of(sign, passes=passes)
    result = signrules.evaluate(
        signrules.job_from_dict(signrules.job_to_dict(job) | {"standards": list(names)})
    )
    assert not result.faults
    return result.checks


def silent(checks) -> dict[str, list[str]]:
    """The quantities of which it is said that they are not judged, by table."""
    found = {}
    for check in checks:
        if check.rule == "tables.silent" and check.missing is not None:
            quantities, _, table = check.missing.removeprefix("rows on ").partition(
                ": not judged under "
            )
            assert table not in found
            assert f"not judged under {table}: {quantities}" in check.message
            found[table] = quantities.split(", ")
    return found


@pytest.mark.parametrize("quantity", MAY_BE_LIMITED)
def test_every_quantity_that_a_table_may_limit_has_a_rule(quantity):
    section = quantity.partition(".")[0]
    assert rule_of(quantity) in RULES, (
        f"a standard may limit {quantity} and no rule judges it: write {rule_of(quantity)} in the"
        f" module of its set, such as signrules/rules/{section}.py, as DEVELOPERS.md says under"
        ' "Add a quantity that a standard may limit"; or list it in _NOT_LIMITED of'
        " signrules/standards/dimension_tables.py"
    )


@pytest.mark.parametrize("quantity", LENGTHS)
def test_every_length_that_an_invented_table_limits_is_judged_by_its_rule(quantity):
    table = read_standard(
        f"""
id = "house"
title = "A house rule"
publisher = "nobody"
unit = "mm"

[[rows]]
quantity = "{quantity}"
least = "2 mm"
clause = "7"
source = "invented"
standing = "read"
""",
        "house.toml",
    )
    found = judged(job_of(ALL_STATED), table, rule=rule_of(quantity))
    assert [check.source.text for check in found if check.source.text.startswith("A house rule, ")]


@pytest.mark.parametrize("name", TABLES)
def test_under_each_table_each_quantity_is_judged_or_named(name):
    checks = checks_under(name)
    said = silent(checks).get(name, [])
    titles = {TABLES[name].title, *(row.title for row in TABLES[name].rows)} - {None}
    by_rule = {}
    for check in checks:
        if any(check.source.text.startswith(f"{title}, ") for title in titles):
            by_rule.setdefault(check.rule, []).append(check)
    for quantity in QUANTITIES:
        if quantity in ("scope.exempt", "scope.unbound"):
            continue  # Which signs need none is said together with which need it.
        judged = bool(by_rule.get(rule_of(quantity)) or by_rule.get(ALSO.get(quantity)))
        assert judged is (quantity not in said), quantity
    # The table itself says what it has rows on.
    limited = {row.quantity for row in TABLES[name].rows}
    if "braille.clear_space" in limited:
        limited.add("braille.below_text")
    assert set(said) == set(QUANTITIES) - limited - {"scope.exempt", "scope.unbound"}


def test_what_is_not_stated_is_not_named():
    assert silent(checks_under("us-ada-2010", sign=Sign("door", braille=Braille("⠑⠭⠊⠞")))) == {}


def test_what_a_pass_builds_is_stated():
    passes = tuple(
        Pass(part, "clear", areas=(Area(0, at, 10, 10),), builds=(f"door.{part}",))
        for part, at in (("braille", 0), ("raised", 20))
    )
    said = silent(
        checks_under("us-adaag-1991", sign=Sign("door", kind="permanent-room"), passes=passes)
    )
    assert said == {"us-adaag-1991": ["braille.dot_height", "scope.tactile", "scope.repeated"]}


def test_it_is_said_once_for_each_table_however_many_signs_there_are():
    signs = tuple(
        Sign(f"door-{n}", raised=Raised(width=SOME) if n % 2 else Raised(style="serif"))
        for n in range(9)
    )
    job = signrules.job_to_dict(job_of(*signs)) | {"standards": ["dk-tibs", "no-signs"]}
    result = signrules.evaluate(signrules.job_from_dict(job))
    wanted = ["raised.width", "raised.style", "scope.repeated"]
    assert silent(result.checks) == {"dk-tibs": wanted, "no-signs": wanted}
    text = evaluation_text(result)
    assert text.count("not judged under dk-tibs") == 1
    notes = [check for check in result.to_dict()["checks"] if check["rule"] == "tables.silent"]
    assert [(note["level"], note["outcome"], note["subjects"]) for note in notes] == [
        ("NOTE", "UNASSESSED", ["job"])
    ] * 2


def test_the_californian_table_judges_what_the_federal_one_does():
    sign = Sign(
        "door",
        raised=Raised(
            height=Interval.exact(8), depth=Interval.exact(0.1), case="lower", style="script"
        ),
        surface=Surface("matte", 50, 50),
    )
    broken = {
        (check.rule, check.level.value)
        for check in checks_under("us-ca-cbc-11b", sign=sign)
        if check.is_violation
    }
    # Letters of 8 mm, 0.1 mm deep, in lower case and script, as light as their ground.
    assert broken >= {
        ("raised.height", "STOP"),
        ("raised.depth", "STOP"),
        ("raised.case", "STOP"),
        ("raised.style", "STOP"),
        ("contrast.polarity", "STOP"),
        ("contrast.reflectance", "REVIEW"),
    }


# What is asked of the mounting by clause: 703.4.1 and S15C2(a) measure to other things, 4.3.6 to
# the braille alone.
@pytest.mark.parametrize(
    ("table", "field", "rule"),
    [
        ("us-ada-2010", "highest_tactile", "mounting.highest"),
        ("au-ncc-s15", "highest_part", "mounting.highest-part"),
        ("dk-tibs", "highest_braille", "mounting.highest-braille"),
    ],
)
def test_a_mounting_height_is_held_against_what_its_table_measures(table, field, rule):
    far = Interval.exact(1900.0)
    others = {"highest_tactile", "highest_part", "highest_braille"} - {field}
    wrong = Sign("door", raised=Raised(), mounting=Mounting(**dict.fromkeys(others, far)))
    checks = {check.rule: check for check in checks_under(table, sign=wrong)}
    assert (checks[rule].outcome.value, checks[rule].missing) == (
        "UNASSESSED",
        f"signs.door.mounting.{field}",
    )
    assert not any(
        check.is_violation and name.startswith("mounting.") for name, check in checks.items()
    )
    right = Sign("door", raised=Raised(), mounting=Mounting(**{field: far}))
    checks = {check.rule: check for check in checks_under(table, sign=right)}
    assert checks[rule].outcome.value == "BROKEN"
