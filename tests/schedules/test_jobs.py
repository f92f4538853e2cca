"""What the row of a schedule makes of a sign type."""

from __future__ import annotations

import copy
import re
from itertools import pairwise

import pytest
from building import (
    COLUMNS,
    HEADER,
    NOTICE,
    ROOM,
    ROWS,
    faults,
    made,
    plugins,
    shop,
    shop_table,
    type_with,
)
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st

from signrules import (
    Area,
    braille_layout,
    evaluate,
    job_from_dict,
    jobs_from_schedule,
    load_plugins,
    shop_from_dict,
    together,
)
from signrules.rules.checks import Outcome


def only(schedule: str = HEADER + "A.1,Boiler room,room\n", own=None, **options):
    (one,) = made(schedule, own, **options).jobs
    return one


def passes(job) -> dict:
    return {item.id: item for item in job.passes}


# --- what comes of a row --------------------------------------------------------------------------


def test_each_row_makes_a_job():
    found = made().jobs
    assert [(each.row, each.type, each.quantity, each.job.name) for each in found] == [
        (2, "room", 1, "A-1"),
        (3, "room", 1, "A-2"),
        (4, "notice", 1, "A-3"),
    ]
    boiler = found[0].job.signs[0]
    assert boiler.id == "A-1"  # No id holds a point.
    assert boiler.text == ("BOILER ROOM",)  # Its raised characters are capitals.
    assert boiler.kind == "permanent-room"
    assert found[0].job.standards == ("us-ada-2010",)
    assert found[2].job.signs[0].text == ("Stairs to level 2",)
    assert found[2].job.standards == ()


def test_the_sheet_is_a_blank_of_the_size_of_the_sign():
    job = only().job
    assert [(sheet.id, sheet.size) for sheet in job.media] == [("sheet", (300.0, 120.0))]
    assert job.media[0].thickness.nominal == 3
    assert job.signs[0].area == Area(0, 0, 300, 120)


def test_a_type_without_a_size_is_as_large_as_its_sheet():
    own = shop(sign_types={"room": type_with(ROOM, size=None)})
    assert only(own=own).job.media[0].size == (600.0, 450.0)


def test_the_document_makes_the_same_job():
    one = only()
    assert job_from_dict(one.document, shop=shop()) == one.job


def test_every_job_can_be_judged():
    for each in made().jobs:
        result = evaluate(each.job, plugins=plugins())
        assert result.plan is not None
        assert result.ok


def test_cells_are_those_of_the_translator():
    # Letter by letter, as the invented translator writes small letters.
    assert only().job.signs[0].braille.cells == "⠃⠕⠊⠇⠑⠗⠀⠗⠕⠕⠍"


def test_lines_of_text_are_lines_of_cells():
    text = HEADER + '"A-1","Boiler / Room",room\n"A-2","Boiler\nRoom",room\n'
    for each in made(text).jobs:
        assert each.job.signs[0].text == ("BOILER", "ROOM")
        assert each.job.signs[0].braille.cells == "⠃⠕⠊⠇⠑⠗\n⠗⠕⠕⠍"


def test_a_slash_within_a_word_is_no_line_end():
    assert only(HEADER + "A-1,AC/DC room,notice\n").job.signs[0].text == ("AC/DC room",)


def test_cells_from_a_column_go_before_the_translator():
    own = shop(sign_types={"room": type_with(ROOM, cells=["{cells}"])})
    text = "Room No.,Room name,Sign,cells\nA-1,Store,room,⠌⠕⠗⠑ / ⠼⠃\n"
    assert only(text, own).job.signs[0].braille.cells == "⠌⠕⠗⠑\n⠼⠃"


def test_cells_that_may_lack_are_translated():
    own = shop(sign_types={"room": type_with(ROOM, cells=["{cells?}"])})
    text = "Room No.,Room name,Sign,cells\nA-1,Store,room,⠌⠕⠗⠑\nA-2,Store,room,\n"
    found = [each.job.signs[0].braille.cells for each in made(text, own).jobs]
    assert found == ["⠌⠕⠗⠑", "⠎⠞⠕⠗⠑"]


def test_cells_of_the_type_itself():
    braille = {**ROOM["braille"], "cells": "⠑⠭⠊⠞"}
    own = shop(sign_types={"room": type_with(ROOM, braille=braille)})
    assert only(own=own, plugins=None).job.signs[0].braille.cells == "⠑⠭⠊⠞"


def test_without_a_translator_that_is_said():
    path = "row 2, sign_types.room.braille.cells"
    ((where, found, expected),) = faults(HEADER + "A-1,Store,room\n", plugins=None)
    assert (where, found) == (path, "nothing")
    assert "a plugin that translates 'en'" in expected


def test_faults_that_rows_have_in_common_are_one_fault_with_its_rows():
    rows = "".join(f"A-{number},Store,room\n" for number in range(1, 5))
    text = f"{HEADER}{rows}A-5,Exit,notice\nA-6,Lift,room\nA-7,Lift,rom\nA-8,Lift,rom\n"
    found = faults(text, plugins=load_plugins())
    assert [where for where, _, _ in found] == [
        "rows 2 to 5 and 7, sign_types.room.braille.cells",
        "rows 8 and 9, column Sign",
    ]
    assert found[0][2].startswith("a column for the key cells of the type, or a plugin that")


def test_a_translator_that_does_not_know_some_words_is_told_which():
    found = faults(f"{HEADER}A-1,Größe,room\nA-2,Störung,room\n")
    assert [where for where, _, _ in found] == [
        "row 2, sign_types.room.braille.cells",
        "row 3, sign_types.room.braille.cells",
    ]
    assert found[0][2].startswith("cells for 'GRÖSSE'")


def test_plugins_that_are_installed_and_not_loaded_are_named(monkeypatch):
    def installed():
        return [("pocket-braille", "1", None), ("again", "1", None)]

    monkeypatch.setattr("signrules.plugin_sources.installed_plugins", installed)
    text = HEADER + "A-1,Store,room\n"
    ((_, _, expected),) = faults(text, plugins=load_plugins())
    told = "installed and not loaded: again, pocket-braille: load_plugins(entry_points=True)"
    assert expected.endswith(told)
    monkeypatch.setattr("signrules.plugin_sources.installed_plugins", list)
    assert load_plugins(entry_points=True).not_loaded == ()
    ((_, _, expected),) = faults(text, plugins=load_plugins())
    assert expected.endswith("a plugin that translates 'en'")


def test_a_line_that_may_lack_falls_away():
    text = "Room No.,Room name,Sign,second,height\nA-1,Stairs,notice,Level 2,\nA-2,Exit,notice,,\n"
    found = [each.job.signs[0].text for each in made(text).jobs]
    assert found == [("Stairs", "Level 2"), ("Exit",)]


def test_a_figure_that_may_lack_falls_away():
    text = "Room No.,Room name,Sign,height\nA-1,Stairs,notice,2100.5\nA-2,Exit,notice,\n"
    first, second = (each.job.signs[0].visual for each in made(text).jobs)
    assert first.above_floor.nominal == 2100.5
    assert second.above_floor is None
    assert second.height.nominal == 20


def test_a_plain_number_from_a_column():
    surface = {"finish": "matte", "character_lrv": "{lrv}", "background_lrv": 8}
    own = shop(sign_types={"room": type_with(ROOM, surface=surface)})
    text = "Room No.,Room name,Sign,lrv\nA-1,Store,room,81.5\n"
    assert only(text, own).job.signs[0].surface.character_lrv == 81.5


def test_figures_keep_their_origins():
    braille = {"dot_diameter": {"is": "1.55 mm", "measured": "2027-02-03", "readings": 9}}
    own = shop(sign_types={"room": type_with(ROOM, braille=braille)})
    job = only(own=own).job
    origin = job.origins["signs.A-1.braille.dot_diameter"]
    assert (origin.date.isoformat(), origin.readings) == ("2027-02-03", 9)
    assert job.signs[0].braille.dot_diameter.nominal == 1.55


def test_several_standards_from_a_cell():
    own = shop(sign_types={"room": type_with(ROOM, standards=["us-ada-2010", "{also?}"])})
    text = (
        "Room No.,Room name,Sign,also\nA-1,Store,room,us-adaag-1991\n"
        'A-2,Store,room,\nA-3,Store,room,"us-adaag-1991; us-ca-cbc-11b"\n'
    )
    assert [each.job.standards for each in made(text, own).jobs] == [
        ("us-ada-2010", "us-adaag-1991"),
        ("us-ada-2010",),
        ("us-ada-2010", "us-adaag-1991", "us-ca-cbc-11b"),
    ]


def test_a_standard_that_nobody_knows():
    own = shop(sign_types={"room": type_with(ROOM, standards=["{law}"])})
    ((path, _, expected),) = faults("Room No.,Room name,Sign,law\nA-1,Store,room,us-ada\n", own)
    assert path == "row 2, column law (sign_types.room.standards)"
    assert "us-ada-2010" in expected


# --- where it lies --------------------------------------------------------------------------------


def test_dots_lie_as_the_standard_has_them():
    job = only().job
    braille = job.signs[0].braille
    asked = together(["us-ada-2010"])
    lengths = {
        name: asked.target(f"braille.{name}")
        for name in ("dot_diameter", "dot_spacing", "cell_spacing")
    }
    assert {name: getattr(braille, name).nominal for name in lengths} == pytest.approx(lengths)
    # Eleven cells whose middle lies at 150 mm: counted here, laid out by the public function.
    width = 10 * lengths["cell_spacing"] + lengths["dot_spacing"]
    wanted = braille_layout(braille.cells, at=(150 - width / 2, 40), line_spacing=10, **lengths)
    (area,) = passes(job)["dots"].areas
    (line,) = wanted.areas()
    assert (area.x, area.y, area.width, area.height) == pytest.approx(
        (line.x, line.y, line.width, line.height), abs=1e-5
    )
    share = wanted.base_area / (line.width * line.height)
    assert passes(job)["dots"].coverage == pytest.approx(share, abs=1e-6)
    assert braille.area == area


@pytest.mark.parametrize(("align", "share"), [("left", 0), ("centre", 0.5), ("right", 1)])
def test_lines_of_cells_are_aligned_one_by_one(align: str, share: float):
    lengths = {"dot_diameter": 1.5, "dot_spacing": 2.5, "cell_spacing": 6.5, "line_spacing": 10}
    own = shop(
        sign_types={"room": type_with(ROOM, braille=lengths, dots={"at": [90, 40], "align": align})}
    )
    job = only(HEADER + "A-1,gggg / gg,room\n", own).job
    # The letter g has dots in both columns and in its upper row.
    for area, cells, top in zip(passes(job)["dots"].areas, (4, 2), (40, 30), strict=True):
        width = (cells - 1) * 6.5 + 2.5
        assert area.x == pytest.approx(90 - share * width - 0.75)
        assert area.width == pytest.approx(width + 1.5)
        assert area.y + area.height == pytest.approx(top + 0.75)


def test_ink_over_the_dots_goes_where_they_are():
    found = passes(only().job)
    assert found["ink-on-dots"].areas == found["dots"].areas
    assert found["ink-on-dots"].coverage == found["dots"].coverage
    assert found["ink-on-dots"].over == ("dots",)
    assert found["ground"].areas == (Area(0, 0, 300, 120),)
    assert found["letters"].areas == (Area(15, 60, 270, 20),)
    assert found["letters"].builds == ("A-1.raised",)


def test_stated_areas_and_coverage_win():
    rows = copy.deepcopy(ROOM["passes"])
    rows[2] |= {"areas": [[20, 30, 200, 12]], "coverage": 0.1}
    rows[3] |= {"coverage": 0.5}
    found = passes(only(own=shop(sign_types={"room": type_with(ROOM, passes=rows)})).job)
    assert found["dots"].areas == (Area(20, 30, 200, 12),)
    assert found["dots"].coverage == 0.1
    assert found["ink-on-dots"].coverage == 0.5


def test_one_pass_may_build_all():
    rows = [{"id": "clear", "ink": "clear", "layers": 28, "builds": ["raised", "braille"]}]
    job = only(own=shop(sign_types={"room": type_with(ROOM, passes=rows)})).job
    (item,) = job.passes
    assert item.builds == ("A-1.raised", "A-1.braille")
    assert item.areas == (job.signs[0].raised.area, job.signs[0].braille.area)
    letters, dots = (area.width * area.height for area in item.areas)
    assert dots < item.coverage * (letters + dots) - letters + dots < 2 * dots
    heights = [
        check
        for check in evaluate(job).checks
        if check.rule in ("braille.dot-height", "raised.depth")
    ]
    assert {check.outcome for check in heights} == {Outcome.MET}


def test_braille_in_a_stated_area():
    braille = {**ROOM["braille"], "area": [20, 20, 200, 30]}
    own = shop(sign_types={"room": type_with(ROOM, braille=braille, dots=None)})
    found = passes(only(own=own).job)
    assert found["dots"].areas == (Area(20, 20, 200, 30),)
    assert found["dots"].coverage == 1


def test_a_text_that_is_too_long_for_its_sign():
    ((path, found, expected),) = faults(HEADER + f"A-1,{'long ' * 12},room\n")
    assert path == "row 2, sign_types.room.dots"
    # 59 cells of 6.8707 mm, and a sign of 300 mm: the middle of both is the same.
    over = (58 * 6.8707 + 2.413 + 1.5494 - 300) / 2
    assert float(found.split(" mm over the edge")[0].split()[-1]) == pytest.approx(over, abs=1.3)
    assert "300 mm by 120 mm" in expected


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"visual": {"area": [10, 10, 195, 60]}}, "visual.area"),
        ({"passes": [{"id": "all", "ink": "black", "areas": [[5, 5, 200, 9]]}]}, "passes[0].areas"),
    ],
)
def test_ink_over_the_edge_is_told_at_what_says_where_it_lies(changes, where: str):
    own = shop(sign_types={"notice": type_with(NOTICE, **changes)})
    ((path, found, _),) = faults(HEADER + "A-1,Exit,notice\n", own)
    assert path == f"row 2, sign_types.notice.{where}"
    # Of 200 mm: from 10 to 205, and from 5 to 205.
    assert "reaches 5 mm over the edge" in found


def test_a_sign_that_its_sheet_does_not_hold():
    own = shop(sign_types={"notice": type_with(NOTICE, size=[500, 460])})
    ((path, found, _),) = faults(HEADER + "A-1,Exit,notice\n", own)
    assert (path, found) == ("row 2, sign_types.notice.size", "a sign of 500 mm by 460 mm")
    turned = shop(
        sheets={"panel": {"thickness": "3 mm", "size": [200, 600]}},
        sign_types={"notice": type_with(NOTICE, size=[590, 190])},
    )
    assert only(HEADER + "A-1,Exit,notice\n", turned).job.media[0].size == (590.0, 190.0)


# --- ids, quantities, types -----------------------------------------------------------------------


def test_quantities():
    own = shop(schedule={"columns": {"room": "Room No.", "name": "Room name", "type": "Sign"}})
    text = "Room No.,Room name,Sign,quantity\nA-1,Store,room,3\nA-2,Store,room,2.0\nA-3,B,room,\n"
    assert [each.quantity for each in made(text, own).jobs] == [3, 2, 1]


def test_of_a_quantity_of_none_no_job_is_made_and_that_is_said():
    found = made("Room No.,Room name,Sign,quantity\nA-1,Store,room,0\nA-2,Store,room,1\n")
    assert [each.row for each in found.jobs] == [3]
    assert "row 2: the quantity is 0, so no job is made" in found.notes
    # Nothing else that its sign lacks matters then: here words, and cells that nobody makes.
    rows = "A-1,,room,0\nA-2,Größe,room,0\nA-3,Exit,notice,1\n"
    found = made(f"Room No.,Room name,Sign,quantity\n{rows}", plugins=None)
    assert [each.row for each in found.jobs] == [4]


def test_a_quantity_is_told_as_it_stands_in_its_cell():
    text = 'Room No.,Room name,Sign,quantity\nA-1,Store,room,"1,5"\n'
    ((where, found, _),) = faults(text, shop(schedule={"columns": COLUMNS, "decimal": "comma"}))
    assert (where, found) == ("row 2, column quantity", "'1,5'")


def test_notes_are_the_same_in_whatever_sequence_rows_come():
    rows = ["A-1,Store,plain\n", "A-2,Store,room\n", "A-3,Lift,plain\n"]
    own = shop(sign_types={"room": ROOM, "plain": ROOM, "notice": NOTICE})
    one, other = (made(HEADER + "".join(some), own).notes for some in (rows, rows[::-1]))
    assert sum(note.startswith("sign_types.") for note in one) == 2
    assert one == other


@pytest.mark.parametrize("quantity", ["x", "-1", "1.5", "10001", "2 pcs", "1e3"])
def test_what_is_no_quantity(quantity: str):
    text = f"Room No.,Room name,Sign,quantity\nA-1,Store,room,{quantity}\n"
    assert faults(text) == [
        ("row 2, column quantity", repr(quantity), "a whole number from 0 to 10000")
    ]


def test_an_id_of_several_columns():
    own = shop(schedule={"columns": {"type": "Sign", "name": "Room name"}, "id": "{block}-{no}"})
    text = "block,no,Room name,Sign\nB,2.14,Store,room\n"
    assert only(text, own).job.name == "B-2-14"


def test_an_id_that_another_row_has():
    found = faults(HEADER + "A.1,Store,room\nA-1,Store,room\n")
    assert found == [
        ("row 3", "the id 'A-1'", "an id that no other row has; row 2 has it too"),
    ]


def test_what_is_no_id():
    ((path, _, _),) = faults(HEADER + f"{'A' * 201},Store,room\n")
    assert path == "row 2, column Room No."


def test_an_unknown_type_and_its_nearest():
    ((path, found, expected),) = faults(HEADER + "A-1,Store,rooms\n")
    assert (path, found) == ("row 2, column Sign", "'rooms'")
    assert expected == "a sign type of the shop: 'room', 'notice'; the nearest is 'room'"


def test_the_only_type_need_not_be_named():
    own = shop(sign_types={"room": ROOM})
    assert only("Room No.,Room name,Sign\nA-1,Store,\n", own).type == "room"


def test_types_by_rules():
    rules = [
        {"type": "notice", "where": {"use": "stair*", "level": "2"}},
        {"type": "room", "where": {"use": "store"}},
        {"type": "notice", "where": {"use": "way *"}},
    ]
    own = shop(schedule={"columns": {"room": "Room No.", "name": "Room name"}, "types": rules})
    head = "Room No.,Room name,use,level\n"
    found = made(head + "1,A,STAIR WEST,2\n2,B,Store,1\n3,C,Way out,1\n", own).jobs
    assert [each.type for each in found] == ["notice", "room", "notice"]
    ((path, seen, expected),) = faults(head + "1,A,Stair,1\n", own)
    assert path == "row 2, column use and column level"
    assert seen == "use 'Stair', level '1'"
    assert expected == "words that a rule of schedule.types fits"


def test_a_rule_that_fits_all():
    own = shop(schedule={"types": [{"type": "notice"}]})
    assert only("room,name\n1,A\n", own).type == "notice"


def test_a_column_that_a_rule_asks_for_and_nobody_has():
    own = shop(schedule={"types": [{"type": "notice", "where": {"use": "*"}}]})
    assert ("row 1, column use", "nothing") in [
        each[:2] for each in faults("room,name\n1,A\n", own)
    ]


def test_a_shop_of_several_printers():
    table = shop_table()
    table["printers"]["other"] = table["printers"]["flatbed"]
    own = shop_from_dict(table)
    assert [each[0] for each in faults(ROWS, own)] == ["schedule.printer"]
    table["schedule"]["printer"] = "other"
    assert len(made(ROWS, shop_from_dict(table)).jobs) == 3


def test_a_shop_without_types():
    own = shop(sign_types={})
    assert [each[0] for each in faults(ROWS, own)] == ["sign_types"]


def test_what_every_job_of_a_shop_has():
    own = shop(schedule={"columns": shop_table()["schedule"]["columns"]} | {})
    assert only(own=own).job.registration_tolerance is None
    table = shop_table()
    table["schedule"]["registration_tolerance"] = "0.15 mm"
    assert only(own=shop_from_dict(table)).job.registration_tolerance == 0.15


# --- laws -----------------------------------------------------------------------------------------

NAMES = st.sampled_from(["Store", "Boiler room", "Stairs 2", "", "long " * 12, "Exit"])
DOORS = st.lists(st.tuples(NAMES, st.sampled_from(["room", "notice", "door", ""])), max_size=6)
OWN_SHOP, OWN_PLUGINS = shop(), plugins()


def table_of(doors) -> str:
    return HEADER + "".join(f"A-{at},{name},{type}\n" for at, (name, type) in doors)


def rows_of_words(words: str) -> list[int]:
    """The numbers of rows as a path names them: "3, 5 and 7 to 9"."""
    runs = [part.split(" to ") for part in re.split(", | and ", words)]
    return [row for run in runs for row in range(int(run[0]), int(run[-1]) + 1)]


def outcome(text: str) -> tuple[dict, dict]:
    """The jobs by name, and the faults by the number of their row; of one schedule one is empty."""
    from signrules import ScheduleError

    try:
        found = jobs_from_schedule(text, OWN_SHOP, plugins=OWN_PLUGINS)
    except ScheduleError as error:
        told: dict = {}
        for fault in error.faults:
            match = re.fullmatch(r"rows? ([0-9, andto]+?)((?:, [a-z(].*)?)", fault.path)
            for row in rows_of_words(match[1]):
                told.setdefault(row, set()).add((match[2], fault.found))
        return {}, told
    return {each.row: each.job for each in found.jobs}, {}


@given(DOORS)
@settings(max_examples=effort(40))
def test_each_row_is_made_or_told(doors):
    numbered = list(enumerate(doors))
    made_rows, told_rows = outcome(table_of(numbered))
    if not doors:
        assert set(told_rows) == {2}
        return
    alone = {at + 2: outcome(table_of([(at, door)])) for at, door in numbered}
    for row, (own_jobs, own_faults) in alone.items():
        # What a row comes to hangs on no other row.
        assert bool(own_jobs) is not bool(own_faults)
        if told_rows:
            assert (row in told_rows) is bool(own_faults)
        else:
            assert made_rows[row] == own_jobs[2]


@given(DOORS.filter(bool), st.randoms(use_true_random=False))
@settings(max_examples=effort(40))
def test_another_order_of_rows_changes_the_order_alone(doors, random):
    numbered = list(enumerate(doors))
    moved = list(numbered)
    random.shuffle(moved)
    before, told_before = outcome(table_of(numbered))
    after, told_after = outcome(table_of(moved))
    where = {at: row for row, (at, _) in enumerate(moved, 2)}
    assert after == {where[row - 2]: job for row, job in before.items()}
    assert told_after == {where[row - 2]: told for row, told in told_before.items()}
    assert all(a < b for a, b in pairwise(after))


# --- what only a row shows ------------------------------------------------------------------------


def test_a_sheet_from_a_column_that_the_shop_does_not_have():
    own = shop(sign_types={"notice": type_with(NOTICE, sheet="{board}")})
    text = "Room No.,Room name,Sign,board\nA-1,Exit,notice,{}\n"
    assert only(text.format("panel"), own).job.media[0].thickness.nominal == 3
    ((path, found, _),) = faults(text.format("oak"), own)
    assert (path, found) == ("row 2, column board (sign_types.notice.sheet)", "'oak'")


def test_neither_type_nor_sheet_has_a_size():
    own = shop(
        sheets={"panel": {"thickness": "3 mm"}},
        sign_types={"notice": type_with(NOTICE, size=None)},
    )
    ((path, found, _),) = faults(HEADER + "A-1,Exit,notice\n", own)
    assert (path, found) == ("row 2, sign_types.notice.size", "nothing")
    sized = shop(sheets={"panel": {"thickness": "3 mm"}})
    assert only(HEADER + "A-1,Exit,notice\n", sized).job.media[0].size == (200.0, 80.0)


def test_lengths_of_dots_that_nobody_says():
    own = shop(sign_types={"room": type_with(ROOM, standards=[])})
    ((path, found, _),) = faults(HEADER + "A-1,Store,room\n", own)
    assert (path, found) == ("row 2, sign_types.room.braille", "not all lengths")


def test_cells_that_are_none():
    own = shop(sign_types={"room": type_with(ROOM, cells=["{cells}"])})
    text = "Room No.,Room name,Sign,cells\nA-1,Store,room,abc\n"
    ((path, found, _),) = faults(text, own)
    assert (path, found) == ("row 2, column cells (sign_types.room.cells)", "'abc'")


def test_what_no_job_can_be_is_told_at_its_type():
    rows = [{"id": "a", "ink": "black", "over": ["b"]}, {"id": "b", "ink": "black", "over": ["a"]}]
    own = shop(sign_types={"notice": type_with(NOTICE, passes=rows, visual=None)})
    ((path, found, _),) = faults(HEADER + "A-1,Exit,notice\n", own)
    assert path == "row 2, sign_types.notice.passes[0]"
    assert found == "a -> b -> a"


def test_a_sign_that_no_bed_holds():
    own = shop(
        sheets={"panel": {"thickness": "3 mm", "size": [900, 450]}},
        sign_types={"notice": type_with(NOTICE, size=[700, 80])},
    )
    ((path, _, expected),) = faults(HEADER + "A-1,Exit,notice\n", own)
    assert path == "row 2, media[0].at"
    assert "the bed of 600 x 450 mm" in expected


def test_mounting_heights_that_contradict_each_other():
    mounting = {"lowest_tactile": "{low} mm", "highest_tactile": "1300 mm"}
    own = shop(sign_types={"room": type_with(ROOM, mounting=mounting)})
    ((path, _, _),) = faults("Room No.,Room name,Sign,low\nA-1,Store,room,1400\n", own)
    assert path.startswith("row 2, ")
    assert "sign_types.room.mounting" in path


def test_a_translator_that_fails_is_told():
    import types

    from signrules import hookimpl, load_plugins

    @hookimpl
    def signrules_translate_braille(text, grade, language):
        raise ValueError("out of ink")

    failing = types.SimpleNamespace(
        __name__="failing", signrules_translate_braille=signrules_translate_braille
    )
    own = shop(sign_types={"room": type_with(ROOM, cells=["{cells?}"])})
    text = "Room No.,Room name,Sign,cells\nA-1,Store,room,\n"
    ((path, found, _),) = faults(text, own, plugins=load_plugins(objects=[failing]))
    assert (path, found) == ("row 2, sign_types.room.braille.cells", "nothing")


def test_the_grade_is_that_of_the_type_or_of_the_standards():
    import types

    from signrules import hookimpl, load_plugins

    asked = []

    @hookimpl
    def signrules_translate_braille(text, grade, language):
        asked.append((grade, language))
        return "⠁"

    listening = types.SimpleNamespace(
        __name__="listening", signrules_translate_braille=signrules_translate_braille
    )
    lengths = {"dot_diameter": 1.5, "dot_spacing": 2.5, "cell_spacing": 6.5}
    for own_keys, standards, wanted in (
        ({}, ["us-ada-2010"], ("contracted", "en")),
        ({}, [], ("contracted", "en")),
        ({"grade": "uncontracted", "language": "de"}, [], ("uncontracted", "de")),
    ):
        kept = type_with(ROOM, braille={**lengths, **own_keys}, standards=standards)
        asked.clear()
        only(own=shop(sign_types={"room": kept}), plugins=load_plugins(objects=[listening]))
        assert set(asked) == {wanted}


@pytest.mark.parametrize("cells", ["\u2800", "\u2800 / \u2800"])
def test_cells_without_a_dot_are_none(cells: str):
    own = shop(sign_types={"room": type_with(ROOM, cells=["{cells}"])})
    text = f"Room No.,Room name,Sign,cells\nA-1,Store,room,{cells}\n"
    ((path, found, _),) = faults(text, own)
    assert (path, found) == ("row 2, sign_types.room.braille.cells", "nothing")


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("text", "{name}"),
        ("standards", "{name}"),
        ("kind", ["{name}"]),
        ("sheet", ["{name}"]),
        ("size", "{name}"),
        ("surface", "{name}"),
    ],
)
def test_placeholders_in_a_value_of_another_kind(key: str, value: object):
    own = shop(sign_types={"notice": type_with(NOTICE, **{key: value})})
    ((path, _, expected),) = faults(HEADER + "A-1,Exit,notice\n", own)
    assert path.startswith("row 2, column Room name (sign_types.notice.")
    assert key in path
    assert expected


def test_a_type_that_must_be_named():
    own = shop(schedule={"columns": {"room": "Room No.", "name": "Room name"}, "type": "{Sign}"})
    assert [each[0] for each in faults(HEADER + "A-1,Exit,\n", own)] == ["row 2, column Sign"]


def test_a_sign_without_kind_and_text():
    rows = [{"id": "ground", "ink": "black"}]
    own = shop(sign_types={"plain": {"sheet": "panel", "passes": rows}})
    sign = only("Room No.,Room name,Sign\nA-1,Exit,plain\n", own).job.signs[0]
    assert (sign.kind, sign.text) == (None, ())


def test_a_kind_that_may_lack():
    own = shop(sign_types={"notice": type_with(NOTICE, kind="{kind?}")})
    text = "Room No.,Room name,Sign,kind\nA-1,Exit,notice,\nA-2,Exit,notice,directional\n"
    assert [each.job.signs[0].kind for each in made(text, own).jobs] == [None, "directional"]


def test_a_pass_that_a_word_names_and_that_is_not_there():
    rows = [{"id": "ground", "ink": "black"}, {"id": "top", "ink": "black", "over": ["{under}"]}]
    own = shop(sign_types={"notice": type_with(NOTICE, passes=rows)})
    text = "Room No.,Room name,Sign,under\nA-1,Exit,notice,{}\n"
    assert only(text.format("ground"), own).job.passes[1].over == ("ground",)
    ((path, found, _),) = faults(text.format("dots"), own)
    assert (path, found) == ("row 2, column under (sign_types.notice.passes[1].over)", "'dots'")


def test_a_row_that_asks_for_nothing_may_lack_all_else():
    text = "Room No.,Room name,Sign,quantity\nA.1,Exit,notice,1\nA.1,,door,0\n,,,0\n"
    found = made(text)
    assert [each.row for each in found.jobs] == [2]
    told = [note for note in found.notes if "quantity is 0" in note]
    assert told == [f"row {row}: the quantity is 0, so no job is made" for row in (3, 4)]


def test_ids_that_differ_in_capitals_alone():
    assert faults(HEADER + "E.01,Exit,notice\ne.01,Exit,notice\n") == [
        (
            "row 3",
            "the id 'e-01'",
            "an id that no other row has; row 2 has it too, as 'E-01': capitals tell no ids apart",
        )
    ]
