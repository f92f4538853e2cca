"""What sign types say to plugins: tables of signs and of passes."""

from __future__ import annotations

import types
from typing import Any

import pytest
from attrs import field, frozen
from building import HEADER, NOTICE, faults, made, shop, type_with

from signrules import ShopError, any_text, load_plugins, plain_length, plain_number
from signrules.model.plugin_data import tables_in
from signrules.schedules.placing import SignPlace, placed_sign
from signrules.schedules.shared_passes import passes_of


@frozen
class Label:
    """What an invented plugin prints on the box of a sign."""

    door: str = field(metadata=any_text("the door that it goes to"))
    free: float = field(default=0.0, metadata=plain_length("left free around it"))


@frozen
class Drying:
    """How long an invented plugin lets a pass dry."""

    minutes: float = field(metadata=plain_number("minutes", 1, 100, "before it is touched"))


PLUGIN = types.SimpleNamespace(
    __name__="boxes",
    signrules_data_name="boxes",
    signrules_data={"sign": Label, "pass": Drying},
)
LABEL = {"door": "{room}", "free": "{free?} mm"}
TEXT = "Room No.,Room name,Sign,free\n"


def plugins() -> Any:
    return load_plugins(objects=[PLUGIN])


def notice(label: object = LABEL, drying: object = None) -> Any:
    (row,) = NOTICE["passes"]
    rows = [row if drying is None else {**row, "data": {"boxes": drying}}]
    return shop(sign_types={"notice": type_with(NOTICE, data={"boxes": label}, passes=rows)})


def test_data_of_a_type_is_that_of_its_signs_and_passes():
    own = notice(drying={"minutes": 12})
    (one,) = made(TEXT + "A-1,Exit,notice,3\n", own, plugins=plugins()).jobs
    (sign,), (item,) = one.job.signs, one.job.passes
    assert tables_in(sign.data) == {"boxes": {"door": "A-1", "free": "3 mm"}}
    assert tables_in(item.data) == {"boxes": {"minutes": 12}}


def test_words_in_data_stay_text():
    # Room 007 is no number 7, and 2,5 no 2.5: the column holds names.
    text = "Room No.,Room name,Sign,free\n007,Exit,notice,\n"
    (one,) = made(text, notice(), plugins=plugins()).jobs
    assert tables_in(one.job.signs[0].data) == {"boxes": {"door": "007"}}
    own = notice(label={"door": "{door}"}, drying={"minutes": "{minutes}"})
    text = 'Room No.,Room name,Sign,door,minutes\nA-1,Exit,notice,"2,5",07\n'
    (one,) = made(text, own, plugins=None).jobs
    assert tables_in(one.job.signs[0].data) == {"boxes": {"door": "2,5"}}
    assert tables_in(one.job.passes[0].data) == {"boxes": {"minutes": "07"}}


@pytest.mark.parametrize(
    ("own", "path", "found"),
    [
        (notice(label={}), "sign_types.notice.data.boxes.door", "nothing"),
        (notice(label={"dor": 1, "door": "x"}), "sign_types.notice.data.boxes.dor", "an unknown"),
        (
            notice(label={"door": "x", "free": "{free} m2"}),
            "column free (sign_types.notice.data.boxes.free)",
            "'3', which makes '3 m2'",
        ),
        (
            notice(label={"door": "x"}, drying={"minutes": 0}),
            "sign_types.notice.passes[0].data.boxes.minutes",
            "0",
        ),
    ],
)
def test_faults_in_data_are_told_at_their_type(own: Any, path: str, found: str):
    ((where, what, _),) = faults(TEXT + "A-1,Exit,notice,3\n", own, plugins=plugins())
    assert where == f"row 2, {path}"
    assert what.startswith(found)


def test_data_of_plugins_that_are_not_loaded_is_kept():
    own = notice(label={"anything": [1, {"at": "all"}]})
    (one,) = made(HEADER + "A-1,Exit,notice\n", own, plugins=None).jobs
    assert tables_in(one.job.signs[0].data) == {"boxes": {"anything": [1, {"at": "all"}]}}


@pytest.mark.parametrize("data", [1, {"boxes": 1}])
def test_what_is_no_data_is_told_with_the_shop_file(data: object):
    with pytest.raises(ShopError, match=r"sign_types\.notice\.data"):
        shop(sign_types={"notice": type_with(NOTICE, data=data)})


def test_passes_that_differ_in_data_are_not_shared():
    def placed(minutes: int, room: str) -> Any:
        own = notice(label={"door": "x"}, drying={"minutes": minutes})
        (one,) = made(HEADER + f"{room},Exit,notice\n", own).jobs
        sign = one.sign
        place = SignPlace("panel", (0.0, 0.0), 600.0)
        return placed_sign(sign.filled, None, sign.id, place, sign.size)

    shared = passes_of([placed(5, "A"), placed(5, "B"), placed(6, "C")])
    assert [(row["data"]["boxes"]["minutes"], row["builds"]) for row in shared] == [
        (5, ["A.visual", "B.visual"]),
        (6, ["C.visual"]),
    ]
