"""The executor of a distributed engine, against a real cluster on this machine."""

from __future__ import annotations

import json
import os
import signal
import threading
import time
import warnings
from datetime import date

import pytest
from building import HEADER, plugins, shop
from effort import first_quick
from local_cluster import local_client
from scenario import pass_of, sign_job

from signrules import (
    Evaluation,
    NotEvaluated,
    compose,
    evaluate_many,
    load_plugins,
    work_order_to_dict,
)

with warnings.catch_warnings():
    # What the engine warns of, a slow disk or a coming change, is not ours to mend.
    warnings.simplefilter("ignore")
    pytest.importorskip("distributed", reason="the package distributed is not installed")

DAY = date(2027, 3, 1)

pytestmark = pytest.mark.filterwarnings("ignore")

PLUGIN = """
from signrules import hookimpl

@hookimpl
def signrules_quantities(job, order, quantities):
    return {"cartons": len(job.signs)}
"""


def varied(number: int) -> dict:
    document = sign_job(name=f"sign {number}")
    pass_of(document, "dots")["layers"] = 20 + number % 13
    if number == 5:
        del document["printer"]
    return document


def as_json(evaluation: Evaluation) -> str:
    return json.dumps(evaluation.to_dict(remedies=False))


@pytest.fixture(scope="module", params=first_quick(1, ["threads", "processes"]))
def client(request):
    """Two workers of one thread each: threads of this process, or processes of their own; no page,
    loopback alone.
    """
    with local_client(processes=request.param == "processes") as client:
        yield client


@pytest.mark.thorough
def test_the_same_bytes_as_one_after_the_other(client, tmp_path):
    (tmp_path / "cartons.py").write_text(PLUGIN, encoding="utf-8")
    plugins = load_plugins(files=[tmp_path / "cartons.py"])
    jobs = [varied(number) for number in range(24)]

    def in_bytes(**options):
        items = evaluate_many(iter(jobs), plugins=plugins, reduce=as_json, **options)
        return [
            f"{item.number} {item.origin} {item.result} {item.error}".encode() for item in items
        ]

    alone = in_bytes()
    assert b"printer" in alone[5]
    assert b'"cartons": 1.0' in alone[0]
    told = []
    assert (
        in_bytes(executor=client.get_executor(), progress=lambda *args: told.append(args)) == alone
    )
    assert told[-1] == (24, None)


@pytest.mark.slow
def test_whole_evaluations_come_back(client):
    (item,) = evaluate_many([varied(1)], executor=client.get_executor(pure=False))
    (here,) = evaluate_many([varied(1)])
    assert item.result.to_dict() == here.result.to_dict()
    assert item.result.order == ("ground", "dots", "ink-on-dots")


@pytest.mark.slow
def test_a_failure_stays_with_its_job(client):
    items = list(evaluate_many([varied(1), varied(2)], executor=client.get_executor(), reduce=len))
    assert [type(item.error) for item in items] == [NotEvaluated, NotEvaluated]
    assert "TypeError" in str(items[0].error)


def test_results_that_are_kept_are_the_same_bytes(client, tmp_path):
    jobs = [varied(number) for number in range(12)]

    def in_bytes(jobs=jobs, **options):
        items = evaluate_many(jobs, reduce=as_json, **options)
        return [f"{item.result} {item.error}".encode() for item in items]

    alone = in_bytes()
    # A first run that got no further than half of the jobs.
    assert in_bytes(jobs[:6], kept_in=tmp_path) == alone[:6]
    executor = client.get_executor(pure=False)
    assert in_bytes(executor=executor, kept_in=tmp_path) == alone
    kept = [item.was_kept for item in evaluate_many(jobs, reduce=as_json, kept_in=tmp_path)]
    assert kept == [number != 5 for number in range(12)]


@pytest.mark.thorough
def test_bed_loads_are_the_same_bytes(client, tmp_path):
    rows = "".join(
        f"A.{number},Store,{'room' if number % 3 else 'notice'}\n" for number in range(20)
    )

    def in_bytes(**options):
        composition = compose(HEADER + rows, shop(), plugins=plugins(), today=DAY, **options)
        loads = [[load.id, load.document, load.summary.to_plain()] for load in composition.loads]
        return json.dumps([work_order_to_dict(composition.order), loads]).encode()

    alone = in_bytes()
    executor = client.get_executor(pure=False)
    assert in_bytes(executor=executor, kept_in=tmp_path) == alone
    assert in_bytes(kept_in=tmp_path) == alone


@pytest.fixture
def doomed_workers():
    """Two worker processes, one of which a test will kill."""
    with local_client() as client:
        yield client


def kill_a_worker(client, folder, killed):
    """Kill one of the workers as soon as the first results are in their folder."""
    deadline = time.monotonic() + 60
    victim = min(client.run(os.getpid).values())
    while not (kept := sum(path.is_file() for path in folder.rglob("*"))):
        if time.monotonic() > deadline:
            return
        time.sleep(0.01)
    os.kill(victim, signal.SIGKILL)
    killed.append((victim, kept))


@pytest.mark.slow
def test_a_worker_killed_in_the_middle_loses_no_bed_load(doomed_workers, tmp_path):
    rows = "".join(f"A.{number},Store,room\n" for number in range(300))

    def in_bytes(**options):
        composition = compose(HEADER + rows, shop(), plugins=plugins(), today=DAY, **options)
        loads = [[load.id, load.document, load.summary.to_plain()] for load in composition.loads]
        return json.dumps([work_order_to_dict(composition.order), loads]).encode()

    alone = in_bytes()
    killed = []
    killer = threading.Thread(target=kill_a_worker, args=(doomed_workers, tmp_path, killed))
    killer.start()
    executor = doomed_workers.get_executor(pure=False)
    by_workers = in_bytes(executor=executor, kept_in=tmp_path)
    killer.join()
    ((victim, kept_before),) = killed
    assert kept_before < len(json.loads(alone)[1]), "the worker was killed too late to matter"
    assert victim not in doomed_workers.run(os.getpid).values()
    assert by_workers == alone
