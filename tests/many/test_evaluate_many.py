"""Many jobs: in order, lazily, each with a result or an error, and the same wherever they are
evaluated.
"""

from __future__ import annotations

import copy
import importlib
import json
import multiprocessing
import os
import pickle
import threading
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from itertools import count, islice
from pathlib import Path
from types import SimpleNamespace

import pytest
from scenario import varied

import signrules
from signrules import (
    Evaluation,
    JobError,
    NotEvaluated,
    PluginError,
    evaluate_many,
    hookimpl,
    load_plugins,
)
from signrules.many_jobs import workers
from signrules.many_jobs.any_job import NamedFile

PLUGIN = """
from signrules import RuleSet, check, hookimpl, rule, shop_practice

@rule("ourshop.few-layers", each="pass", source=shop_practice("few layers"))
def few(item):
    '''Few layers.

    Why it matters: time.
    A job that breaks it: 30.
    One that meets it: 3.
    '''
    yield check("layers", measured=item.layers, most=10, unit="layers")

@hookimpl
def signrules_rule_sets():
    return [RuleSet("ourshop", (few,))]
"""


@pytest.fixture(scope="module")
def processes():
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        yield executor


@pytest.fixture
def threads():
    with ThreadPoolExecutor(2) as executor:
        yield executor


def as_json(evaluation: Evaluation) -> str:
    return json.dumps(evaluation.to_dict(remedies=False))


def name_of(evaluation: Evaluation) -> str:
    return evaluation.job.name


def fails_on_three(evaluation: Evaluation) -> str:
    if evaluation.job.name == "sign 3":
        raise ZeroDivisionError("three is too many")
    return evaluation.job.name


def dies_on_three(evaluation: Evaluation) -> str:
    if evaluation.job.name == "sign 3":
        os._exit(1)
    return evaluation.job.name


def gives_back_a_lock(evaluation: Evaluation) -> object:
    return threading.Lock()


def hand_over(seen: list[int], items) -> None:
    for item in items:
        seen.append(item.number)


def in_bytes(items) -> bytes:
    return "\n".join(
        f"{item.number} {item.origin} {item.result} {item.error}" for item in items
    ).encode()


@pytest.mark.thorough
def test_processes_and_threads_give_the_same_bytes_as_one_after_the_other(processes, threads):
    jobs = [varied(number) for number in range(24)]
    alone = in_bytes(evaluate_many(jobs, reduce=as_json))
    assert alone.count(b"1 fault") == 2
    assert alone.count(b'"outcome": "BROKEN"') > 10
    assert in_bytes(evaluate_many(jobs, reduce=as_json, executor=processes)) == alone
    assert in_bytes(evaluate_many(jobs, reduce=as_json, executor=threads)) == alone


@pytest.mark.thorough
def test_what_is_reported_is_what_evaluate_reports():
    # One that scrapes, one that is no job, and sound ones around them.
    for item in evaluate_many(varied(number) for number in range(6)):
        if item.error is None:
            job = signrules.job_from_dict(varied(item.number))
            assert item.result.to_dict() == signrules.evaluate(job).to_dict()


def test_an_evaluation_from_another_process_can_be_mended_and_changed_like_one_from_here(processes):
    (item,) = evaluate_many([varied(3)], executor=processes)
    here = signrules.evaluate(signrules.job_from_dict(varied(3)))
    assert item.result.to_dict() == here.to_dict()
    assert any(check.remedies for check in item.result.checks)
    patch = [{"op": "remove", "path": "/sequence"}]
    assert item.result.with_change(patch).to_dict() == here.with_change(patch).to_dict()


def test_jobs_documents_and_files_and_what_is_wrong_with_each(tmp_path, processes):
    path = tmp_path / "sign.json"
    path.write_text(json.dumps(varied(1)), encoding="utf-8")
    broken = tmp_path / "broken.toml"
    broken.write_text("signrules = ", encoding="utf-8")
    jobs = [
        signrules.job_from_dict(varied(0)),
        varied(5),
        path,
        str(broken),
        tmp_path / "absent.toml",
        7,
        varied(2),
    ]
    for executor in (None, processes):
        items = list(evaluate_many(jobs, executor=executor, reduce=name_of))
        assert [item.result for item in items] == [
            "sign 0",
            None,
            "sign 1",
            None,
            None,
            None,
            "sign 2",
        ]
        assert [item.number for item in items] == list(range(7))
        origins = [
            "jobs[0]",
            "jobs[1]",
            str(path),
            str(broken),
            str(tmp_path / "absent.toml"),
            "jobs[5]",
            "jobs[6]",
        ]
        assert [item.origin for item in items] == origins
        errors = {item.number: item.error for item in items if item.error is not None}
        assert all(isinstance(error, JobError) for error in errors.values())
        assert [error.origin for error in errors.values()] == [origins[number] for number in errors]
        assert errors[1].faults[0].path == "passes[1].layer"
        assert str(errors[5]).startswith("jobs[5]: 1 fault\n  the document: found 7, expected")


def test_paths_are_those_of_the_caller_even_where_a_worker_stands_elsewhere(
    tmp_path, monkeypatch, processes
):
    list(evaluate_many([varied(0)] * 2, executor=processes))
    (tmp_path / "sign.json").write_text(json.dumps(varied(1)), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    (item,) = evaluate_many(["sign.json"], executor=processes, reduce=name_of)
    assert (item.origin, item.result) == ("sign.json", "sign 1")


def test_nothing_is_taken_before_it_is_asked_for_and_little_ahead(threads):
    taken = []

    def endless():
        for number in count():
            taken.append(number)
            yield varied(0)

    alone = evaluate_many(endless(), reduce=name_of)
    assert taken == []
    assert [item.number for item in islice(alone, 3)] == [0, 1, 2]
    assert taken == [0, 1, 2]
    taken.clear()
    results = evaluate_many(endless(), executor=threads, reduce=name_of)
    assert taken == []
    assert [item.number for item in islice(results, 5)] == [0, 1, 2, 3, 4]
    assert len(taken) == 4 + 8
    taken.clear()
    assert [
        item.number for item in islice(evaluate_many(endless(), executor=threads, ahead=1), 3)
    ] == [0, 1, 2]
    assert len(taken) == 3
    with pytest.raises(ValueError, match="ahead is 0"):
        evaluate_many([], ahead=0)


class ByHand:
    """An executor that does nothing until a result is asked for, in whatever order, and notes what
    is cancelled.
    """

    def __init__(self):
        self.cancelled = []
        self.submitted = 0

    def submit(self, function, *args):
        number, self.submitted = self.submitted, self.submitted + 1

        def result():
            return function(*args)

        return SimpleNamespace(result=result, cancel=lambda: self.cancelled.append(number))


def test_anything_that_has_submit_will_do():
    executor = ByHand()
    jobs = [varied(number) for number in range(20)]
    assert in_bytes(evaluate_many(jobs, executor=executor, reduce=as_json)) == in_bytes(
        evaluate_many(jobs, reduce=as_json)
    )
    assert (executor.submitted, executor.cancelled) == (20, [])


def test_leaving_the_loop_cancels_what_waits():
    executor = ByHand()
    results = evaluate_many((varied(0) for _ in count()), executor=executor, ahead=6)
    next(results)
    results.close()
    assert (executor.submitted, executor.cancelled) == (6, [1, 2, 3, 4, 5])


def test_what_was_refused_has_nothing_to_cancel():
    class Refuses(ByHand):
        def submit(self, function, *args):
            waiting = super().submit(function, *args)
            if self.submitted == 3:
                raise RuntimeError("no more than two")
            return waiting

    executor = Refuses()
    results = evaluate_many([varied(0)] * 10, executor=executor, ahead=4)
    assert next(results).error is None
    results.close()
    assert executor.cancelled == [1, 3]


def test_no_jobs_no_results(threads):
    told = []
    assert list(evaluate_many([], executor=threads, progress=told.append)) == []
    assert list(evaluate_many([], progress=told.append)) == []
    assert told == []


def test_an_interrupt_passes_and_cancels_what_waits():
    class Interrupted(ByHand):
        def submit(self, function, *args):
            waiting = super().submit(function, *args)
            if self.submitted == 3:

                def interrupt():
                    raise KeyboardInterrupt

                waiting.result = interrupt
            return waiting

    executor = Interrupted()
    seen = []
    with pytest.raises(KeyboardInterrupt):
        hand_over(seen, evaluate_many([varied(0)] * 10, executor=executor, ahead=4))
    assert seen == [0, 1]
    assert executor.cancelled == [3, 4, 5]


def test_progress_counts_what_is_done_and_knows_the_total_where_there_is_one(threads):
    told = []
    list(evaluate_many([varied(5)] * 3, progress=lambda *args: told.append(args)))
    list(
        evaluate_many(
            iter([varied(5)] * 2), executor=threads, progress=lambda *args: told.append(args)
        )
    )
    assert told == [(1, 3), (2, 3), (3, 3), (1, None), (2, None)]


def test_what_the_jobs_themselves_raise_comes_out_after_the_jobs_before(threads):
    def jobs():
        yield varied(0)
        yield varied(1)
        raise OSError("the list of jobs broke off")

    for executor in (None, threads):
        seen = []
        with pytest.raises(OSError, match="broke off"):
            hand_over(seen, evaluate_many(jobs(), executor=executor))
        assert seen == [0, 1]


@pytest.mark.parametrize("kind", ["alone", "threads", "processes"])
def test_a_failure_in_one_job_is_told_there_and_stops_nothing(kind, request):
    executor = None if kind == "alone" else request.getfixturevalue(kind)
    items = list(
        evaluate_many([varied(n) for n in range(5)], executor=executor, reduce=fails_on_three)
    )
    assert [item.result for item in items] == ["sign 0", "sign 1", "sign 2", None, "sign 4"]
    assert isinstance(items[3].error, NotEvaluated)
    assert str(items[3].error) == "jobs[3] was not evaluated: ZeroDivisionError: three is too many"
    assert "fails_on_three" in items[3].error.details


def test_a_result_that_cannot_come_back_is_told(processes):
    (item,) = evaluate_many([varied(0)], executor=processes, reduce=gives_back_a_lock)
    assert isinstance(item.error, NotEvaluated)
    assert "pickle" in str(item.error)


def test_a_worker_that_dies_leaves_an_error_for_each_job_that_was_not_done():
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as executor:
        items = list(
            evaluate_many(
                [varied(n) for n in range(12)], executor=executor, reduce=dies_on_three, ahead=2
            )
        )
    assert [item.number for item in items] == list(range(12))
    assert [item.result for item in items] == ["sign 0", "sign 1", "sign 2"] + [None] * 9
    assert {type(item.error) for item in items[3:]} == {NotEvaluated}
    assert "jobs[3] was not evaluated: a worker process ended abruptly" in str(items[3].error)
    # The pool takes no more jobs; the one at fault in its document was not read either.
    assert "jobs[5] was not evaluated" in str(items[5].error)


def test_an_executor_that_is_shut_down_already():
    executor = ThreadPoolExecutor(1)
    executor.shutdown()
    (item,) = evaluate_many([varied(0)], executor=executor)
    assert "shutdown" in str(item.error)


def test_a_cancelled_future_is_told():
    class Cancels:
        def submit(self, function, *args):
            future = Future()
            future.cancel()
            return future

    (item,) = evaluate_many(["somewhere.toml"], executor=Cancels())
    assert str(item.error) == "somewhere.toml was not evaluated: CancelledError:"


def test_plugins_from_a_file_go_to_the_workers_and_are_loaded_there(
    tmp_path, monkeypatch, processes
):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ourshop.py").write_text(PLUGIN, encoding="utf-8")
    (tmp_path / "broken.py").write_text("1/0", encoding="utf-8")
    plugins = load_plugins(files=["ourshop.py", "broken.py", "absent.py"], block=["broken"])
    shop = signrules.shop_from_dict(
        {
            "signrules": 1,
            "rules": {"ourshop": {"few-layers": {"level": "REVIEW", "reason": "a slow week"}}},
        }
    )
    jobs = [varied(number) for number in range(4)]
    alone = in_bytes(evaluate_many(jobs, plugins=plugins, shop=shop, reduce=as_json))
    assert alone.count(b'"ourshop.few-layers"') > 4
    assert b"there is no file absent.py" in alone
    assert (
        in_bytes(
            evaluate_many(jobs, plugins=plugins, shop=shop, reduce=as_json, executor=processes)
        )
        == alone
    )


@pytest.mark.thorough
def test_a_module_goes_by_its_name(monkeypatch, tmp_path):
    (tmp_path / "shop_in_a_module.py").write_text(PLUGIN, encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    plugins = load_plugins(objects=[importlib.import_module("shop_in_a_module")])
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as executor:
        (item,) = evaluate_many([varied(0)], plugins=plugins, executor=executor)
    assert [check.outcome for check in item.result.checks if check.rule == "ourshop.few-layers"][
        1
    ] == "BROKEN"


def test_a_plugin_that_cannot_be_sent_is_refused_before_anything_starts(threads):
    def signrules_precedence(job):
        return [("dots", "ground", "for the look of it")]

    plugins = load_plugins(
        objects=[
            SimpleNamespace(__name__="late", signrules_precedence=hookimpl(signrules_precedence))
        ]
    )
    executor = ByHand()
    with pytest.raises(
        PluginError, match=r"the plugin late cannot be sent to another process .* name a file"
    ):
        evaluate_many([varied(0)], plugins=plugins, executor=executor)
    assert executor.submitted == 0
    # Threads share it.
    (item,) = evaluate_many([varied(0)], plugins=plugins, executor=threads)
    assert "for the look of it" in item.result.conflict.message


def test_a_reduce_that_cannot_be_sent_is_refused_before_anything_starts(threads):
    executor = ByHand()
    with pytest.raises(signrules.SignrulesError, match="`reduce` cannot be sent"):
        evaluate_many([varied(0)], reduce=lambda result: result.ok, executor=executor)
    assert executor.submitted == 0
    (item,) = evaluate_many([varied(0)], reduce=lambda result: result.ok, executor=threads)
    assert item.result is signrules.evaluate(signrules.job_from_dict(varied(0))).ok


def test_a_worker_that_finds_another_plugin_says_so(tmp_path, processes):
    path = tmp_path / "ourshop.py"
    path.write_text(PLUGIN, encoding="utf-8")
    plugins = load_plugins(files=[path])
    path.write_text(PLUGIN.replace("few-layers", "fewer-layers"), encoding="utf-8")
    (item,) = evaluate_many([varied(0)], plugins=plugins, executor=processes)
    assert "not the same here as in the process that sent the job: 'ourshop'" in str(item.error)
    path.unlink()
    (item,) = evaluate_many([varied(1)], plugins=plugins, executor=processes, budget=1000)
    assert f"ourshop: there is no file {path}" in str(item.error).replace("PluginError: ", "")


def test_a_worker_that_finds_other_bytes_in_the_file_of_a_plugin_says_so(tmp_path, processes):
    """The names are the same: nothing but the limit is another."""
    path = tmp_path / "ourshop.py"
    path.write_text(PLUGIN, encoding="utf-8")
    plugins = load_plugins(files=[path])
    path.write_text(PLUGIN.replace("most=10", "most=90"), encoding="utf-8")
    jobs = [varied(0), varied(1), varied(2)]
    for item in evaluate_many(jobs, plugins=plugins, executor=processes, reduce=name_of):
        assert str(item.error) == (
            "not the same here as in the process that sent the job: 'ourshop';"
            " ourshop: its file holds other bytes"
        )
    path.write_text(PLUGIN, encoding="utf-8")
    again = evaluate_many(jobs, plugins=plugins, executor=processes, reduce=name_of)
    assert [item.error for item in again] == [None] * 3


def test_plugins_are_loaded_again_where_they_arrive_and_not_where_they_are_copied(tmp_path):
    path = tmp_path / "ourshop.py"
    path.write_text(PLUGIN, encoding="utf-8")
    other = tmp_path / "another.py"
    other.write_text("", encoding="utf-8")
    plugins = load_plugins(files=[path, other], block=["another"])
    again = pickle.loads(pickle.dumps(plugins))
    assert again.loaded == plugins.loaded
    assert (
        again.rule_named("ourshop.few-layers").function
        is not plugins.rule_named("ourshop.few-layers").function
    )
    assert copy.copy(plugins) is plugins
    assert copy.deepcopy(plugins) is plugins


@pytest.mark.parametrize(
    "one", ["sign.toml", varied(0), Path("sign.toml"), signrules.job_from_dict(varied(0))]
)
def test_a_single_job_is_no_list_of_jobs(one):
    with pytest.raises(TypeError, match="expected a list or another iterable of jobs"):
        evaluate_many(one)


def test_a_shop_that_does_not_fit_is_refused_before_anything_starts():
    shop = signrules.Shop({"clearance.strik": signrules.RuleChange(off="because")})
    with pytest.raises(signrules.ShopError, match=r"rules\.clearance\.strik"):
        evaluate_many([varied(0)], shop=shop)


def test_waivers_are_judged_on_the_same_day_everywhere(processes):
    import datetime

    document = varied(3) | {
        "waivers": [
            {
                "rule": "clearance.margin",
                "subject": "passes.ground",
                "reason": "an invented one",
                "by": "A. Nobody",
                "until": "2030-01-31",
            }
        ]
    }
    for day in (datetime.date(2030, 1, 31), datetime.date(2030, 2, 1)):
        both = [
            list(evaluate_many([document], today=day, executor=each, reduce=as_json))
            for each in (None, processes)
        ]
        assert both[0] == both[1]
        assert both[0][0].error is None


def test_a_plugin_whose_hooks_are_gone_where_it_arrives_fails_each_job():
    class Carrier:
        @property
        def work(self):
            raise PluginError("not the same here")

    found = workers._work_on_job(Carrier(), 3, varied(0))
    assert (found.number, found.origin, found.result) == (3, "jobs[3]", None)
    assert isinstance(found.error, PluginError)
    file = workers._work_on_job(Carrier(), 4, NamedFile("a.toml", Path("/somewhere/a.toml")))
    assert file.origin == "a.toml"
