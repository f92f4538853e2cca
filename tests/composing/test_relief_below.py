"""Signs with ink on both sides: what is told of relief that comes to lie on the bed."""

from __future__ import annotations

import pytest
from building import HEADER, NOTICE, ROOM, plugins, shop_table, type_with

from signrules import compose, shop_from_dict

REAR = {"id": "rear", "ink": "clear", "side": "back", "areas": [[10, 10, 60, 20]]}


@pytest.mark.parametrize(
    ("base", "rear", "told"),
    [
        # The back is printed first, and lies on the bed while the front is.
        (ROOM, {"layers": 20}, True),
        (ROOM, {"layers": 5}, True),
        (ROOM, {"layers": 4}, False),
        (ROOM, {}, False),
        (NOTICE, {"layers": 20}, False),
        (ROOM, None, False),
    ],
)
def test_a_sheet_that_is_turned_onto_relief_is_told(base, rear, told: bool):
    table = shop_table(composition={"margin": "5 mm", "gutter": "4 mm"})
    passes = base["passes"] if rear is None else [*base["passes"], {**REAR, **rear}]
    table["sign_types"]["room"] = type_with(base, passes=passes)
    found = compose(HEADER + "A.1,Lift,room\n", shop_from_dict(table), plugins=plugins())
    notes = [note for note in found.notes if "onto relief" in note]
    assert bool(notes) is told
    assert all(note.startswith("piece-01 is turned over onto relief") for note in notes)
