"""A folder of artwork and a schedule give a job each, and every fault its row and column.

Artwork is read by the example of the documents, for SVG of circles and rectangles alone.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from drawn_artwork import SHOP, dot_centres

import signrules
from signrules.cli import main
from signrules.errors import ArtworkError, ScheduleError
from signrules.schedules.drawn_signs import read_drawn_rows

READER = Path(__file__).parents[2] / "docs" / "examples" / "artwork" / "shapes.py"
HEADER = "file,text,kind,cells\n"
DOORS = HEADER + "b.drawn,ROOM,permanent-room,⠗⠕⠕⠍\na.drawn,STAFF,permanent-room,\n"


def svg_of(cells, more=""):
    """Dots on a layer marked as braille, and above them a raised letter for each cell."""
    circles = "".join(
        f'<circle cx="{x}" cy="{200 - y}" r="0.775"/>' for x, y in dot_centres([cells])
    )
    letters = "".join(
        f'<rect x="{20 + 8 * number}" y="50" width="3" height="25"/>'
        for number in range(len(cells))
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 200">'
        f'<g id="Dots" data-step="Braille">{circles}</g>'
        f'<g id="Raised">{letters}{more}</g></svg>'
    )


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder of artwork, one for jobs, a shop and a schedule."""
    monkeypatch.chdir(tmp_path)
    reader = READER.read_text("utf-8").replace('(".svg",)', '(".drawn",)')
    (tmp_path / "reader.py").write_text(reader, encoding="utf-8")
    (tmp_path / "shop.json").write_text(json.dumps(SHOP, default=str), encoding="utf-8")
    for folder in ("art", "jobs"):
        (tmp_path / folder).mkdir()
    (tmp_path / "art" / "a.drawn").write_text(svg_of("⠎⠞⠁⠋⠋"))
    (tmp_path / "art" / "b.drawn").write_text(svg_of("⠗⠕⠕⠍"))
    (tmp_path / "doors.csv").write_text(DOORS, encoding="utf-8")
    return tmp_path


def read(*arguments):
    options = ["--plugin", "reader.py", "--shop", "shop.json", "--schedule", "doors.csv"]
    return main(["read", *(arguments or ("art", "-o", "jobs")), *options])


def sign_of(name):
    return signrules.read_job(f"jobs/{name}.toml", shop=signrules.read_shop("shop.json")).signs[0]


@pytest.mark.thorough
@pytest.mark.parametrize("workers", ["1", "2"])
def test_each_row_gives_a_job(place, capsys, workers):
    assert read("art", "-o", "jobs", "--jobs", workers, "--standard", "us-ada-2010") == 0
    out = capsys.readouterr().out
    # In the order of the rows.
    assert out.index("b.toml: 2 passes, 1 sign") < out.index("a.toml: 2 passes, 1 sign")
    assert (sign_of("b").text, sign_of("b").kind) == (("ROOM",), "permanent-room")
    assert sign_of("a").text == ("STAFF",)
    assert sign_of("a").braille.cells == "⠎⠞⠁⠋⠋"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("a.drawn,STAFF,permanent-room,⠎⠞⠁⠋\n", "row 2, column cells: found '⠎⠞⠁⠋⠋' in the dr"),
        ("a.drawn, / ,permanent-room,\n", "row 2, column text: found nothing"),
        ("a.drawn,,permanent-room,\n", "row 2, column text: found nothing"),
        ("a.drawn,STAFF,,\n", "row 2, column kind: found nothing"),
        ("c.drawn,STAFF,permanent-room,\n", "row 2, column file: found 'c.drawn'"),
        ("art/a.drawn,STAFF,permanent-room,\n", "row 2, column file: found 'art/a.drawn'"),
        ("a.drawn,X,stairs,\na.drawn,X,stairs,\n", "row 3, column file: found 'a.drawn'"),
        ("a.drawn,STAFF,permanent-room\n", "row 2: found 3 fields, expected 4"),
        ("a.drawn,STAFF,permanent-room,\n", "no row for 'b.drawn'"),
        ("", "row 2: found nothing, expected a row for each door"),
    ],
)
def test_faults_name_row_and_column(place, capsys, rows, said):
    if "column cells" in said:
        rows += "b.drawn,ROOM,permanent-room,\n"
    (place / "doors.csv").write_text(HEADER + rows, encoding="utf-8")
    assert read() == 2
    err = capsys.readouterr().err
    assert said in err
    assert "doors.csv" in err


def test_nothing_is_written_where_the_schedule_itself_is_wrong(place):
    (place / "doors.csv").write_text(DOORS + "x.drawn,HALL,permanent-room,\n", encoding="utf-8")
    assert read() == 2
    assert list((place / "jobs").iterdir()) == []


def test_all_faults_are_told_at_once(place):
    (place / "doors.csv").write_text(
        "file,txt,kind\nc.drawn,HALL,\nd.drawn,HALL,stairs\n", encoding="utf-8"
    )
    with pytest.raises(ScheduleError) as refused:
        read_drawn_rows("doors.csv", ["a.drawn"])
    assert [fault.path for fault in refused.value.faults] == [
        "row 1, column text",
        "row 2, column kind",
        "row 2, column file",
        "row 3, column file",
    ]


def test_artwork_that_cannot_be_read_is_told_by_its_row_and_the_others_are_written(place, capsys):
    stray = '<circle cx="120" cy="120" r="0.775"/>'
    whole = svg_of("⠗⠕⠕⠍")
    (place / "art" / "b.drawn").write_text(whole.replace("</g><g", f"{stray}{stray}</g><g"))
    assert read() == 2
    err = capsys.readouterr().err
    assert "row 2, column file, b.drawn, page 1, layer 'Dots'" in err
    assert "120.000, 80.000 mm is drawn twice" in err
    assert [each.name for each in (place / "jobs").iterdir()] == ["a.toml"]
    (place / "art" / "b.drawn").write_text("<svg")
    assert read("art", "-o", "jobs", "--replace") == 2
    assert "row 2, column file, b.drawn" in capsys.readouterr().err


def test_braille_that_its_row_tells_to_be_mirrored_is_refused(place, capsys):
    mirrored = svg_of("⠗⠕⠕⠍")
    for x, _ in dot_centres(["⠗⠕⠕⠍"]):
        mirrored = mirrored.replace(f'cx="{x}"', f'cx="m{100 - x}"')
    (place / "art" / "b.drawn").write_text(mirrored.replace('cx="m', 'cx="'))
    assert read() == 2
    assert "mirrored from left to right" in capsys.readouterr().err


def test_two_signs_are_more_than_a_row_is_for(place, capsys):
    edges = (
        '<g id="Cut" data-step="Structural Cutting"><rect x="0" y="0" width="90" height="190"/>'
        '<rect x="100" y="0" width="90" height="190"/></g></svg>'
    )
    (place / "art" / "b.drawn").write_text(svg_of("⠗⠕⠕⠍").replace("</svg>", edges))
    assert read() == 2
    assert "row 2, column text: found 2 signs" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("art/a.drawn", "-o", "jobs"), "found 'b.drawn', expected a file of the artwork"),
        (("art", "-o", "jobs", "--kind", "stairs"), "columns of the schedule"),
        (("art", "-o", "jobs", "--text", "ROOM"), "columns of the schedule"),
    ],
)
def test_options_that_a_schedule_does_not_go_with(place, capsys, arguments, said):
    assert read(*arguments) == 2
    assert said in capsys.readouterr().err


def test_columns_of_the_users_own(place, capsys):
    rows = DOORS.replace("file,text,kind", "Drawing;Says;Use").replace(",", ";")
    (place / "doors.csv").write_bytes(f"An invented building;;;\n{rows}".encode("utf-16"))
    mapped = ["--column", "file=Drawing", "--column", "text=Says", "--column", "kind=Use"]
    assert read("art", "-o", "jobs", *mapped) == 0
    assert sign_of("b").text == ("ROOM",)
    assert "doors.csv: fields separated by semicolons" in capsys.readouterr().err


def test_a_workbook(place):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in DOORS.splitlines():
        book.active.append([cell or None for cell in row.split(",")])
    book.save(place / "doors.xlsx")
    (place / "doors.csv").unlink()
    options = ["--plugin", "reader.py", "--shop", "shop.json", "--schedule", "doors.xlsx"]
    assert main(["read", "art", "-o", "jobs", *options]) == 0
    assert sign_of("a").text == ("STAFF",)


@pytest.mark.parametrize("content", [None, b"\xff\xfe"])
def test_a_schedule_that_cannot_be_read(place, capsys, content):
    (place / "doors.csv").unlink()
    if content is not None:
        (place / "doors.csv").write_bytes(content)
    assert read() == 2
    assert "doors.csv" in capsys.readouterr().err


def test_text_of_the_drawing_that_the_row_does_not_say_is_refused(place):
    from signrules.schedules.drawn_signs import DrawnRow, demand_as_scheduled

    rows = [DrawnRow(4, "a.pdf", ("Staff", "only"), "permanent-room")]
    demand_as_scheduled(rows, {"signs": [{"id": "a", "text": ["STAFF ONLY"]}]})
    with pytest.raises(ArtworkError, match="'STAFF', 'ROOM'"):
        demand_as_scheduled(rows, {"signs": [{"id": "a", "text": ["STAFF", "ROOM"]}]})


SHEET_HEADER = "sign,text,kind,cells\n"
SHEET = SHEET_HEADER + "sheet-1,ROOM,permanent-room,\nsheet-2,HALL,stairs,⠓⠁⠇⠇\n"


@pytest.fixture
def sheet(place):
    """A sheet of two signs, one above the other, and a schedule of what they say."""
    halves = []
    for cells, top in (("⠗⠕⠕⠍", 0), ("⠓⠁⠇⠇", 200)):
        drawn = svg_of(cells)
        for name in ("cy", "y"):
            drawn = re.sub(
                rf' {name}="([-.0-9]+)"',
                lambda found: f' {name}="{float(found[1]) + top}"',  # noqa: B023
                drawn,
            )
        halves.append(drawn)
    groups = [re.findall(r"<g .*?</g>", half) for half in halves]
    dots, letters = (
        one.removesuffix("</g>") + re.sub(r"^<g [^>]*>", "", other)
        for one, other in zip(*groups, strict=True)
    )
    edges = (
        '<g id="Cut" data-step="Structural Cutting"><rect x="5" y="5" width="190" height="190"/>'
        '<rect x="5" y="205" width="190" height="190"/></g>'
    )
    (place / "sheet.drawn").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 400">'
        f"{dots}{letters}{edges}</svg>"
    )
    shop = SHOP | {"sheets": {"acrylic": {"thickness": "3 mm", "size": [200, 400]}}}
    (place / "shop.json").write_text(json.dumps(shop, default=str), encoding="utf-8")
    (place / "doors.csv").write_text(SHEET, encoding="utf-8")
    return place


def read_sheet():
    return read("sheet.drawn", "-o", "sheet.toml", "--replace")


def test_each_sign_of_a_sheet_has_its_row(sheet, capsys):
    assert read_sheet() == 0
    shop = signrules.read_shop("shop.json")
    signs = signrules.read_job("sheet.toml", shop=shop).signs
    assert [(sign.id, sign.text, sign.kind) for sign in signs] == [
        ("sheet-1", ("ROOM",), "permanent-room"),
        ("sheet-2", ("HALL",), "stairs"),
    ]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("sheet-1,ROOM,stairs,\n", "found nothing for 'sheet-2'"),
        ("sheet-1,ROOM,stairs,\nsheet-3,HALL,stairs,\n", "row 3, column sign: found no sign 'sh"),
        ("sheet-1,ROOM,stairs,\nsheet-1,HALL,stairs,\n", "row 3, column sign: found 'sheet-1'"),
        ("sheet-1,ROOM,stairs,\n,HALL,stairs,\n", "row 3, column file: found 'sheet.drawn'"),
        (",ROOM,stairs,\n", "row 2, column text: found 2 signs"),
        ("sheet-1,ROOM,stairs,\nsheet-2,HALL,stairs,⠓⠁\n", "row 3, column cells: found"),
        ("sheet-1,ROOM,stairs,\nsheet-2,HALLS,stairs,\n", "row 3, sign sheet-2, page 1, layer"),
    ],
)
def test_faults_of_a_sheet_name_the_row_of_the_sign(sheet, capsys, rows, said):
    (sheet / "doors.csv").write_text(SHEET_HEADER + rows, encoding="utf-8")
    assert read_sheet() == 2
    assert said in capsys.readouterr().err


def test_a_folder_may_hold_a_sheet_of_signs(sheet):
    for name in ("a.drawn", "b.drawn"):
        (sheet / "art" / name).unlink()
    (sheet / "sheet.drawn").rename(sheet / "art" / "sheet.drawn")
    rows = SHEET.replace("\n", "\nsheet.drawn,").removesuffix("sheet.drawn,")
    (sheet / "doors.csv").write_text(f"file,{rows}", encoding="utf-8")
    assert read("art", "-o", "jobs") == 0
    assert len(signrules.read_job("jobs/sheet.toml", shop=signrules.read_shop("shop.json")).signs)
