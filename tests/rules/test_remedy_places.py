"""Which places of a job a remedy changes, and whether they are of the printer."""

from __future__ import annotations

import pytest

from signrules import Remedy

TESTED = {"op": "test", "path": "/printer/base_gap", "value": 1.5}
REPLACED = {"op": "replace", "path": "/passes/0/layers", "value": 3}
ADDED = {"op": "add", "path": "/printer/max_throw", "value": 4}
REMOVED = {"op": "remove", "path": "/passes/1/gap"}


@pytest.mark.parametrize(
    ("patch", "places", "of_printer"),
    [
        ((TESTED,), set(), False),
        ((TESTED, REPLACED), {"/passes/0/layers"}, False),
        ((REPLACED, REMOVED), {"/passes/0/layers", "/passes/1/gap"}, False),
        ((TESTED, ADDED), {"/printer/max_throw"}, True),
    ],
)
def test_what_a_patch_only_makes_sure_of_is_no_place_that_it_changes(patch, places, of_printer):
    remedy = Remedy("an invented change", patch)
    assert remedy.places == places
    assert remedy.changes_printer is of_printer
