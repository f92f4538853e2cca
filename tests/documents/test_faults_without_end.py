"""Faults that repeat: so many of each kind are listed, all are counted, and none is lost in
silence.
"""

from __future__ import annotations

import json
import pickle
import re
from pathlib import Path

import pytest
from attrs import frozen
from building import HEADER, shop
from documents.hostile import FAULTY, ROWS, passes, with_ids
from documents.samples import nested
from effort import first_quick
from hypothesis import given
from hypothesis import strategies as st

from signrules.cli import main
from signrules.documents import Refused, job_from_dict
from signrules.documents.toml import to_toml
from signrules.errors import (
    MOST_LISTED,
    MOST_OF_A_KIND,
    DocumentFault,
    JobError,
    ScheduleError,
    ShopError,
    condensed_faults,
)
from signrules.rules.settings import settings_from
from signrules.schedules.jobs import jobs_from_schedule
from signrules.shop_file import shop_from_dict

MANY = 1500
LONGEST_LINE = 1000


def refusal(document: object) -> JobError:
    with pytest.raises(JobError) as caught:
        job_from_dict(document)
    return caught.value


def counted(faults: tuple[DocumentFault, ...]) -> int:
    return sum(1 + fault.more for fault in faults)


# --- one id for all -------------------------------------------------------------------------------


@pytest.mark.parametrize("table", first_quick(2, ROWS))
def test_one_id_for_all_is_one_fault(table: str) -> None:
    error = refusal(with_ids(table, 10_000, ROWS[table], lambda at: "p"))
    (fault,) = [fault for fault in error.faults if fault.path == f"{table}[1].id"]
    assert fault.found == f"'p', the id of 10,000 entries, {table}[0] the first"
    assert fault.more == 0
    assert not [
        other for other in error.faults if other.path.endswith(".id") and other is not fault
    ]


def test_an_id_that_two_have_names_the_other() -> None:
    (fault,) = refusal(with_ids("passes", 2, ROWS["passes"], lambda at: "p")).faults
    assert (
        str(fault)
        == "passes[1].id: found 'p', the id of passes[0] too, expected an id that no other pass or"
        " handling has"
    )


def test_an_id_may_be_taken_by_another_list() -> None:
    document = passes(
        2, lambda at: {}, handling=[{"id": "p1", "does": "pause"}, {"id": "p1", "does": "pause"}]
    )
    (fault,) = refusal(document).faults
    assert (fault.path, fault.found) == (
        "handling[0].id",
        "'p1', the id of 3 entries, passes[1] the first",
    )


# --- any other fault ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", first_quick(8, FAULTY))
def test_the_message_does_not_grow_with_the_document(name: str) -> None:
    few, many = (refusal(FAULTY[name](count)) for count in (MANY // 10, MANY))
    assert len(many.faults) <= MOST_LISTED
    assert max(map(len, str(many).splitlines())) <= LONGEST_LINE
    assert len(str(many)) <= 1.1 * len(str(few)) + 200
    assert many.count == counted(many.faults)
    assert f": {many.count:,} fault" in str(many)


@pytest.mark.parametrize(
    ("name", "count"),
    [
        # One for each pass, row, area... of the document, by how it is made.
        ("unknown inks", MANY),
        ("unknown after", MANY),
        ("the same unknown key", MANY),
        ("other unknown keys", MANY),
        ("unknown keys of the document", MANY),
        ("unknown keys of one pass", MANY),
        ("bad areas", MANY),
        ("areas off the sheet", MANY),
        ("bad waivers", 2 * MANY),
        ("bad spacers", MANY),
        ("faults in turn", MANY),
        ("ids in pairs", MANY // 2),
        ("sequence of one", MANY),  # Each but the first, and that others are left out.
    ],
)
def test_every_fault_is_counted(name: str, count: int) -> None:
    assert refusal(FAULTY[name](MANY)).count == count


def test_each_kind_of_fault_is_listed_where_another_has_no_end() -> None:
    document = FAULTY["other unknown keys"](MANY)
    document["passes"][-1] |= {"ink": "claer", "layers": 0}
    document["printer"]["min_clearance"] = "1"
    paths = [fault.path for fault in refusal(document).faults]
    last = f"passes[{MANY - 1}]"
    assert {f"{last}.ink", f"{last}.layers", "printer.min_clearance", "passes[0].key 0"} <= set(
        paths
    )


def test_what_is_left_out_is_said_after_the_last_of_its_kind() -> None:
    error = refusal(passes(MANY, lambda at: {"ink": 5}))
    assert [fault.path for fault in error.faults] == [
        f"passes[{at}].ink" for at in range(MOST_OF_A_KIND)
    ]
    assert str(error).endswith(
        f"passes[9].ink: found 5, expected text (and {MANY - MOST_OF_A_KIND:,} more of this kind)"
    )


# --- the law of condensing ------------------------------------------------------------------------

WORDS = st.sampled_from(
    ["a length", "text", "an id like 'x'", "at most 3 mm", "at most 4.5 mm"]
) | st.text(alphabet="ab' 1", max_size=3)
PATHS = st.builds(
    "passes[{}].{}".format, st.integers(0, 3000), st.sampled_from(["ink", "gap.above", "id"])
)
FAULTS = st.builds(
    DocumentFault,
    PATHS | st.text(alphabet="abc.", max_size=4),
    st.just("x"),
    WORDS,
    st.integers(0, 2),
)


@given(
    st.lists(FAULTS, max_size=30).flatmap(
        lambda few: st.integers(1, 40).map(lambda times: few * times)
    )
)
def test_condensing_loses_none_and_is_done_once(faults: list[DocumentFault]) -> None:
    listed = condensed_faults(faults)
    assert counted(listed) == counted(tuple(faults))
    assert condensed_faults(listed) == listed
    assert len(listed) <= MOST_LISTED
    places = [(fault.path, fault.expected) for fault in faults]
    assert all((fault.path, fault.expected) in places for fault in listed)
    kinds = {(re.sub("[0-9]", "", fault.path), fault.expected) for fault in faults}
    assert {(re.sub("[0-9]", "", fault.path), fault.expected) for fault in listed} <= kinds


@given(st.lists(FAULTS, max_size=MOST_OF_A_KIND))
def test_a_few_faults_stay_as_they_are(faults: list[DocumentFault]) -> None:
    assert condensed_faults(faults) == tuple(faults)


def test_more_kinds_than_can_be_listed() -> None:
    letters = [
        f"{one}{two}{three}" for one in "abcdefgh" for two in "abcdefgh" for three in "abcdefgh"
    ]
    faults = [DocumentFault("name", "x", word) for word in letters for _ in range(3)]
    error = JobError(faults)
    assert error.faults[:2] == (
        DocumentFault("name", "x", "aaa", 2),
        DocumentFault("name", "x", "aab", 2),
    )
    assert len(error.faults) == MOST_LISTED
    assert error.faults[-1].found == "faults of too many kinds to list"
    assert error.count == len(faults)


@pytest.mark.thorough
def test_an_error_survives_the_way_to_another_process() -> None:
    error = refusal(FAULTY["faults in turn"](MANY))
    copy = pickle.loads(pickle.dumps(error))
    assert (copy.faults, copy.count, str(copy)) == (error.faults, error.count, str(error))
    assert JobError(error.faults, "a.toml").faults == error.faults


# --- other documents ------------------------------------------------------------------------------


def test_shop_files() -> None:
    long = "x" * 10_000
    entry = {long: 1, "level": long, "settings": {long: [None]}, "reason": " "}
    shop = {"signrules": 1, "rules": {f"set{at}{long}": {long: entry} for at in range(300)}}
    with pytest.raises(ShopError) as caught:
        shop_from_dict(shop)
    assert caught.value.count == 4 * 300
    assert max(map(len, str(caught.value).splitlines())) <= LONGEST_LINE


def test_schedules() -> None:
    rows = "".join(f"{at},Exit,type {at}\n" for at in range(MANY))
    with pytest.raises(ScheduleError) as caught:
        jobs_from_schedule(HEADER + rows, shop())
    assert caught.value.count == MANY
    assert [fault.path for fault in caught.value.faults][:2] == [
        "row 2, column Sign",
        "row 3, column Sign",
    ]
    assert len(caught.value.faults) == MOST_OF_A_KIND


@pytest.mark.thorough
def test_schedules_with_one_fault_in_very_many_rows() -> None:
    rows = "".join(f"{at},{'Exit' if at % 2 else ''},notice\n" for at in range(MANY))
    with pytest.raises(ScheduleError) as caught:
        jobs_from_schedule(HEADER + rows, shop())
    (fault,) = caught.value.faults
    listed = "2, 4, 6, 8, 10, 12, 14, 16, 18, 20"
    assert fault.path == f"rows {listed} and {MANY // 2 - 10} more, column Room name"


@frozen
class NoSettings:
    """A class without any setting."""


def test_settings_of_long_names() -> None:
    with pytest.raises(Refused, match="an unknown setting") as caught:
        settings_from(NoSettings, {"x" * 10_000: 1})
    assert len(str(caught.value)) < LONGEST_LINE


# --- the command ----------------------------------------------------------------------------------

FILES = {
    **{f"{name}.toml": lambda name=name: to_toml(FAULTY[name](300)) for name in FAULTY},
    "deep.json": lambda: "[" * 200_000,
    "deep.toml": lambda: "a = " + "[" * 200_000,
    "deep tables.json": lambda: '{"a":' * 200_000,
    "deep value.json": lambda: json.dumps(
        {"signrules": 1, "passes": nested(900, 1, in_lists=True)}
    ),
    "dotted.toml": lambda: "a." * 100_000 + "a = 1",
    "dotted header.toml": lambda: "[" + "'a' . " * 30_000 + "a]",
    "dotted quotes.toml": lambda: "x = { " + '"\\"".' * 30_000 + "a = 1 }",
    "long id.toml": lambda: to_toml(
        with_ids("passes", 3, ROWS["passes"], lambda at: "x" * 100_000)
    ),
    "long key.toml": lambda: to_toml({"x" * 100_000: 1}),
    "long number.toml": lambda: "temperature = " + "9" * 100_000,
    "long hexadecimal.toml": lambda: "temperature = 0x" + "f" * 100_000,
    "long number.json": lambda: '{"temperature": ' + "9" * 100_000 + "}",
    "one key.json": lambda: '{"a": [' + ", ".join(['{"b": 1, "b": 2}'] * 3000) + "]}",
    "one key deep down.json": lambda: (
        '{"long name of a key": ' * 900
        + "["
        + ", ".join(['{"b": 1, "b": 2}'] * 3000)
        + "]"
        + "}" * 900
    ),
    "infinite.json": lambda: '{"temperature": 1e999, "registration_tolerance": NaN}',
}


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("form", first_quick(1, ["text", "jsonl", "sarif", "junit"]))
def test_the_command_says_what_is_wrong_and_ends(
    name: str, form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / name
    file.write_text(FILES[name](), encoding="utf-8")
    assert main(["check", str(file), "--format", form]) == 2
    out, err = capsys.readouterr()
    assert name in (out if form == "jsonl" else err)
    assert len(err) <= 30_000
    assert len(out) <= 400_000
    assert "Traceback" not in out + err


def test_what_is_left_out_is_counted_in_every_format(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "job.json"
    file.write_text(json.dumps(FAULTY["the same unknown key"](MANY)), encoding="utf-8")
    left_out = MANY - MOST_OF_A_KIND
    for form in ("jsonl", "sarif", "junit"):
        main(["check", str(file), "--format", form])
        out = capsys.readouterr().out
        assert f"(and {left_out:,} more of this kind)" in out
        if form == "jsonl":
            faults = json.loads(out)["error"]["faults"]
            assert [fault.get("more") for fault in faults] == [None] * (MOST_OF_A_KIND - 1) + [
                left_out
            ]
