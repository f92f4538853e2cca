"""Work orders that somebody changed by hand: held against themselves, their jobs and the shop."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from attrs import evolve
from building import shop_table
from effort import first_quick

from signrules import read_shop, read_work_order, work_order_from_dict, work_order_to_dict
from signrules.cli import main
from signrules.documents.toml import to_toml
from signrules.documents.work_orders import write_work_order
from signrules.errors import WorkOrderError

DOORS = "Room No.,Room name,Sign\n" + "".join(f"A.{number},Lift,notice\n" for number in range(11))
COMMANDS = (["check"], ["check", "--by-cause"], ["estimate"], ["queue"], ["sheet"])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A shop whose sheets hold nine signs, and its work order for eleven."""
    table = shop_table(composition={"margin": "5 mm", "gutter": "4 mm"})
    panel = table["sheets"]["panel"]
    panel.update(size=[600, 300], material="acrylic")
    # Of the same size, and each otherwise in one thing.
    table["sheets"]["thick"] = {**panel, "thickness": "4 mm"}
    table["sheets"]["pvc"] = {**panel, "material": "pvc"}
    (tmp_path / "signrules.toml").write_text(to_toml(table), encoding="utf-8")
    (tmp_path / "doors.csv").write_text(DOORS, encoding="utf-8")
    assert composed(tmp_path) == 0
    return tmp_path


def composed(folder: Path, *options: str) -> int:
    return main(["compose", str(folder / "doors.csv"), "-o", str(folder / "work"), *options])


def change(folder: Path, pattern: str, text: str) -> None:
    """Change the first place of the work order that a pattern finds."""
    path = folder / "work" / "work-order.toml"
    before = path.read_text("utf-8")
    after = re.sub(pattern, text, before, count=1)
    assert after != before
    path.write_text(after, "utf-8")


def run(folder: Path, command: list[str]) -> int:
    pages = ["-o", str(folder / "pages")] if command == ["sheet"] else []
    return main([*command, str(folder / "work"), *pages])


AGAINST_THE_SHOP = [
    (
        r'stock = "panel"',
        'stock = "a9"',
        "stock_sheets[0].stock: found 'a9', expected a sheet that the shop file has: 'panel',",
    ),
    (
        r"size = \[600.0, 300.0\]",
        "size = [2000.0, 600.0]",
        "stock_sheets[0].size: found 2000 x 600 mm, expected 600 x 300 mm, as sheets.panel",
    ),
    (
        r'printer = "flatbed"',
        'printer = "rolls"',
        "printer: found 'rolls', expected a printer that the shop file has: 'flatbed'",
    ),
]
AGAINST_ITS_JOBS = [
    (
        r'stock = "panel"',
        f'stock = "{other}"',
        f"stock_sheets[0].stock: found '{other}', expected 'panel', as piece-01 in the job of",
    )
    for other in ("thick", "pvc")
]
AGAINST_ITSELF = [
    (
        r"cut_at = \[0.0, 0.0\]",
        "cut_at = [700.0, 0.0]",
        # 700 mm and the 600 mm of the piece, on a sheet of 600 mm.
        "pieces[0].cut_at: found 700 x 0 mm, which is 700 mm over the edge",
    ),
    (
        r'type = "notice"',
        'type = "xx"',
        "signs[0].type: found 'xx', expected a sign type that the shop file has:",
    ),
    (
        r'type = "notice"',
        'type = "room"',
        # Notices are 200 by 80 mm, signs of rooms 300 by 120 mm.
        "signs[0].type: found 'room', expected one of 200 x 80 mm, which sign_types.room of the",
    ),
]


@pytest.mark.parametrize("command", first_quick(2, COMMANDS, pytest.mark.thorough), ids=" ".join)
@pytest.mark.parametrize(
    ("pattern", "text", "words"), [*AGAINST_THE_SHOP, *AGAINST_ITS_JOBS, *AGAINST_ITSELF]
)
def test_every_command_tells_it(folder, capsys, monkeypatch, command, pattern, text, words):
    # The shop file is that of the folder in which the command runs.
    monkeypatch.chdir(folder)
    assert run(folder, command) == 0
    change(folder, pattern, text)
    capsys.readouterr()
    assert run(folder, command) == 2
    said = capsys.readouterr()
    # By cause it stands with what else is wrong; otherwise on standard error.
    told = " ".join((said.out + said.err).split())
    assert told.count(words) == 1


@pytest.mark.parametrize(
    ("stock", "words"),
    [("thick", "a sheet of 3 mm"), ("pvc", "a sheet of acrylic"), ("panel", None)],
)
def test_a_job_that_names_no_stock_is_held_against_the_sheet_by_what_it_is(
    folder, capsys, monkeypatch, stock: str, words: str | None
):
    monkeypatch.chdir(folder)
    own = 'thickness = "3 mm"\nmaterial = "acrylic"\nhold = "vacuum"'
    for job in (folder / "work").glob("load-*.toml"):
        job.write_text(job.read_text("utf-8").replace('use = "panel"', own), "utf-8")
    if words is None:
        assert run(folder, ["check"]) == 0
        return
    change(folder, r'stock = "panel"', f'stock = "{stock}"')
    capsys.readouterr()
    assert run(folder, ["check"]) == 2
    said = capsys.readouterr().err
    assert f"found '{stock}', expected {words}, as piece-01 in the job of load-0" in said


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"sheet": ["thick", "pvc"]}, "one that may be made of panel"),
        ({"sheet": "thick"}, "one that may be made of panel"),
        ({"kind": "permanent-room"}, "one of the kind directional"),
        ({"size": [210, 80]}, "one of 200 x 80 mm"),
        # What a row alone says of it is not known.
        ({"sheet": "{sheet}", "kind": "{kind}"}, None),
    ],
)
def test_a_type_that_the_shop_has_otherwise_now(folder, capsys, monkeypatch, changed, words):
    monkeypatch.chdir(folder)
    path = folder / "signrules.toml"
    table = tomllib.loads(path.read_text("utf-8"))
    table["sign_types"]["notice"].update(changed)
    path.write_text(to_toml(table), "utf-8")
    capsys.readouterr()
    assert run(folder, ["check"]) == (0 if words is None else 2)
    said = capsys.readouterr().err
    assert words is None or f"signs[0].type: found 'notice', expected {words}, which" in said


def order_table(folder: Path):
    return work_order_to_dict(read_work_order(folder / "work"))


def faults_of(table):
    with pytest.raises(WorkOrderError) as caught:
        work_order_from_dict(table)
    return [(fault.path, fault.found) for fault in caught.value.faults]


def test_two_pieces_on_top_of_each_other_and_a_sheet_of_which_nothing_is_cut(folder):
    table = order_table(folder)
    first, second = table["pieces"][:2]
    assert first["stock_sheet"] != second["stock_sheet"]
    second["stock_sheet"] = first["stock_sheet"]
    # Both take all of the sheet, so neither may be moved by less than its 300 mm along y.
    assert faults_of(table) == [
        ("pieces[1].cut_at", f"0 x 0 mm, 300 mm over {first['id']}"),
        ("stock_sheets[1].id", "'sheet-02'"),
    ]


def test_a_piece_that_is_cut_turned_takes_its_sides_exchanged(folder):
    table = order_table(folder)
    table["pieces"][0]["cut"] = "turned"
    # 600 mm along y of a sheet of 300 mm.
    assert faults_of(table) == [("pieces[0].cut_at", "0 x 0 mm, which is 300 mm over the edge")]


def test_signs_of_one_row_are_of_one_type(folder):
    table = order_table(folder)
    table["signs"][1].update(row=table["signs"][0]["row"], type="room")
    assert faults_of(table) == [("signs[1].type", "'room'")]


def test_bounds_that_the_order_itself_goes_below(folder):
    table = order_table(folder)
    assert len(table["stock_sheets"]) == 2
    table["at_least"] = {"stock_sheets": 3, "loads": len(table["loads"]) + 1}
    assert faults_of(table) == [
        ("at_least.stock_sheets", "3"),
        ("at_least.loads", str(len(table["loads"]) + 1)),
    ]


def test_a_kept_order_that_no_longer_fits_its_jobs_is_refused(folder, capsys):
    before = (folder / "work" / "load-01.toml").read_bytes()
    change(folder, r"(\[\[signs\]\][^[]*?at = \[)[0-9.]+,", r"\g<1>6.5,")
    capsys.readouterr()
    keep = ["--keep", str(folder / "work"), "--replace"]
    assert composed(folder, *keep) == 2
    told = capsys.readouterr().err
    assert re.search(r"work-order\.toml: 1 fault.*signs\[0\]\.at: found 6\.5 x ", told, re.DOTALL)
    assert "as in the job of load-0" in told
    assert (folder / "work" / "load-01.toml").read_bytes() == before


def test_a_kept_order_whose_signs_touch_is_refused(folder, capsys):
    """Without its jobs nothing else tells it."""
    order = read_work_order(folder / "work")
    one, other = [sign for sign in order.signs if sign.piece == order.signs[0].piece][:2]
    # 2.5 mm beside the first, where the shop asks for 4 mm.
    beside = evolve(other, at=(one.at[0] + one.size_as_it_lies[0] + 2.5, one.at[1]))
    signs = [beside if sign == other else sign for sign in order.signs]
    write_work_order(evolve(order, signs=tuple(signs)), folder / "kept.toml")
    capsys.readouterr()
    assert composed(folder, "--keep", str(folder / "kept.toml"), "--replace") == 2
    told = capsys.readouterr().err
    assert f"found 2.5 mm from {one.id}, expected at least 4 mm, the gutter" in told


def test_a_kept_order_with_a_piece_off_its_sheet_or_of_another_size_is_refused(folder, capsys):
    keep = ["--keep", str(folder / "work"), "--replace"]
    change(folder, r"size = \[600.0, 300.0\]", "size = [700.0, 300.0]")
    capsys.readouterr()
    assert composed(folder, *keep) == 2
    assert "stock_sheets[0].size: found 700 x 300 mm" in capsys.readouterr().err
    change(folder, r"cut_at = \[0.0, 0.0\]", "cut_at = [150.0, 0.0]")
    assert composed(folder, *keep) == 2
    # 150 mm and 600 mm on a sheet that is now 700 mm.
    assert "which is 50 mm over the edge" in capsys.readouterr().err


def test_an_order_that_fits_is_kept(folder):
    before = read_work_order(folder / "work")
    assert read_shop(folder / "signrules.toml").stock.composition.gutter == 4
    assert composed(folder, "--keep", str(folder / "work"), "--replace") == 0
    assert read_work_order(folder / "work").signs == before.signs


def test_a_load_that_does_not_fit_counts_as_one_that_does_not_pass(folder, capsys):
    assert main(["check", str(folder / "work")]) == 0
    assert "2 jobs: 2 pass." in capsys.readouterr().out
    change(folder, r"size = \[600.0, 300.0\]", "size = [2000.0, 600.0]")
    assert main(["check", str(folder / "work")]) == 2
    said = capsys.readouterr().out
    assert "2 jobs: 1 pass, 1 not." in said
    assert "load-01.toml: does not fit its work order, see above" in said
    assert "not judged" not in said
