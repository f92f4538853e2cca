"""Door schedules: what each row makes of a template, and every fault by row and column."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scenario import sign_job

from signrules import JobError, evaluate, job_from_dict, job_to_dict, jobs_from_schedule
from signrules.documents import schedule_rows, schedules
from signrules.rules.checks import Outcome

KNOWN = "one of room, text, kind, standard, cells"
ONE_LINE = "text on one line; ' / ' stands between lines"
PATTERNS = "Unicode braille patterns (U+2800 to U+28FF), spaces and line ends only"
AN_ID = "an id: text of 1 to 200 characters without control characters and without any of . [ ]"
HEADER = "room,text,kind,standard,cells\n"
ROWS = (
    HEADER + "A-1,BOILER ROOM,permanent-room,,⠃⠕⠊⠇⠑⠗\n"
    '"A-2","STAIRS, UP / LEVEL 2",stairs,us-ada-2010;iso-17049-2013,⠎⠞ / ⠇⠼⠃\n'
    "A-3,STORE,permanent-room,,\n"
)


def template(**changes: Any) -> dict[str, Any]:
    job = sign_job(**changes)
    job["signs"][0]["braille"]["cells"] = "⠗⠕⠕⠍⠀⠼⠊"
    return job


def faults(text: str | Path, job: Any = None) -> list[tuple[str, str, str]]:
    with pytest.raises(JobError) as caught:
        jobs_from_schedule(text, template() if job is None else job)
    return [(fault.path, fault.found, fault.expected) for fault in caught.value.faults]


def paths(text: str, job: Any = None) -> list[str]:
    return [path for path, _, _ in faults(text, job)]


# --- what a row makes -----------------------------------------------------------------------------


def test_each_row_makes_a_job():
    boiler, stairs, store = jobs_from_schedule(ROWS, template())
    assert [job.name for job in (boiler, stairs, store)] == [
        f"an invented sign, A-{n}" for n in (1, 2, 3)
    ]
    assert [job.signs[0].id for job in (boiler, stairs, store)] == ["A-1", "A-2", "A-3"]
    assert stairs.signs[0].text == ("STAIRS, UP", "LEVEL 2")
    assert stairs.signs[0].kind == "stairs"
    assert stairs.standards == ("us-ada-2010", "iso-17049-2013")
    assert boiler.standards == store.standards == ("us-ada-2010",)
    assert stairs.passes[1].builds == ("A-2.braille",)


def test_cells_are_those_of_the_row_and_never_those_of_the_template():
    found = [job.signs[0].braille for job in jobs_from_schedule(ROWS, template())]
    assert [None if one is None else one.cells for one in found] == ["⠃⠕⠊⠇⠑⠗", "⠎⠞\n⠇⠼⠃", None]
    assert all(one is None or one.dot_diameter is not None for one in found)


def test_without_a_column_of_cells_no_sign_has_any():
    (job,) = jobs_from_schedule("room,text,kind,standard\nA-1,STORE,permanent-room,\n", template())
    assert job.signs[0].braille is None


def test_a_template_without_braille_gets_it_only_with_cells():
    job = template()
    del job["signs"][0]["braille"]
    with_cells, _, without = jobs_from_schedule(ROWS, job)
    assert with_cells.signs[0].braille is not None
    assert without.signs[0].braille is None


def test_the_job_is_the_one_written_by_hand():
    wanted = template(name="an invented sign, A-1")
    wanted["signs"][0] |= {"id": "A-1", "text": ["BOILER ROOM"]}
    wanted["signs"][0]["braille"]["cells"] = "⠃⠕⠊⠇⠑⠗"
    wanted["passes"][1]["builds"] = "A-1.braille"
    assert jobs_from_schedule(ROWS, template())[0] == job_from_dict(wanted)


def test_the_template_is_left_as_it_was():
    job = template()
    before = copy.deepcopy(job)
    jobs_from_schedule(ROWS, job)
    assert job == before


def test_other_signs_and_what_builds_them_stay():
    job = template()
    job["signs"].append({"id": "room-two"})
    job["passes"].append(
        {"id": "more", "ink": "clear", "areas": [[0, 0, 9, 9]], "builds": "room-two.raised"}
    )
    made = jobs_from_schedule(ROWS, job)[0]
    assert [sign.id for sign in made.signs] == ["A-1", "room-two"]
    assert [item.builds for item in made.passes if item.builds] == [
        ("A-1.braille",),
        ("room-two.raised",),
    ]


def test_waivers_go_with_the_sign():
    subjects = ("signs.room", "signs.room.surface", "signs.roomy", "passes.room")
    waivers = [
        {"rule": "contrast.reflectance", "subject": each, "reason": "r", "by": "b"}
        for each in subjects
    ]
    made = jobs_from_schedule(ROWS, template(waivers=waivers))[0]
    wanted = ["signs.A-1", "signs.A-1.surface", "signs.roomy", "passes.room"]
    assert [waiver.subject for waiver in made.waivers] == wanted


def test_a_template_without_a_name_leaves_that_of_the_room():
    job = template()
    del job["name"]
    assert [made.name for made in jobs_from_schedule(ROWS, job)] == ["A-1", "A-2", "A-3"]


def test_every_job_can_be_judged_and_written():
    for job in jobs_from_schedule(ROWS, template(standards=["us-ada-2010"]))[::2]:
        result = evaluate(job)
        assert result.plan is not None
        heights = [check for check in result.checks if check.rule == "braille.dot-height"]
        assert [check.subjects[0] for check in heights] == [f"signs.{job.signs[0].id}"]
        assert heights[0].outcome is Outcome.MET
        assert job_from_dict(job_to_dict(job)) == job


@pytest.mark.parametrize(
    "text",
    [
        "\ufeff" + ROWS,
        ROWS.replace("\n", "\r\n"),
        ROWS.replace("\n", "\r"),
        ROWS.rstrip("\n"),
        ROWS.replace("\n", "\n\n") + "\n\n",
        ROWS.replace("A-1,", " A-1 ,").replace("kind,", " kind ,"),
    ],
)
def test_forms_of_the_same_schedule(text: str, tmp_path: Path):
    wanted = jobs_from_schedule(ROWS, template())
    assert jobs_from_schedule(text, template()) == wanted
    path = tmp_path / "doors.csv"
    path.write_bytes(text.encode())
    assert (
        jobs_from_schedule(path, template()) == jobs_from_schedule(str(path), template()) == wanted
    )


def test_a_template_from_a_file(tmp_path: Path):
    path = tmp_path / "template.json"
    path.write_text(json.dumps(template()), encoding="utf-8")
    assert (
        jobs_from_schedule(ROWS, path)
        == jobs_from_schedule(ROWS, str(path))
        == jobs_from_schedule(ROWS, template())
    )


def test_columns_in_any_order():
    text = "standard,kind,text,room\n,permanent-room,STORE,A-3\n"
    assert jobs_from_schedule(text, template()) == jobs_from_schedule(ROWS, template())[2:]


# --- faults of the header -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "fault"),
    [
        (
            "room,text,knd,standard",
            ("row 1, column knd", "'knd'", KNOWN + "; the nearest is 'kind'"),
        ),
        (
            "room,text,Kind,standard",
            ("row 1, column Kind", "'Kind'", KNOWN + "; the nearest is 'kind'"),
        ),
        ("room,text,kind,standard,zzz", ("row 1, column zzz", "'zzz'", KNOWN)),
        ("room,text,kind,standard,", ("row 1, column 5", "nothing", KNOWN)),
        (
            "room,text,kind,standard,text",
            ("row 1, column text", "the same column twice", "each column once"),
        ),
        (
            "room,text,kind",
            ("row 1, column standard", "nothing", "the column standard, which is required"),
        ),
    ],
)
def test_columns(header: str, fault: tuple[str, str, str]):
    row = ",".join(["A-1", "STORE", "permanent-room", "", "⠁"][: header.count(",") + 1])
    assert fault in faults(f"{header}\n{row}\n")


def test_all_faults_of_a_header_and_of_its_rows_at_once():
    found = paths("rom,text,text,note\nA-1,,STORE,x\n")
    assert found == [
        "row 1, column rom",
        "row 1, column text",
        "row 1, column note",
        "row 1, column room",
        "row 1, column kind",
        "row 1, column standard",
        "row 2, column text",
    ]


@pytest.mark.parametrize(("mark", "name"), [(";", "semicolons"), ("\t", "tabs")])
def test_another_separator_is_named(mark: str, name: str):
    text = "room,text,kind,standard\nA-1,STORE,permanent-room,\n".replace(",", mark)
    assert faults(text) == [
        ("row 1", f"a header whose columns {name} separate", "a file whose fields commas separate"),
    ]


@pytest.mark.parametrize("text", ["", "\n", "\r\n\r\n"])
def test_an_empty_schedule(text: str):
    assert faults(text) == [
        ("row 1", "nothing", "a header row with the columns room, text, kind, standard")
    ]


def test_a_schedule_of_a_header_alone():
    assert faults(HEADER) == [("row 2", "nothing", "a row for each door")]


# --- faults of the rows ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        (",STORE,k,,", ("column room", "nothing", "the id of the sign")),
        ("  ,STORE,k,,", ("column room", "nothing", "the id of the sign")),
        ("A-9,,k,,", ("column text", "nothing", "the text of the sign")),
        ("A-9,STORE,,,", ("column kind", "nothing", "the kind of the sign")),
        (
            "A-9,STORE / ,k,,",
            ("column text", "'STORE /'", "something on both sides of every ' / '"),
        ),
        (
            "A-9,ONE /  / TWO,k,,",
            ("column text", "'ONE /  / TWO'", "something on both sides of every ' / '"),
        ),
        (
            "A-9,ONE / / TWO,k,,",
            ("column text", "'ONE / / TWO'", "something on both sides of every ' / '"),
        ),
        (
            "A-9,STORE,k,a;;b,",
            ("column standard", "'a;;b'", "something on both sides of every ';'"),
        ),
        ("A-9,STORE,k,;,", ("column standard", "';'", "something on both sides of every ';'")),
        ("A-9,S\x07,k,,", ("column text", "a control character (U+0007)", ONE_LINE)),
        ("A-9,S\x00,k,,", ("column text", "a control character (U+0000)", ONE_LINE)),
        ('A-9,"ONE\nTWO",k,,', ("column text", "a control character (U+000A)", ONE_LINE)),
        ("A-9,S\ud800,k,,", ("column text", "a control character (U+D800)", ONE_LINE)),
        (
            "A-1,STORE,k,,",
            ("column room", "'A-1'", "a room that no other row has; row 2 has it too"),
        ),
        ("A-9,STORE,k,,abc", ("column cells", "'abc'", PATTERNS)),
        ("A.9,STORE,k,,", ("column room", "'A.9'", AN_ID)),
    ],
)
def test_fields(row: str, fault: tuple[str, str, str]):
    column, found, expected = fault
    assert faults(f"{ROWS}{row}\n") == [(f"row 5, {column}", found, expected)]


@pytest.mark.parametrize(
    ("row", "count"), [("A-9", "1 field"), ("A-9,S,k,", "4 fields"), ("A-9,S,U,k,,", "6 fields")]
)
def test_the_wrong_number_of_fields(row: str, count: str):
    expected = "5, one for each column; quote a field that holds a comma"
    assert faults(f"{ROWS}{row}\n") == [("row 5", count, expected)]


def test_blank_lines_count_as_rows():
    assert paths(f"{HEADER}\n\nA-1,,k,,\n") == ["row 4, column text"]


def test_a_row_of_empty_fields_is_not_passed_over():
    assert paths(f"{ROWS},,,,\n") == [
        "row 5, column room",
        "row 5, column text",
        "row 5, column kind",
    ]


@pytest.mark.parametrize(
    "row", ['"A-9,STORE,k,,', '"A-9"x,STORE,k,,', "A-9," + "x" * 200_000 + ",k,,"]
)
def test_text_that_is_no_csv(row: str):
    ((path, found, _),) = faults(f"{ROWS}{row}\n")
    assert path == "row 5"
    assert found.startswith("text that is no CSV (")


def test_several_faults_at_once():
    text = (
        "room,text,kind,standard,cells\n,STORE,k,,abc\nA-1,,k,a;,\nA-1,STORE,k\n"
        "A-1,STORE,,,\nB.2,STORE,k,,abc\n"
    )
    assert paths(text) == [
        "row 2, column room",
        "row 3, column text",
        "row 3, column standard",
        "row 4",
        "row 5, column kind",
        "row 5, column room",
        "row 6, column room",
        "row 6, column cells",
    ]


def test_a_room_like_another_sign_of_the_template():
    job = template()
    job["signs"].append({"id": "A-3"})
    assert faults(ROWS, job) == [
        ("row 4, column room", "'A-3'", "a room that no other sign of the template has: 'A-3'")
    ]


# --- faults of the file and of the template -------------------------------------------------------


def test_a_byte_that_is_no_utf8(tmp_path: Path):
    path = tmp_path / "doors.csv"
    path.write_bytes(ROWS.encode().replace(b"STORE", b"ST\xd6RE"))
    with pytest.raises(JobError) as caught:
        jobs_from_schedule(path, template())
    assert [(fault.path, fault.found) for fault in caught.value.faults] == [
        ("", "a byte that is no UTF-8 on line 4")
    ]
    assert caught.value.origin == str(path)


def test_a_file_that_is_not_there(tmp_path: Path):
    ((path, found, _),) = faults(tmp_path / "none.csv")
    assert (path, found) == ("", "no such file or directory")


def test_a_schedule_that_is_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "doors.csv"
    with path.open("wb") as file:
        file.truncate(32 * 1024 * 1024 + 1)
    assert faults(path)[0][1] == "a file of 33554433 bytes"
    monkeypatch.setattr(schedule_rows, "MOST_BYTES", len(ROWS.encode()))
    assert len(jobs_from_schedule(ROWS, template())) == 3
    assert faults(ROWS + "\n")[0][1] == f"a text of {len(ROWS.encode()) + 1} bytes"


def test_faults_of_the_template_keep_their_path_and_those_of_the_rows_are_told_too():
    job = template()
    job["media"][0]["thickness"] = "thick"
    del job["inks"][0]["layer"]
    found = paths(f"{HEADER}A-1,STORE,,,\n", job)
    assert found == ["template.media[0].thickness", "template.inks[0].layer", "row 2, column kind"]


@pytest.mark.parametrize("job", [[], "none.toml", "none.txt", Path("none.json")])
def test_no_template_at_all(job: Any):
    assert paths(ROWS, job) == ["template"]


def test_a_template_without_a_sign():
    job = sign_job(signs=[])
    job["passes"][1].pop("builds")
    assert faults(ROWS, job) == [
        ("template.signs", "nothing", "a sign, the first of which each row fills")
    ]


def test_a_template_with_measured_heights():
    job = template()
    job["signs"][0]["measured"] = {"dot_height": [0.7]}
    assert paths(ROWS, job) == ["template.signs[0].measured"]


# --- laws -----------------------------------------------------------------------------------------


@given(st.text(max_size=200))
def test_any_text_is_refused_with_faults(text: str):
    """No text has this header by chance."""
    assert faults("\n" + text)


@given(st.text(max_size=40), st.text(max_size=40))
def test_any_field_gives_its_text_back_or_a_fault_of_its_column(text: str, kind: str):
    row = ",".join('"' + field.replace('"', '""') + '"' for field in ("A-1", text, kind, "", ""))
    try:
        (job,) = jobs_from_schedule(HEADER + row + "\n", template())
        found = (" / ".join(job.signs[0].text), job.signs[0].kind)
    except JobError as error:
        wrong = {fault.path for fault in error.faults}
        found = (
            (None, None)
            if wrong <= {"row 2, column text", "row 2, column kind"}
            else ("another fault", None)
        )
    assert found in [
        (" / ".join(part.strip(" ") for part in text.split(" / ")), kind.strip(" ")),
        (None, None),
    ]


@given(
    st.lists(
        st.from_regex(r"[A-Za-z0-9][A-Za-z0-9 ,\"-]{0,8}[A-Za-z0-9]", fullmatch=True),
        min_size=1,
        unique=True,
    )
)
def test_every_row_gives_its_room(rooms: list[str]):
    def quoted(room: str) -> str:
        return '"' + room.replace('"', '""') + '"'

    text = HEADER + "".join(f"{quoted(room)},STORE,permanent-room,,\n" for room in rooms)
    assert [job.signs[0].id for job in jobs_from_schedule(text, template())] == rooms


def test_a_fault_in_what_no_column_fills_is_one_of_the_template(monkeypatch: pytest.MonkeyPatch):
    # No row can bring one about: what it does not fill was sound before. So a column is taken from
    # the list of them.
    monkeypatch.setattr(
        schedules, "_FILLED", tuple(each for each in schedules._FILLED if each[1] != "room")
    )
    ((path, found, expected),) = faults(HEADER + "A.1,STORE,permanent-room,,\n")
    assert path.startswith("row 2, template.")
    assert found == "'A.1'"
    assert expected == AN_ID


def test_of_several_faults_that_come_from_one_column_the_first_is_told():
    # Both the id of the sign and the subject of its waiver would be too long: 200 characters are
    # the most of each.
    waiver = {
        "rule": "braille.dot-height",
        "subject": "signs.room",
        "reason": "none",
        "by": "nobody",
    }
    room = "A" * 201
    found = faults(HEADER + f"{room},STORE,permanent-room,,\n", template(waivers=[waiver]))
    assert [(path, expected) for path, _, expected in found] == [("row 2, column room", AN_ID)]
