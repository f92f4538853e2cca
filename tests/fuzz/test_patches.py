"""Patches, paths and pointers may be anything: the document stays as it was, and only errors of
signrules come out.
"""

from __future__ import annotations

import copy
import json
from typing import Any

import jsonpatch
import pytest
from documents.samples import SMALL, nested
from fuzz.damage import HOSTILE, JUNK, SOUND, attempt, damaged, quick
from hypothesis import given
from hypothesis import strategies as st

import signrules
from signrules import JobError, PatchError, PathError, Remedy, apply_remedy
from signrules.documents import job_to_dict, json_patch
from signrules.documents.document_changes import changed
from signrules.documents.json_patch import apply_patch, patch_between, same_json
from signrules.documents.paths import path_of, path_parts, pointer_of
from signrules.documents.value_paths import number_at, with_number

DIGITS = "1" * 5000
WHOLE_POINTERS = (
    "",
    "/",
    "/passes",
    "/passes/0",
    "/passes/-",
    "/passes/0/id",
    "/passes/²",
    "/passes/00",
    "/~1",
    "/~",
)
TOKENS = ("passes", "media", "printer", "gap", "id", "0", "1", "-", "²", DIGITS, "x/y~z")
POINTERS = st.one_of(
    st.sampled_from(WHOLE_POINTERS),
    st.lists(st.sampled_from(TOKENS), max_size=4).map(
        lambda parts: "".join(f"/{part}" for part in parts)
    ),
    st.sampled_from(HOSTILE),
    JUNK,
)
OPERATIONS = st.one_of(
    st.fixed_dictionaries(
        {
            "op": st.sampled_from(["add", "remove", "replace", "move", "copy", "test"]),
            "path": POINTERS,
        },
        optional={"from": POINTERS, "value": JUNK},
    ),
    st.fixed_dictionaries({}, optional={"op": JUNK, "path": POINTERS, "value": JUNK}),
    JUNK,
)
NAMES = (
    "passes",
    "one",
    "two",
    "layers",
    "printer",
    "bed",
    "gap",
    "offset",
    "media",
    "plate",
    "thickness",
    "id",
)
INDICES = ("[0]", "[1]", "[00]", "[-1]", "[²]", f"[{DIGITS}]", "")
PATHS = st.one_of(
    st.lists(st.sampled_from(NAMES + INDICES), max_size=5).map(
        lambda parts: ".".join(parts).replace(".[", "[")
    ),
    st.sampled_from(HOSTILE),
    st.text(max_size=12),
)
DOCUMENT = job_to_dict(signrules.job_from_dict(SMALL))


def as_json(value: Any) -> str:
    return json.dumps(value, default=repr, sort_keys=True, skipkeys=True)


@given(st.lists(OPERATIONS, max_size=4) | JUNK)
@quick(200)
def test_a_patch_of_anything(patch: Any) -> None:
    document = copy.deepcopy(DOCUMENT)
    assert str(attempt(lambda: apply_patch(document, patch), PatchError))
    assert document == DOCUMENT


@given(st.lists(OPERATIONS, max_size=3))
@quick(60)
def test_a_remedy_of_anything(patch: Any) -> None:
    job = signrules.job_from_dict(DOCUMENT)
    mended = attempt(
        lambda: apply_remedy(job, Remedy("a change", tuple(patch))), PatchError, JobError
    )
    assert (
        isinstance(mended, PatchError | JobError)
        or signrules.job_from_dict(job_to_dict(mended)) == mended
    )


@given(damaged(SOUND), damaged(SOUND))
@quick(60)
def test_a_difference_leads_from_any_document_to_any_other(one: Any, other: Any) -> None:
    try:
        one, other = (json.loads(json.dumps(each, allow_nan=False)) for each in (one, other))
    except (TypeError, ValueError, RecursionError):
        return  # What JSON cannot hold is no document.
    patch = patch_between(one, other)
    assert same_json(apply_patch(one, patch), other)
    # A reference implementation of RFC 6902 agrees.
    assert same_json(jsonpatch.apply_patch(one, patch), other)


@given(PATHS, JUNK)
@quick(150)
def test_a_path_of_anything(path: str, value: Any) -> None:
    job = signrules.job_from_dict(DOCUMENT)
    parts = attempt(lambda: path_parts(path), PathError)
    assert isinstance(parts, PathError) or parts
    pointer = attempt(lambda: pointer_of(DOCUMENT, path), PathError)
    if not isinstance(pointer, PathError):
        assert pointer_of(DOCUMENT, path_of(DOCUMENT, pointer)) == pointer
    number = attempt(lambda: number_at(job, path), PathError)
    if not isinstance(number, PathError):
        assert with_number(job, path, number) == job
    assert attempt(lambda: changed(DOCUMENT, {path: value}), PathError, PatchError)


@given(POINTERS)
@quick(150)
def test_a_pointer_of_anything(pointer: Any) -> None:
    assert isinstance(
        attempt(lambda: path_of(DOCUMENT, pointer), PathError, PatchError),
        str | PathError | PatchError,
    )


@pytest.mark.parametrize("operation", ["add", "replace"])
def test_what_is_nested_too_deeply(operation):
    with pytest.raises(
        PatchError, match="operation 0 of the patch: found tables or lists nested too deeply"
    ):
        apply_patch(
            {"a": 1}, [{"op": operation, "path": "/a", "value": nested(5000, 1, in_lists=True)}]
        )


def test_a_document_that_is_nested_too_deeply():
    with pytest.raises(PatchError, match="nested too deeply"):
        apply_patch(nested(5000, 1, in_lists=False), [])


def test_copies_do_not_grow_without_end(monkeypatch):
    monkeypatch.setattr(json_patch, "MOST_COPIED", 50)
    doubling = [{"op": "copy", "from": "", "path": f"/{number}"} for number in range(40)]
    # 1 + 2 + 4 + 8 + 16 values are 31 of 50, and 32 more are too many.
    with pytest.raises(PatchError, match="operation 5 of the patch: : found more to copy"):
        apply_patch({}, doubling)
    assert apply_patch({}, doubling[:3]) == {
        "0": {},
        "1": {"0": {}},
        "2": {"0": {}, "1": {"0": {}}},
    }


def test_a_key_of_digits_is_no_index():
    document = {"printer": {"locating": {"1": 0.1}}}
    assert changed(document, {"printer.locating.2": 0.2}) == {
        "printer": {"locating": {"1": 0.1, "2": 0.2}}
    }


@pytest.mark.parametrize("index", ["²", "1" * 5000, "-1", "٣"])
def test_an_index_that_is_none(index):
    with pytest.raises(PathError, match="expected a number below 3"):
        path_of(DOCUMENT, f"/passes/{index}")
