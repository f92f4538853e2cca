"""What a step asks before its work begins, and where an answer is written down."""

from __future__ import annotations

from scenario import sign_job
from sheet.pages import example, of_class, seen, tree
from sheet.test_blocks import made_of, of_kind, steps_of


def test_what_is_to_be_asked_before_printing_has_a_place_for_the_answer():
    root = tree(example("clinic")[1])
    (finding,) = of_class(root, "finding")
    (blank,) = finding.iter("input")
    assert (blank.get("id"), seen(finding.find("label"))) == ("answer-6-1", "Answer")
    # A job that must not be printed has nowhere to answer.
    findings = of_class(tree(example("clinic-scrapes")[1]), "finding")
    assert not [blank for each in findings for blank in each.iter("input")]


def test_scrap_and_shims_come_off_before_a_load_goes_on():
    # The clinic is aligned first; a job that prints one way alone needs no alignment.
    one_way = sign_job(standards=[], signs=[])
    one_way["passes"] = [{"id": "ink", "ink": "black", "directions": 1}]
    aligned = of_kind(made_of(example("clinic")[0]).at_the_machine(), "load")
    bare = of_kind(steps_of(one_way), "load")
    assert [load.first[0].short for load in aligned] == ["stopped, scrap and shims off"]
    assert [load.first[0].short for load in bare] == ["stopped"]


def test_hands_are_asked_for_before_the_words_of_the_step():
    root = tree(example("clinic")[1])
    for kind, action in (("load", "Load"), ("measuring", "Measure dots"), ("unload", "Unload")):
        (block,) = [each for each in of_class(root, kind) if each.tag == "section"]
        assert seen(block).index("stopped") < seen(block).index(action), kind


def test_whoever_measures_dots_is_asked_too():
    (measuring,) = of_class(tree(example("clinic")[1]), "measuring")
    boxes = [
        seen(label)
        for label in measuring.iter("label")
        if label.find("input").get("type") == "checkbox"
    ]
    assert boxes == ["step 9a done", "stopped", "cured"]
