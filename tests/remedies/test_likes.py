"""One of several alike sheets on which something is stated otherwise: its likes say how it was.

Each bed is invented: four alike sheets, ground then dots of 24 layers of 0.03 mm.
"""

from __future__ import annotations

from typing import Any

import pytest
from scenario import sign_job

import signrules
from signrules.remedies.order_of_likes import order_of_likes

SHEETS = ("a", "b", "c", "d")


def bed(**printer: Any) -> dict[str, Any]:
    document = sign_job(standards=["us-ada-2010"])
    panel = document["media"][0] | {"size": [100, 90]}
    places = ((10, 10), (120, 10), (10, 200), (120, 200))
    document["media"] = [
        {**panel, "id": name, "at": list(place)} for name, place in zip(SHEETS, places, strict=True)
    ]
    sign = document["signs"][0]
    document["signs"] = [{**sign, "id": f"room-{name}", "media": name} for name in SHEETS]
    document["printer"] |= printer
    document["passes"] = [
        one
        for name in SHEETS
        for one in (
            {"id": f"ground-{name}", "ink": "black", "media": name, "gap": {"extra": 0}},
            {
                "id": f"dots-{name}",
                "ink": "clear",
                "media": name,
                "areas": [[20, 30, 60, 8]],
                "layers": 24,
                "coverage": 0.3,
                "gap": {"extra": 1},
                "after": [f"ground-{name}"],
                "builds": f"room-{name}.braille",
            },
        )
    ]
    return document


def item(document: dict[str, Any], id: str) -> dict[str, Any]:
    return next(one for one in document["passes"] if one["id"] == id)


def judged(document: dict[str, Any]) -> signrules.Evaluation:
    return signrules.evaluate(signrules.job_from_dict(document))


def test_the_bed_is_sound():
    assert judged(bed()).conflict is None


def test_the_ink_of_its_likes():
    document = bed()
    item(document, "dots-b")["ink"] = "black"
    result = judged(document)
    (check,) = (one for one in result.violations if one.rule == "braille.dot-height")
    assert check.remedies[0].summary.startswith("Print dots-b in clear instead of black, as dots-a")
    assert judged_after(result, check.remedies[0]).ok


def judged_after(result: signrules.Evaluation, remedy: signrules.Remedy) -> signrules.Evaluation:
    return signrules.evaluate(signrules.apply_remedy(result.job, remedy))


def test_the_side_that_its_likes_are_loaded_up():
    document = bed()
    document["signs"] = []
    for one in document["passes"]:
        one.pop("builds", None)
    for sheet in document["media"]:
        name = sheet["id"]
        sheet["up"] = "back"
        back = {"id": f"back-{name}", "ink": "black", "media": name, "side": "back"}
        turn = {"id": f"turn-{name}", "does": "flip", "media": name, "locates_by": "pins"}
        document["passes"].append({**back, "registers_to": [], "gap": {"extra": 0}})
        document.setdefault("handling", []).append({**turn, "after": [f"back-{name}"]})
        item(document, f"ground-{name}")["after"] = [f"turn-{name}"]
    assert judged(document).conflict is None
    del document["media"][2]["up"]
    result = judged(document)
    assert result.conflict is not None
    remedy = result.conflict_remedies[0]
    assert remedy.summary.startswith("Load c back up, as a, b, d")
    assert judged_after(result, remedy).conflict is None


def reversed_on_one_sheet() -> dict[str, Any]:
    document = bed(base_gap="1 mm", min_clearance="0.5 mm")
    item(document, "ground-b")["after"] = ["dots-b"]
    del item(document, "dots-b")["after"]
    return document


def test_what_comes_after_what_as_on_the_other_sheets():
    result = judged(reversed_on_one_sheet())
    assert result.conflict is not None
    remedy = result.conflict_remedies[0]
    assert remedy.summary == (
        "State no `after` for ground-b; let dots-b come after ground-b, as on the other sheets."
    )
    mended = judged_after(result, remedy)
    assert mended.conflict is None
    assert mended.order.index("ground-b") < mended.order.index("dots-b")


def test_where_the_others_are_no_more_nobody_tells_how_it_was_meant():
    document = reversed_on_one_sheet()
    assert len(list(order_of_likes(signrules.job_from_dict(document), SHEETS))) == 1
    item(document, "ground-c")["after"] = ["dots-c"]
    del item(document, "dots-c")["after"]
    assert list(order_of_likes(signrules.job_from_dict(document), SHEETS)) == []


def test_an_order_among_sheets_is_no_slip_of_one():
    document = reversed_on_one_sheet()
    item(document, "dots-a")["after"].append("ground-c")
    item(document, "ground-b")["after"] = ["dots-b", "ground-d"]
    changes = list(order_of_likes(signrules.job_from_dict(document), SHEETS))
    # What names another sheet is left out; the dots of b still lack what those of c and d have.
    assert [change.words(None) for change in changes] == [
        "Let dots-b come after ground-b, as on the other sheets."
    ]


@pytest.mark.thorough
def test_mending_prefers_what_the_likes_have():
    # A gap changed on all sheets alike would do as well, and leave the slip where it is.
    mended = signrules.mend(signrules.job_from_dict(reversed_on_one_sheet()))
    assert mended.changes == (
        "State no `after` for ground-b; let dots-b come after ground-b, as on the other sheets.",
    )
