"""From a schedule to bed loads: everything is made, nothing overlaps, each job is judged."""

from __future__ import annotations

import copy
import gc
import json
import multiprocessing
import random
import types
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from datetime import date

import pytest
from attrs import evolve
from building import LETTER_BY_LETTER, NOTICE, ROOM, plugins, shop_table, type_with
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st

from signrules import (
    Evaluation,
    NotEvaluated,
    RuleSet,
    ScheduleError,
    WorkOrderError,
    check,
    compose,
    evaluate,
    evaluate_many,
    hookimpl,
    job_from_dict,
    load_plugins,
    order_of_jobs,
    read_work_order,
    rule,
    shop_from_dict,
    shop_practice,
    work_order_from_dict,
    work_order_to_dict,
    write_composition,
)
from signrules.many_jobs.kept_results import SUFFIX

HEADER = "Room No.,Room name,Sign,Qty\n"
NAMES = ("Store", "Boiler room", "Office", "Kitchen", "Lobby")
FIVE = {"thickness": "5 mm", "size": [600, 450], "hold": "vacuum"}
PLUGINS = plugins()


def own_shop(**composition):
    """The shop of the tests with a thicker sheet, a type that is made of it, and room for cuts."""
    table = shop_table()
    table["sheets"]["five"] = dict(FIVE)
    table["sign_types"]["thick"] = type_with(ROOM, sheet="five")
    table["schedule"]["quantity"] = "{Qty?}"
    table["composition"] = {"margin": "5 mm", "gutter": "4 mm", **composition}
    return table


def rows_of(count: int, seed: int = 1, types=("room", "notice", "thick")) -> list[str]:
    chance = random.Random(seed)
    return [
        f"A.{number},{chance.choice(NAMES)},{chance.choice(types)},1\n" for number in range(count)
    ]


def composed(rows, table=None, **options):
    shop = shop_from_dict(own_shop() if table is None else table)
    return compose(HEADER + "".join(rows), shop, plugins=PLUGINS, **options)


def demand_sound(composition, margin=5.0, gutter=4.0):
    """Signs on their piece within its margins and a cut apart, pieces on the bed apart."""
    order = composition.order
    pieces = {piece.id: piece for piece in order.pieces}
    by_piece = {id: [] for id in pieces}
    for sign in order.signs:
        size = sign.size if sign.lies == "upright" else sign.size[::-1]
        by_piece[sign.piece].append((*sign.at, sign.at[0] + size[0], sign.at[1] + size[1]))
    for id, boxes in by_piece.items():
        assert boxes
        for left, low, right, high in boxes:
            assert left >= margin
            assert low >= margin
            assert right <= pieces[id].size[0] - margin + 1e-6
            assert high <= pieces[id].size[1] - margin + 1e-6
        demand_apart(boxes, gutter)
    for load in order.loads:
        lying = [piece for piece in order.pieces if piece.load == load.id]
        demand_apart(
            [(*one.at, one.at[0] + one.size[0], one.at[1] + one.size[1]) for one in lying], 0.0
        )


def demand_apart(boxes, gap):
    for number, one in enumerate(boxes):
        for other in boxes[:number]:
            beside = max(other[0] - one[2], one[0] - other[2])
            above = max(other[1] - one[3], one[1] - other[3])
            assert max(beside, above) >= gap - 1e-6, (one, other)


@pytest.mark.thorough
def test_every_sign_is_made_once_and_judged_in_the_job_of_its_load():
    composition = composed(rows_of(25))
    demand_sound(composition)
    assert len(composition.order.signs) == 25
    made = [sign.id for load in composition.loads for sign in load.job.signs]
    assert sorted(made) == sorted(sign.id for sign in composition.order.signs)
    assert [row.id for row in composition.order.loads] == [load.id for load in composition.loads]
    assert all(load.evaluate().plan is not None for load in composition.loads)
    assert all(load.ok for load in composition.loads)


@pytest.mark.thorough
def test_where_a_sign_lies_in_its_job_is_where_the_work_order_says():
    composition = composed(rows_of(12))
    jobs = {load.id: load.job for load in composition.loads}
    loads = {piece.id: piece.load for piece in composition.order.pieces}
    for row in composition.order.signs:
        sign = next(each for each in jobs[loads[row.piece]].signs if each.id == row.id)
        assert sign.media == row.piece
        assert (sign.area.x, sign.area.y) == row.at
        turned = row.lies == "turned"
        assert (sign.area.width, sign.area.height) == (row.size[::-1] if turned else row.size)


def test_a_quantity_makes_so_many_signs():
    composition = composed(["A.1,Store,room,3\n", "A.2,Lobby,notice,1\n", "A.3,Office,room,0\n"])
    assert [sign.id for sign in composition.order.signs] == ["A-1-1", "A-1-2", "A-1-3", "A-2"]
    assert [sign.row for sign in composition.order.signs] == [2, 2, 2, 3]
    assert "row 4: the quantity is 0, so no job is made" in composition.notes


def test_a_numbered_sign_with_the_id_of_another_row():
    with pytest.raises(ScheduleError) as caught:
        composed(["A-1,Store,room,2\n", "A-1-2,Lobby,room,1\n"])
    (fault,) = caught.value.faults
    assert (fault.path, fault.found) == ("row 3", "the id 'A-1-2'")


@pytest.mark.thorough
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
@settings(max_examples=effort(6), deadline=None)
def test_permuted_rows_change_nothing_but_their_numbers(seed, chance):
    rows = rows_of(7, seed)
    mixed = list(rows)
    chance.shuffle(mixed)
    one, other = (composed(each) for each in (rows, mixed))
    assert [load.document for load in one.loads] == [load.document for load in other.loads]
    unnumbered = [
        {(sign.id, sign.type, sign.piece, sign.at, sign.lies) for sign in each.order.signs}
        for each in (one, other)
    ]
    assert unnumbered[0] == unnumbered[1]


@pytest.mark.thorough
@given(st.integers(0, 10_000), st.sampled_from(["room", "notice", "thick"]))
@settings(max_examples=effort(6), deadline=None)
def test_one_sign_more_never_takes_fewer_sheets_than_are_proven(seed, type):
    rows = rows_of(6, seed)
    few, more = composed(rows), composed([*rows, f"B.1,Store,{type},1\n"])
    assert len(more.order.stock_sheets) >= few.order.at_least.stock_sheets
    assert more.order.at_least.stock_sheets >= few.order.at_least.stock_sheets
    if few.proven and more.proven:
        assert len(more.order.loads) >= len(few.order.loads)


def test_thick_and_thin_sheets_share_no_stretch_of_a_bed():
    table = own_shop()
    table["printers"]["flatbed"]["bed"] = ["700 mm", "1000 mm"]
    composition = composed(["A.1,Store,room,1\n", "A.2,Lobby,thick,1\n"], table)
    (load,) = composition.loads
    one, other = load.job.media
    assert one.thickness != other.thickness
    low, high = sorted([one, other], key=lambda sheet: sheet.at[1])
    assert high.at[1] - low.at[1] - low.size[1] >= load.job.printer.head_length - 1e-6


@pytest.mark.thorough
def test_a_bed_without_room_between_them_takes_two_loads():
    # 450 + 450 mm of sheets and 40 mm of head between them.
    table = own_shop()
    table["printers"]["flatbed"]["bed"] = ["700 mm", "939 mm"]
    apart = composed(["A.1,Store,room,1\n", "A.2,Lobby,thick,1\n"], table)
    assert (len(apart.loads), apart.proven) == (2, True)
    table["printers"]["flatbed"]["bed"] = ["700 mm", "940 mm"]
    assert len(composed(["A.1,Store,room,1\n", "A.2,Lobby,thick,1\n"], table).loads) == 1


def test_signs_of_other_standards_lie_in_other_loads():
    table = own_shop()
    table["printers"]["flatbed"]["bed"] = ["1300 mm", "1000 mm"]
    composition = composed(["A.1,Store,room,1\n", "A.2,Lobby,notice,1\n"], table)
    assert [load.job.standards for load in composition.loads] == [("us-ada-2010",), ()]


@pytest.mark.thorough
def test_a_sheet_that_the_bed_does_not_hold_is_cut_into_panels():
    table = own_shop()
    table["sheets"]["panel"]["size"] = [1250, 950]
    composition = composed(rows_of(9, types=("room",)), table)
    demand_sound(composition)
    # Onto a bed of 600 by 450 mm go six parts, turned: 414 mm of 1250 and 473 mm of 950, with 4 mm
    # of saw between them. Upright it would take nine.
    (size,) = {piece.size for piece in composition.order.pieces}
    assert size == pytest.approx(((950 - 4) / 2, (1250 - 2 * 4) / 3), abs=1e-3)
    assert len(composition.order.stock_sheets) == 1
    corners = {piece.cut_at for piece in composition.order.pieces}
    assert len(corners) == len(composition.order.pieces)


def test_signs_on_blanks_of_their_own():
    table = own_shop(print_on="blanks", bed_gutter="10 mm")
    composition = composed(rows_of(7, types=("room",)), table)
    order = composition.order
    assert len(order.pieces) == 7
    assert {tuple(sorted(piece.size)) for piece in order.pieces} == {(120, 300)}
    assert all(sign.at == (0, 0) for sign in order.signs)
    cut = {sheet.id: [] for sheet in order.stock_sheets}
    for piece in order.pieces:
        turned = piece.cut == "turned"
        width, height = piece.size[::-1] if turned else piece.size
        x, y = piece.cut_at
        cut[piece.stock_sheet].append((x, y, x + width, y + height))
    for boxes in cut.values():
        demand_apart(boxes, 4.0)
    assert all(load.ok for load in composition.loads)


@pytest.mark.parametrize(("axis", "lies"), [("x", "upright"), ("y", "turned")])
def test_a_grain_says_which_way_signs_lie(axis, lies):
    composition = composed(rows_of(6, types=("room",)), own_shop(grain={"panel": axis}))
    assert {sign.lies for sign in composition.order.signs} == {lies}
    demand_sound(composition)


def test_signs_that_may_not_turn():
    composition = composed(rows_of(9, types=("room",)), own_shop(turning="never"))
    assert {sign.lies for sign in composition.order.signs} == {"upright"}


def test_a_sign_with_a_back_is_not_turned():
    table = own_shop(grain={"panel": "y"})
    back = {"id": "back", "ink": "black", "side": "back"}
    table["sign_types"]["notice"] = type_with(NOTICE, passes=[*NOTICE["passes"], back])
    with pytest.raises(WorkOrderError) as caught:
        composed(rows_of(3, types=("notice",)), table)
    assert [fault.path for fault in caught.value.faults] == ["sign_types.notice.sheet"]


def test_signs_with_both_sides_are_turned_over_once_a_sheet():
    table = own_shop()
    back = {"id": "back", "ink": "black", "side": "back"}
    table["sign_types"]["notice"] = type_with(NOTICE, passes=[*NOTICE["passes"], back])
    composition = composed(rows_of(3, types=("notice",)), table)
    (load,) = composition.loads
    assert [item.does for item in load.job.handling] == ["flip"]
    assert load.evaluate().plan is not None
    table["sign_types"]["notice"] = type_with(NOTICE, passes=[{**NOTICE["passes"][0], **back}])
    (load,) = composed(rows_of(3, types=("notice",)), table).loads
    assert [sheet.up for sheet in load.job.media] == ["back"]
    assert load.evaluate().plan is not None


@pytest.mark.thorough
def test_no_sheet_is_turned_onto_its_relief():
    table = own_shop()
    back = {"id": "back", "ink": "black", "side": "back"}
    table["sign_types"]["room"] = type_with(ROOM, passes=[*ROOM["passes"], back])
    (load,) = composed(rows_of(3, types=("room",)), table).loads
    assert {sheet.up for sheet in load.job.media} == {"back"}
    plan = load.evaluate().plan
    sides = {item.id: item.side for item in load.job.passes}
    printed = [sides[name] for name in plan.order if name in sides]
    assert printed == sorted(printed)
    assert set(printed) == {"back", "front"}
    # Loaded front up, the same job costs no less.
    front_up = [evolve(sheet, up="front") for sheet in load.job.media]
    other = evaluate(evolve(load.job, media=tuple(front_up)))
    assert other.plan is None or plan.cost <= other.plan.cost


def test_pieces_lie_apart_where_that_spares_set_up():
    # Beside a sheet that may be 1.2 mm thicker, 1.5 mm over the own one leave less than the 1 mm
    # that the head must clear; alone on its stretch it is printed as aligned.
    table = own_shop(bed_gutter="2 mm")
    table["alignments"] = [{"extra": "0 mm"}]
    table["printers"]["flatbed"]["bed"] = ["620 mm", "500 mm"]
    table["sheets"]["strip"] = {"thickness": "3 mm +- 0.6 mm", "size": [600, 150]}
    table["sign_types"]["notice"] = type_with(NOTICE, sheet="strip", size=[500, 80])
    composition = composed(["A.1,Store,notice,1\n", "A.2,Lobby,notice,1\n"], table)
    (load,) = composition.loads
    low, high = load.job.media
    tight = copy.deepcopy(dict(load.document))
    tight["media"][1]["at"] = [0.0, 152.0]
    plan = evaluate(job_from_dict(tight, shop=shop_from_dict(table), plugins=PLUGINS)).plan
    assert load.evaluate().plan.cost < plan.cost
    assert high.at[1] - low.at[1] == pytest.approx(150 + load.job.printer.head_length)


def test_a_shop_that_keeps_nothing_free_is_told():
    table = own_shop()
    del table["composition"]
    notes = composed(["A.1,Store,room,1\n"], table).notes
    assert [note[:32] for note in notes if note.startswith("[composition]")] == [
        "[composition] keeps no gutter, s",
        "[composition] keeps no margin, s",
    ]


def test_of_several_sheets_those_are_taken_of_which_the_fewest_are_needed():
    table = own_shop()
    table["sign_types"]["thick"] = type_with(ROOM, sheet=["panel", "five"])
    rows = ["A.1,Store,room,1\n", "A.2,Lobby,thick,1\n"]
    composition = composed(rows, table)
    assert [sheet.stock for sheet in composition.order.stock_sheets] == ["panel"]
    assert composition.proven


def test_a_smaller_sheet_is_taken_where_it_holds_the_same():
    table = own_shop()
    table["sheets"]["half"] = {**table["sheets"]["panel"], "size": [320, 140]}
    table["sign_types"]["room"] = type_with(ROOM, sheet=["panel", "half"])
    composition = composed(["A.1,Store,room,1\n"], table)
    assert [sheet.stock for sheet in composition.order.stock_sheets] == ["half"]
    composition = composed(rows_of(3, types=("room",)), table)
    assert [sheet.stock for sheet in composition.order.stock_sheets] == ["panel"]


def test_a_sign_that_goes_onto_no_sheet():
    with pytest.raises(WorkOrderError) as caught:
        composed(["A.1,Store,room,1\n"], own_shop(margin="200 mm"))
    (fault,) = caught.value.faults
    assert fault.path == "sign_types.room.sheet"
    assert fault.found == "a sign of 300 mm by 120 mm (row 2)"


def test_a_sheet_without_a_size_is_told_by_its_size():
    table = own_shop()
    del table["sheets"]["panel"]["size"]
    with pytest.raises(WorkOrderError) as caught:
        composed(["A.1,Store,room,1\n", "A.2,Store,notice,1\n"], table)
    (fault,) = caught.value.faults
    assert (fault.path, fault.found) == ("sheets.panel.size", "nothing")


@pytest.mark.thorough
def test_permuted_rows_are_told_alike():
    rows = rows_of(9)
    one, other = (composed(some) for some in (rows, rows[::-1]))
    assert one.notes == other.notes


def test_a_load_without_a_safe_order_says_why():
    table = own_shop()
    # A layer so thick that the least gap leaves no room for what it is printed over.
    passes = copy.deepcopy(ROOM["passes"])
    passes[0]["gap"] = {"extra": "0 mm", "above": "media"}
    passes[0]["after"] = ["letters"]
    table["sign_types"]["room"] = type_with(ROOM, passes=passes)
    composition = composed(["A.1,Store,room,1\n"], table)
    (load,) = composition.loads
    assert load.evaluate().plan is None
    assert any(note.startswith("load-01 has no safe order: ") for note in composition.notes)


def test_a_schedule_that_asks_for_nothing():
    composition = composed(["A.1,Store,room,0\n"])
    assert composition.loads == ()
    assert composition.proven
    assert "no row asks for a sign, so nothing is made" in composition.notes


@pytest.mark.parametrize(
    ("table", "path"),
    [
        ({"grain": {"panle": "x"}}, "composition.grain.panle"),
        ({"grain": {"panel": "z"}}, "composition.grain.panel"),
        ({"margin": "-1 mm"}, "composition.margin"),
        ({"print_on": "paper"}, "composition.print_on"),
        ({"guter": "1 mm"}, "composition.guter"),
    ],
)
def test_faults_of_the_table_of_the_shop(table, path):
    from signrules import ShopError

    with pytest.raises(ShopError) as caught:
        shop_from_dict(own_shop(**table))
    assert [fault.path for fault in caught.value.faults] == [path]


@pytest.mark.thorough
def test_the_folder_of_a_work_order(tmp_path):
    composition = composed(rows_of(9), name="A building")
    folder = tmp_path / "work"
    paths = write_composition(composition, folder)
    assert [path.name for path in paths][-1] == "work-order.toml"
    assert read_work_order(folder) == composition.order
    table = work_order_to_dict(composition.order)
    assert work_order_from_dict(table) == composition.order
    with pytest.raises(WorkOrderError):
        write_composition(composition, folder)
    fewer = composed(rows_of(1))
    (folder / "notes.txt").write_text("kept")
    write_composition(fewer, folder, replace=True)
    assert sorted(path.name for path in folder.iterdir()) == [
        "load-01.toml",
        "notes.txt",
        "work-order.toml",
    ]


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (lambda table: table["signs"][0].update(piece="piece-99"), "signs[0].piece"),
        (lambda table: table["pieces"][0].update(load="load-99"), "pieces[0].load"),
        (lambda table: table["signs"].append(table["signs"][0]), "signs[3].id"),
        (lambda table: table.update(signrules_work_order=2), "signrules_work_order"),
        (lambda table: table["signs"][0].pop("row"), "signs[0].row"),
    ],
)
def test_faults_of_a_work_order(change, path):
    table = work_order_to_dict(composed(rows_of(3)).order)
    change(table)
    with pytest.raises(WorkOrderError) as caught:
        work_order_from_dict(table)
    assert [fault.path for fault in caught.value.faults] == [path]


def places(order):
    return {(sign.id, sign.piece, sign.at, sign.lies) for sign in order.signs}


@pytest.mark.thorough
@given(st.integers(0, 10_000), st.integers(1, 5), st.booleans())
@settings(max_examples=effort(6), deadline=None)
def test_placements_that_are_kept_stay(seed, more, blanks):
    table = own_shop(print_on="blanks" if blanks else "sheets")
    rows = rows_of(6, seed)
    few = composed(rows, table)
    new = [row.replace("A.", "B.", 1) for row in rows_of(more, seed + 1)]
    both = composed([*rows, *new], table, keep=few.order)
    assert places(few.order) <= places(both.order)
    assert len(both.order.signs) == 6 + more
    demand_sound(both, *((0.0, 0.0) if blanks else ()))
    kept = {load.id: load for load in few.loads}
    for load in both.loads:
        if load.id in kept:
            was = {sheet.id: sheet.at for sheet in kept[load.id].job.media}
            assert {sheet.id: sheet.at for sheet in load.job.media} == was
    assert all(load.evaluate().plan is not None for load in both.loads)


def test_room_beside_kept_signs_is_used_first():
    few = composed(rows_of(2, types=("notice",)))
    both = composed(
        [*rows_of(2, types=("notice",)), "B.1,Lobby,notice,1\n"], own_shop(), keep=few.order
    )
    assert len(both.order.stock_sheets) == 1
    assert len(both.loads) == 1


@pytest.mark.thorough
def test_what_is_no_longer_asked_for_leaves_its_place():
    few = composed(["A.1,Store,room,1\n", "A.2,Lobby,room,1\n"])
    one = composed(["A.2,Lobby,room,1\n"], keep=few.order)
    assert places(one.order) <= places(few.order)
    assert [sign.id for sign in one.order.signs] == ["A-2"]


def test_kept_placements_on_a_sheet_that_the_shop_has_no_more():
    few = composed(["A.1,Store,thick,1\n"])
    table = own_shop()
    table["sheets"]["other"] = table["sheets"].pop("five")
    table["sign_types"]["thick"]["sheet"] = "other"
    with pytest.raises(WorkOrderError) as caught:
        composed(["A.1,Store,thick,1\n"], table, keep=few.order)
    assert [fault.path for fault in caught.value.faults] == ["stock_sheets[0].stock"]


@pytest.mark.thorough
def test_loads_come_in_the_order_that_takes_the_least_set_up():
    composition = composed(rows_of(20))
    loads, weight = composition.least_setup
    assert composition.setup.loads == loads == len(composition.loads)
    assert composition.setup.weight >= weight
    alone = sum(load.evaluate().plan.setup_minutes for load in composition.loads)
    assert composition.setup.minutes <= alone


def ways_to_share_out(items):
    """All ways to put items into groups."""
    if not items:
        yield []
        return
    first, *rest = items
    for groups in ways_to_share_out(rest):
        yield [[first], *groups]
        for number, group in enumerate(groups):
            yield [*groups[:number], [first, *group], *groups[number + 1 :]]


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_small_work_is_as_good_as_any_way_to_share_it_out(seed):
    """Five signs of three types, of which a sheet holds three or four, on a bed for one sheet.

    Every way to share them out on single sheets is planned, and its loads put in their best order.
    """
    table = own_shop()
    table["sign_types"]["flat"] = type_with(NOTICE, sheet="panel", size=[300, 120])
    rows = rows_of(5, seed, types=("room", "flat", "thick"))
    together = composed(rows, table)
    blocks = {}
    costs = []
    for groups in ways_to_share_out(rows):
        for group in groups:
            key = "".join(sorted(group))
            if key not in blocks:
                found = composed(group, table)
                blocks[key] = found.loads[0].job if len(found.loads) == 1 else None
        jobs = [blocks["".join(sorted(group))] for group in groups]
        if all(job is not None for job in jobs):
            setup = order_of_jobs(jobs, shop=shop_from_dict(table), plugins=PLUGINS).setup
            costs.append((len(jobs), setup.weight))
    assert (len(together.order.stock_sheets), together.setup.weight) == min(costs)


def in_bytes(composition) -> bytes:
    """All that comes of composing."""
    loads = [
        [load.id, load.document, load.summary.to_plain(), load.carried.to_dict()]
        for load in composition.loads
    ]
    order = work_order_to_dict(composition.order)
    return json.dumps([order, loads, composition.least_setup]).encode()


DAY = date(2027, 3, 1)
DIES = """
import os
from multiprocessing import parent_process
from signrules import hookimpl

@hookimpl
def signrules_quantities(job, order, quantities):
    if job.name == "load-03" and parent_process() and os.path.exists({trap!r}):
        os._exit(9)
    return {{}}
"""


@pytest.mark.thorough
def test_a_worker_that_dies_loses_nothing(tmp_path):
    """The same bytes from one process, from workers, and from workers of which one died."""
    trap, kept, file = tmp_path / "trap", tmp_path / "kept", tmp_path / "dies.py"
    file.write_text(DIES.format(trap=str(trap)), encoding="utf-8")
    dying = load_plugins(objects=[LETTER_BY_LETTER], files=[file])
    shop = shop_from_dict(own_shop())

    def made(**options):
        rows = HEADER + "".join(rows_of(25))
        return in_bytes(compose(rows, shop, plugins=dying, today=DAY, **options))

    def by_workers(**options):
        spawned = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(2, mp_context=spawned) as executor:
            return made(executor=executor, **options)

    alone = made()
    trap.write_text("", encoding="utf-8")
    with pytest.raises(NotEvaluated, match=r"^load-0\d was not evaluated: .*ended abruptly"):
        by_workers(kept_in=kept)
    done = {path: path.read_bytes() for path in kept.glob(f"*{SUFFIX}")}
    loads = len(json.loads(alone)[1])
    assert 0 < len(done) < loads
    trap.unlink()
    assert by_workers(kept_in=kept) == alone
    # The worker that is stopped with it may leave a file half-written beside them.
    assert len(list(kept.glob(f"*{SUFFIX}"))) == loads
    assert {path: path.read_bytes() for path in done} == done
    assert made(kept_in=kept) == alone


def plugin_that_fails_on(sign):
    """A plugin whose rule fails on the job of one sign."""

    @rule("ourshop.moody", each="job", source=shop_practice("an invented one"))
    def moody(item):
        """A rule that fails.

        Why it matters: rules do.
        A job that breaks it: none.
        One that meets it: none.
        """
        if any(each.id == sign for each in item.signs):
            raise RuntimeError("as a test wants it")
        yield check("whatever", measured=1, most=2, unit="layers")

    @hookimpl
    def signrules_rule_sets():
        return [RuleSet("ourshop", (moody,))]

    return types.SimpleNamespace(__name__="ourshop", signrules_rule_sets=signrules_rule_sets)


@pytest.mark.thorough
def test_a_load_that_leaves_nothing_has_those_behind_it_judged_once_more():
    # All are alike to the planner, so the first is expected to make the alignment of all.
    rows = rows_of(36, types=("room",))
    order = composed(rows).order
    pieces = [piece.id for piece in order.pieces if piece.load == order.loads[0].id]
    sign = next(each.id for each in order.signs if each.piece in pieces)
    failing = load_plugins(objects=[LETTER_BY_LETTER, plugin_that_fails_on(sign)])

    def made(**options):
        schedule = HEADER + "".join(rows)
        return compose(schedule, shop_from_dict(own_shop()), plugins=failing, today=DAY, **options)

    alone = made()
    unsafe = [load for load in alone.loads if load.summary.why_not]
    assert [sign in {each.id for each in load.job.signs} for load in unsafe] == [True]
    assert alone.loads.index(unsafe[0]) < len(alone.loads) - 1
    with ThreadPoolExecutor(2) as executor:
        assert in_bytes(made(executor=executor)) == in_bytes(alone)
    # As one after the other, each with what those before it leave.
    row = evaluate_many(
        [load.document for load in alone.loads],
        shop=shop_from_dict(own_shop()),
        plugins=failing,
        today=DAY,
        carry=True,
    )
    for load, item in zip(alone.loads, row, strict=True):
        assert load.carried == item.carried
        assert load.verdict == item.result.verdict
        assert load.evaluate().to_dict(remedies=False) == item.result.to_dict(remedies=False)


@pytest.mark.thorough
def test_no_evaluation_stays_of_a_load():
    def alive():
        gc.collect()
        return sum(isinstance(each, Evaluation) for each in gc.get_objects())

    before = alive()
    composition = composed(rows_of(25))
    assert alive() == before
    for load in composition.loads:
        assert len(json.dumps(load.summary.to_plain())) < 1000
