"""What other people's code may take and where it may write: a time that ends loops of any form, and
standard error.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import xml.etree.ElementTree as ElementTree
from types import SimpleNamespace

import pytest
from effort import first_quick
from scenario import sign_job

import signrules
from signrules import RuleSet, check, hookimpl, load_plugins, rule, shop_practice
from signrules.rules import engine
from signrules.rules.containment import Contained, call_contained
from signrules.rules.deadline import Overdue, call_within

SHORT_S, LONG_S = 0.1, 3600.0
JOB = signrules.job_from_dict(sign_job())
DOC = "A thing.\n\nWhy it matters: a test.\nA job that breaks it: any.\nOne that meets it: none.\n"


def plugin(function, each="pass", name="talks"):
    function.__doc__ = DOC
    made = rule(f"{name}.thing", each=each, source=shop_practice("an invented house rule"))(
        function
    )
    return SimpleNamespace(
        __name__=name, signrules_rule_sets=hookimpl(lambda: [RuleSet(name, [made])])
    )


# --- time -----------------------------------------------------------------------------------------


def on_one_line():
    while True: pass  # noqa: E701 # fmt: skip


def in_an_expression():
    return [each + 1 for each in iter(int, 1)]


def swallowing():
    try:
        while True:
            pass
    except BaseException:
        pass
    while True:
        pass


def turning_it_into_another_error():
    try:
        while True:
            pass
    except BaseException:
        raise ValueError("something else") from None


@pytest.mark.parametrize(
    "endless",
    [on_one_line, in_an_expression, swallowing, turning_it_into_another_error],
    ids=lambda f: f.__name__,
)
def test_whatever_does_not_end_is_stopped(endless):
    with pytest.raises(Contained, match=r"it took longer than 0\.1 s"):
        call_contained(endless, SHORT_S)


def test_what_ends_in_time_is_left_alone_and_no_alarm_rings_later():
    for _ in range(200):
        assert call_within(lambda: 3, LONG_S) == 3
    assert threading.active_count() < 100
    with pytest.raises(ValueError, match="its own"):
        call_within(lambda: raise_it(ValueError("its own")), LONG_S)
    assert call_within(lambda: 3, 1e300) == 3


def raise_it(error):
    raise error


def test_a_time_ends_for_what_is_called_around_and_not_for_what_is_called_within():
    told = []

    def calls_another():
        try:
            call_contained(on_one_line, LONG_S)
        except Contained as failure:
            told.append(failure)

    with pytest.raises(Overdue):
        call_within(calls_another, SHORT_S)
    assert told == []


def test_a_rule_is_stopped_in_the_middle_and_nothing_that_it_said_counts():
    def thing(item):
        yield check("layers", measured=item.layers, least=1, unit="layers")
        if item.id == JOB.passes[-1].id:
            on_one_line()

    plugins = load_plugins(objects=[plugin(thing)])
    result = signrules.evaluate(JOB, plugins=plugins, seconds=SHORT_S)
    (fault,) = result.faults
    assert (fault.rule, fault.subject) == ("talks.thing", f"passes.{JOB.passes[-1].id}")
    assert "it took longer than 0.1 s" in fault.error
    assert not [one for one in result.checks if one.rule == "talks.thing"]


def test_a_rule_that_says_too_much_about_each_subject_is_a_fault_without_a_time_too(monkeypatch):
    monkeypatch.setattr(engine, "MOST_CHECKS", 1_000)
    per_subject = 1_000 // len(JOB.passes) + 1

    def thing(item):
        for number in range(per_subject):
            yield check("a number", measured=number, least=0, unit="")

    result = signrules.evaluate(JOB, plugins=load_plugins(objects=[plugin(thing)]))
    (fault,) = result.faults
    assert "expected at most 1,000 checks, or 100 for each subject" in fault.error
    assert not [one for one in result.checks if one.rule == "talks.thing"]


# --- output ---------------------------------------------------------------------------------------


def test_what_a_rule_prints_goes_to_standard_error(capsys):
    def thing(item):
        print("a word about", item.id)
        yield check("layers", measured=item.layers, least=1, unit="layers")

    assert signrules.evaluate(JOB, plugins=load_plugins(objects=[plugin(thing)])).complete
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("a word about") == len(JOB.passes)


def test_a_stream_that_a_plugin_puts_in_place_does_not_stay_there(capsys):
    before = sys.stdout

    def thing(item):
        sys.stdout = sys.stderr
        yield check("layers", measured=item.layers, least=1, unit="layers")

    signrules.evaluate(JOB, plugins=load_plugins(objects=[plugin(thing)]))
    assert sys.stdout is before
    print("still here")
    assert capsys.readouterr().out == "still here\n"


def test_other_threads_write_where_they_always_did(capsys):
    inside, done = threading.Event(), threading.Event()

    def thing(item):
        print("aside")
        inside.set()
        assert done.wait(60)
        yield check("layers", measured=1, least=1, unit="layers")

    plugins = load_plugins(objects=[plugin(thing, each="job")])
    worker = threading.Thread(target=signrules.evaluate, args=(JOB,), kwargs={"plugins": plugins})
    worker.start()
    assert inside.wait(60)
    print("as ever")
    done.set()
    worker.join()
    told = capsys.readouterr()
    assert (told.out, told.err) == ("as ever\n", "aside\n")


LOUD = """
import os
import subprocess
import sys
from signrules import RuleSet, check, hookimpl, rule, shop_practice

print("at import")


def say(where):
    print("printed in", where)
    sys.__stdout__.write(f"past the stream in {where}\\n")
    os.write(1, f"past Python in {where}\\n".encode())
    subprocess.run([sys.executable, "-c", f"print('in a program of {where}')"], check=True)


@rule("loud.layers", each="job", source=shop_practice("an invented house rule"))
def layers(item):
    '''A thing.

    Why it matters: a test.
    A job that breaks it: any.
    One that meets it: none.
    '''
    say("a rule")
    yield check("layers", measured=1, least=1, unit="layers")


@hookimpl
def signrules_rule_sets():
    return [RuleSet("loud", [layers])]


@hookimpl
def signrules_quantities(job):
    say("a hook")
    return {}
"""


def read_json(text):
    assert json.loads(text)["complete"]


def read_sarif(text):
    assert json.loads(text)["version"] == "2.1.0"


def read_lines(text):
    assert [json.loads(line)["report"]["complete"] for line in text.splitlines()] == [True]


def read_xml(text):
    assert ElementTree.fromstring(text).tag == "testsuites"


READERS = {"json": read_json, "sarif": read_sarif, "jsonl": read_lines, "junit": read_xml}


@pytest.mark.thorough
@pytest.mark.parametrize("form", first_quick(1, READERS))
def test_reports_stay_whole_whatever_a_plugin_writes(tmp_path, form):
    read = READERS[form]
    file = tmp_path / "loud.py"
    file.write_text(LOUD, encoding="utf-8")
    command = ["check", "docs/examples/clinic.toml", "--plugin", str(file), "--format", form]
    told = subprocess.run(
        [sys.executable, "-m", "signrules", *command], capture_output=True, text=True
    )
    assert told.returncode == 0, told.stderr
    read(told.stdout)
    for words in (
        "at import",
        "printed in a rule",
        "past the stream",
        "past Python",
        "in a program",
    ):
        assert words in told.stderr
        assert words not in told.stdout


@pytest.mark.parametrize("put", [sys.setprofile, sys.settrace], ids=["profile", "trace"])
def test_what_was_stopped_leaves_nothing_behind_that_profiling_would_trip_over(put):
    """To take an exception back from a thread made Python 3.11 loop for ever as soon as it
    profiled.
    """
    get = {sys.setprofile: sys.getprofile, sys.settrace: sys.gettrace}[put]
    with pytest.raises(Contained):
        call_contained(on_one_line, SHORT_S)
    seen, before = [], get()

    def watch(frame, event, argument):
        seen.append(event)
        return watch

    put(watch)
    try:
        total = sum(each for each in range(10))
    finally:
        put(before)
    assert total == 45
    assert seen
