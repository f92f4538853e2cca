"""JSON Patch and paths: the examples of the standard, and an outside reference on arbitrary
documents.
"""

from __future__ import annotations

import copy
import re

import jsonpatch
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs

import signrules
from signrules import PatchError, PathError, changed
from signrules.documents.json_patch import apply_patch, parts_of, patch_between, same_json
from signrules.documents.paths import path_of, path_parts, pointer_of

# RFC 6902, appendix A: document, patch, result; the numbers are those of its sections.
EXAMPLES = {
    "A.1": (
        {"foo": "bar"},
        [{"op": "add", "path": "/baz", "value": "qux"}],
        {"baz": "qux", "foo": "bar"},
    ),
    "A.2": (
        {"foo": ["bar", "baz"]},
        [{"op": "add", "path": "/foo/1", "value": "qux"}],
        {"foo": ["bar", "qux", "baz"]},
    ),
    "A.3": ({"baz": "qux", "foo": "bar"}, [{"op": "remove", "path": "/baz"}], {"foo": "bar"}),
    "A.4": (
        {"foo": ["bar", "qux", "baz"]},
        [{"op": "remove", "path": "/foo/1"}],
        {"foo": ["bar", "baz"]},
    ),
    "A.5": (
        {"baz": "qux", "foo": "bar"},
        [{"op": "replace", "path": "/baz", "value": "boo"}],
        {"baz": "boo", "foo": "bar"},
    ),
    "A.6": (
        {"foo": {"bar": "baz", "waldo": "fred"}, "qux": {"corge": "grault"}},
        [{"op": "move", "from": "/foo/waldo", "path": "/qux/thud"}],
        {"foo": {"bar": "baz"}, "qux": {"corge": "grault", "thud": "fred"}},
    ),
    "A.7": (
        {"foo": ["all", "grass", "cows", "eat"]},
        [{"op": "move", "from": "/foo/1", "path": "/foo/3"}],
        {"foo": ["all", "cows", "eat", "grass"]},
    ),
    "A.8": (
        {"baz": "qux", "foo": ["a", 2, "c"]},
        [
            {"op": "test", "path": "/baz", "value": "qux"},
            {"op": "test", "path": "/foo/1", "value": 2},
        ],
        {"baz": "qux", "foo": ["a", 2, "c"]},
    ),
    "A.10": (
        {"foo": "bar"},
        [{"op": "add", "path": "/child", "value": {"grandchild": {}}}],
        {"foo": "bar", "child": {"grandchild": {}}},
    ),
    "A.11": (
        {"foo": "bar"},
        [{"op": "add", "path": "/baz", "value": "qux", "xyz": 123}],
        {"foo": "bar", "baz": "qux"},
    ),
    "A.14": ({"/": 9, "~1": 10}, [{"op": "test", "path": "/~01", "value": 10}], {"/": 9, "~1": 10}),
    "A.16": (
        {"foo": ["bar"]},
        [{"op": "add", "path": "/foo/-", "value": ["abc", "def"]}],
        {"foo": ["bar", ["abc", "def"]]},
    ),
}
ERRORS = {
    "A.9": ({"baz": "qux"}, [{"op": "test", "path": "/baz", "value": "bar"}]),
    "A.12": ({"foo": "bar"}, [{"op": "add", "path": "/baz/bat", "value": "qux"}]),
    "A.15": ({"/": 9, "~1": 10}, [{"op": "test", "path": "/~01", "value": "10"}]),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_of_the_standard(name):
    document, patch, result = EXAMPLES[name]
    before = copy.deepcopy(document)
    assert apply_patch(document, patch) == result
    assert document == before


@pytest.mark.parametrize("name", ERRORS)
def test_the_errors_of_the_standard(name):
    document, patch = ERRORS[name]
    with pytest.raises(PatchError, match="operation 0"):
        apply_patch(document, patch)


@pytest.mark.parametrize(
    "operation",
    [
        {"op": "paint", "path": "/a"},
        {"op": "add", "path": "/a"},
        {"path": "/a"},
        {"op": "remove", "path": "a"},
        {"op": "remove", "path": "/b"},
        {"op": "replace", "path": "/b", "value": 1},
        {"op": "remove", "path": "/list/01"},
        {"op": "remove", "path": "/list/-"},
        {"op": "remove", "path": "/list/1"},
        {"op": "add", "path": "/list/3", "value": 1},
        {"op": "add", "path": "/list/x", "value": 1},
        {"op": "move", "from": "/list", "path": "/list/0"},
        {"op": "move", "from": "/b", "path": "/a"},
        {"op": "test", "path": "/flag", "value": 1},
        "add",
        {"op": ["add"], "path": "/a", "value": 1},
    ],
)
def test_what_does_not_fit_says_which_operation(operation):
    document = {"a": 1, "list": [1], "flag": True}
    with pytest.raises(PatchError, match="operation 1 of the patch"):
        apply_patch(document, [{"op": "add", "path": "/c", "value": 0}, operation])
    assert document == {"a": 1, "list": [1], "flag": True}


def test_a_patch_is_a_list():
    with pytest.raises(PatchError, match="a list of operations"):
        apply_patch({}, {"op": "remove", "path": ""})


values = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 3) | st.sampled_from(["", "a", "b"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["id", "a", "b/c", "d~e", ""]), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(values, values)
def test_a_difference_makes_one_document_of_another_here_and_in_the_reference(before, after):
    patch = patch_between(before, after)
    assert same_json(apply_patch(before, patch), after)
    assert same_json(
        jsonpatch.apply_patch(before, patch), after
    )  # the package jsonpatch, another implementation


@given(values, values)
def test_patches_of_the_reference_apply_here(before, after):
    patch = jsonpatch.make_patch(before, after).patch
    assert same_json(apply_patch(before, patch), after)


@pytest.mark.thorough
@given(jobs(), jobs())
def test_jobs_become_each_other(one, other):
    before, after = signrules.job_to_dict(one), signrules.job_to_dict(other)
    patch = patch_between(before, after)
    assert signrules.job_from_dict(apply_patch(before, patch)) == other
    assert signrules.job_from_dict(jsonpatch.apply_patch(before, patch)) == other


def test_a_small_change_is_a_small_patch():
    job = signrules.read_job("docs/examples/clinic.toml")
    before = signrules.job_to_dict(job)
    after = copy.deepcopy(before)
    after["passes"][1]["layers"] = 25
    assert patch_between(before, after) == [
        {"op": "test", "path": "/passes/1/id", "value": "dots"},
        {"op": "add", "path": "/passes/1/layers", "value": 25},
    ]
    shorter = copy.deepcopy(before)
    shorter["passes"].pop(1)
    assert patch_between(before, shorter) == [
        {"op": "test", "path": "/passes/1/id", "value": "dots"},
        {"op": "remove", "path": "/passes/1"},
    ]


DOCUMENT = signrules.job_to_dict(signrules.read_job("docs/examples/clinic.toml"))


@pytest.mark.parametrize(
    ("path", "pointer"),
    [
        ("passes.dots.layers", "/passes/1/layers"),
        ("passes[1].layers", "/passes/1/layers"),
        ("signs.room-214.braille.dot_diameter", "/signs/0/braille/dot_diameter"),
        ("media.panel", "/media/0"),
        ("printer.locating.pins", "/printer/locating/pins"),
        ("printer.gap.spacers[2]", "/printer/gap/spacers/2"),
        ("alignments[0].offset", "/alignments/0/offset"),
        ("passes.ground.sheet_temperature", "/passes/0/sheet_temperature"),
        ("registration_tolerance", "/registration_tolerance"),
    ],
)
def test_paths_and_pointers(path, pointer):
    assert pointer_of(DOCUMENT, path) == pointer
    assert pointer_of(DOCUMENT, path_of(DOCUMENT, pointer)) == pointer


@pytest.mark.parametrize(
    "path",
    [
        *(
            "",
            ".",
            "passes.",
            "passes..dots",
            "passes.nobody",
            "passes[9]",
            "passes.dots.areas.x",
            "name.x",
        ),
        *(
            "passes[01]",
            "passes[-1]",
            "[0]",
            "passes.dots]",
            "passes dots.[0]",
            "printer.locating.pins.x",
        ),
        "nothing.here",
    ],
)
def test_paths_that_lead_nowhere(path):
    with pytest.raises(PathError, match="found"):
        pointer_of(DOCUMENT, path)


def test_changes_set_put_and_take_away():
    document = {"a": {"b": 1}, "list": [{"id": "x"}, 2]}
    assert changed(document, {"a.b": 2, "a.c": 3, "list.x": 4, "list[1]": None}) == {
        "a": {"b": 2, "c": 3},
        "list": [4],
    }
    assert document == {"a": {"b": 1}, "list": [{"id": "x"}, 2]}
    for path in ("a.c", "list.y", "list[2]", "c"):
        with pytest.raises(PathError, match=f"^{re.escape(path)}: found"):
            changed(document, {path: None})


@pytest.mark.parametrize("pointer", ["/a~2b", "/~", "/a~/b", "a/~0"])
def test_a_tilde_in_a_pointer_is_written_out(pointer):
    # RFC 6901, 3: a tilde stands before 0 or 1 only.
    with pytest.raises(PatchError, match="expected a JSON Pointer"):
        parts_of(pointer)


@pytest.mark.parametrize("pointer", ["passes", "/passes/x", "/passes/9", "/name/x"])
def test_pointers_that_lead_nowhere(pointer):
    with pytest.raises((PathError, PatchError)):
        path_of(DOCUMENT, pointer)


@pytest.mark.thorough
@given(jobs(handling=True))
def test_every_place_of_a_document_has_a_path(job):
    document = signrules.job_to_dict(job)

    def walk(value, pointer):
        yield pointer
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            if isinstance(inner, dict | list):
                yield from walk(inner, f"{pointer}/{key}")
            else:
                yield f"{pointer}/{key}"

    for pointer in walk(document, ""):
        if pointer and "/locating/" not in pointer:
            path = path_of(document, pointer)
            assert pointer_of(document, path) == pointer
            assert path_parts(path)


def test_the_whole_moved_onto_itself():
    # RFC 6902, 4.4: `from` must not be a proper prefix of `path`; the same place is none.
    assert apply_patch({"a": 1}, [{"op": "move", "from": "", "path": ""}]) == {"a": 1}


def test_what_is_copied_is_counted_to_its_leaves():
    assert apply_patch({"a": {"b": [1, 2]}}, [{"op": "copy", "from": "/a", "path": "/c"}])["c"] == {
        "b": [1, 2]
    }
