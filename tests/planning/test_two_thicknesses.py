"""A thin and a thick sheet on one bed, all gaps open: an order that no simple rule gives.

Invented. The chain of a sheet is white, ground, letters, dots, tops and, on the thin one, varnish.
"""

from __future__ import annotations

from typing import Any

import pytest
from drawn_beds import planned

import signrules
from signrules.planning.audit import audit

LAYERS = {"white": 2, "ground": 1, "letters": 26, "dots": 24, "tops": 1, "varnish": 1}
INKS = {"white": "white", "ground": "blue", "tops": "blue"}
LETTERS, DOTS = [10, 28, 80, 26], [20, 8, 60, 8]
BELOW = {"ground": "white", "tops": "letters", "varnish": "tops"}
MINUTES = {"load": 4, "gap": 2, "alignment": 12}


def chain(sheet: str, kinds: tuple[str, ...]) -> list[dict[str, Any]]:
    passes = []
    for kind in kinds:
        one = {"id": f"{kind}-{sheet}", "ink": INKS.get(kind, "clear"), "media": sheet}
        one["layers"] = LAYERS[kind]
        if kind in ("letters", "dots"):
            one |= {"directions": 1, "after": [f"ground-{sheet}"]}
            one["areas"] = [LETTERS if kind == "letters" else DOTS]
        if kind == "dots":
            one["coverage"] = 0.3
        if kind == "tops":
            one["areas"] = [LETTERS]
        if kind in BELOW:
            one["over"] = [f"{BELOW[kind]}-{sheet}"]
        passes.append(one)
    return passes


def bed(thin: int, thick: int) -> signrules.Job:
    sheets = [(f"thin-{number}", "3 mm") for number in range(thin)]
    sheets += [(f"thick-{number}", "4 mm") for number in range(thick)]
    passes: list[dict[str, Any]] = []
    for id, _ in sheets:
        kinds = tuple(LAYERS) if id.startswith("thin") else tuple(LAYERS)[:-1]
        passes += chain(id, kinds)
    return signrules.job_from_dict(
        {
            "signrules": 1,
            "printer": {
                "bed": [1300, 1000],
                "base_gap": 0.75,
                "min_clearance": 0.5,
                "max_throw": 3.6,
                "gap": {"control": "dial", "max": 3, "step": 0.1},
                "head_length": 40,
                "carriage_speed": "800 mm/s",
                "drop_speed": "6 m/s",
                "landing_tolerance": 0.06,
                "locating": {"pins": 0.05},
                "minutes": MINUTES,
            },
            "registration_tolerance": 0.4,
            "media": [
                {
                    "id": id,
                    "thickness": f"{thickness} +- 0.2 mm",
                    "size": [200, 150],
                    "at": [205 * number, 0],
                    "bow": 0.1,
                    "hold": "vacuum",
                }
                for number, (id, thickness) in enumerate(sheets)
            ],
            "inks": [
                {"id": "white", "role": "white", "layer": "12 um"},
                {"id": "blue", "role": "colour", "layer": "10 um"},
                {"id": "clear", "role": "clear", "layer": "33 um +- 1 um"},
            ],
            "passes": passes,
            "alignments": [{"extra": 0}],
        }
    )


@pytest.mark.thorough
@pytest.mark.parametrize(("thin", "thick"), [(1, 1), (2, 1)])
def test_the_tops_of_the_thin_sheet_go_into_the_plane_of_the_thick_one(thin, thick):
    # By hand: a load, an alignment, and four settings: all but tops and varnish of the thin
    # sheets; their tops and, in the same plane, all but the tops of the thick one; varnish; tops.
    job = bed(thin, thick)
    plan = planned(job).plan
    assert plan is not None
    assert plan.cost == (1, MINUTES["load"] + MINUTES["alignment"] + 4 * MINUTES["gap"])
    assert audit(job, plan) == []
