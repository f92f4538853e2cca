"""Which earlier passes speak for all with which a pass registers."""

from __future__ import annotations

import pytest

from signrules import job_from_dict, sample_job
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.physics.replaying import replay_items

PLACES = ([0, 0, 10, 10], [80, 80, 10, 10], [40, 40, 10, 10])


def telling(temperatures):
    """The partners that speak for the last of three passes on places of their own."""
    document = sample_job()
    document = {key: document[key] for key in ("signrules", "printer")}
    document["printer"].pop("absorbed_dose", None)
    document["media"] = [{"id": "sheet", "thickness": 3, "size": [100, 100], "at": [0, 0]}]
    document["inks"] = [{"id": "black", "layer": "10 um"}]
    document["passes"] = [
        {"id": f"pass-{number}", "ink": "black", "areas": [place], "gap": {"extra": 1}}
        for number, place in enumerate(PLACES)
    ]
    for item, temperature in zip(document["passes"], temperatures, strict=True):
        if temperature is not None:
            item["sheet_temperature"] = temperature
    machine = Machine(Heights(job_from_dict(document)))
    return replay_items(machine, [0, 1, 2], {}).telling_partners(2)


@pytest.mark.parametrize(
    ("temperatures", "partners"),
    [
        # Nothing grows: where a pass lies makes no difference, and one speaks for both.
        ((None, None, None), (0,)),
        # Both are as warm, and the sheet grows by more the further from what holds it in place.
        ((30, 30, 20), (0, 1)),
        ((30, 30, None), (0, 1)),
        ((30, None, 20), (0, 1)),
    ],
)
def test_where_sheets_grow_passes_on_other_places_speak_for_themselves(temperatures, partners):
    assert telling(temperatures) == partners
