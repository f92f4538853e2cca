"""Signs of one type in several places of one sheet."""

from __future__ import annotations

from attrs import evolve
from building import ROOM, plugins, shop, shop_table, type_with
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st

from signrules import Area, evaluate, job_from_dict
from signrules.model.sign_types import SignType
from signrules.rules.checks import Outcome
from signrules.schedules.cells import with_lengths
from signrules.schedules.columns import ScheduleRow, ScheduleRows
from signrules.schedules.filling import RowFaults, filled_type
from signrules.schedules.placing import SignPlace, placed_sign
from signrules.schedules.shared_passes import passes_of
from signrules.standards.common_ranges import together

SIZE = (300.0, 120.0)
OWN = shop()


def filled(table=ROOM, name="Store"):
    words = {"name": name}
    row = ScheduleRow(2, words, words)
    faults = RowFaults(row, ScheduleRows(1, {"name": "name"}))
    found = filled_type("room", table, row, faults)
    assert found is not None, faults.found
    return found


def sign_at(id: str, at, table=ROOM, *, name="Store", cells="⠎⠞⠕⠗⠑", turned=False):
    one = filled(table, name)
    assert isinstance(one.sign_type, SignType)
    braille = with_lengths(
        evolve(one.sign_type.braille, cells=cells), together(["us-ada-2010"])
    ).braille
    return placed_sign(one, braille, id, SignPlace("panel", at, 700.0, turned), SIZE)


def job_of(*signs):
    return job_from_dict(
        {
            "signrules": 1,
            "printer": {**shop_table()["printers"]["flatbed"], "bed": ["800 mm", "700 mm"]},
            "standards": ["us-ada-2010"],
            "media": [{"id": "panel", "thickness": "3 mm", "size": [700, 600]}],
            "inks": [
                {"id": "black", "role": "colour", "layer": "10 um"},
                {"id": "clear", "role": "clear", "layer": "30 um"},
            ],
            "passes": passes_of(signs),
            "signs": [dict(sign.sign) for sign in signs],
        },
        plugins=plugins(),
    )


def verdicts(job, sign: str):
    """What is not met of a sign, by rule.

    Among several signs there are more checks that are met: those of one beside the other.
    """
    return {
        (check.rule, check.outcome)
        for check in evaluate(job, plugins=plugins()).checks
        if check.subjects[0] == f"signs.{sign}" and check.outcome is not Outcome.MET
    }


def test_signs_of_a_type_share_its_passes():
    job = job_of(sign_at("one", (0, 0)), sign_at("two", (300, 0), name="Lobby", cells="⠇⠕⠃⠃⠽"))
    assert [item.id for item in job.passes] == ["ground", "letters", "dots", "ink-on-dots"]
    ground, letters, dots, over = job.passes
    assert ground.areas == (Area(0, 0, 300, 120), Area(300, 0, 300, 120))
    assert letters.builds == ("one.raised", "two.raised")
    assert letters.areas == (Area(15, 60, 270, 20), Area(315, 60, 270, 20))
    assert dots.builds == ("one.braille", "two.braille")
    assert over.over == ("dots",)
    assert [sign.area for sign in job.signs] == [Area(0, 0, 300, 120), Area(300, 0, 300, 120)]


def test_ink_of_a_shared_pass_is_that_of_its_signs():
    one, two = sign_at("one", (0, 0)), sign_at("two", (0, 200), name="Lobby", cells="⠇⠕⠃⠃⠽⠇⠕")

    def inked(*signs) -> float:
        (item,) = [each for each in job_of(*signs).passes if each.id == "dots"]
        return item.coverage * sum(area.width * area.height for area in item.areas)

    assert abs(inked(one, two) - inked(one) - inked(two)) < 1e-2


def test_passes_of_another_type_that_print_alike_are_shared():
    job = job_of(sign_at("one", (0, 0)), evolve(sign_at("two", (0, 200)), type="door"))
    assert [item.id for item in job.passes] == ["ground", "letters", "dots", "ink-on-dots"]
    assert job.passes[2].builds == ("one.braille", "two.braille")


def test_passes_that_print_otherwise_are_others_and_so_are_those_over_them():
    dots = {**ROOM["passes"][2], "layers": 25}
    assert dots["id"] == "dots"
    table = type_with(ROOM, passes=[*ROOM["passes"][:2], dots, ROOM["passes"][3]])
    other = evolve(sign_at("two", (0, 200), table), type="door")
    job = job_of(sign_at("one", (0, 0)), other)
    assert [item.id for item in job.passes] == [
        "ground",
        "letters",
        "dots-room",
        "ink-on-dots-room",
        "dots-door",
        "ink-on-dots-door",
    ]
    assert [item.over for item in job.passes if item.over] == [("dots-room",), ("dots-door",)]


def test_passes_of_one_type_whose_words_differ_have_ids_of_their_own():
    table = type_with(ROOM, passes=[{**row, "layers": 9} for row in ROOM["passes"]])
    job = job_of(sign_at("one", (0, 0)), sign_at("two", (0, 200), table))
    assert [item.id for item in job.passes][::4] == ["ground-room", "ground-room-2"]


def test_two_passes_of_one_type_stay_two_however_alike():
    twice = {"id": "again", "ink": "black"}
    table = type_with(ROOM, passes=[*ROOM["passes"], twice])
    job = job_of(sign_at("one", (0, 0), table), sign_at("two", (0, 200), table))
    assert [item.id for item in job.passes] == ["ground", "letters", "dots", "ink-on-dots", "again"]


def test_a_sign_turned_to_the_left():
    turned = sign_at("one", (10, 20), turned=True)
    # 300 by 120 mm: a quarter to the left takes (x, y) to (120 - y, x).
    assert turned.sign["area"] == [10, 20, 120, 300]
    assert turned.sign["top"] == "left"
    letters = turned.parts[1]
    # 15, 60, 270 by 20: from 120 - 60 - 20 = 40 along x and 15 along y.
    assert letters.areas == (Area(10 + 40, 20 + 15, 20, 270),)


@given(st.integers(0, 500), st.integers(0, 300))
@settings(max_examples=effort(10))
def test_a_turned_sign_is_judged_as_an_upright_one(x: int, y: int):
    upright = verdicts(job_of(sign_at("one", (0, 0))), "one")
    assert verdicts(job_of(sign_at("one", (x, y), turned=True)), "one") == upright


def test_areas_of_the_back_lie_on_the_sheet_as_it_is_turned_over():
    back = {"id": "back", "ink": "black", "side": "back", "areas": [[10, 20, 30, 40]]}
    table = type_with(ROOM, passes=[*ROOM["passes"], back])
    placed = sign_at("one", (50, 60), table)
    # From the left edge with the front up the sign takes 50 to 350 of 700 mm, so 350 to 650 then.
    assert placed.parts[-1].areas == (Area(360, 80, 30, 40),)


@given(st.integers(0, 400), st.integers(0, 480), st.sampled_from([0.0, 0.1, 1 / 3]))
@settings(max_examples=effort(15))
def test_a_sign_comes_out_alike_wherever_it_lies(x: int, y: int, rest: float):
    at = (x - rest if x else 0.0, y - rest if y else 0.0)
    assert verdicts(job_of(sign_at("one", at)), "one") == verdicts(
        job_of(sign_at("one", (0, 0))), "one"
    )


@given(st.integers(300, 400), st.integers(0, 480))
@settings(max_examples=effort(10))
def test_a_sign_comes_out_alike_whatever_lies_beside_it(x: int, y: int):
    other = sign_at("other", (x, y), name="Lobby", cells="⠇⠕⠃⠃⠽")
    together_with = job_of(sign_at("one", (0, 0)), other)
    assert verdicts(together_with, "one") == verdicts(job_of(sign_at("one", (0, 0))), "one")
    assert verdicts(together_with, "other") == verdicts(job_of(other), "other")
