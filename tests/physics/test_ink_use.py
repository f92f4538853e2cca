"""Ink of a job against areas worked out by hand."""

from __future__ import annotations

import pytest

from signrules import job_from_dict, sample_job
from signrules.physics.heights import Heights
from signrules.physics.ink_use import ink_ml


def test_areas_that_overlap_are_printed_once_and_passes_of_an_ink_add_up():
    document = sample_job()
    document["inks"] = [{"id": "clear", "layer": "30 um"}, {"id": "black", "layer": "8 .. 12 um"}]
    document["media"] = [{"id": "sheet", "thickness": "3 mm", "size": [100, 100], "at": [0, 0]}]
    first, second = [0, 0, 10, 4], [5, 2, 10, 4]
    document["passes"] = [
        {"id": "one", "ink": "clear", "layers": 3, "areas": [first, second]},
        {"id": "two", "ink": "clear", "coverage": 0.5, "areas": [first]},
        {"id": "three", "ink": "black", "areas": [[20, 20, 7, 3]]},
    ]
    document = {key: document[key] for key in ("signrules", "printer", "media", "inks", "passes")}
    # 40 mm2 each, 5 x 2 mm of them twice; 1 mm3 is 0.001 mL.
    both = 40 + 40 - 5 * 2
    clear = (both * 3 * 0.030 + 40 * 0.030 * 0.5) / 1000
    found = ink_ml(Heights(job_from_dict(document)))
    assert found == {
        "ink_ml.clear": pytest.approx(clear),
        "ink_ml.black": pytest.approx(21 * 0.010 / 1000),
    }
