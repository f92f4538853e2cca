"""Passes on different bed loads that must register."""

from __future__ import annotations

import pytest
from scenario import sign_job

import signrules
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine


@pytest.mark.parametrize(("load", "across"), [("1", False), ("2", True)])
def test_a_pass_that_registers_to_one_of_another_load_is_told(load, across):
    document = sign_job(standards=[], signs=[])
    document["media"] = [
        {"id": "a", "thickness": 3, "size": [50, 50], "at": [0, 0], "load": "1"},
        {"id": "b", "thickness": 3, "size": [50, 50], "at": [60, 0], "load": load},
    ]
    document["passes"] = [
        {"id": "first", "ink": "black", "media": "a", "gap": {"extra": 1}},
        {
            "id": "then",
            "ink": "black",
            "media": "b",
            "gap": {"extra": 1},
            "registers_to": ["first"],
        },
    ]
    machine = Machine(Heights(signrules.job_from_dict(document)))
    assert machine.registers_across_loads is across
