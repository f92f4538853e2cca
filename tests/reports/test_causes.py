"""Causes: signs are told by load and id, and what is compared is part of a cause."""

from __future__ import annotations

import copy
import io
import json
import re

import jsonschema
import pytest
from drawn_orders import drawn_order
from hypothesis import given
from hypothesis import strategies as st
from sheet.pages import seen, tree

from signrules import (
    Level,
    RuleSet,
    check,
    evaluate,
    hookimpl,
    job_from_dict,
    load_plugins,
    missing,
    rule,
    schema,
    shop_practice,
    work_order_page,
    work_order_report,
    work_order_text,
    write_job,
)
from signrules.cli import main
from signrules.reports.cause_places import MOST_PLACES, short_names, where_words
from signrules.reports.causes import causes_of, general_words
from signrules.work_order_files import JudgedOrder

ROOMS = (("room", "room", "room"),)
"""One piece with three rooms, whose dots stand in one pass."""

SCHEMA = jsonschema.Draft202012Validator(schema("order_report"))


def room_job(layers=20, signs=3):
    """A job of rooms K-01, K-02 and so on, with braille in so many layers of 30 um."""
    _, jobs = drawn_order(((("room",) * signs,),))
    job = copy.deepcopy(jobs["load-01"])
    job["standards"] = ["us-ada-2010"]
    dots = next(item for item in job["passes"] if item["id"].endswith("-braille"))
    dots["layers"] = layers
    dots["builds"] = [f"{sign['id']}.braille" for sign in job["signs"]]
    return job


GOOD, THIN = 25, 6
"""So many layers of 30 um make dots of 0.75 and of 0.18 mm; the standard takes 0.635 to 0.94 mm."""


def judged_doors(jobs, folder="doors", plugins=None):
    """Jobs of a folder without a work order, by the names of their files, judged."""
    outcomes = {
        f"{folder}/{name}.json": evaluate(job_from_dict(job), plugins=plugins)
        for name, job in jobs.items()
    }
    return JudgedOrder(folder, None, {path: path for path in outcomes}, outcomes)


def dot_height(report):
    (cause,) = [each for each in report["causes"]["stop"] if each["rule"] == "braille.dot-height"]
    return cause


def told_place(text, rule):
    """Where a text says that the first cause of a rule is found."""
    return re.search(rf"  {rule} \(.*?\), on (.*?)\. (?:The worst|signs|Not)", text)[1]


@pytest.fixture(scope="module")
def three():
    """Three doors of which b and c have low dots, each with the same three ids."""
    return judged_doors({"a": room_job(GOOD), "b": room_job(THIN), "c": room_job(THIN + 1)})


def test_signs_of_one_id_in_several_loads_are_counted_each(three):
    report = work_order_report(three)
    SCHEMA.validate(report)
    cause = dot_height(report)
    ids = ["K-01", "K-02", "K-03"]
    assert cause["by_load"] == {"doors/b.json": ids, "doors/c.json": ids}
    assert cause["signs"] == [*ids, *ids]
    assert cause["loads"] == ["doors/b.json", "doors/c.json"]
    assert report["counts"]["signs_failing"] == len(cause["signs"])
    assert cause["example_load"] == "doors/b.json"
    assert "0.1" in cause["example"]


def test_loads_stand_beside_ids_that_repeat(three):
    text = work_order_text(work_order_report(three))
    assert told_place(text, "braille.dot-height") == "6 signs: all of b.json, c.json"
    assert "The worst of 6, in b.json: signs.K-01: the predicted dot height is" in text
    page = seen(tree(work_order_page(three)))
    assert "on 6 signs: all of b.json, c.json. The worst of 6, in b.json: " in page
    assert "Leave out 2 loads: b.json, c.json." in page
    assert "doors/" not in text + page


def test_signs_of_jobs_of_different_sizes():
    jobs = {"bed": room_job(THIN, signs=5), "two": room_job(THIN, signs=2)}
    text = work_order_text(work_order_report(judged_doors(jobs)))
    place = told_place(text, "braille.dot-height")
    assert place == "7 signs: all of bed.json; K-01, K-02 of two.json"


def test_forty_doors_of_which_twelve_fail_are_told_in_a_few_words():
    bad = {3, 4, 5, 9, 12, 17, 18, 19, 20, 28, 33, 39}
    good_job, bad_job = room_job(GOOD, signs=1), room_job(THIN, signs=1)
    # Two evaluations are enough: the doors differ by their names alone.
    judged = {True: evaluate(job_from_dict(bad_job)), False: evaluate(job_from_dict(good_job))}
    outcomes = {f"wing/door-{at:02}.json": judged[at in bad] for at in range(1, 41)}
    made = JudgedOrder("wing", None, {path: path for path in outcomes}, outcomes)
    text = work_order_text(work_order_report(made))
    assert text.startswith("wing: DO NOT PRINT: 12 loads of 40, 12 signs fail")
    assert told_place(text, "braille.dot-height") == (
        "12 signs: K-01 of door-03.json to door-05.json, door-09.json, door-12.json, door-17.json"
        " to door-20.json, door-28.json, door-33.json, door-39.json"
    )
    # What all of them lack needs no list.
    assert "on 40 signs: K-01 of all loads. Not stated: " in text


def test_where_ids_are_unique_no_load_is_named():
    jobs = {"east": room_job(THIN), "west": room_job(THIN)}
    west = json.loads(json.dumps(jobs["west"], default=str).replace("K-0", "W-0"))
    made = judged_doors(jobs | {"west": west})
    text = work_order_text(work_order_report(made))
    assert told_place(text, "braille.dot-height") == "6 signs: K-01 to W-03"
    assert "The worst of 6: signs.K-01" in text


def test_more_places_than_anybody_reads_are_counted():
    """Every other sign of each load, another number of them each time: no two loads are alike."""
    loads = [f"{at:02}.json" for at in range(MOST_PLACES + 3)]
    ids = [f"s{at}" for at in range(2 * len(loads) + 2)]
    by_load = {load: ids[: 2 * at + 1 : 2] for at, load in enumerate(loads)}
    report = {
        "sequence": [{"load": load, "signs": ids} for load in loads],
        "signs": [{"id": id, "load": load} for load in loads for id in ids],
    }
    signs = [id for own in by_load.values() for id in own]
    cause = {"signs": signs, "loads": loads, "by_load": by_load, "rows": []}
    left = sum(len(by_load[load]) for load in loads[MOST_PLACES:])
    words = where_words(cause, report)
    assert words.startswith(f"on {len(signs)} signs: s0 of 00.json; s0, s2 of 01.json; ")
    assert words.endswith(f"; {left} signs of 3 more loads")


def test_loads_without_a_sign_that_is_concerned_are_named_too():
    report = {
        "sequence": [{"load": "a", "signs": ["K-1"]}, {"load": "b", "signs": []}],
        "signs": [{"id": "K-1", "load": "a"}],
    }
    by_load = {"a": ["K-1"], "b": []}
    cause = {"signs": ["K-1"], "loads": ["a", "b"], "by_load": by_load, "rows": []}
    assert where_words(cause, report) == "on 1 sign: K-1, and on 1 load: b"


@pytest.mark.parametrize(
    ("loads", "names"),
    [
        (["load-01", "load-02"], ["load-01", "load-02"]),
        (["jobs/day/a.json", "jobs/day/b.json"], ["a.json", "b.json"]),
        (["jobs/a.json", "jobs/day/a.json"], ["a.json", "day/a.json"]),
        (["jobs/a.json", "other/a.json"], ["jobs/a.json", "other/a.json"]),
        (["a.json", "day/a.json"], ["a.json", "day/a.json"]),
        (["/jobs/a.json"], ["a.json"]),
        ([], []),
    ],
)
def test_names_leave_out_the_folder_of_all(loads, names):
    assert short_names(loads) == dict(zip(loads, names, strict=True))


@given(loads=st.lists(st.lists(st.sampled_from("ab"), min_size=1).map("/".join), unique=True))
def test_short_names_tell_loads_apart(loads):
    assert len(set(short_names(loads).values())) == len(loads)


def test_what_is_compared_leaves_out_numbers_and_ids():
    words = "landing at the last of 24 layers since passes.dots-7, at 1.065 mm"
    other = "landing at the last of 6 layers since passes.text, at 0.5 mm"
    assert general_words(words) == general_words(other)
    assert general_words("the weight") != general_words("the film")


@rule("mole.scales", each="job", level=Level.STOP, source=shop_practice("what the shelf bears"))
def scales(job):
    """Film and weight of a job.

    Why it matters: the shelf bends.
    A job that breaks it: 100 kg.
    One that meets it: 1 kg.
    """
    count = len(job.signs)
    yield check("the film", measured=1.0 * count, most=0.5, unit="m2", advice="Take less.")
    yield check("the weight", measured=100.0 * count, most=5, unit="kg", advice="Take less.")
    yield check(f"the load of {count} shelves", measured=9.0 * count, most=5, unit="kg")
    yield missing("printer.swath", "how long it takes")
    yield missing("printer.swath", "how wide it prints")


class Mole:
    """A plugin with one rule that compares several things."""

    __name__ = "mole"

    @hookimpl
    def signrules_rule_sets(self):
        return [RuleSet("mole", [scales], "what moles find")]


def test_each_thing_that_a_rule_compares_is_a_cause_of_its_own():
    plugins = load_plugins(objects=[Mole()])
    jobs = {"one": room_job(GOOD, signs=1), "two": room_job(GOOD, signs=2)}
    for job in jobs.values():
        job["printer"] = {key: at for key, at in job["printer"].items() if key != "swath"}
    made = judged_doors(jobs, plugins=plugins)
    causes = [each for each in causes_of(made.evaluations) if each.rule == "mole.scales"]
    told = {(each.what, each.unit): (each.checks, each.example) for each in causes}
    assert set(told) == {
        ("the film", "m2"),
        ("the weight", "kg"),
        ("the load of 2 shelves", "kg"),
        ("", ""),
    }
    # The worst is that of the second job, among numbers of its own kind.
    for (what, _), worst in (
        (("the film", "m2"), "the film is 2 m2"),
        (("the weight", "kg"), "the weight is 200 kg"),
        (("the load of 2 shelves", "kg"), "is 18 kg"),
    ):
        ((count, example),) = [found for key, found in told.items() if key[0] == what]
        assert (count, worst in example) == (2, True)
    # Where a field is not stated nothing is compared: it is one gap, whatever depends on it.
    assert told["", ""][0] == 4
    text = work_order_text(work_order_report(made))
    assert "The worst of 2, in two.json: job: the weight is 200 kg" in text
    assert "The worst of 2, in two.json: job: the film is 2 m2" in text


def test_one_job_by_cause(tmp_path, capsys):
    path = tmp_path / "bed.toml"
    write_job(job_from_dict(room_job(THIN, signs=5)), path)
    assert main(["check", str(path), "--by-cause"]) == 1
    text = capsys.readouterr().out
    assert text.startswith("Harbour clinic, invented, load-01: DO NOT PRINT: 1 load of 1, 5 signs")
    assert told_place(text, "braille.dot-height") == "5 signs: K-01 to K-05"
    assert "\nLoads:\n  bed.toml: 5 signs, " in text
    assert main(["check", str(path), "--by-cause", "--format", "json"]) == 1
    SCHEMA.validate(json.loads(capsys.readouterr().out))


def test_one_job_that_cannot_be_read_is_an_error(tmp_path, capsys):
    path = tmp_path / "bed.toml"
    path.write_text("signrules = ", "utf-8")
    assert main(["check", str(path), "--by-cause"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "bed.toml: 1 fault" in printed.err


def test_standard_input_by_cause_is_refused(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO("{}"))
    assert main(["check", "-", "--by-cause"]) == 2
    assert "found standard input, expected a file or a folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    "options", [["--mend", "new.toml"], ["--in-a-row"], ["--recursive"], ["--all"]]
)
def test_what_goes_not_with_causes_is_refused_and_not_passed_over(
    tmp_path, monkeypatch, capsys, options
):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "day").mkdir()
    write_job(job_from_dict(room_job(THIN, signs=1)), tmp_path / "day" / "door.json")
    assert main(["check", "day/door.json", "--by-cause", *options]) == 2
    assert f"--by-cause: found {options[0]}, expected one of them" in capsys.readouterr().err
    assert not (tmp_path / "new.toml").exists()
